//! Fixed electric space heating in full.
//!
//! ## Clause and edition
//! NEC 2023; 220.51.
//! ## Applies when
//! A service or feeder calculated by the standard method carries fixed electric space heating.
//! ## Why
//! On the coldest night all heaters run, for hours.
//! ## Formula
//! `S_heat = 1.00 · sum(S_connected)`.
//! ## Example
//! Passing: five room heaters of 1800 VA count 9000 VA. Failing: a negative load is refused.
//! ## Limits of our reading
//! Relief that an inspector may grant for duty-cycled or intermittent units is not taken.
//! ## Source
//! 220.51: two sources agree.

use derivation::{Known, formula};
use quantity::Apparent;
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::all_sane;

const CLAUSE: &str = "NEC 2023 220.51";

/// Space heating load, in VA.
///
/// # Errors
/// A load is no number or negative.
pub fn load(connected: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    all_sane(CLAUSE, connected)?;
    let share = load_rule::ratio("share", "space-heat-share")?;
    let sum = Known::sum("sum", "connected space heating", connected);
    Ok(formula!("S_heat", "space heating", [share, sum] => share * sum, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    #[test]
    fn all_heaters_count_in_full() {
        near(&load(&all(&[1800.0; 5])).unwrap(), 9000.0);
        assert!(load(&all(&[1800.0, -1.0])).is_err());
    }
}
