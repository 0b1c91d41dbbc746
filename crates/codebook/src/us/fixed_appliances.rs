//! Four or more appliances fastened in place at 75 percent.
//!
//! ## Clause and edition
//! NEC 2023; 220.53.
//! ## Applies when
//! A dwelling calculated by the standard method has appliances fastened in place: water heater, dishwasher, disposer
//! and the like; not cooking, dryers, space heating, air conditioning or electric-vehicle supply.
//! ## Why
//! The more appliances there are, the less likely they run together.
//! ## Formula
//! `S = 0.75 · sum(S_large) + sum(S_small)` from four large ones up, else the plain sum; large is 500 VA or more.
//! ## Example
//! Passing: 4500, 1200, 600 and 900 VA count 5400 VA. Failing: with only the first three nothing is taken off, 6300 VA
//! count.
//! ## Limits of our reading
//! The clause also lets a motor of a quarter horsepower or more count among the four; such a motor takes over 500 VA
//! by its table current, so one floor serves both. What is smaller counts in full.
//! ## Source
//! 220.53: two sources agree; the floor entered in 2020.

use derivation::{Known, formula};
use quantity::{Apparent, Ratio};
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::all_sane;

const CLAUSE: &str = "NEC 2023 220.53";

/// The share that these appliances count with; `None` where they are too few.
///
/// # Errors
/// A load is no number.
pub fn share(appliances: &[Known<Apparent>]) -> Result<Option<Known<Ratio>>, NotCovered> {
    all_sane(CLAUSE, appliances)?;
    let floor = load_rule::apparent("floor", "fixed-appliance-floor")?;
    let least = load_rule::ratio("least", "fixed-appliance-count")?;
    let large = appliances.iter().filter(|a| a.value() >= floor.value()).count();
    let enough = Ratio::of(large as f64) >= least.value();
    Ok(if enough { Some(load_rule::ratio("f", "fixed-appliance-share")?) } else { None })
}

/// Demand of all or some of the appliances at the share of all, in VA.
///
/// # Errors
/// A load is no number.
pub fn demand(
    appliances: &[Known<Apparent>],
    share: Option<&Known<Ratio>>,
) -> Result<Known<Apparent>, NotCovered> {
    all_sane(CLAUSE, appliances)?;
    let what = "appliances fastened in place";
    let Some(share) = share else { return Ok(Known::sum("S_fix", what, appliances)) };
    let floor = load_rule::apparent("floor", "fixed-appliance-floor")?;
    let (large, small): (Vec<_>, Vec<_>) =
        appliances.iter().cloned().partition(|a| a.value() >= floor.value());
    let large = Known::sum("large", "appliances of 500 VA and more", &large);
    let small = Known::sum("small", "smaller appliances", &small);
    Ok(formula!("S_fix", what, [share, large, small] => share * large + small, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    fn total(loads: &[f64]) -> Known<Apparent> {
        let loads = all(loads);
        demand(&loads, share(&loads).unwrap().as_ref()).unwrap()
    }

    #[test]
    fn the_share_needs_four_of_500_va() {
        near(&total(&[4500.0, 1200.0, 600.0]), 6300.0);
        near(&total(&[4500.0, 1200.0, 600.0, 900.0]), 5400.0);
        // the fourth is too small to count among the four
        near(&total(&[4500.0, 1200.0, 600.0, 499.0]), 6799.0);
        // and is not reduced beside four
        near(&total(&[4500.0, 1200.0, 600.0, 500.0, 100.0]), 5200.0);
        near(&total(&[]), 0.0);
    }
}
