//! Electric-vehicle supply equipment: 7200 VA at least each.
//!
//! ## Clause and edition
//! NEC 2023; 220.57.
//! ## Applies when
//! Electric-vehicle supply equipment is on a service or feeder.
//! ## Why
//! A vehicle charges for hours at the full rating of its equipment.
//! ## Formula
//! `S = sum(max(7200 VA, nameplate))`.
//! ## Example
//! Passing: 11,500 VA count as such, 3800 VA count 7200 VA. Failing: a nameplate that is no number is refused.
//! ## Limits of our reading
//! No credit for energy management (220.70). Charging is a continuous load: 125 percent for its conductors is another
//! rule.
//! ## Source
//! 220.57, new in 2023: one source; confirm in the adopted code.

use derivation::Known;
use quantity::Apparent;
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::all_sane;

/// Load of electric-vehicle supply equipment, in VA; zero without any.
///
/// # Errors
/// A nameplate is no number.
pub fn load(nameplates: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    all_sane("NEC 2023 220.57", nameplates)?;
    let floor = load_rule::apparent("floor", "ev-floor")?;
    let pairs = nameplates.iter().map(|nameplate| [floor.clone(), nameplate.clone()]);
    let each: Vec<_> = pairs.filter_map(|pair| Known::largest("S_ev", "one outlet", &pair)).collect();
    Ok(Known::sum("S_EV", "electric-vehicle supply", &each))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    #[test]
    fn small_equipment_counts_at_the_floor_which_is_to_be_confirmed() {
        let load = load(&all(&[11_500.0, 3800.0])).unwrap();
        near(&load, 18_700.0);
        assert!(derivation::explain(load.node()).contains("220.57 (confirm in the adopted code)"));
    }

    /// A floor of 7200 VA must not hide a nameplate that is no number or negative.
    #[test]
    fn a_nameplate_without_sense_is_refused_and_not_replaced_by_the_floor() {
        assert!(load(&all(&[11_500.0, -3800.0])).is_err());
        assert!(load(&all(&[f64::NAN])).is_err());
    }
}
