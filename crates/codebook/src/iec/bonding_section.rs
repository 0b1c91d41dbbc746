//! Section of main bonding, earthing and combined conductors.
//!
//! ## Clause and edition
//! IEC 60364-5-54:2011; 542.3.1, 543.4.1, 544.1.1.
//! ## Applies when
//! Metal of a building is bonded to the main earthing terminal, the terminal is earthed, or one conductor serves as
//! protective conductor and neutral.
//! ## Why
//! Bonding keeps touchable metal near one potential while a fault lasts; a thin conductor breaks or burns first.
//! ## Formula
//! Bonding: `S_b = S_PE / 2`, no less than 6 mm2 copper or 16 mm2 aluminium, copper no more than 25 mm2. Earthing
//! conductor not in the ground: the section of the protective conductor, no less than 6 mm2. Combined conductor: no
//! less than 10 mm2 copper or 16 mm2 aluminium.
//! ## Example
//! Passing: a protective conductor of 35 mm2 asks for 25 mm2 of bonding (17.5 mm2, next nominal). Failing: 4 mm2.
//! ## Limits of our reading
//! Aluminium bonding is not capped. Steel, earthing conductors in the ground, lightning protection and supplementary
//! bonding are not read.
//! ## Source
//! Earthing conductor 6 mm2: one source; all others from memory.

use derivation::{Known, formula};
use quantity::{Ratio, Section};
use saying::say;
use tables::iec::cable::Metal;
use tables::iec::clause;

use super::protective_conductor::next_nominal;
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60364-5-54:2011 544.1.1";

/// Which conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bond {
    /// Main protective bonding.
    Main,
    /// Earthing conductor that is not in the ground.
    Earthing,
    /// Combined protective and neutral conductor, fixed.
    Combined,
}

/// Least nominal section, in mm2, from the largest protective conductor of the installation.
///
/// # Errors
/// No number, a metal that is not read, or more than the largest nominal section.
pub fn bonding_section(
    bond: Bond,
    metal: Metal,
    protective: &Known<Section>,
) -> Result<Known<Section>, NotCovered> {
    sane(CLAUSE, protective)?;
    let what = "section by the protective conductor";
    let mut by_size = protective.clone();
    if bond == Bond::Main {
        let share: Known<Ratio> = clause::number("share", "bonding-share")?;
        by_size = formula!("S", what, [share, protective] => share * protective, source = CLAUSE);
        if metal == Metal::Copper {
            let most: Known<Section> = clause::number("S_most", "bonding-most-cu")?;
            let capped = Known::smallest("S", what, &[by_size, most]);
            by_size = capped.ok_or_else(|| NotCovered::new(CLAUSE, say!("no section")))?;
        }
    }
    let key = match (bond, metal) {
        (Bond::Main, Metal::Copper) => "bonding-least-cu",
        (Bond::Main, Metal::Aluminium) => "bonding-least-al",
        (Bond::Combined, Metal::Copper) => "pen-cu",
        (Bond::Combined, Metal::Aluminium) => "pen-al",
        (Bond::Earthing, Metal::Copper) => "earthing-cu",
        (Bond::Earthing, Metal::Aluminium) => {
            return Err(NotCovered::new(
                "IEC 60364-5-54:2011 542.3.1",
                say!("earthing conductors of aluminium"),
            ));
        }
    };
    let floor: Known<Section> = clause::number("S_floor", key)?;
    let least = Known::largest("S_min", "least section", &[by_size, floor]);
    let least = least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no section")))?;
    next_nominal("S_b", "section of the conductor", &least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn half_with_floor_and_cap() {
        let main = |pe| bonding_section(Bond::Main, Metal::Copper, &given(Section::of(pe)));
        for (pe, bonding) in [(2.5, 6.0), (16.0, 10.0), (35.0, 25.0), (95.0, 25.0), (150.0, 25.0)] {
            near(&main(pe).unwrap(), bonding);
        }
        near(&bonding_section(Bond::Main, Metal::Aluminium, &given(Section::of(95.0))).unwrap(), 50.0);
        near(&bonding_section(Bond::Combined, Metal::Copper, &given(Section::of(6.0))).unwrap(), 10.0);
        near(&bonding_section(Bond::Earthing, Metal::Copper, &given(Section::of(16.0))).unwrap(), 16.0);
        assert!(bonding_section(Bond::Earthing, Metal::Aluminium, &given(Section::of(16.0))).is_err());
        assert!(main(f64::NAN).is_err());
    }
}
