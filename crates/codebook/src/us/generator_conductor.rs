//! Conductors of a generator.
//!
//! ## Clause and edition
//! NEC 2023; 445.13(A).
//! ## Applies when
//! Conductors run from a generator to its first device.
//! ## Why
//! A generator can give more than its nameplate for a while, and no device stands ahead of these conductors.
//! ## Formula
//! `I >= 1.15 · I_nameplate`; the plain current where design or controls keep the generator from overload.
//! ## Example
//! Passing: 83.3 A ask for 95.8 A. Failing: a nameplate that is no number.
//! ## Limits of our reading
//! The neutral follows 220.61 and its own rule; conductors after the first device are a feeder. The factors of the
//! place are held against the whole of it.
//! ## Source
//! 445.13(A): two sources agree.

use derivation::{Known, formula};
use quantity::Current;
use tables::us::conductor_rule;

use super::conductor_size::{ConductorSize, Demand, Kind, smallest};
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 445.13(A)";

/// Ampacity that a generator's conductors must have, in A.
///
/// # Errors
/// The current is no number or negative.
pub fn required(nameplate: &Known<Current>, cannot_overload: bool) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, nameplate)?;
    let what = "ampacity for the generator";
    if cannot_overload {
        return Ok(formula!("I_req", what, [nameplate] => nameplate, source = CLAUSE));
    }
    let f = conductor_rule::ratio("f", "generator-conductor")?;
    Ok(formula!("I_req", what, [f, nameplate] => f * nameplate, source = CLAUSE))
}

/// The smallest conductor of a generator up to its first device.
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
    use crate::us::testing::{given, near};

    #[test]
    fn fifteen_percent_more_unless_it_cannot_be_overloaded() {
        near(&required(&given(Current::of(100.0)), false).unwrap(), 115.0);
        near(&required(&given(Current::of(100.0)), true).unwrap(), 100.0);
        assert!(required(&given(Current::of(f64::NAN)), false).is_err());
    }
}
