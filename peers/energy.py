"""Sun, dispatch and carry times against pvlib and against loops compiled by numba. See README.md."""

import json
import subprocess
import time
import warnings

import numpy as np

import energy_loops

MINUTES = 525_600
START = 1_735_689_600  # 2025-01-01T00:00 UTC
DELTA_T_S = 69.1  # what the table of the crate holds for 2025
PLACES = {  # latitude, longitude, metres, tilt, direction
    "north, high": (40.0, -105.0, 1800.0, 35.0, 180.0),
    "equator, sea": (1.0, 104.0, 15.0, 10.0, 90.0),
    "south, mild": (-34.0, 151.0, 40.0, 25.0, 0.0),
    "south, cold": (-55.0, -68.0, 20.0, 45.0, 20.0),
    "equator, high": (-0.2, -78.0, 2850.0, 5.0, 270.0),
    "polar circle": (69.5, 19.0, 100.0, 60.0, 190.0),
    "far north": (78.0, 16.0, 10.0, 90.0, 160.0),
    "far south": (-78.0, 167.0, 10.0, 70.0, 350.0),
}


def ask(solver, head, columns):
    data = json.dumps(head).encode() + b"\n" + b"".join(np.ascontiguousarray(c, dtype="<f8").tobytes() for c in columns)
    done = subprocess.run([solver], input=data, capture_output=True, check=True)
    line, rest = done.stdout.split(b"\n", 1)
    return json.loads(line), np.frombuffer(rest, dtype="<f8").reshape(-1, head["count"])


def least(run, repeats=3):
    """Answer and least time of some runs."""
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        answer = run()
        best = min(best, time.perf_counter() - start)
    return answer, best


def against_pvlib(report, solver, seed):
    import pandas as pd
    import pvlib

    warnings.filterwarnings("ignore", message="Reloading spa")
    times = pd.date_range("2025-01-01", periods=MINUTES, freq="min", tz="UTC")
    rng = np.random.default_rng(seed)
    worst = dict.fromkeys(("position, degrees", "isotropic, W/m2", "haydavies, W/m2", "perez, W/m2", "power, of 10 kW"), 0.0)
    rows = []
    for name, (latitude, longitude, height, tilt, azimuth) in PLACES.items():
        pressure = pvlib.atmosphere.alt2pres(height)

        def position(how):
            return pvlib.solarposition.spa_python(
                times, latitude, longitude, height, pressure, 12.0, delta_t=DELTA_T_S, how=how, numthreads=1
            )

        sun = position("numpy")
        zenith = sun["apparent_zenith"].to_numpy()
        ghi = pvlib.clearsky.haurwitz(sun["apparent_zenith"])["ghi"].to_numpy()
        cloud = np.repeat(rng.uniform(0.1, 1.0, MINUTES // 15), 15)
        up = np.maximum(np.cos(np.radians(zenith)), 0.0)
        dni = np.where(up > 0, np.minimum(ghi * cloud / np.maximum(up, 0.05), 1000.0) * cloud, 0.0)
        dhi = np.where(up > 0, np.maximum(ghi * cloud - dni * up, 0.0) + 5.0 * up, 0.0)
        ghi = dni * up + dhi
        air = 10.0 + 15.0 * rng.uniform(-1, 1, MINUTES)
        wind = rng.uniform(0, 10, MINUTES)
        frame = dict(index=times)
        series = {k: pd.Series(v, **frame) for k, v in dict(ghi=ghi, dni=dni, dhi=dhi, air=air, wind=wind).items()}

        def theirs(model, how="numpy", known=None):
            s = position(how) if known is None else known
            extra = 1361.0 / pvlib.solarposition.nrel_earthsun_distance(times, delta_t=DELTA_T_S, how=how, numthreads=1) ** 2
            mass = pvlib.atmosphere.get_relative_airmass(s["apparent_zenith"])
            poa = pvlib.irradiance.get_total_irradiance(
                tilt, azimuth, s["apparent_zenith"], s["azimuth"], series["dni"], series["ghi"], series["dhi"],
                dni_extra=extra, airmass=mass, albedo=0.2, model=model,
            )["poa_global"].fillna(0.0)
            cell = pvlib.temperature.faiman(poa, series["air"], series["wind"])
            power = np.clip(pvlib.pvsystem.pvwatts_dc(poa, cell, 10_000.0, -0.0037), 0.0, 9000.0)
            return s, poa.to_numpy(), np.asarray(power)

        head = {
            "task": "sun", "count": MINUTES, "repeats": 3, "start_unix_s": START, "step_s": 60,
            "latitude_deg": latitude, "longitude_deg": longitude, "elevation_m": height, "pressure_pa": pressure,
            "temperature_degc": 12.0, "tilt_deg": tilt, "azimuth_deg": azimuth, "albedo": 0.2,
            "peak_w": 10_000.0, "gamma_per_k": -0.0037, "limit_w": 9000.0,
        }
        given = [ghi, dni, dhi, air, wind]
        for model in ("isotropic", "haydavies", "perez"):
            told, (v_up, v_south, v_west, poa, power) = ask(solver, dict(head, model=model), given)
            s, their_poa, their_power = theirs(model, known=sun)
            z, a = np.radians(s["apparent_zenith"].to_numpy()), np.radians(s["azimuth"].to_numpy() - 180.0)
            off = np.stack([v_up - np.cos(z), v_south - np.sin(z) * np.cos(a), v_west - np.sin(z) * np.sin(a)])
            worst["position, degrees"] = max(worst["position, degrees"], np.degrees(np.max(np.linalg.norm(off, axis=0))))
            key = f"{model}, W/m2"
            worst[key] = max(worst[key], np.max(np.abs(poa - their_poa)))
            worst["power, of 10 kW"] = max(worst["power, of 10 kW"], np.max(np.abs(power - their_power)) / 10_000.0)
        if name in ("north, high", "far south"):
            ours = told["seconds"]
            theirs("perez", "numba")  # compiled before it is timed
            _, plain = least(lambda: theirs("perez"))
            _, compiled = least(lambda: theirs("perez", "numba"))
            rows.append((name, ours, plain, compiled))
    limits = {"position, degrees": 1e-3, "power, of 10 kW": 1e-4}
    for what, value in worst.items():
        report.line(f"sun and planes, 8 places x 525,600 minutes: {what}", 8, value, limits.get(what, 0.1))
    print("\n525,600 minutes, sun + Perez + array, one thread; seconds")
    print("place              ours    pvlib   ratio   pvlib, sun by numba   ratio")
    for name, ours, plain, compiled in rows:
        print(f"{name:14} {ours:8.3f} {plain:8.3f} {plain / ours:7.1f} {compiled:21.3f} {compiled / ours:7.1f}")


def year(seed, outages):
    """Invented loads, sun and tariff of a year of minutes; `outages` is the share of time without utility."""
    rng = np.random.default_rng(seed)
    minute = np.arange(MINUTES)
    day, hour = minute // 1440, (minute % 1440) / 60.0
    season = 1.0 - 0.35 * np.cos((day + 10) / 365 * 2 * np.pi)
    clear = rng.beta(2.0, 1.3, 365)[day] * np.repeat(rng.uniform(0.7, 1.0, MINUTES // 10), 10)
    array = 9000.0 * season / 1.35 * clear * np.maximum(np.sin((hour - 6.5) / 11.0 * np.pi), 0.0) * ((hour > 6.5) & (hour < 17.5))
    loads = [
        400.0 + 300.0 * np.repeat(rng.uniform(0, 1, MINUTES // 20), 20),
        600.0 * (1.0 + np.sin((hour - 13) / 24 * 2 * np.pi)) * np.repeat(rng.uniform(0.3, 1.0, MINUTES // 30), 30),
        3500.0 * np.repeat(rng.uniform(0, 1, MINUTES // 15) < 0.12, 15),
    ]
    utility = np.repeat(rng.uniform(0, 1, MINUTES // 120) >= outages, 120)
    spend, fill = (hour >= 17) & (hour < 22), hour < 5
    return [*loads, array, utility.astype(float), spend.astype(float), fill.astype(float)]


def design(rng, capacity):
    return {
        "capacity": capacity, "floor": 0.1 * capacity, "reserve": 0.5 * capacity, "charge": 0.4 * capacity,
        "discharge": 0.6 * capacity, "into": 0.97, "out": 0.96, "taper": 0.9 * capacity, "fading": 0.001,
        "rating": rng.uniform(5e3, 1e4), "peak": 12e3, "budget": 600.0, "recovery": 0.4, "idle": 60.0, "k1": 0.02, "k2": 3e-6,
        "charger": 4000.0, "array": rng.uniform(0.5, 1.5), "input": 9600.0, "relay": 12e3, "export": 3000.0,
        "engine": rng.choice([0.0, 6000.0]), "engine_start": 0.2 * capacity, "engine_stop": 0.7 * capacity,
        "engine_warm_s": 120.0, "engine_least_s": 1800.0, "fuel_idle": 0.6, "fuel_per_kwh": 0.3, "tank": 400.0,
        "shed1": 0.18 * capacity, "shed2": 0.3 * capacity, "back1": 0.3 * capacity, "back2": 0.45 * capacity,
        "restart": 0.2 * capacity,
    }


def against_loops(report, solver, seed):
    rng = np.random.default_rng(seed)
    designs = [design(rng, c) for c in np.linspace(8e3, 60e3, 64)]
    columns = year(seed, 0.06)
    head = {"task": "dispatch", "count": MINUTES, "repeats": 3, "step_s": 60, "designs": designs}
    told, _ = ask(solver, head, columns)
    table = np.array([[float(d[k]) for k in energy_loops.KEYS] for d in designs])
    run = lambda: energy_loops.dispatch(table, 1 / 60, *columns)
    run()
    found, seconds = least(run)
    ours = np.array(told["totals"])
    report.line("dispatch, 64 designs x 525,600 minutes, totals: numba loop, relative", 64,
                np.max(np.abs(ours - found) / np.maximum(np.abs(found).max(axis=0), 1.0)), 1e-9)
    per = 1e9 / (64 * MINUTES)
    print(f"dispatch, ns a step and design: ours {told['seconds'] * per:.2f}, numba {seconds * per:.2f},"
          f" share of time {told['seconds'] / seconds:.3f}")
    # without the utility for most of the time: generators, shedding, heat, empty tanks
    columns = year(seed + 1, 0.7)
    told, _ = ask(solver, dict(head, repeats=1), columns)
    found, ours = energy_loops.dispatch(table, 1 / 60, *columns), np.array(told["totals"])
    report.line(f"the same, utility there for {columns[4].mean():.0%} of the time, {found[:, 3].sum() / 1e6:.1f} MWh generated", 64,
                np.max(np.abs(ours - found) / np.maximum(np.abs(found).max(axis=0), 1.0)), 1e-9)
    for capacity, taper in ((15e3, 1.0), (60e3, 1.0), (60e3, 0.8)):
        d = dict(design(rng, capacity), engine=0.0, taper=taper * capacity, shed1=0.0, shed2=0.0, back1=0.0, back2=0.0, peak=2e4, rating=1e4)
        columns = year(seed, 0.0)
        columns[3] *= 0.6
        head = {"task": "carry", "count": MINUTES, "repeats": 5, "step_s": 60, "design": d}
        told, (steps, stored, budget) = ask(solver, head, columns)
        row = np.array([float(d[k]) for k in energy_loops.KEYS])
        run = lambda: energy_loops.carry(row, 1 / 60, *columns[:4], stored, budget)
        energy_loops.carry(row, 1 / 60, *[c[:100] for c in columns[:4]], stored[:100], budget[:100])
        found, seconds = least(run, 2)
        report.line(f"carry time of 525,600 starts, {capacity / 1e3:.0f} kWh, taper from {taper:.0%}: numba, stepped; steps that differ", MINUTES,
                    float(np.max(np.abs(found - steps))), 0.0)
        print(f"carry time, seconds for all starts (mean {steps.mean() / 60:.1f} h): ours {told['seconds']:.3f},"
              f" numba {seconds:.3f}, ratio {seconds / told['seconds']:.1f}")
