//! Largest overcurrent device that protects an ampacity.
//!
//! ## Clause and edition
//! NEC 2023; 240.4(B) and (C), 240.6(A).
//! ## Applies when
//! A device protects a conductor against overload at its ampacity.
//! ## Why
//! Ampacities seldom meet a standard rating; up to 800 A the next one above is near enough, beyond it is not.
//! ## Formula
//! `I_n <= next standard rating(I)` up to 800 A; above, and for a branch circuit with several receptacles for
//! portable loads, `I_n <= I`.
//! ## Example
//! Passing: 765 A behind 800 A. Failing: 805 A behind 1000 A.
//! ## Limits of our reading
//! Small conductors have a limit of their own, see there. Standard ratings only; an adjustable device counts at its
//! setting, which must be brought as the rating.
//! ## Source
//! 240.4(B), (C) and 240.6(A): two sources agree.

use derivation::Known;
use quantity::Current;
use tables::us::conductor_rule;
use tables::us::overcurrent::{next_standard, standard_not_above};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 240.4";

/// Largest standard rating that protects an ampacity, in A. `several_receptacles`: a branch circuit with more than
/// one receptacle for portable loads.
///
/// # Errors
/// The ampacity is no number or negative, or no standard rating protects it.
pub fn largest(ampacity: &Known<Current>, several_receptacles: bool) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, ampacity)?;
    let end = conductor_rule::current("I_end", "next-size-to")?;
    if several_receptacles || ampacity.value() > end.value() {
        return Ok(standard_not_above(ampacity)?);
    }
    Ok(next_standard(ampacity)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    /// CON-10.
    #[test]
    fn next_size_up_to_800_a_and_not_beyond() {
        let pairs = [
            (130.0, 150.0),
            (255.0, 300.0),
            (310.0, 350.0),
            (100.0, 100.0),
            (765.0, 800.0),
            (805.0, 800.0),
            (38.28, 40.0),
        ];
        for (ampacity, device) in pairs {
            near(&largest(&given(Current::of(ampacity)), false).unwrap(), device);
        }
        near(&largest(&given(Current::of(28.0)), true).unwrap(), 25.0);
        assert!(largest(&given(Current::of(9.0)), true).is_err());
        assert!(largest(&given(Current::of(f64::NAN)), false).is_err());
        assert!(largest(&given(Current::of(-1.0)), false).is_err());
        assert!(
            largest(&given(Current::of(f64::INFINITY)), true).is_err(),
            "no device of 6000 A for no number"
        );
    }
}
