//! Grounding electrode conductor.
//!
//! ## Clause and edition
//! NEC 2023; 250.66, Table 250.66.
//! ## Applies when
//! A service or a separately derived system is connected to its electrodes.
//! ## Why
//! The conductor carries lightning and utility faults into the earth; an electrode that takes little current needs no
//! large conductor.
//! ## Formula
//! Table 250.66 by the area of the largest ungrounded conductors; to rods, pipes and plates alone not more than 6 AWG
//! copper or 4 AWG aluminum; to a concrete-encased electrode alone not more than 4 AWG copper.
//! ## Example
//! Passing: 2/0 AWG copper take 4 AWG copper, to a rod 6 AWG. Failing: aluminum to a concrete-encased electrode has
//! no limit in the clause and is refused.
//! ## Limits of our reading
//! The lower limits hold only for a conductor that does not go on to another kind of electrode. Ground rings are not
//! read. Conductors in parallel count together.
//! ## Source
//! Table 250.66, 250.66(A) and (B): two sources agree.

use derivation::Known;
use quantity::WireArea;
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::Material;
use tables::us::grounding;
use tables::us::size::KnownSize;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 250.66";

/// To what the conductor goes, and to nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Electrode {
    /// Water pipe, building steel, or several kinds.
    Any,
    /// Rods, pipes or plates only.
    Rod,
    /// Concrete-encased only.
    ConcreteEncased,
}

/// Smallest grounding electrode conductor.
///
/// # Errors
/// An area that is no number or not above zero, or an electrode for which the clause has no size of this metal.
pub fn electrode_conductor(
    phase: &Known<WireArea>,
    metal: Material,
    material: Material,
    electrode: Electrode,
) -> Result<KnownSize, NotCovered> {
    sane(CLAUSE, phase)?;
    let table = grounding::electrode(phase, metal, material)?;
    let enough = match (electrode, material) {
        (Electrode::Any, _) => return Ok(table),
        (Electrode::Rod, Material::Copper) => conductor_rule::size("A", "electrode-rod-cu")?,
        (Electrode::Rod, Material::Aluminum) => conductor_rule::size("A", "electrode-rod-al")?,
        (Electrode::ConcreteEncased, Material::Copper) => conductor_rule::size("A", "electrode-concrete-cu")?,
        (Electrode::ConcreteEncased, Material::Aluminum) => {
            return Err(NotCovered::new(
                CLAUSE,
                say!("no size of aluminum is named for a concrete-encased electrode"),
            ));
        }
    };
    Ok(if enough.size < table.size { enough } else { table })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn the_electrode_bounds_the_table() {
        let size = |kcmil, electrode| {
            let area = given(WireArea::of(kcmil));
            electrode_conductor(&area, Material::Copper, Material::Copper, electrode).map(|s| s.size.figure())
        };
        assert_eq!(size(133.1, Electrode::Any), Ok("4"));
        assert_eq!(size(133.1, Electrode::Rod), Ok("6"));
        assert_eq!(size(41.74, Electrode::Rod), Ok("8"));
        assert_eq!(size(600.0, Electrode::ConcreteEncased), Ok("4"));
        assert!(size(-1.0, Electrode::Any).is_err());
        assert!(size(f64::INFINITY, Electrode::Any).is_err());
        let al = electrode_conductor(
            &given(WireArea::of(100.0)),
            Material::Aluminum,
            Material::Aluminum,
            Electrode::ConcreteEncased,
        );
        assert!(al.is_err());
    }
}
