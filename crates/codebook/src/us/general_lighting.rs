//! General lighting and receptacles of a dwelling, and their demand.
//!
//! ## Clause and edition
//! NEC 2023; 220.41, Table 220.45.
//! ## Applies when
//! A dwelling's service or feeder is calculated by the standard method; small-appliance and laundry circuits may be
//! added before the demand shares are taken.
//! ## Why
//! Nobody lights every room at once. The floor area stands for what is connected, the falling shares for how little
//! of it runs together.
//! ## Formula
//! `S = u · A`, u = 3 VA for each square foot (33 VA/m2). Demand: 100 % of the first 3 kVA, 35 % up to 120 kVA, 25 %
//! of the rest.
//! ## Example
//! Passing: 1500 ft2 give 4500 VA; with two small-appliance circuits and one laundry circuit 9000 VA, of which 5100 VA
//! count. Failing: an area that is no number is refused.
//! ## Limits of our reading
//! The area is the caller's: outside dimensions, no open porches, garages or space that cannot be made habitable. The
//! unit load per square foot is used, not the slightly larger one per square metre.
//! ## Source
//! 220.41 and Table 220.45 (2017: Tables 220.12 and 220.42): two sources agree.

use derivation::{Known, formula};
use quantity::{Apparent, Area, Current, PhaseVoltage, Quantity};
use saying::say;
use tables::us::dwelling::lighting_demand_tiers;
use tables::us::load_rule;

use crate::not_covered::sane;
use crate::{NotCovered, tiers};

const CLAUSE: &str = "NEC 2023 220.41";

/// General lighting and receptacle load of a floor area, in VA.
///
/// # Errors
/// The area is no number.
pub fn lighting(area: &Known<Area>) -> Result<Known<Apparent>, NotCovered> {
    sane(CLAUSE, area)?;
    let per_ft2 = load_rule::apparent("per_ft2", "unit-load")?;
    let ft2 = Known::table("ft2", "one square foot", SQUARE_FOOT, "constant", "", "definition", false);
    let what = "general lighting and receptacles";
    Ok(formula!("S_light", what, [per_ft2, area, ft2] => per_ft2 * (area / ft2), source = CLAUSE))
}

pub(crate) const SQUARE_FOOT: Area = Area::of(0.092_903_04);

/// Demand of the general load (lighting, small-appliance and laundry circuits together), in VA.
///
/// # Errors
/// The load is no number.
pub fn demand(general: &Known<Apparent>) -> Result<Known<Apparent>, NotCovered> {
    sane("NEC 2023 Table 220.45", general)?;
    Ok(tiers::demand("S_gd", "demand of the general load", general, &lighting_demand_tiers()?))
}

/// Current of the general lighting load on circuits at a voltage to neutral, in amperes: what the number of
/// lighting circuits follows from.
///
/// # Errors
/// The voltage is not above zero.
pub fn circuit_current(
    lighting: &Known<Apparent>,
    voltage: &Known<PhaseVoltage>,
) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, lighting)?;
    if voltage.value().si() > 0.0 {
        let what = "current of the lighting circuits";
        return Ok(formula!("I_light", what, [lighting, voltage] => lighting / voltage));
    }
    Err(NotCovered::new(CLAUSE, say!("the voltage is not above zero")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    /// Table 220.42 (now 220.45) dwelling tiers over both breakpoints, LOD-06.
    #[test]
    fn tiers_beyond_the_second_breakpoint() {
        for (general, expected) in [(2800.0, 2800.0), (9000.0, 5100.0), (130_000.0, 46_450.0)] {
            near(&demand(&given(Apparent::of(general))).unwrap(), expected);
        }
        near(&demand(&given(Apparent::of(0.0))).unwrap(), 0.0);
    }

    /// NEC Annex D, Example D1(a): 1500 ft2 make 4500 VA, 37.5 A at 120 V.
    #[test]
    fn lighting_circuits_of_example_d1a() {
        let load = lighting(&given(Area::read("1,500 ft2").unwrap())).unwrap();
        near(&load, 4500.0);
        let story = derivation::explain(load.node());
        assert!(!story.contains("confirm"), "neither the unit load nor the foot is in doubt: {story}");
        near(&circuit_current(&load, &given(PhaseVoltage::of(120.0))).unwrap(), 37.5);
        assert!(lighting(&given(Area::of(f64::NAN))).is_err());
        assert!(circuit_current(&load, &given(PhaseVoltage::of(0.0))).is_err());
        assert!(circuit_current(&given(Apparent::of(-1.0)), &given(PhaseVoltage::of(120.0))).is_err());
        assert!(
            demand(&given(Apparent::of(-1.0))).is_err() && demand(&given(Apparent::of(f64::NAN))).is_err()
        );
    }
}
