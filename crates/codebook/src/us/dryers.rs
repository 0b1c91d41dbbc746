//! Clothes dryers: 5000 VA at least each, and demand by their number.
//!
//! ## Clause and edition
//! NEC 2023; 220.54.
//! ## Applies when
//! Household electric clothes dryers are on a service or feeder calculated by the standard method.
//! ## Why
//! A small dryer will be replaced by a common one; many dryers do not run together.
//! ## Formula
//! `S = f(n) · sum(max(5000 VA, nameplate))`, f from Table 220.54.
//! ## Example
//! Passing: one dryer of 5500 VA counts 5500 VA, one of 4500 VA counts 5000 VA. Failing: a nameplate that is no number
//! is refused.
//! ## Limits of our reading
//! Single-phase dryers on a three-phase feeder are counted by the pairs of phases they sit on, which is not read
//! here.
//! ## Source
//! 220.54 and Table 220.54: two sources agree.

use derivation::{Known, formula};
use quantity::Apparent;
use tables::us::dwelling::dryer_demand;
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::{all_sane, number_of};

const CLAUSE: &str = "NEC 2023 220.54";

/// Demand of clothes dryers, in VA; zero without any.
///
/// # Errors
/// A nameplate is no number.
pub fn demand(nameplates: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    all_sane(CLAUSE, nameplates)?;
    let what = "clothes dryers";
    let floor = load_rule::apparent("floor", "dryer-floor")?;
    let pairs = nameplates.iter().map(|nameplate| [floor.clone(), nameplate.clone()]);
    let each: Vec<_> = pairs.filter_map(|pair| Known::largest("S_dryer", "one dryer", &pair)).collect();
    let sum = Known::sum("sum", "dryers, each at least the smallest load", &each);
    if each.is_empty() {
        return Ok(sum);
    }
    let share = dryer_demand(&number_of("number of dryers", nameplates))?;
    Ok(formula!("S_dry", what, [share, sum] => share * sum, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    #[test]
    fn the_floor_holds_for_each_and_the_share_for_all() {
        near(&demand(&all(&[5500.0])).unwrap(), 5500.0);
        near(&demand(&all(&[4500.0])).unwrap(), 5000.0);
        // five: 85 % of 4 x 5000 + 6000
        near(&demand(&all(&[4500.0, 4500.0, 4500.0, 4500.0, 6000.0])).unwrap(), 22_100.0);
        near(&demand(&[]).unwrap(), 0.0);
        assert!(demand(&all(&[f64::NAN])).is_err());
    }
}
