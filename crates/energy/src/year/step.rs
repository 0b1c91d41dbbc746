//! What steps with and without the utility have in common. Steps are written without branches on a design's state, so
//! that lanes stay together; what is the same for all (the utility is there, hours to fill) is decided outside.

mod off;
mod on;

use super::lanes::Lanes;

pub(crate) use off::step_off;
pub(crate) use on::step_on;

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
pub(super) fn pick(which: bool, yes: f64, no: f64) -> f64 {
    if which { yes } else { no }
}

/// Lesser of two, without care for what is no number.
#[inline(always)]
pub(crate) fn less(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// Greater of two, likewise.
#[inline(always)]
pub(crate) fn more(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// Heat that a power above or below the rating brings or takes.
#[inline(always)]
pub(crate) fn heated(over: f64, recovery: f64) -> f64 {
    pick(over > 0.0, over, over * recovery)
}

/// Most charge and discharge at the terminals, in watts: limits, taper, what there is room for, what there
/// is.
#[inline(always)]
pub(super) fn battery<const N: usize>(p: &Lanes<N>, l: usize, kept: f64, floor: f64) -> (f64, f64) {
    let room = p.capacity[l] - kept;
    let taper = less(1.0, room * p.taper_by[l]) * p.charge_limit[l];
    let charge = more(0.0, less(taper, room * p.per_into[l]));
    let held = less(p.discharge_limit[l], (kept - p.floor[l]) * p.holds[l]);
    let discharge = more(0.0, less(held, (kept - floor) * p.out_rate[l]));
    (charge, discharge)
}
