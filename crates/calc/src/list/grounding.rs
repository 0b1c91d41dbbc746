//! Equipment grounding, bonding and electrode conductors by the US code.

use codebook::us::bonding_jumper::bonding_jumper;
use codebook::us::electrode_conductor::{Electrode, electrode_conductor};
use codebook::us::equipment_ground::{CircuitConductors, equipment_ground};
use derivation::Known;
use quantity::WireArea;
use tables::us::size::together;

use super::conductor_inputs as ci;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![equipment(), bonding(), electrode()]
}

fn equipment() -> Calculation {
    Calculation {
        id: "equipment-ground",
        purpose: "Equipment grounding conductor for a device, larger where the circuit is larger than needed",
        inputs: vec![
            In::number("device_a", M::AMPERE, "rating of the device ahead of the circuit"),
            ci::material_input(),
            ci::phase_material_input(),
            In::number("needed_kcmil", M::KCMIL, "area that the circuit conductors need, factors included")
                .if_given(),
            In::number("installed_kcmil", M::KCMIL, "area of the circuit conductors, sets added up")
                .if_given(),
        ],
        outputs: vec![
            Out::new("table_size", M::WORD, "size by the table"),
            Out::new("table_kcmil", M::KCMIL, "its area"),
            Out::new("ratio", M::NUMBER, "enlargement of the circuit conductors"),
            Out::new("required_kcmil", M::KCMIL, "area that follows"),
            Out::new("size", M::WORD, "size, one in each raceway: AWG up to 4/0, kcmil from 250"),
            Out::new("area_kcmil", M::KCMIL, "its area"),
        ],
        run: run_equipment,
    }
}

fn run_equipment(given: &Given) -> Result<Results, CalcError> {
    let circuit = match (given.has("needed_kcmil"), given.has("installed_kcmil")) {
        (true, true) => Some(CircuitConductors {
            material: ci::material(given, "phase_material")?,
            needed: given.one("needed_kcmil", "A_needed")?,
            installed: given.one("installed_kcmil", "A_inst")?,
        }),
        (false, false) => None,
        _ => {
            return Err(CalcError::NotCovered(
                "give both needed_kcmil and installed_kcmil, or none".to_owned(),
            ));
        }
    };
    let material = ci::material(given, "material")?;
    let found = equipment_ground(&given.one("device_a", "I_n")?, material, circuit.as_ref())?;
    let results = ci::sized(Results::default(), "table_size", "table_kcmil", &found.table)
        .known_if("ratio", found.ratio.as_ref())
        .known("required_kcmil", &found.required);
    Ok(ci::sized(results, "size", "area_kcmil", &found.size))
}

/// The ungrounded conductors of a phase: their size, how many in parallel, their metal.
fn phase_inputs() -> Vec<In> {
    vec![
        ci::size_input("phase_size"),
        In::number("parallel", M::NUMBER, "ungrounded conductors in parallel that count together")
            .within(1.0, 100.0)
            .or("1"),
        ci::phase_material_input(),
        ci::material_input(),
    ]
}

fn phase_area(given: &Given) -> Result<Known<WireArea>, CalcError> {
    let area = ci::size(given, "phase_size")?.area()?;
    Ok(together(&area, &given.one("parallel", "n")?))
}

fn size_outputs() -> Vec<Out> {
    vec![
        Out::new("phase_kcmil", M::KCMIL, "area of the ungrounded conductors of a phase"),
        Out::new("size", M::WORD, "size: AWG up to 4/0, kcmil from 250"),
        Out::new("area_kcmil", M::KCMIL, "its area"),
    ]
}

fn bonding() -> Calculation {
    Calculation {
        id: "bonding-jumper",
        purpose: "Main, system or supply-side bonding jumper, or grounded conductor of a service",
        inputs: phase_inputs(),
        outputs: size_outputs(),
        run: |given| {
            let phase = phase_area(given)?;
            let (metal, own) = (ci::material(given, "phase_material")?, ci::material(given, "material")?);
            let found = bonding_jumper(&phase, metal, own)?;
            Ok(ci::sized(Results::default().known("phase_kcmil", &phase), "size", "area_kcmil", &found))
        },
    }
}

fn electrode() -> Calculation {
    let mut inputs = phase_inputs();
    inputs.push(
        In::word(
            "electrode",
            "to what the conductor goes, and nothing else",
            &["any", "rod", "concrete-encased"],
        )
        .or("any"),
    );
    Calculation {
        id: "electrode-conductor",
        purpose: "Grounding electrode conductor of a service or separately derived system",
        inputs,
        outputs: size_outputs(),
        run: |given| {
            let phase = phase_area(given)?;
            let (metal, own) = (ci::material(given, "phase_material")?, ci::material(given, "material")?);
            let to = match given.word("electrode")? {
                "rod" => Electrode::Rod,
                "concrete-encased" => Electrode::ConcreteEncased,
                _ => Electrode::Any,
            };
            let found = electrode_conductor(&phase, metal, own, to)?;
            Ok(ci::sized(Results::default().known("phase_kcmil", &phase), "size", "area_kcmil", &found))
        },
    }
}
