//! Small-appliance and laundry circuits of a dwelling.
//!
//! ## Clause and edition
//! NEC 2023; 220.52, 210.11(C)(1) and (2).
//! ## Applies when
//! A dwelling is calculated by any of the Article 220 methods.
//! ## Why
//! Kitchen and laundry receptacles carry heavy portable appliances that no list of loads shows.
//! ## Formula
//! `S = n · 1500 VA`; n at least 2 small-appliance circuits and at least 1 laundry circuit.
//! ## Example
//! Passing: two small-appliance circuits and one laundry circuit add 3000 VA and 1500 VA. Failing: one
//! small-appliance circuit is refused.
//! ## Limits of our reading
//! The exceptions that let a dwelling of a multifamily building go without a laundry circuit are not read.
//! ## Source
//! 220.52 and 210.11(C): two sources agree.

use derivation::{Known, formula};
use quantity::{Apparent, Ratio};
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::counted;

const CLAUSE: &str = "NEC 2023 220.52";

/// Load of the small-appliance circuits, in VA.
///
/// # Errors
/// Fewer than the code asks for, or no whole number.
pub fn small_appliance(circuits: &Known<Ratio>) -> Result<Known<Apparent>, NotCovered> {
    counted(CLAUSE, circuits, &load_rule::ratio("n_min", "small-appliance-circuits")?)?;
    let each = load_rule::apparent("each", "small-appliance-load")?;
    Ok(formula!("S_sa", "small-appliance circuits", [circuits, each] => circuits * each, source = CLAUSE))
}

/// Load of the laundry circuits, in VA.
///
/// # Errors
/// Fewer than the code asks for, or no whole number.
pub fn laundry(circuits: &Known<Ratio>) -> Result<Known<Apparent>, NotCovered> {
    counted(CLAUSE, circuits, &load_rule::ratio("n_min", "laundry-circuits")?)?;
    let each = load_rule::apparent("each", "laundry-load")?;
    Ok(formula!("S_laundry", "laundry circuits", [circuits, each] => circuits * each, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn each_circuit_counts_and_too_few_are_refused() {
        near(&small_appliance(&given(Ratio::of(3.0))).unwrap(), 4500.0);
        let once = laundry(&given(Ratio::of(1.0))).unwrap();
        near(&once, 1500.0);
        // a circuit of either kind counts the same, but by a clause of its own
        let story = derivation::explain(once.node());
        assert!(story.contains("laundry load of each circuit"), "{story}");
        for n in [1.0, 2.5, -2.0, f64::NAN] {
            assert!(small_appliance(&given(Ratio::of(n))).is_err(), "{n}");
        }
        assert!(laundry(&given(Ratio::of(0.0))).is_err());
    }
}
