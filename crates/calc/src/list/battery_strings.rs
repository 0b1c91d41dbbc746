//! Batteries: strings in parallel, faults, cables.

use derivation::Known;
use quantity::{DcVoltage, Resistance};
use storage::cable::{drop, loop_resistance};
use storage::fault::{Cells, bank_fault};
use storage::strings::{BatteryString, share};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![strings(), fault(), cable()]
}

fn strings() -> Calculation {
    Calculation {
        id: "battery-strings",
        purpose: "How battery strings with unequal cables share a load, and what they give into a fault at the bus",
        inputs: vec![
            In::numbers("emf_v", M::DC_VOLT, "open-circuit voltage of string"),
            In::numbers("internal_ohm", M::OHM, "internal resistance of string").within(0.0, 1e3),
            In::numbers("cable_ohm", M::OHM, "cable resistance there and back of string").within(0.0, 1e3),
            In::number("load_a", M::DC_AMPERE, "current of the bus").within(0.0, 1e6),
        ],
        outputs: vec![
            Out::new("bus_v", M::DC_VOLT, "voltage of the bus"),
            Out::new(
                "string_a",
                M::DC_AMPERE,
                "current of each string; below zero where the others charge it",
            ),
            Out::new("worst_share_pct", M::PERCENT, "largest current, of an equal share"),
            Out::new("fault_a", M::DC_AMPERE, "bolted fault at the bus"),
            Out::new("string_fault_a", M::DC_AMPERE, "what each string gives to it"),
            Out::new("into_string_a", M::DC_AMPERE, "what the others give into a fault in each string"),
        ],
        run: run_strings,
    }
}

fn run_strings(given: &Given) -> Result<Results, CalcError> {
    let emfs: Vec<Known<DcVoltage>> = given.list("emf_v", "E")?;
    // as many strings as the longest of the lists; one value stands for all
    let count = emfs.len().max(given.numbers("internal_ohm")?.len()).max(given.numbers("cable_ohm")?.len());
    let emfs: Vec<Known<DcVoltage>> = given.for_each("emf_v", "E", count)?;
    let internals: Vec<Known<Resistance>> = given.for_each("internal_ohm", "R_i", count)?;
    let cables = given.for_each("cable_ohm", "R_c", count)?;
    let strings: Vec<BatteryString> = emfs
        .into_iter()
        .zip(internals)
        .zip(cables)
        .map(|((emf, internal), cable)| BatteryString { emf, internal, cable })
        .collect();
    let found = share(&strings, &given.one("load_a", "I")?)?;
    Ok(Results::default()
        .known("bus_v", &found.bus)
        .list("string_a", &found.currents)
        .known_if("worst_share_pct", found.worst_share.as_ref())
        .known("fault_a", &found.fault)
        .list("string_fault_a", &found.fault_currents)
        .list("into_string_a", &found.into_string))
}

fn cable_inputs() -> Vec<In> {
    vec![
        In::number("one_way_ft", M::FOOT, "length of the cable, one way").within(0.0, 1e5),
        In::number("cable_ohm_per_kft", M::OHM_PER_KFT, "resistance of each length of one conductor"),
        In::number("parallel_sets", M::NUMBER, "sets of conductors in parallel").within(1.0, 100.0).or("1"),
    ]
}

fn cable_resistance(given: &Given) -> Result<Known<Resistance>, CalcError> {
    let (length, each) = (given.one("one_way_ft", "L")?, given.one("cable_ohm_per_kft", "r")?);
    Ok(loop_resistance(&length, &each, &given.one("parallel_sets", "n_c")?)?)
}

fn fault() -> Calculation {
    let mut inputs = vec![
        In::number("cells", M::NUMBER, "cells in series").within(1.0, 1e4),
        In::number("cell_v", M::DC_VOLT, "open-circuit voltage of a cell"),
        In::number("cell_ohm", M::OHM, "internal resistance of a cell"),
        In::number("connectors", M::NUMBER, "connectors between them").within(0.0, 1e4).or("0"),
        In::number("connector_ohm", M::OHM, "resistance of a connector").within(0.0, 1.0).or("0"),
        In::number("strings", M::NUMBER, "equal strings in parallel, joined at the terminals")
            .within(1.0, 1e3)
            .or("1"),
    ];
    inputs.extend(cable_inputs());
    Calculation {
        id: "battery-fault",
        purpose: "Fault current of a string of cells at its terminals and at the end of a cable",
        inputs,
        outputs: vec![
            Out::new("open_circuit_v", M::DC_VOLT, "open-circuit voltage"),
            Out::new("total_ohm", M::OHM, "cells, connectors and cable"),
            Out::new("at_terminals_a", M::DC_AMPERE, "fault at the terminals"),
            Out::new("at_end_a", M::DC_AMPERE, "fault at the end of the cable"),
        ],
        run: |given| {
            let cells = Cells {
                cells: given.one("cells", "n")?,
                emf: given.one("cell_v", "E_1")?,
                internal: given.one("cell_ohm", "R_1")?,
                connectors: given.one("connectors", "n_c")?,
                connector: given.one("connector_ohm", "R_c")?,
                strings: given.one("strings", "n_s")?,
            };
            let found = bank_fault(&cells, &cable_resistance(given)?)?;
            Ok(Results::default()
                .known("open_circuit_v", &found.emf)
                .known("total_ohm", &found.total)
                .known("at_terminals_a", &found.at_terminals)
                .known("at_end_a", &found.at_end))
        },
    }
}

fn cable() -> Calculation {
    let mut inputs = cable_inputs();
    inputs.extend([
        In::number("current_a", M::DC_AMPERE, "current").within(0.0, 1e6),
        In::number("nominal_v", M::DC_VOLT, "nominal voltage"),
    ]);
    Calculation {
        id: "dc-cable-drop",
        purpose: "Voltage drop and loss of a DC cable",
        inputs,
        outputs: vec![
            Out::new("loop_ohm", M::OHM, "resistance there and back"),
            Out::new("drop_v", M::DC_VOLT, "voltage drop"),
            Out::new("drop_pct", M::PERCENT, "drop, of nominal"),
            Out::new("loss_w", M::WATT, "loss"),
        ],
        run: |given| {
            let resistance = cable_resistance(given)?;
            let found = drop(&resistance, &given.one("current_a", "I")?, &given.one("nominal_v", "V")?)?;
            Ok(Results::default()
                .known("loop_ohm", &resistance)
                .known("drop_v", &found.drop)
                .known("drop_pct", &found.share)
                .known("loss_w", &found.loss))
        },
    }
}
