//! One step of some designs side by side. Written without branches on a design's state, so that lanes stay
//! together; what is the same for all (the utility is there, hours to fill) is decided outside.

// lanes are walked by index over many arrays at once
#![allow(clippy::needless_range_loop)]

use super::design::Design;
use super::flows::{Flows, Sink};

macro_rules! lanes {
    ($(#[$doc:meta])* $name:ident { $($field:ident),+ $(,)? } $($same:ident),*) => {
        $(#[$doc])*
        #[derive(Debug, Clone)]
        pub(crate) struct $name<const N: usize> { $(pub $field: [f64; N],)+ $(pub $same: f64),* }
    };
}

lanes!(
    /// Figures of N designs, and what is one for all: the least input, steps an hour.
    Lanes {
        capacity, floor, reserve, charge_limit, discharge_limit, holds, into, per_into, per_out, out_rate, taper_by,
        keep, rating, peak, budget, recovery, idle,
        k1, k2, charger, array, input, relay, export, gen_power, gen_start, gen_stop, gen_warm_h, gen_least_h,
        gen_idle_l, gen_l_per_wh, shed1, shed2, back1, back2, restart, panel_export, panel_charger, panel_wait_h,
    } least_input, per_hour
);

lanes!(
    /// What a step leaves to the next: charge, heat spent, tiers on, converter up, generator on and for how
    /// long, fuel left, hours until arrays on the panel are back.
    State { stored, heat, on1, on2, up, gen_on, gen_h, fuel, wait_h }
);

/// What a step brings, the same for all designs: loads by tier and power of the arrays before scaling.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Inputs {
    pub loads: [f64; 3],
    pub array: f64,
    pub panel: f64,
    pub hours: f64,
    /// 1 where the battery may be spent on loads.
    pub spend: f64,
    /// 1 where it may be filled from the utility.
    pub fill: f64,
}

/// DC draw beyond idle for an AC power.
#[inline(always)]
pub(crate) fn draw(k1: f64, k2: f64, power: f64) -> f64 {
    power * (1.0 + k1 + k2 * power)
}

/// AC power for a DC draw beyond idle: the positive root, in the form that loses no digits.
#[inline(always)]
pub(crate) fn inverse(k1: f64, k2: f64, drawn: f64) -> f64 {
    let (a, b) = (drawn.max(0.0), 1.0 + k1);
    2.0 * a / (b + (b * b + 4.0 * k2 * a).sqrt())
}

#[inline(always)]
fn pick(which: bool, yes: f64, no: f64) -> f64 {
    if which { yes } else { no }
}

/// Lesser of two, without care for what is no number.
#[inline(always)]
fn less(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[inline(always)]
fn more(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// Heat that a power above or below the rating brings or takes.
#[inline(always)]
pub(crate) fn heated(over: f64, recovery: f64) -> f64 {
    pick(over > 0.0, over, over * recovery)
}

impl<const N: usize> Lanes<N> {
    /// Figures of at most N designs; empty lanes repeat the last one.
    pub fn new(designs: &[Design], hours: f64) -> Self {
        let of = |f: &dyn Fn(&Design) -> f64| -> [f64; N] {
            std::array::from_fn(|l| designs.get(l).or(designs.last()).map_or(0.0, f))
        };
        Self {
            capacity: of(&|d| d.battery.capacity_wh),
            floor: of(&|d| d.battery.floor_wh),
            reserve: of(&|d| d.battery.reserve_wh),
            charge_limit: of(&|d| d.battery.charge_limit_w),
            discharge_limit: of(&|d| d.battery.discharge_limit_w),
            holds: of(&|d| d.battery.holds_w_per_wh),
            into: of(&|d| d.battery.charge_efficiency),
            per_into: of(&|d| 1.0 / (d.battery.charge_efficiency * hours)),
            per_out: of(&|d| 1.0 / d.battery.discharge_efficiency),
            out_rate: of(&|d| d.battery.discharge_efficiency / hours),
            taper_by: of(&|d| 1.0 / (d.battery.capacity_wh - d.battery.taper_from_wh).max(1e-12)),
            keep: of(&|d| libm::pow(1.0 - d.battery.self_discharge_per_day, hours / 24.0)),
            rating: of(&|d| d.converter.rating_w),
            peak: of(&|d| d.converter.peak_w),
            budget: of(&|d| d.converter.heat_budget_wh),
            recovery: of(&|d| d.converter.heat_recovery),
            idle: of(&|d| d.converter.idle_w),
            k1: of(&|d| d.converter.loss_per_w),
            k2: of(&|d| d.converter.loss_per_w2),
            charger: of(&|d| d.converter.charger_limit_w),
            array: of(&|d| d.array_scale),
            input: of(&|d| d.utility.input_limit_w.min(d.utility.relay_limit_w)),
            relay: of(&|d| d.utility.relay_limit_w),
            export: of(&|d| d.utility.export_limit_w.min(d.utility.relay_limit_w)),
            gen_power: of(&|d| d.generator.power_w),
            gen_start: of(&|d| if d.generator.power_w > 0.0 { d.generator.start_wh } else { -1.0 }),
            gen_stop: of(&|d| d.generator.stop_wh),
            gen_warm_h: of(&|d| d.generator.warm_up_s / 3600.0),
            gen_least_h: of(&|d| d.generator.minimum_run_s / 3600.0),
            gen_idle_l: of(&|d| d.generator.idle_l_per_h),
            gen_l_per_wh: of(&|d| d.generator.l_per_kwh / 1000.0),
            shed1: of(&|d| d.shedding.shed_wh[0]),
            shed2: of(&|d| d.shedding.shed_wh[1]),
            back1: of(&|d| d.shedding.restore_wh[0]),
            back2: of(&|d| d.shedding.restore_wh[1]),
            restart: of(&|d| d.shedding.restart_wh),
            panel_export: of(&|d| d.panel_array.export_limit_w),
            panel_charger: of(&|d| if d.panel_array.charges { d.converter.charger_limit_w } else { 0.0 }),
            panel_wait_h: of(&|d| d.panel_array.reconnect_s / 3600.0),
            least_input: designs
                .iter()
                .fold(f64::INFINITY, |m, d| m.min(d.utility.input_limit_w.min(d.utility.relay_limit_w))),
            per_hour: 1.0 / hours,
        }
    }
}

impl<const N: usize> State<N> {
    /// Cool, all tiers on, generator off, the tank full.
    pub fn new(designs: &[Design], stored_wh: &[f64]) -> Self {
        Self {
            stored: std::array::from_fn(|l| stored_wh.get(l).or(stored_wh.last()).copied().unwrap_or(0.0)),
            heat: [0.0; N],
            on1: [1.0; N],
            on2: [1.0; N],
            up: [1.0; N],
            gen_on: [0.0; N],
            gen_h: [0.0; N],
            fuel: std::array::from_fn(|l| {
                designs.get(l).or(designs.last()).map_or(0.0, |d| d.generator.tank_l)
            }),
            wait_h: std::array::from_fn(|l| {
                designs.get(l).or(designs.last()).map_or(0.0, |d| d.panel_array.reconnect_s / 3600.0)
            }),
        }
    }
}

/// Most charge and discharge at the terminals, in watts: limits, taper, what there is room for, what there
/// is.
#[inline(always)]
fn battery<const N: usize>(p: &Lanes<N>, l: usize, kept: f64, floor: f64) -> (f64, f64) {
    let room = p.capacity[l] - kept;
    let taper = less(1.0, room * p.taper_by[l]) * p.charge_limit[l];
    let charge = more(0.0, less(taper, room * p.per_into[l]));
    let held = less(p.discharge_limit[l], (kept - p.floor[l]) * p.holds[l]);
    let discharge = more(0.0, less(held, (kept - floor) * p.out_rate[l]));
    (charge, discharge)
}

/// A step with the utility.
///
/// Roots take most of the time. Which are needed is looked at once for all lanes: none at night unless the
/// battery may be spent (`GIVE`), no sale without sun (`SUN`), no help unless the loads exceed an input
/// (`HELP`), no charging from the utility above all reserves (`FILL`). Where one is left out its result would
/// have been 0.
#[inline(always)]
pub(crate) fn step_on<const N: usize>(p: &Lanes<N>, s: &mut State<N>, x: &Inputs, f: &mut impl Sink) {
    let load = x.loads[0] + x.loads[1] + x.loads[2];
    if x.panel > 0.0 {
        return step_on_of::<N, true, true, true, true, true>(p, s, x, load, f);
    }
    let help = load > p.least_input;
    let mut below = x.fill;
    for l in 0..N {
        below = more(below, pick(s.stored[l] * p.keep[l] < p.reserve[l], 1.0, 0.0));
    }
    match (x.array > 0.0, x.spend > 0.5, help, below > 0.5) {
        (true, _, false, false) => step_on_of::<N, true, true, false, false, false>(p, s, x, load, f),
        (false, true, false, false) => step_on_of::<N, true, false, false, false, false>(p, s, x, load, f),
        (false, false, false, false) => step_on_of::<N, false, false, false, false, false>(p, s, x, load, f),
        (true, _, false, true) => step_on_of::<N, true, true, false, true, false>(p, s, x, load, f),
        (false, true, false, true) => step_on_of::<N, true, false, false, true, false>(p, s, x, load, f),
        (false, false, false, true) => step_on_of::<N, false, false, false, true, false>(p, s, x, load, f),
        (true, _, true, _) => step_on_of::<N, true, true, true, true, false>(p, s, x, load, f),
        (false, _, true, _) => step_on_of::<N, true, false, true, true, false>(p, s, x, load, f),
    }
}

#[inline(always)]
fn step_on_of<
    const N: usize,
    const GIVE: bool,
    const SUN: bool,
    const HELP: bool,
    const FILL: bool,
    const PANEL: bool,
>(
    p: &Lanes<N>,
    s: &mut State<N>,
    x: &Inputs,
    load: f64,
    f: &mut impl Sink,
) {
    for l in 0..N {
        let (k1, k2, idle, h) = (p.k1[l], p.k2[l], p.idle[l], x.hours);
        let kept = s.stored[l] * p.keep[l];
        let sun = x.array * p.array[l];
        // arrays on the panel come before all else
        let panel = if PANEL { x.panel * p.array[l] } else { 0.0 };
        let need = if PANEL { more(0.0, load - panel) } else { load };
        let (charge, discharge) = battery(p, l, kept, p.reserve[l]);
        // to be filled: up to full in hours to fill, up to the reserve at any hour
        let goal = pick(x.fill > 0.5, p.capacity[l], p.reserve[l]);
        let wanted = less(charge, more(0.0, (goal - kept) * p.per_into[l]));
        let filling = FILL && wanted > sun;
        // own use: sun, and the battery where it may be spent or input and relay do not suffice
        let by_sun = if GIVE { inverse(k1, k2, sun + x.spend * discharge - idle) } else { 0.0 };
        let helped = if HELP {
            less(inverse(k1, k2, sun + discharge - idle), more(0.0, need - p.input[l]))
        } else {
            0.0
        };
        let own = less(less(need, p.rating[l]), more(by_sun, helped));
        // a converter that fills the battery serves no load, unless it must help
        let fills = filling && helped <= 0.0;
        let own = pick(fills, 0.0, own);
        let idle_dc = pick(fills, 0.0, less(idle, sun + pick(own > 0.0, discharge, x.spend * discharge)));
        let drawn = draw(k1, k2, own) + idle_dc;
        let left = more(0.0, sun - drawn);
        let by_array = less(left, charge);
        // what the battery does not take may be sold
        let most = if SUN { inverse(k1, k2, drawn - idle_dc + left - by_array) - own } else { 0.0 };
        let sold = more(0.0, less(less(most, p.export[l]), p.rating[l] - own));
        let sold = pick(fills || own < need, 0.0, sold);
        let drawn = draw(k1, k2, own + sold) + idle_dc;
        // below zero: left of the arrays on the panel
        let taken = if PANEL { load - own + idle - idle_dc - panel } else { load - own + idle - idle_dc };
        let room = if FILL { inverse(k1, k2, more(0.0, p.input[l] - taken)) } else { 0.0 };
        let bought = pick(fills, less(more(0.0, wanted - by_array), less(p.charger[l], room)), 0.0);
        let bought = if PANEL {
            let left = inverse(k1, k2, more(0.0, -taken));
            more(bought, less(more(0.0, charge - by_array), less(p.panel_charger[l], left)))
        } else {
            bought
        };
        let for_charge = draw(k1, k2, bought);
        let spent = more(0.0, drawn - sun);
        let used = less(sun, drawn + by_array);
        let import = if PANEL { more(0.0, taken + for_charge) } else { taken + for_charge };
        let back = if PANEL { more(0.0, -(taken + for_charge)) } else { 0.0 };
        let fed = if PANEL { less(back, less(p.panel_export[l], more(0.0, p.relay[l] - sold))) } else { 0.0 };
        let stored = kept + h * ((by_array + bought) * p.into[l] - spent * p.per_out[l]);
        f.take(
            l,
            Flows {
                array_used: if PANEL { used + panel - (back - fed) } else { used },
                array_lost: if PANEL { sun - used + (back - fed) } else { sun - used },
                import,
                export: if PANEL { sold + fed } else { sold },
                generated: 0.0,
                served0: x.loads[0],
                served1: x.loads[1],
                served2: x.loads[2],
                converter: drawn - own - sold + (idle - idle_dc) + (for_charge - bought),
                battery: (by_array + bought) * (1.0 - p.into[l]) + spent * (p.per_out[l] - 1.0),
                faded: (s.stored[l] - kept) * p.per_hour,
                fuel_l: 0.0,
                panel: if PANEL { panel - (back - fed) } else { 0.0 },
                relay: more(import, if PANEL { sold + fed } else { sold }),
                over: pick(import > p.input[l] * (1.0 + 1e-9), 1.0, 0.0),
            },
        );
        s.stored[l] = more(0.0, less(p.capacity[l], stored));
        s.heat[l] = more(0.0, s.heat[l] + heated(own + sold - p.rating[l], p.recovery[l]) * h);
        s.on1[l] = 1.0;
        s.on2[l] = 1.0;
        s.up[l] = 1.0;
        s.gen_on[l] = 0.0;
        s.gen_h[l] = 0.0;
        s.wait_h[l] = p.panel_wait_h[l];
    }
}

/// A step without it; `PANEL`: with arrays on the panel.
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
        let keep2 = pick(all <= can, on2, 0.0);
        let keep1 = pick(two <= can, on1, 0.0);
        let runs_on = pick(x.loads[0] <= can, up, 0.0);
        let (served1, served2) =
            (keep1 * x.loads[1] * runs_on, keep1_or(keep1, on1, keep2) * x.loads[2] * runs_on);
        let served = x.loads[0] * runs_on + served1 + served2;
        let by_panel = if PANEL { less(served, panel) } else { 0.0 };
        let by_engine = if PANEL { less(served - by_panel, engine) } else { less(served, engine) };
        let power = if PANEL { served - by_panel - by_engine } else { served - by_engine };
        // without power of its own the converter idles on what the generator has left
        let idle = p.idle[l] * runs_on;
        let drawn = draw(k1, k2, power) + idle;
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
            power > 0.0 || spent > 0.0,
            0.0,
            less(more(0.0, charge - by_array), less(p.charger[l], room)),
        );
        let for_charge = draw(k1, k2, bought);
        let used = less(sun, drawn + by_array);
        // rounding of the limits apart, what is short comes from the generator
        let generated = by_engine + for_charge + pick(engine > 0.0, short, 0.0);
        let charged = if PANEL { by_array + bought + into } else { by_array + bought };
        let held = if PANEL { by_panel + draw(k1, k2, taken) } else { 0.0 };
        let stored = kept + h * (charged * p.into[l] - spent * p.per_out[l]);
        let burnt = pick(runs > 0.5, (p.gen_idle_l[l] + p.gen_l_per_wh[l] * generated) * h, 0.0);
        f.take(
            l,
            Flows {
                array_used: if PANEL { used + held } else { used },
                array_lost: if PANEL { sun - used + (whole - held) } else { sun - used },
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
                panel: held,
                relay: generated,
                over: 0.0,
            },
        );
        s.stored[l] = more(0.0, less(p.capacity[l], stored));
        s.heat[l] = more(0.0, s.heat[l] + heated(power - p.rating[l], p.recovery[l]) * h);
        s.on1[l] = keep1 * runs_on;
        s.on2[l] = keep1_or(keep1, on1, keep2) * runs_on;
        s.up[l] = runs_on;
        s.gen_on[l] = runs;
        s.gen_h[l] = (gen_h + h) * runs;
        s.fuel[l] = more(0.0, s.fuel[l] - burnt);
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
