//! A quarter more for the largest motor.
//!
//! ## Clause and edition
//! NEC 2023; 430.24 (by way of 220.50).
//! ## Applies when
//! A service or feeder calculated by the standard method carries motors.
//! ## Why
//! Conductors of a motor must carry it somewhat overloaded; in a group only the largest is reckoned so.
//! ## Formula
//! `S_add = 0.25 · max(S_motor)`, all motors themselves counted in full elsewhere.
//! ## Example
//! Passing: motors of 1380 VA and 600 VA add 345 VA. Failing: a motor load that is no number is refused.
//! ## Limits of our reading
//! Motor loads are the caller's volt-amperes; the clause takes them from table full-load current. The optional
//! methods for dwellings do not make this addition.
//! ## Source
//! 430.24: two sources agree; that 220.50 leads there: from memory.

use derivation::{Known, formula};
use quantity::Apparent;
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::all_sane;

const CLAUSE: &str = "NEC 2023 430.24";

/// The addition for the largest of some motors, in VA; `None` without motors.
///
/// # Errors
/// A load is no number.
pub fn addition(motors: &[Known<Apparent>]) -> Result<Option<Known<Apparent>>, NotCovered> {
    all_sane(CLAUSE, motors)?;
    let Some(largest) = Known::largest("S_M", "largest motor", motors) else { return Ok(None) };
    let extra = load_rule::ratio("extra", "largest-motor-extra")?;
    let what = "addition for the largest motor";
    Ok(Some(formula!("S_add", what, [extra, largest] => extra * largest, source = CLAUSE)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    #[test]
    fn a_quarter_of_the_largest_only() {
        near(&addition(&all(&[600.0, 1380.0])).unwrap().unwrap(), 345.0);
        assert!(addition(&[]).unwrap().is_none());
        assert!(addition(&all(&[f64::NAN])).is_err());
    }
}
