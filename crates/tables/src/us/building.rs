//! Lighting of buildings other than dwellings: loads by floor area (NEC 2023 Table 220.42(A)) and demand (Table 220.45).

use derivation::Known;
use quantity::Apparent;

use super::dwelling::{Tier, lighting_tier};
use super::{OTHER_LIGHTING, UNIT_LOADS, of};
use crate::TableError;
use crate::sheet::Cell;

/// Occupancies of Table 220.42(A), as the table file names them.
pub const OCCUPANCIES: [&str; 29] = [
    "automotive-facility",
    "convention-center",
    "courthouse",
    "dormitory",
    "exercise-center",
    "fire-station",
    "gymnasium",
    "health-care-clinic",
    "hospital",
    "hotel",
    "library",
    "manufacturing-facility",
    "motion-picture-theater",
    "museum",
    "office",
    "parking-garage",
    "penitentiary",
    "performing-arts-theater",
    "police-station",
    "post-office",
    "religious-facility",
    "restaurant",
    "retail",
    "school-university",
    "sports-arena",
    "town-hall",
    "transportation",
    "warehouse",
    "workshop",
];

/// Lighting load of an occupancy, for each square foot.
///
/// # Errors
/// No such occupancy.
pub fn unit_load(occupancy: &str) -> Result<Known<Apparent>, TableError> {
    let sheet = of(&UNIT_LOADS)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "occupancy") == occupancy);
    let row = row.ok_or_else(|| sheet.no_row(occupancy, OCCUPANCIES.join(", ")))?;
    let cell = Cell { row, column: "va_per_ft2", row_name: occupancy, scale: 1.0 };
    sheet.known("u", "lighting load for each square foot", cell)
}

/// Demand of an occupancy's lighting by tiers; none where it counts in full.
///
/// # Errors
/// The table cannot be used.
pub fn lighting_tiers(occupancy: &str) -> Result<Vec<Tier>, TableError> {
    let sheet = of(&OTHER_LIGHTING)?;
    let rows = (0..sheet.len()).filter(|&row| sheet.text(row, "occupancy") == occupancy);
    rows.map(|row| lighting_tier(sheet, row)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Quantity;

    #[test]
    fn the_words_are_those_of_the_table() {
        let sheet = of(&UNIT_LOADS).unwrap();
        let rows: Vec<&str> = (0..sheet.len()).map(|row| sheet.text(row, "occupancy")).collect();
        assert_eq!(rows, OCCUPANCIES);
        for occupancy in OCCUPANCIES {
            let load = unit_load(occupancy).unwrap().value().si();
            assert!((0.3..=3.0).contains(&load), "{occupancy}");
        }
        assert!(unit_load("palace").is_err());
        let school = unit_load("school-university").unwrap();
        assert!(
            school.value() == Apparent::of(3.0) && school.node().source().contains("confirm"),
            "the larger of two editions"
        );
    }

    #[test]
    fn tiers_follow_each_other() {
        for occupancy in ["hotel", "warehouse"] {
            assert!(OCCUPANCIES.contains(&occupancy));
            let tiers = lighting_tiers(occupancy).unwrap();
            assert_eq!(tiers[0].over.value(), Apparent::ZERO);
            for pair in tiers.windows(2) {
                assert_eq!(pair[0].up_to.as_ref().unwrap().value(), pair[1].over.value());
            }
            assert!(tiers.last().unwrap().up_to.is_none());
        }
        assert!(lighting_tiers("office").unwrap().is_empty());
    }
}
