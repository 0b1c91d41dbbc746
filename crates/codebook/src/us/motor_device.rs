//! Short-circuit and ground-fault device of motors.
//!
//! ## Clause and edition
//! NEC 2023; 430.52(C)(1), 430.62(A), 430.63, Table 430.52(C)(1).
//! ## Applies when
//! A branch circuit supplies one motor, or a feeder several, with or without other load.
//! ## Why
//! The device must let the start pass; overload is another device's work.
//! ## Formula
//! `I_n <= next standard rating(f · FLC)`; if that cannot start the motor, an inverse-time breaker of at most `4 ·
//! FLC` up to 100 A, `3 · FLC` above. A feeder: `I_n <= largest branch device + sum(FLC_others) + I_other`, rounded down.
//! ## Example
//! Passing: 22 A at 250 % make 55 A, a breaker of 60 A. Failing: 70 A for the same motor, unless it cannot start on
//! 60 A.
//! ## Limits of our reading
//! An instantaneous-trip breaker is a setting, so no standard rating is named for it. Values that a maker marks on
//! the controller may be lower and come first. Group installations are not read.
//! ## Source
//! Table 430.52(C)(1), 430.52(C)(1) and 430.62(A): two sources agree. 430.63 (other load): from memory.

use derivation::{Known, formula};
use quantity::Current;
use saying::say;
use tables::us::conductor_rule;
use tables::us::grounding::{self, MotorDevice};
use tables::us::overcurrent::{next_standard, standard_not_above};

use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 430.52(C)(1)";

/// A motor's device.
#[derive(Debug, Clone)]
pub struct MotorProtection {
    /// Table share times full-load current.
    pub limit: Known<Current>,
    /// Largest standard rating; `None` for an instantaneous-trip breaker.
    pub rating: Option<Known<Current>>,
    /// Largest standard rating of an inverse-time breaker where the other cannot start the motor.
    pub if_it_cannot_start: Option<Known<Current>>,
}

/// Largest device of one motor.
///
/// # Errors
/// No such kind of motor, or a current that is not above zero.
pub fn motor_device(
    full_load: &Known<Current>,
    motor: &str,
    device: MotorDevice,
) -> Result<MotorProtection, NotCovered> {
    sane(CLAUSE, full_load)?;
    if full_load.value() <= Current::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("a motor without full-load current")));
    }
    let f = grounding::motor_device(motor, device)?;
    let what = "largest device before rounding";
    let limit = formula!("I_max", what, [f, full_load] => f * full_load, source = CLAUSE);
    let rating = match device {
        MotorDevice::InstantaneousBreaker => None,
        _ => Some(next_standard(&limit)?),
    };
    let if_it_cannot_start = if device == MotorDevice::InverseTimeBreaker {
        let change = conductor_rule::current("I_change", "motor-breaker-change")?;
        let key =
            if full_load.value() <= change.value() { "motor-breaker-small" } else { "motor-breaker-large" };
        let most = conductor_rule::ratio("f", key)?;
        let what = "largest breaker that starts it";
        let end = formula!("I_max", what, [most, full_load] => most * full_load, source = CLAUSE);
        // very small motors have no standard rating below it
        standard_not_above(&end).ok()
    } else {
        None
    };
    Ok(MotorProtection { limit, rating, if_it_cannot_start })
}

/// Largest device of a feeder of motors: the largest branch device, the other motors and the other load, this with its
/// continuous part raised already.
///
/// # Errors
/// A current that is no number, or no standard rating that is as small.
pub fn feeder_device(
    largest_device: &Known<Current>,
    other_full_loads: &[Known<Current>],
    other_load: &Known<Current>,
) -> Result<Known<Current>, NotCovered> {
    let clause = "NEC 2023 430.62(A) and 430.63";
    sane(clause, largest_device)?;
    sane(clause, other_load)?;
    all_sane(clause, other_full_loads)?;
    let others = Known::sum("FLC_others", "full-load current of the other motors", other_full_loads);
    let what = "largest feeder device before rounding";
    let limit = formula!(
        "I_max", what,
        [largest_device, others, other_load] => largest_device + others + other_load, source = clause
    );
    Ok(standard_not_above(&limit)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given, near};

    /// MOT-03: 22 A at 250 %: 55 A, 60 A. By hand: 400 % is 88 A, 80 A.
    #[test]
    fn published_breaker() {
        let flc = given(Current::of(22.0));
        let motor = "polyphase-other-than-wound-rotor";
        let found = motor_device(&flc, motor, MotorDevice::InverseTimeBreaker).unwrap();
        near(&found.limit, 55.0);
        near(found.rating.as_ref().unwrap(), 60.0);
        near(found.if_it_cannot_start.as_ref().unwrap(), 80.0);
        assert!(motor_device(&flc, motor, MotorDevice::InstantaneousBreaker).unwrap().rating.is_none());
        assert!(motor_device(&flc, "linear", MotorDevice::DualElementFuse).is_err());
        assert!(motor_device(&given(Current::ZERO), motor, MotorDevice::DualElementFuse).is_err());
        // by hand: 60 + 22 + 10 = 92 A, rounded down
        let none = given(Current::ZERO);
        near(&feeder_device(&given(Current::of(60.0)), &all(&[22.0, 10.0]), &none).unwrap(), 90.0);
        assert!(feeder_device(&given(Current::of(-60.0)), &all(&[122.0]), &none).is_err());
        // 430.63, by hand: 30 + 4.8 and other load of 200 A make 234.8 A, 225 A; without that load 34.8 A, 30 A
        let with = |a: f64| feeder_device(&given(Current::of(30.0)), &all(&[4.8]), &given(Current::of(a)));
        near(&with(200.0).unwrap(), 225.0);
        near(&with(0.0).unwrap(), 30.0);
        assert!(with(-1.0).is_err() && with(f64::NAN).is_err());
    }

    /// By hand: above 100 A the upper limit is 300 %: 124 A make 372 A, 350 A.
    #[test]
    fn above_100_a_the_upper_limit_is_lower() {
        let found = motor_device(
            &given(Current::of(124.0)),
            "polyphase-other-than-wound-rotor",
            MotorDevice::InverseTimeBreaker,
        )
        .unwrap();
        near(found.rating.as_ref().unwrap(), 350.0);
        near(found.if_it_cannot_start.as_ref().unwrap(), 350.0);
        let at = motor_device(
            &given(Current::of(100.0)),
            "polyphase-other-than-wound-rotor",
            MotorDevice::InverseTimeBreaker,
        );
        near(at.unwrap().if_it_cannot_start.as_ref().unwrap(), 400.0);
    }
}
