//! Calculated currents in whole amperes.
//!
//! ## Clause and edition
//! NEC 2023; 220.5(B).
//! ## Applies when
//! A calculated current is to be shown or used in whole amperes.
//! ## Why
//! The inputs are not good to a fraction of an ampere.
//! ## Formula
//! `I = floor(I_calc + 0.5)`.
//! ## Example
//! Passing: 77.5 A becomes 78 A, 60.4 A becomes 60 A. Failing: what is no number is refused.
//! ## Limits of our reading
//! For showing only: no rule of this book rounds before it compares.
//! ## Source
//! 220.5(B): from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Current, Quantity};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 220.5(B)";
/// Rounding of a computed half that must not lose an ampere.
const ROUNDING: f64 = 1e-9;

/// A current in whole amperes, a half and more upwards.
///
/// # Errors
/// The current is no number or negative.
pub fn whole_amperes(current: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, current)?;
    Ok(formula!("I", "whole amperes", [current] => whole(current), source = CLAUSE))
}

fn whole(current: Current) -> Current {
    Current::of((current.si() + 0.5 + ROUNDING).floor())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn a_half_goes_up() {
        near(&whole_amperes(&given(Current::of(77.5))).unwrap(), 78.0);
        near(&whole_amperes(&given(Current::of(60.4))).unwrap(), 60.0);
        near(&whole_amperes(&given(Current::of(60.49))).unwrap(), 60.0);
        assert!(whole_amperes(&given(Current::of(f64::NAN))).is_err());
    }
}
