//! One step of some designs side by side with the utility.

// lanes are walked by index over many arrays at once
#![allow(clippy::needless_range_loop)]

use super::{battery, draw, heated, inverse, less, more, pick};
use crate::year::flows::{Flows, Sink};
use crate::year::lanes::{Inputs, Lanes, State};

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
