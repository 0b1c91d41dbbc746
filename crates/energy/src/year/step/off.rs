//! One step of some designs side by side without the utility.

// lanes are walked by index over many arrays at once
#![allow(clippy::needless_range_loop)]

use super::{battery, draw, heated, inverse, less, more, pick};
use crate::year::flows::{Flows, Sink};
use crate::year::lanes::{Inputs, Lanes, State};

/// A step without the utility; `PANEL`: with arrays on the panel.
#[inline(always)]
pub(crate) fn step_off<const N: usize, const PANEL: bool>(
    p: &Lanes<N>,
    s: &mut State<N>,
    x: &Inputs,
    f: &mut impl Sink,
) {
    let h = x.hours;
    for l in 0..N {
        let (k1, k2) = (p.k1[l], p.k2[l]);
        let kept = s.stored[l] * p.keep[l];
        let sun = x.array * p.array[l];
        let (charge, discharge) = battery(p, l, kept, p.floor[l]);
        // the generator
        let starts = kept < p.gen_start[l] && s.fuel[l] > 0.0;
        let stops = (kept > p.gen_stop[l] && s.gen_h[l] >= p.gen_least_h[l]) || s.fuel[l] <= 0.0;
        let runs = pick(s.gen_on[l] > 0.5, pick(stops, 0.0, 1.0), pick(starts, 1.0, 0.0));
        let gen_h = pick(s.gen_on[l] > 0.5, s.gen_h[l], 0.0) * runs;
        let engine = pick(gen_h >= p.gen_warm_h[l], less(p.gen_power[l], p.relay[l]) * runs, 0.0);
        // arrays on the panel: locked out while it runs, and off until they have reconnected
        let whole = if PANEL { x.panel * p.array[l] } else { 0.0 };
        let panel = if PANEL {
            whole * less(1.0, more(0.0, 1.0 - s.wait_h[l] * p.per_hour)) * (1.0 - runs)
        } else {
            0.0
        };
        // tiers and start by charge
        let on1 = pick(kept < p.shed1[l], 0.0, pick(kept >= p.back1[l], 1.0, s.on1[l]));
        let on2 = pick(kept < p.shed2[l], 0.0, pick(kept >= p.back2[l], 1.0, s.on2[l]));
        let up = pick(kept >= p.restart[l] || engine > 0.0, 1.0, s.up[l]);
        // the time that the fuel lasts, as a share of the step; scant where a step at full power would burn more
        let fuel = s.fuel[l];
        let burns = |rate: f64| (p.gen_idle_l[l] + p.gen_l_per_wh[l] * rate) * h;
        let lasts = |rate: f64| less(fuel / burns(rate), 1.0);
        let scant = engine > 0.0 && burns(engine) > fuel;
        // what can be carried
        let warm = p.rating[l] + more(0.0, p.budget[l] - s.heat[l]) * p.per_hour;
        let there = sun + discharge - p.idle[l];
        let can = less(less(p.peak[l], warm), inverse(k1, k2, there)) * (1.0 + 1e-12) + engine;
        // a battery at its floor: the generator carries the idle loss, too
        let down = if PANEL {
            // or what the arrays leave does
            pick(-there <= p.charger[l], panel - draw(k1, k2, -there), -1.0)
        } else {
            -1.0
        };
        let can = if PANEL { can + panel } else { can };
        let can = pick(there >= 0.0, can, pick(engine > p.idle[l], engine - p.idle[l], down));
        let two = x.loads[0] + on1 * x.loads[1];
        let all = two + on2 * x.loads[2];
        // where fuel is scant, the converter carries them by itself once the engine stands still
        let held = less(p.discharge_limit[l], (kept - p.floor[l]) * p.holds[l]);
        let alone = less(less(p.peak[l], warm), inverse(k1, k2, sun + held - p.idle[l])) * (1.0 + 1e-12);
        let fits = |load: f64| {
            let by = less(load, engine);
            let t = lasts(by);
            let mean = t * draw(k1, k2, load - by) + (1.0 - t) * draw(k1, k2, load);
            let whole = lasts(by + pick(there < 0.0, p.idle[l], 0.0)) >= 1.0;
            let after = (there >= 0.0) & (load <= alone) & (mean <= there * (1.0 + 1e-12));
            (load <= can) & (!scant | whole | after)
        };
        let keep2 = pick(fits(all), on2, 0.0);
        let keep1 = pick(fits(two), on1, 0.0);
        let runs_on = pick(fits(x.loads[0]), up, 0.0);
        let (served1, served2) =
            (keep1 * x.loads[1] * runs_on, keep1_or(keep1, on1, keep2) * x.loads[2] * runs_on);
        let served = x.loads[0] * runs_on + served1 + served2;
        let by_panel = if PANEL { less(served, panel) } else { 0.0 };
        let rate = if PANEL { less(served - by_panel, engine) } else { less(served, engine) };
        let run = lasts(rate);
        let share = pick(engine > 0.0, run, 1.0);
        let by_engine = rate * share;
        let power = if PANEL { served - by_panel - by_engine } else { served - by_engine };
        // without power of its own the converter idles on what the generator has left
        let idle = p.idle[l] * runs_on;
        let rest = if PANEL { served - by_panel } else { served };
        let drawn = share * draw(k1, k2, rest - rate) + (1.0 - share) * draw(k1, k2, rest) + idle;
        // what the loads leave of the arrays on the panel, as far as draw and battery take it
        let lack = more(0.0, drawn - sun);
        let gets =
            if PANEL { less(inverse(k1, k2, (panel - by_panel) * runs_on), p.charger[l]) } else { 0.0 };
        let spent = if PANEL { less(more(0.0, lack - gets), discharge) } else { less(lack, discharge) };
        let left = more(0.0, sun - drawn);
        let by_array = less(left, charge);
        let taken = if PANEL { less(gets, lack + (charge - by_array)) } else { 0.0 };
        let into = if PANEL { more(0.0, taken - lack) } else { 0.0 };
        let short = if PANEL { more(0.0, lack - spent - taken) } else { more(0.0, drawn - sun - spent) };
        let room = inverse(k1, k2, more(0.0, engine - by_engine - short));
        let bought = pick(
            power > 0.0 || spent > 0.0 || scant,
            0.0,
            less(more(0.0, charge - by_array), less(p.charger[l], room)),
        );
        let for_charge = draw(k1, k2, bought);
        let used = less(sun, drawn + by_array);
        // rounding of the limits apart, what is short comes from the generator
        let generated = by_engine + for_charge + pick(engine > 0.0, short, 0.0);
        let charged = if PANEL { by_array + bought + into } else { by_array + bought };
        let taken_ac = if PANEL { by_panel + draw(k1, k2, taken) } else { 0.0 };
        let stored = kept + h * (charged * p.into[l] - spent * p.per_out[l]);
        let burnt = pick(runs > 0.5, (p.gen_idle_l[l] * run + p.gen_l_per_wh[l] * generated) * h, 0.0);
        f.take(
            l,
            Flows {
                array_used: if PANEL { used + taken_ac } else { used },
                array_lost: if PANEL { sun - used + (whole - taken_ac) } else { sun - used },
                import: 0.0,
                export: 0.0,
                generated,
                served0: x.loads[0] * runs_on,
                served1,
                served2,
                converter: drawn - power + (for_charge - bought) - pick(engine > 0.0, 0.0, short)
                    + if PANEL { draw(k1, k2, taken) - taken } else { 0.0 },
                battery: charged * (1.0 - p.into[l]) + spent * (p.per_out[l] - 1.0),
                faded: (s.stored[l] - kept) * p.per_hour,
                fuel_l: burnt,
                panel: taken_ac,
                relay: generated,
                over: 0.0,
            },
        );
        s.stored[l] = more(0.0, less(p.capacity[l], stored));
        let hot = pick(share < 1.0, rest, power);
        s.heat[l] = more(0.0, s.heat[l] + heated(hot - p.rating[l], p.recovery[l]) * h);
        s.on1[l] = keep1 * runs_on;
        s.on2[l] = keep1_or(keep1, on1, keep2) * runs_on;
        s.up[l] = runs_on;
        s.gen_on[l] = runs;
        s.gen_h[l] = (gen_h + h) * runs;
        s.fuel[l] = pick(runs > 0.5 && run < 1.0, 0.0, more(0.0, fuel - burnt));
        if PANEL {
            // they follow the voltage of the group: down or locked out they begin anew
            let anew = runs > 0.5 || runs_on < 0.5;
            s.wait_h[l] = pick(anew, p.panel_wait_h[l], more(0.0, s.wait_h[l] - h));
        }
    }
}

/// Tier 2 stays only where tier 1 was not dropped for want of power.
#[inline(always)]
fn keep1_or(keep1: f64, on1: f64, keep2: f64) -> f64 {
    pick(keep1 < on1, 0.0, keep2)
}
