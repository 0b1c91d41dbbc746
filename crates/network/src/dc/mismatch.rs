//! The worst current of each string where the open-circuit voltages of strings may differ.
//!
//! Each string's open-circuit voltage lies within ±d of the stated one. The voltage of the bus rises with every
//! string's, so a string gives most with all others low, and is charged most by its neighbours with all others
//! high. Its own end is the open question. Where all units draw, the bus voltage is concave in the open-circuit
//! voltages (F is, see `solve`), so a string's current is convex and is largest at one of its own two ends: both
//! are solved. (With one string alone the lower end is worse: the same power at less voltage.) Where all units
//! charge it is convex, and the same holds for the charging current. The other direction is largest at the end away
//! from the bus as long as one ampere moves the landing by less than the string's own resistance; that is checked,
//! and where it fails there is no answer. Units that draw beside units that charge are not covered.

use derivation::Known;
use quantity::{DcCurrent, DcVoltage, Quantity};

use super::bus::DcBus;
use super::ladder::Ladder;
use super::solve::{Ended, Point};
use crate::NetworkError;
use crate::error::{above_zero, not_negative};
use crate::impedance::solved;

/// The worst currents over all open-circuit voltages within a spread.
#[derive(Debug, Clone)]
pub struct Mismatch {
    /// Of each string.
    pub strings: Vec<StringExtremes>,
    /// The string with the largest current in either direction, from 0.
    pub worst: usize,
    /// The magnitude of that current.
    pub worst_current: Known<DcCurrent>,
}

/// The extremes of a string's current.
#[derive(Debug, Clone)]
pub struct StringExtremes {
    /// Largest current in discharge; below zero where the string is charged in every case.
    pub discharge: Known<DcCurrent>,
    /// Largest current in charge, counted positive; below zero where the string gives in every case.
    pub charge: Known<DcCurrent>,
}

const MIXED: &str = "units draw beside units that charge: the worst mismatch is not covered";
const NO_END: &str = "with some open-circuit voltages within the spread the bus has no steady voltage";
const TOO_SOFT: &str = "the bus is so near to collapse that a string's worst charging current is not covered";

/// The worst current of each string when each open-circuit voltage may be off by `spread` either way.
///
/// # Errors
/// As [`DcBus::solve`]; a negative spread or one as large as a voltage; a spread within which the bus has no steady
/// voltage; units that draw beside units that charge.
pub fn worst_mismatch(bus: &DcBus, spread: &Known<DcVoltage>) -> Result<Mismatch, NetworkError> {
    let ladder = bus.ladder()?;
    let spread_v = not_negative(spread)?;
    for string in &bus.strings {
        if spread_v >= above_zero(&string.ocv)? {
            return Err(NetworkError::OutOfRange {
                what: spread.node().what.clone(),
                value: spread.node().amount.text.clone(),
                allowed: "below every open-circuit voltage",
            });
        }
    }
    let draws = ladder.draws.iter().any(|d| d.power_w > 0.0);
    if draws && ladder.draws.iter().any(|d| d.power_w < 0.0) {
        return Err(NetworkError::NotCovered(MIXED));
    }
    let mut from = bus.nodes();
    from.push(spread.node().clone());
    let mut strings = Vec::new();
    for k in 0..ladder.strings.len() {
        let corner = |own: f64, others: f64| solve_corner(&ladder, k, own * spread_v, others * spread_v);
        let (high, low) = (corner(1.0, -1.0)?, corner(-1.0, -1.0)?);
        let given = if low.current_a > high.current_a { &low } else { &high };
        let (pulled, level) = (corner(-1.0, 1.0)?, corner(1.0, 1.0)?);
        let stiffness = pulled.ladder.stiffness_ohm(&pulled.point, ladder.strings[k].landing);
        if draws && stiffness.is_none_or(|ohm| ohm >= ladder.strings[k].loop_ohm) {
            return Err(NetworkError::NotCovered(TOO_SOFT));
        }
        let taken = if level.current_a < pulled.current_a { &level } else { &pulled };
        let known = |symbol: &str, what: &str, corner: &Corner, sign: f64| -> Known<DcCurrent> {
            let law = "(OCV_k - V) / R_k at the worse corner of open-circuit voltages within the spread";
            let what = format!("{what} of string {}", bus.strings[k].name);
            let amperes = sign * corner.current_a;
            solved(&format!("{symbol}_{}", k + 1), what, amperes, law, corner.point.residual_a, from.clone())
        };
        strings.push(StringExtremes {
            discharge: known("I_dis", "largest discharge current", given, 1.0),
            charge: known("I_chg", "largest charging current", taken, -1.0),
        });
    }
    let all: Vec<Known<DcCurrent>> =
        strings.iter().flat_map(|s| [s.discharge.clone(), s.charge.clone()]).collect();
    let none = NetworkError::Count { what: "strings", count: 0, needed: "at least one is needed" };
    let worst_current = Known::largest("I_worst", "largest current of a string", &all).ok_or(none)?;
    let most = worst_current.value().si();
    let worst = all.iter().position(|I| I.value().si() >= most).unwrap_or(0) / 2;
    Ok(Mismatch { strings, worst, worst_current })
}

struct Corner {
    ladder: Ladder,
    point: Point,
    /// Current of the string in question.
    current_a: f64,
}

fn solve_corner(ladder: &Ladder, k: usize, own_v: f64, others_v: f64) -> Result<Corner, NetworkError> {
    let mut ladder = ladder.clone();
    for (j, string) in ladder.strings.iter_mut().enumerate() {
        string.ocv_v += if j == k { own_v } else { others_v };
    }
    let Ended::Settled(point) = ladder.solve(1.0) else {
        return Err(NetworkError::NoSolution(NO_END));
    };
    let string = ladder.strings[k];
    let current_a = (string.ocv_v - point.v[point.nodes.landing[string.landing]]) / string.loop_ohm;
    Ok(Corner { ladder, point, current_a })
}
