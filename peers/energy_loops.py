"""The same year and outages as plain loops, written with branches and compiled by numba. No code is shared."""

import numpy as np
from numba import njit

KEYS = [
    "capacity", "floor", "reserve", "charge", "discharge", "into", "out", "taper", "fading", "rating", "peak", "budget",
    "idle", "k1", "k2", "charger", "array", "input", "relay", "export", "engine", "engine_start", "engine_stop",
    "engine_warm_s", "engine_least_s", "fuel_idle", "fuel_per_kwh", "tank", "shed1", "shed2", "back1", "back2", "restart", "recovery",
]


@njit
def ac_of(k1, k2, dc):
    if dc <= 0.0:
        return 0.0
    b = 1.0 + k1
    return 2.0 * dc / (b + np.sqrt(b * b + 4.0 * k2 * dc))


@njit
def dc_of(k1, k2, ac):
    return ac * (1.0 + k1 + k2 * ac)


@njit
def fuel_share(fuel, fidle, fkwh, rate, h):
    burns = (fidle + fkwh / 1000.0 * rate) * h
    if burns <= fuel:
        return 1.0
    return fuel / burns


@njit
def lasting(k1, k2, load, there, alone, idle, engine, fuel, fidle, fkwh, h):
    """Whether a load is carried for the whole step where the fuel may end within it."""
    if there < 0.0:
        return load <= engine - idle and fuel_share(fuel, fidle, fkwh, load + idle, h) >= 1.0
    rate = min(load, engine)
    t = fuel_share(fuel, fidle, fkwh, rate, h)
    mean = t * dc_of(k1, k2, load - rate) + (1.0 - t) * dc_of(k1, k2, load)
    return t >= 1.0 or load <= alone * (1.0 + 1e-12) and mean <= there * (1.0 + 1e-12)


@njit
def dispatch(table, h, load0, load1, load2, sun_column, utility, spend, fill):
    out = np.zeros((len(table), 11))
    for d in range(len(table)):
        (capacity, floor, reserve, climit, dlimit, into, outof, taper, fading, rating, peak, budget, idle, k1, k2, charger,
         scale, ilimit, relay, export, engine_w, estart, estop, ewarm, eleast, fidle, fkwh, tank, shed1, shed2, back1,
         back2, restart, recovery) = table[d]
        ilimit = min(ilimit, relay)
        export = min(export, relay)
        keep = (1.0 - fading) ** (h / 24.0)
        e, heat, on1, on2, up, running, age, fuel = capacity / 2.0, 0.0, True, True, True, False, 0.0, tank
        used_s = bought_s = sold_s = made_s = s0 = s1 = s2 = conv_s = batt_s = fuel_s = 0.0
        for k in range(len(load0)):
            kept = e * keep
            sun = sun_column[k] * scale
            room = capacity - kept
            charge = climit
            if taper < capacity and kept > taper:
                charge = climit * room / (capacity - taper)
            charge = max(0.0, min(charge, room / (into * h)))
            if utility[k] > 0.5:
                load = load0[k] + load1[k] + load2[k]
                discharge = max(0.0, min(dlimit, (kept - reserve) * outof / h))
                goal = capacity if fill[k] > 0.5 else reserve
                wanted = min(charge, max(0.0, (goal - kept) / (into * h)))
                need = max(0.0, load - ilimit)
                helped = 0.0
                if need > 0.0:
                    helped = min(ac_of(k1, k2, sun + discharge - idle), need)
                own, idle_dc, sold, cut = 0.0, 0.0, 0.0, 0.0
                bought = for_charge = 0.0
                if wanted > sun and helped <= 0.0:
                    by_sun = min(sun, charge)
                    used = by_sun
                    rest = min(max(0.0, wanted - by_sun), charger)
                    free = ilimit - load - idle
                    bought = min(rest, ac_of(k1, k2, free))
                    for_charge = dc_of(k1, k2, bought)
                    spent = 0.0
                    grid = load + idle + for_charge
                    conv = idle + for_charge - bought
                else:
                    offered = sun + (discharge if spend[k] > 0.5 else 0.0)
                    own = min(load, rating, max(ac_of(k1, k2, offered - idle), helped))
                    if own > 0.0:
                        idle_dc = min(idle, sun + discharge)
                    else:
                        idle_dc = min(idle, offered)
                    dc = dc_of(k1, k2, own) + idle_dc
                    left = max(0.0, sun - dc)
                    by_sun = min(left, charge)
                    if own >= load and left > by_sun:
                        sold = max(0.0, min(ac_of(k1, k2, dc - idle_dc + left - by_sun) - own, export, rating - own))
                        dc = dc_of(k1, k2, own + sold) + idle_dc
                    spent = max(0.0, dc - sun)
                    used = min(sun, dc + by_sun)
                    grid = load - own + idle - idle_dc
                    conv = dc - own - sold + idle - idle_dc
                over = own + sold - rating
                heat = max(0.0, heat + (over if over > 0.0 else recovery * over) * h)
                up, on1, on2, running, age = True, True, True, False, 0.0
                made = 0.0
                bought_s += grid
                sold_s += sold
                s0 += load0[k]
                s1 += load1[k]
                s2 += load2[k]
                e_in = by_sun + bought
            else:
                discharge = max(0.0, min(dlimit, (kept - floor) * outof / h))
                if running:
                    if (kept > estop and age >= eleast / 3600.0) or fuel <= 0.0:
                        running, age = False, 0.0
                elif engine_w > 0.0 and kept < estart and fuel > 0.0:
                    running, age = True, 0.0
                engine = 0.0
                if running and age >= ewarm / 3600.0:
                    engine = min(engine_w, relay)
                if kept < shed1:
                    on1 = False
                elif kept >= back1:
                    on1 = True
                if kept < shed2:
                    on2 = False
                elif kept >= back2:
                    on2 = True
                if kept >= restart or engine > 0.0:
                    up = True
                there = sun + discharge - idle
                if there >= 0.0:
                    can = min(peak, rating + max(0.0, budget - heat) / h, ac_of(k1, k2, there)) * (1.0 + 1e-12) + engine
                elif engine > idle:
                    can = engine - idle
                else:
                    can = -1.0
                load = load0[k]
                l1 = load1[k] if on1 else 0.0
                l2 = load2[k] if on2 else 0.0
                scant = engine > 0.0 and fuel_share(fuel, fidle, fkwh, engine, h) < 1.0
                if scant:
                    # once it stands still the converter is alone: its own limits hold for all of the load
                    alone = min(peak, rating + max(0.0, budget - heat) / h, ac_of(k1, k2, sun + dlimit - idle))
                    bad0 = load > can or not lasting(k1, k2, load, there, alone, idle, engine, fuel, fidle, fkwh, h)
                    two, whole = load + l1, load + l1 + l2
                    bad1 = two > can or not lasting(k1, k2, two, there, alone, idle, engine, fuel, fidle, fkwh, h)
                    bad2 = whole > can or not lasting(k1, k2, whole, there, alone, idle, engine, fuel, fidle, fkwh, h)
                else:
                    bad0, bad1, bad2 = load > can, load + l1 > can, load + l1 + l2 > can
                if up and bad0:
                    up = False
                drop1 = bad1
                if bad2 or (drop1 and on1):
                    l2, on2 = 0.0, False
                if drop1:
                    l1, on1 = 0.0, False
                if not up:
                    load = l1 = l2 = 0.0
                    on1 = on2 = False
                served = load + l1 + l2
                rate = min(served, engine)
                share = fuel_share(fuel, fidle, fkwh, rate, h) if running else 1.0
                part = share if engine > 0.0 else 1.0
                by_engine = rate * part
                power = served - by_engine
                dc = part * dc_of(k1, k2, served - rate) + (1.0 - part) * dc_of(k1, k2, served) + (idle if up else 0.0)
                spent = min(max(0.0, dc - sun), discharge)
                by_sun = min(max(0.0, sun - dc), charge)
                short = max(0.0, dc - sun - spent)
                bought = for_charge = 0.0
                if power <= 0.0 and spent <= 0.0 and engine > 0.0 and not scant:
                    bought = min(max(0.0, charge - by_sun), charger, ac_of(k1, k2, engine - by_engine - short))
                    for_charge = dc_of(k1, k2, bought)
                used = min(sun, dc + by_sun)
                made = by_engine + for_charge + (short if engine > 0.0 else 0.0)
                conv = dc - power + for_charge - bought - (0.0 if engine > 0.0 else short)
                over = (power if part >= 1.0 else served) - rating
                heat = max(0.0, heat + (over if over > 0.0 else recovery * over) * h)
                if running:
                    burnt = (fidle * share + fkwh / 1000.0 * made) * h
                    fuel = max(0.0, fuel - burnt) if share >= 1.0 else 0.0
                    fuel_s += burnt
                    age += h
                s0 += load
                s1 += l1
                s2 += l2
                e_in = by_sun + bought
            e = max(0.0, min(capacity, kept + h * (e_in * into - spent / outof)))
            used_s += used
            made_s += made
            conv_s += conv
            batt_s += e_in * (1.0 - into) + spent * (1.0 / outof - 1.0)
        out[d] = (used_s * h, bought_s * h, sold_s * h, made_s * h, s0 * h, s1 * h, s2 * h, conv_s * h, batt_s * h, fuel_s, e)
    return out


@njit
def carry(p, h, load0, load1, load2, sun_column, stored, budget_left):
    (capacity, floor, reserve, climit, dlimit, into, outof, taper, fading, rating, peak, budget, idle, k1, k2) = p[:15]
    scale, recovery = p[16], p[33]
    keep = (1.0 - fading) ** (h / 24.0)
    n = len(load0)
    out = np.zeros(n)
    for start in range(n):
        e, heat = stored[start], budget_left[start]
        k, done = start, 0
        while done < n:
            load = load0[k] + load1[k] + load2[k]
            kept = e * keep
            net = dc_of(k1, k2, load) + idle - sun_column[k] * scale
            over = (load - rating) * h
            if over < 0.0:
                over *= recovery
            if load > peak or net > dlimit or over > heat:
                break
            if net > 0.0:
                taken = net * h / outof
                if kept - floor < taken:
                    break
                e = kept - taken
            else:
                charge = min(-net, climit)
                if taper < capacity and kept > taper:
                    charge = min(charge, climit * (capacity - kept) / (capacity - taper))
                e = min(capacity, kept + charge * into * h)
            heat = min(budget, heat - over)
            done += 1
            k += 1
            if k == n:
                k = 0
        out[start] = done
    return out
