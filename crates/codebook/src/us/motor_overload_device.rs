//! Overload protection of a motor for continuous duty.
//!
//! ## Clause and edition
//! NEC 2023; 430.32(A)(1) and (C).
//! ## Applies when
//! A motor of more than 1 hp for continuous duty has an overload device of its own.
//! ## Why
//! The short-circuit device lets the start pass; only the overload device knows a motor that runs too hot.
//! ## Formula
//! `I <= 1.25 · I_nameplate` with a service factor of 1.15 and more or a rise of 40 degC and less, else `1.15 ·
//! I_nameplate`; where that cannot start the motor, 1.40 and 1.30.
//! ## Example
//! Passing: a motor of 32 A with a service factor of 1.15: 40 A. Failing: a nameplate current of nothing.
//! ## Limits of our reading
//! The current is the nameplate's, not that of the tables. Thermal protectors in the motor (430.32(A)(2)), motors of 1 hp
//! and less, and multispeed motors are not read. Nothing is rounded: the device is set or taken not above it.
//! ## Source
//! 430.32(A)(1) and (C): from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Current, Ratio};
use saying::say;
use tables::us::conductor_rule;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 430.32(A)(1)";

/// The largest overload device.
#[derive(Debug, Clone)]
pub struct MotorOverload {
    /// Largest rating or setting, in A.
    pub limit: Known<Current>,
    /// The same where that cannot start the motor or carry its load, in A.
    pub if_it_cannot_start: Known<Current>,
}

/// The largest overload device of a motor by its nameplate.
///
/// # Errors
/// A current that is not above zero, or a service factor below 1.
pub fn motor_overload(
    nameplate: &Known<Current>,
    service_factor: &Known<Ratio>,
    rise_to_40_degc: bool,
) -> Result<MotorOverload, NotCovered> {
    sane(CLAUSE, nameplate)?;
    sane(CLAUSE, service_factor)?;
    if nameplate.value() <= Current::ZERO || service_factor.value() < Ratio::of(1.0) {
        return Err(NotCovered::new(
            CLAUSE,
            say!("a motor has a current above zero and a service factor of 1 and more"),
        ));
    }
    let from = conductor_rule::ratio("SF", "overload-service-factor")?;
    let marked = rise_to_40_degc || service_factor.value() >= from.value();
    let keys = if marked {
        ["overload-marked", "overload-most-marked"]
    } else {
        ["overload-other", "overload-most-other"]
    };
    let (f, most) = (conductor_rule::ratio("f", keys[0])?, conductor_rule::ratio("f", keys[1])?);
    let limit = formula!("I_ol", "largest overload device", [f, nameplate] => f * nameplate, source = CLAUSE);
    let what = "largest overload device where the smaller cannot start it";
    let more = formula!("I_ol", what, [most, nameplate] => most * nameplate, source = "NEC 2023 430.32(C)");
    Ok(MotorOverload { limit, if_it_cannot_start: more })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    /// NEC Annex D, Example D8: 25 hp, 32 A on the nameplate, service factor 1.15: 40 A; 30 hp, 38 A, 40 degC: 47.5 A.
    #[test]
    fn example_d8() {
        let by = |a: f64, sf: f64, cool| motor_overload(&given(Current::of(a)), &given(Ratio::of(sf)), cool);
        near(&by(32.0, 1.15, false).unwrap().limit, 40.0);
        near(&by(38.0, 1.0, true).unwrap().limit, 47.5);
        near(&by(40.0, 1.0, false).unwrap().limit, 46.0);
        near(&by(40.0, 1.14, false).unwrap().if_it_cannot_start, 52.0);
        near(&by(40.0, 1.15, false).unwrap().if_it_cannot_start, 56.0);
        assert!(
            by(0.0, 1.0, false).is_err() && by(9.0, 0.9, false).is_err() && by(f64::NAN, 1.0, true).is_err()
        );
    }
}
