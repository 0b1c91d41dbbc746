//! Conductors of motors.
//!
//! ## Clause and edition
//! NEC 2023; 430.22, 430.24.
//! ## Applies when
//! A branch circuit supplies one motor of continuous duty, or a feeder several motors and other load.
//! ## Why
//! A motor draws more than its rating when it is overloaded or starts, and its overload device lets that pass for a
//! while.
//! ## Formula
//! `I = 1.25 · FLC`; of several `I = 1.25 · FLC_largest + sum(FLC_others) + I_other`, other load continuous at 125 %.
//! ## Example
//! Passing: 22 A ask for 27.5 A, 10 AWG copper at 60 degC. Failing: a motor without full-load current in the tables.
//! ## Limits of our reading
//! Full-load currents are those of the tables, not of the nameplate. Duty other than continuous, multispeed and
//! wye-start motors are not read. The factors of the place are held against the whole of it, so that nothing is lost.
//! ## Source
//! 430.22 and 430.24: two sources agree.

use derivation::{Known, formula};
use quantity::Current;
use saying::say;
use tables::us::conductor_rule;

use super::conductor_size::{ConductorSize, Demand, Kind, smallest};
use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 430.22";

/// Ampacity that one motor's conductors must have, in A.
///
/// # Errors
/// The current is not above zero, or no number.
pub fn one(full_load: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, full_load)?;
    if full_load.value() <= Current::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("a motor without full-load current")));
    }
    let f = conductor_rule::ratio("f", "motor-conductor")?;
    Ok(formula!("I_req", "ampacity for the motor", [f, full_load] => f * full_load, source = CLAUSE))
}

/// Ampacity that a feeder of several motors and other load must have, in A; the other load with its continuous
/// part raised already.
///
/// # Errors
/// No motor, or a current that is no number or negative.
pub fn several(full_loads: &[Known<Current>], other: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    let clause = "NEC 2023 430.24";
    all_sane(clause, full_loads)?;
    sane(clause, other)?;
    let largest = Known::largest("FLC_max", "largest motor", full_loads);
    let largest = largest.ok_or_else(|| NotCovered::new(clause, say!("no motor")))?;
    let f = conductor_rule::ratio("f", "motor-feeder")?;
    let all = Known::sum("FLC_all", "all motors", full_loads);
    let what = "ampacity for the motors and the rest";
    Ok(formula!(
        "I_req", what, [f, largest, all, other] => f * largest + (all - largest) + other, source = clause
    ))
}

/// The smallest conductor for an ampacity of this clause; its device follows 430.52, not its ampacity.
///
/// # Errors
/// As [`super::conductor_size::conductor_size`].
pub fn conductor(kind: &Kind, required: &Known<Current>) -> Result<ConductorSize, NotCovered> {
    let demand = Demand {
        required: required.clone(),
        carried: required.clone(),
        device: None,
        circuit: required.clone(),
        several_receptacles: false,
    };
    smallest(kind, &demand)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given, near};

    #[test]
    fn the_largest_motor_is_raised() {
        near(&one(&given(Current::of(22.0))).unwrap(), 27.5);
        // by hand: 1.25 x 28 + 22 + 10
        near(&several(&all(&[22.0, 28.0]), &given(Current::of(10.0))).unwrap(), 67.0);
        assert!(one(&given(Current::ZERO)).is_err());
        assert!(one(&given(Current::of(f64::NAN))).is_err());
        assert!(several(&[], &given(Current::ZERO)).is_err());
        assert!(several(&all(&[f64::NAN]), &given(Current::ZERO)).is_err());
    }
}
