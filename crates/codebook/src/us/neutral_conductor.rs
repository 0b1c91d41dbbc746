//! Neutral conductor: its size, and whether it counts as current-carrying.
//!
//! ## Clause and edition
//! NEC 2023; 310.15(E), 215.2(A)(2), 250.24(D), 250.102(C)(1).
//! ## Applies when
//! A feeder or service has a neutral.
//! ## Why
//! A neutral carries what the legs do not balance, and harmonics that add up; it also returns fault current.
//! ## Formula
//! `I_terminals >= I_unbalanced`; a feeder's not smaller than the equipment grounding conductor of its device (Table
//! 250.122), a service's not smaller than Table 250.102(C)(1) by its ungrounded conductors; in parallel 1/0 AWG or
//! larger.
//! ## Example
//! Passing: 50 A unbalanced on a 250 A feeder take 8 AWG by load, 4 AWG at least. Failing: a feeder without a device
//! given.
//! ## Limits of our reading
//! The unbalanced current comes from 220.61 or from a solve, harmonics included. Two legs of a wye with neutral: it
//! carries about as much as the legs and counts. Loads of which most is nonlinear make the neutral of a wye count.
//! The neutral of two wires carries what the line does and counts. Factors of the place are not applied to the
//! neutral; where it counts, size it as the lines.
//! ## Source
//! 310.15(E) and the tables: two sources agree; 215.2(A)(2): one source (a published example); confirm in the adopted
//! code.

use derivation::{Known, formula};
use quantity::{Current, Ratio, VoltageSystem, WireArea};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Column, Laying, Material, ampacity};
use tables::us::grounding;
use tables::us::size::{KnownSize, Size};

use super::bonding_jumper::bonding_jumper;
use crate::NotCovered;
use crate::not_covered::{counted, sane};

const CLAUSE: &str = "NEC 2023 215.2(A)(2)";

/// What bounds the neutral from below.
#[derive(Debug, Clone)]
pub enum Least {
    /// A feeder: the rating of its device.
    Feeder(Known<Current>),
    /// A service: area and metal of its ungrounded conductors.
    Service(Known<WireArea>, Material),
}

/// A neutral.
#[derive(Debug, Clone)]
pub struct NeutralConductor {
    /// By the load alone.
    pub by_load: KnownSize,
    /// The least that the circuit asks for.
    pub least: KnownSize,
    /// The larger, and 1/0 AWG at least in parallel.
    pub size: KnownSize,
}

/// The smallest neutral; `sets` conductors in parallel carry the current together, each at least the least.
///
/// # Errors
/// A current that is no number, or a size or device that the tables do not have.
pub fn neutral_conductor(
    unbalanced: &Known<Current>,
    material: Material,
    terminals: Column,
    sets: &Known<Ratio>,
    least: &Least,
) -> Result<NeutralConductor, NotCovered> {
    sane(CLAUSE, unbalanced)?;
    counted(CLAUSE, sets, &Known::factor("n_min", "at least one", 1.0, CLAUSE))?;
    let each = formula!("I_n1", "unbalanced current of each", [unbalanced, sets] => unbalanced / sets);
    let by_load = by_load(&each, material, terminals)?;
    let least = match least {
        Least::Feeder(device) => {
            let ground = grounding::equipment_ground(device, material)?;
            let why =
                format!("not smaller than the equipment ground ({CLAUSE}; confirm in the adopted code)");
            ground.size.chosen("A", "least neutral of a feeder", why, vec![ground.area.node().clone()])?
        }
        Least::Service(area, metal) => bonding_jumper(area, *metal, material)?,
    };
    let mut all = vec![by_load.clone(), least.clone()];
    if sets.value() > Ratio::of(1.0) {
        all.push(conductor_rule::size("A_par", "parallel-least")?);
    }
    let areas: Vec<_> = all.iter().map(|sized| sized.area.clone()).collect();
    let area = Known::largest("A", "neutral conductor", &areas);
    let size = all.iter().map(|sized| sized.size).max();
    let (Some(area), Some(size)) = (area, size) else { return Err(NotCovered::new(CLAUSE, say!("no size"))) };
    Ok(NeutralConductor { by_load, least, size: KnownSize { size, area } })
}

fn by_load(current: &Known<Current>, material: Material, terminals: Column) -> Result<KnownSize, NotCovered> {
    for size in Size::all() {
        let Ok(carries) = ampacity(size, material, terminals, Laying::Raceway) else { continue };
        if carries.value() >= current.value() {
            let from = vec![current.node().clone(), carries.node().clone()];
            return Ok(size.chosen("A", "neutral by its load", "smallest size that carries it", from)?);
        }
    }
    Err(NotCovered::new(
        CLAUSE,
        say!("no neutral carries {current}: bring it in parallel", current = current.value()),
    ))
}

/// Whether the neutral counts as current-carrying (310.15(E)).
pub fn counts(system: VoltageSystem, mostly_nonlinear: bool) -> bool {
    match system {
        VoltageSystem::Split120_240 => mostly_nonlinear,
        VoltageSystem::TwoLegs120_208 | VoltageSystem::Single120 | VoltageSystem::Single230 => true,
        VoltageSystem::Wye120_208 | VoltageSystem::Wye230_400 => mostly_nonlinear,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    fn one() -> Known<Ratio> {
        given(Ratio::of(1.0))
    }

    /// CON-02: 8 AWG by load, 4 AWG at least.
    #[test]
    fn published_feeder_neutral() {
        let least = Least::Feeder(given(Current::of(250.0)));
        let found =
            neutral_conductor(&given(Current::of(50.0)), Material::Copper, Column::C75, &one(), &least)
                .unwrap();
        assert_eq!((found.by_load.size.figure(), found.least.size.figure()), ("8", "4"));
        assert_eq!(found.size.size.figure(), "4");
    }

    /// By hand: 300 A of neutral in two sets of a service with 2 x 350 kcmil: 150 A each are 1/0 AWG; least 700
    /// kcmil: 2/0 AWG.
    #[test]
    fn service_neutral_in_parallel() {
        let least = Least::Service(given(WireArea::of(700.0)), Material::Copper);
        let two = given(Ratio::of(2.0));
        let found =
            neutral_conductor(&given(Current::of(300.0)), Material::Copper, Column::C75, &two, &least)
                .unwrap();
        assert_eq!((found.by_load.size.figure(), found.size.size.figure()), ("1/0", "2/0"));
        let small = Least::Feeder(given(Current::of(60.0)));
        let found = neutral_conductor(&given(Current::of(60.0)), Material::Copper, Column::C75, &two, &small)
            .unwrap();
        assert_eq!(found.size.size.figure(), "1/0");
        let none =
            neutral_conductor(&given(Current::of(f64::NAN)), Material::Copper, Column::C75, &one(), &small);
        assert!(none.is_err());
        let huge =
            neutral_conductor(&given(Current::of(900.0)), Material::Copper, Column::C75, &one(), &small);
        assert!(huge.is_err());
    }

    #[test]
    fn two_legs_of_a_wye_count_and_harmonics_make_it_count() {
        assert!(!counts(VoltageSystem::Split120_240, false));
        assert!(counts(VoltageSystem::TwoLegs120_208, false));
        assert!(counts(VoltageSystem::Wye120_208, true));
        assert!(!counts(VoltageSystem::Wye120_208, false));
    }
}
