//! Lighting of buildings other than dwellings, and its demand.
//!
//! ## Clause and edition
//! NEC 2023; 220.42(A), Table 220.42(A), Table 220.45.
//! ## Applies when
//! A feeder or service of a building that is no dwelling is calculated.
//! ## Why
//! What is installed today is less than what the next tenant installs; so the floor area sets a floor.
//! ## Formula
//! `S = max(u · A, S_connected)`; demand for hotels 60 % of 20 kVA, 50 % up to 100 kVA, 35 % of the rest; for warehouses
//! 100 % of 12.5 kVA and 50 % of the rest; all others in full. Carried by conductors and devices:
//! `max(demand(u · A), 1.25 · demand(S_connected))`, since the table's loads hold the 125 % of a continuous load.
//! ## Example
//! Passing: 3000 ft2 of retail at 1.9 VA make 5700 VA. Failing: an occupancy that the table does not name.
//! ## Limits of our reading
//! One occupancy; a building of several is calculated part by part. The shares are not for lighting that is likely to be
//! used all at once, which the caller must know. Energy codes in place of the table (220.42(B)) are not read. Schools and
//! sports arenas are taken at the larger of two editions' values.
//! ## Source
//! Tables 220.42(A) and 220.45: two sources agree; schools and sports arenas: one source. That the table's loads hold the
//! 125 %: note 1 to Table 220.12 of the 2020 edition, two sources agree; editions before it had larger loads without.

use derivation::{Known, formula};
use quantity::{Apparent, Area};
use tables::us::building::{lighting_tiers, unit_load};
use tables::us::load_rule;

use super::general_lighting::SQUARE_FOOT;
use crate::not_covered::{largest_of, sane};
use crate::{NotCovered, tiers};

const CLAUSE: &str = "NEC 2023 220.42(A)";
const NOTE: &str = "NEC 2023 Table 220.42(A), note 1";

/// Lighting load of a floor area by the table, in VA. It holds the 125 % of a continuous load already.
///
/// # Errors
/// No such occupancy, or an area that is no number.
pub fn by_area(occupancy: &str, area: &Known<Area>) -> Result<Known<Apparent>, NotCovered> {
    sane(CLAUSE, area)?;
    let u = unit_load(occupancy)?;
    let ft2 = Known::table("ft2", "one square foot", SQUARE_FOOT, "constant", "", "definition", false);
    Ok(formula!("S_area", "lighting by the floor area", [u, area, ft2] => u * (area / ft2), source = CLAUSE))
}

/// Lighting load of a floor area, or what is connected where that is more, in VA.
///
/// # Errors
/// No such occupancy, or a value that is no number.
pub fn lighting(
    occupancy: &str,
    area: &Known<Area>,
    connected: Option<&Known<Apparent>>,
) -> Result<Known<Apparent>, NotCovered> {
    let mut ways = vec![by_area(occupancy, area)?];
    if let Some(connected) = connected {
        sane(CLAUSE, connected)?;
        ways.push(connected.clone());
    }
    largest_of(CLAUSE, ("S_light", "lighting load"), &ways)
}

/// What conductors and devices are asked to carry of it, in VA: the demand of the table's load as it is, or that of what
/// is connected raised to 125 %, whichever is more.
///
/// # Errors
/// As [`lighting`] and [`demand`].
pub fn required(
    occupancy: &str,
    area: &Known<Area>,
    connected: Option<&Known<Apparent>>,
) -> Result<Known<Apparent>, NotCovered> {
    let mut ways = vec![demand(occupancy, &by_area(occupancy, area)?)?];
    if let Some(connected) = connected {
        let load = demand(occupancy, connected)?;
        let f = load_rule::ratio("f", "continuous-feeder")?;
        ways.push(
            formula!("S_lc", "connected lighting, raised", [f, load] => f * load, source = "NEC 2023 215.2(A)(1)"),
        );
    }
    largest_of(NOTE, ("S_lr", "lighting to be carried"), &ways)
}

/// Demand of the lighting of an occupancy, in VA; in full where the table has no row of its own.
///
/// # Errors
/// The load is no number.
pub fn demand(occupancy: &str, lighting: &Known<Apparent>) -> Result<Known<Apparent>, NotCovered> {
    sane("NEC 2023 Table 220.45", lighting)?;
    let found = lighting_tiers(occupancy)?;
    if found.is_empty() {
        return Ok(lighting.clone());
    }
    Ok(tiers::demand("S_ld", "demand of the lighting", lighting, &found))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};
    use quantity::Quantity;

    fn va(x: f64) -> Known<Apparent> {
        given(Apparent::of(x))
    }

    #[test]
    fn the_larger_of_area_and_connected() {
        let area = given(Area::read("3000 ft2").unwrap());
        near(&lighting("retail", &area, None).unwrap(), 5700.0);
        near(&lighting("retail", &area, Some(&va(8500.0))).unwrap(), 8500.0);
        near(&lighting("retail", &area, Some(&va(500.0))).unwrap(), 5700.0);
        assert!(lighting("palace", &area, None).is_err());
        assert!(lighting("retail", &given(Area::of(f64::NAN)), None).is_err());
        assert!(lighting("retail", &area, Some(&va(-1.0))).is_err());
    }

    /// By hand: 3000 ft2 at 1.9 VA ask for 5700 VA as they are; 4000 VA connected for 5000 VA, 9000 VA for 11,250 VA; a
    /// hotel of 10,000 ft2 at 1.7 VA for 60 % of 17 kVA, and for 1.25 x 60 % of 15 kVA connected.
    #[test]
    fn only_connected_lighting_is_raised() {
        let area = given(Area::read("3000 ft2").unwrap());
        near(&required("retail", &area, None).unwrap(), 5700.0);
        near(&required("retail", &area, Some(&va(4000.0))).unwrap(), 5700.0);
        near(&required("retail", &area, Some(&va(5000.0))).unwrap(), 6250.0);
        near(&required("retail", &area, Some(&va(9000.0))).unwrap(), 11_250.0);
        let area = given(Area::read("10000 ft2").unwrap());
        near(&required("hotel", &area, None).unwrap(), 10_200.0);
        near(&required("hotel", &area, Some(&va(15_000.0))).unwrap(), 11_250.0);
        assert!(required("hotel", &area, Some(&va(f64::NAN))).is_err());
    }

    /// By hand: hotel 0.6 x 20 + 0.5 x 80 + 0.35 x 20 kVA; warehouse 12.5 + 0.5 x 7.5 kVA.
    #[test]
    fn by_tiers_of_the_occupancy() {
        near(&demand("hotel", &va(120_000.0)).unwrap(), 59_000.0);
        near(&demand("warehouse", &va(20_000.0)).unwrap(), 16_250.0);
        near(&demand("office", &va(20_000.0)).unwrap(), 20_000.0);
        assert!(demand("hotel", &va(f64::NAN)).is_err());
    }
}
