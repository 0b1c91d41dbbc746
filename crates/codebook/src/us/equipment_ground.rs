//! Equipment grounding conductor.
//!
//! ## Clause and edition
//! NEC 2023; 250.122(A), (B) and (F), Table 250.122.
//! ## Applies when
//! A circuit has an equipment grounding conductor of wire.
//! ## Why
//! It must carry a fault until the device opens; with larger circuit conductors the fault is larger or lasts longer.
//! ## Formula
//! `A = A_table · (A_installed / A_needed)` where the circuit conductors are larger than needed; never more than the
//! circuit conductors; in each of several raceways in full.
//! ## Example
//! Passing: 300 A, 250 kcmil enlarged to 350 kcmil: 41.74 · 1.4 = 58.4 kcmil, 2 AWG. Failing: a device above 6000 A
//! has no row.
//! ## Limits of our reading
//! What is needed is what ambient and number of conductors ask for: enlarging for those is no enlarging. Motor
//! circuits with instantaneous breakers and multiconductor cables in parallel are not read.
//! ## Source
//! Table 250.122 and 250.122: two sources agree.

use derivation::{Known, formula};
use quantity::{Current, Ratio, WireArea};
use saying::say;
use tables::us::conductors::Material;
use tables::us::grounding;
use tables::us::size::{KnownSize, smallest_of};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 250.122";

/// The conductors of the circuit, each phase as a whole.
#[derive(Debug, Clone)]
pub struct CircuitConductors {
    /// Metal of the circuit conductors.
    pub material: Material,
    /// Area that the load, ambient and number of conductors need.
    pub needed: Known<WireArea>,
    /// Area that is installed, sets in parallel added up.
    pub installed: Known<WireArea>,
}

/// An equipment grounding conductor.
#[derive(Debug, Clone)]
pub struct EquipmentGround {
    /// From the table.
    pub table: KnownSize,
    /// How much larger the circuit conductors are than needed.
    pub ratio: Option<Known<Ratio>>,
    /// Area that follows.
    pub required: Known<WireArea>,
    /// The conductor; one like it in each raceway.
    pub size: KnownSize,
}

/// Equipment grounding conductor for a device, and for circuit conductors that may be larger than needed.
///
/// # Errors
/// A device without row, installed conductors smaller than needed, or no size as large.
pub fn equipment_ground(
    device: &Known<Current>,
    material: Material,
    circuit: Option<&CircuitConductors>,
) -> Result<EquipmentGround, NotCovered> {
    sane(CLAUSE, device)?;
    let table = grounding::equipment_ground(device, material)?;
    let Some(circuit) = circuit else {
        return Ok(EquipmentGround { ratio: None, required: table.area.clone(), size: table.clone(), table });
    };
    let (needed, installed, own) = (&circuit.needed, &circuit.installed, &table.area);
    sane(CLAUSE, needed)?;
    sane(CLAUSE, installed)?;
    if needed.value() <= WireArea::ZERO || installed.value() < needed.value() {
        let reason = say!(
            "{installed} are installed, {needed} needed",
            installed = installed.value(),
            needed = needed.value()
        );
        return Err(NotCovered::new(CLAUSE, reason));
    }
    let ratio =
        formula!("k", "enlargement of the circuit conductors", [installed, needed] => installed / needed);
    let what = "area of the equipment grounding conductor";
    let source = "NEC 2023 250.122(B)";
    let required = formula!("A_eg", what, [own, ratio] => own * ratio, source = source);
    let what = format!("{} equipment grounding conductor", material.name());
    let mut size = smallest_of(&required, &what)?;
    // "need not exceed" holds between like metals; a larger one is on the safe side
    if circuit.material == material && size.area.value() > installed.value() {
        size = smallest_of(installed, &format!("{what}, not larger than the circuit conductors"))?;
    }
    Ok(EquipmentGround { table, ratio: Some(ratio), required, size })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn circuit(needed: f64, installed: f64) -> CircuitConductors {
        CircuitConductors {
            material: Material::Copper,
            needed: given(WireArea::of(needed)),
            installed: given(WireArea::of(installed)),
        }
    }

    /// CON-05.
    #[test]
    fn enlarged_with_the_circuit() {
        let device = given(Current::of(300.0));
        let found = equipment_ground(&device, Material::Copper, Some(&circuit(250.0, 350.0))).unwrap();
        assert_eq!(found.table.size.figure(), "4");
        near(found.ratio.as_ref().unwrap(), 1.4);
        near(&found.required, 58.436);
        assert_eq!(found.size.size.figure(), "2");
        let plain = equipment_ground(&device, Material::Copper, Some(&circuit(250.0, 250.0))).unwrap();
        assert_eq!(plain.size.size.figure(), "4");
    }

    /// By hand: 20 A on 12 AWG enlarged to 6 AWG: 6.53 · 26.24 / 6.53 = 6 AWG; 15 A on 14 AWG likewise never
    /// exceeds them.
    #[test]
    fn never_larger_than_the_circuit() {
        let found =
            equipment_ground(&given(Current::of(20.0)), Material::Copper, Some(&circuit(6.53, 26.24)))
                .unwrap();
        assert_eq!(found.size.size.figure(), "6");
        let found =
            equipment_ground(&given(Current::of(30.0)), Material::Copper, Some(&circuit(6.53, 10.38)))
                .unwrap();
        assert_eq!(found.size.size.figure(), "10");
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let device = given(Current::of(300.0));
        assert!(equipment_ground(&device, Material::Copper, Some(&circuit(350.0, 250.0))).is_err());
        assert!(equipment_ground(&device, Material::Copper, Some(&circuit(0.0, 250.0))).is_err());
        assert!(equipment_ground(&device, Material::Copper, Some(&circuit(f64::NAN, 250.0))).is_err());
        assert!(equipment_ground(&device, Material::Copper, Some(&circuit(250.0, f64::NAN))).is_err());
        assert!(equipment_ground(&given(Current::of(7000.0)), Material::Copper, None).is_err());
        assert!(equipment_ground(&given(Current::of(f64::NAN)), Material::Copper, None).is_err());
    }
}
