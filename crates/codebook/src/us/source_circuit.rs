//! Conductor and device of an interconnected source.
//!
//! ## Clause and edition
//! NEC 2023; 705.28, 705.30(B).
//! ## Applies when
//! The output circuit of an inverter or another interconnected source is sized.
//! ## Why
//! A source runs at full output for hours; its current is known and limited.
//! ## Formula
//! `I_max = sum(I_out)`, or the setpoint of power control; `I_table >= 1.25 · I_max`, `I_z >= I_max`, `I_n >= 1.25 ·
//! I_max`.
//! ## Example
//! Passing: 24 A take 10 AWG copper behind 30 A. Failing: no source.
//! ## Limits of our reading
//! Output at nominal voltage. The device must suit current from both sides, which is judged elsewhere. The neutral of
//! a two-wire source on a three-wire system is not read.
//! ## Source
//! 705.28(A), (B) and 705.30(B): two sources agree.

use derivation::{Known, formula};
use quantity::Current;
use saying::say;
use tables::us::conductor_rule;
use tables::us::overcurrent::next_standard;

use super::conductor_size::{ConductorSize, Demand, Kind, smallest};
use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 705.28";

/// Largest current of the circuit, in A: the outputs, or a setpoint that limits them.
///
/// # Errors
/// No source, or a current that is no number or negative.
pub fn largest_current(
    outputs: &[Known<Current>],
    setpoint: Option<&Known<Current>>,
) -> Result<Known<Current>, NotCovered> {
    all_sane(CLAUSE, outputs)?;
    if outputs.is_empty() {
        return Err(NotCovered::new(CLAUSE, say!("no source")));
    }
    let sum = Known::sum("I_max", "output of the sources", outputs);
    let Some(setpoint) = setpoint else { return Ok(sum) };
    sane(CLAUSE, setpoint)?;
    let least = Known::smallest("I_max", "output, or the setpoint that limits it", &[sum, setpoint.clone()]);
    least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no source")))
}

/// The smallest conductor and device of a source's circuit.
///
/// # Errors
/// As [`super::conductor_size::conductor_size`].
pub fn source_circuit(
    kind: &Kind,
    largest: &Known<Current>,
    fully_rated: bool,
) -> Result<ConductorSize, NotCovered> {
    sane(CLAUSE, largest)?;
    let (required, rated) = if fully_rated {
        (largest.clone(), largest.clone())
    } else {
        let f = conductor_rule::ratio("f", "source-conductor")?;
        let g = conductor_rule::ratio("g", "source-device")?;
        let what = "ampacity for the source";
        let required = formula!("I_req", what, [f, largest] => f * largest, source = "NEC 2023 705.28(B)");
        let what = "smallest device of the source";
        (required, formula!("I_dev", what, [g, largest] => g * largest, source = "NEC 2023 705.30(B)"))
    };
    let device = next_standard(&rated)?;
    let demand = Demand {
        required,
        carried: largest.clone(),
        circuit: device.clone(),
        device: Some(device),
        several_receptacles: false,
    };
    smallest(kind, &demand)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::conductor_ampacity::Surroundings;
    use crate::us::terminal_temperature::Listing;
    use crate::us::testing::{all, given, near};
    use quantity::{Ratio, Temperature};
    use tables::us::conductors::{Column, Laying, Material};

    fn kind() -> Kind {
        Kind {
            material: Material::Copper,
            insulation: Column::C90,
            listing: Listing::C75,
            at: Surroundings {
                laying: Laying::Raceway,
                ambient: given(Temperature::of(30.0)),
                on_roof: false,
                current_carrying: given(Ratio::of(2.0)),
                short_raceway: false,
            },
            largest: "600".parse().unwrap(),
        }
    }

    /// By hand: 24 A: 30 A, 10 AWG (12 AWG would carry 25 A); two of 50 A: 125 A, 1 AWG of 130 A.
    #[test]
    fn by_hand() {
        let one = source_circuit(&kind(), &largest_current(&all(&[24.0]), None).unwrap(), false).unwrap();
        near(one.device.as_ref().unwrap(), 30.0);
        assert_eq!(one.each.size.figure(), "10");
        let two =
            source_circuit(&kind(), &largest_current(&all(&[50.0, 50.0]), None).unwrap(), false).unwrap();
        near(two.device.as_ref().unwrap(), 125.0);
        assert_eq!(two.each.size.figure(), "1");
        let set = given(Current::of(40.0));
        near(&largest_current(&all(&[50.0, 50.0]), Some(&set)).unwrap(), 40.0);
        assert!(largest_current(&[], None).is_err());
        assert!(largest_current(&all(&[f64::NAN]), None).is_err());
    }
}
