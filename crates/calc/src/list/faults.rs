//! Transformers as a source: fault current and dip.

use derivation::Known;
use network::voltage_dip::{
    Phases, Run, dip, fault_at_end, fault_multiplier, full_load_current, half_winding, infinite_bus_fault,
    line_to_neutral_fault, short_circuit_power,
};
use quantity::{Apparent, Current, LineVoltage, Ratio};

use super::phases;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![voltage_dip(), point_to_point()]
}

fn transformer_inputs() -> Vec<In> {
    vec![
        In::number("transformer_va", M::VOLT_AMPERE, "rating of the transformer"),
        In::number("impedance_pct", M::PERCENT, "impedance of the transformer").within(0.01, 100.0),
        In::number("line_v", M::LINE_VOLT, "line-to-line voltage of its secondary"),
        In::word(
            "phases",
            "1 for single-phase, with the voltage between its lines and never that to neutral; 3 for three-phase",
            &["1", "3"],
        ),
    ]
}

struct Source {
    rating: Known<Apparent>,
    z: Known<Ratio>,
    line: Known<LineVoltage>,
    full_load: Known<Current>,
    fault: Known<Current>,
}

fn source(given: &Given) -> Result<Source, CalcError> {
    let rating = given.one("transformer_va", "S")?;
    let z = given.one("impedance_pct", "z")?;
    let line = given.one("line_v", "V")?;
    let full_load = full_load_current(&rating, &line, phases(given)?)?;
    let fault = infinite_bus_fault(&full_load, &z)?;
    Ok(Source { rating, z, line, full_load, fault })
}

fn voltage_dip() -> Calculation {
    let mut inputs = transformer_inputs();
    inputs.push(In::number("start_va", M::VOLT_AMPERE, "starting power at nominal voltage"));
    Calculation {
        id: "voltage-dip",
        purpose: "Dip of a transformer's voltage when a motor starts, on a stiff primary",
        inputs,
        outputs: vec![
            Out::new("dip_pct", M::PERCENT, "dip as the power ratio, which errs high"),
            Out::new("dip_divider_pct", M::PERCENT, "dip as an impedance divider"),
            Out::new("full_load_a", M::AMPERE, "full-load current of the transformer"),
            Out::new("short_circuit_a", M::AMPERE, "fault current at its terminals"),
            Out::new("short_circuit_va", M::VOLT_AMPERE, "short-circuit power"),
        ],
        run: |given| {
            let source = source(given)?;
            let power = short_circuit_power(&source.rating, &source.z)?;
            let dip = dip(&given.one("start_va", "S_start")?, &power)?;
            Ok(Results::default()
                .known("dip_pct", &dip.ratio)
                .known("dip_divider_pct", &dip.divider)
                .known("full_load_a", &source.full_load)
                .known("short_circuit_a", &source.fault)
                .known("short_circuit_va", &power))
        },
    }
}

fn point_to_point() -> Calculation {
    let mut inputs = transformer_inputs();
    inputs.extend([
        In::word(
            "fault",
            "lines: three-phase or line to line; neutral: line to neutral of a centre-tapped single-phase transformer, 1.5 times as much at its terminals",
            &["lines", "neutral"],
        )
        .or("lines"),
        In::numbers("run_ft", M::FOOT, "one-way length of run"),
        In::numbers("run_c", M::NUMBER, "published constant C of the conductor of run"),
        In::numbers("run_parallel", M::NUMBER, "conductors in parallel per line of run")
            .within(1.0, 100.0)
            .or("1"),
    ]);
    Calculation {
        id: "fault-point-to-point",
        purpose: "Available fault current along runs after a transformer, point-to-point method",
        inputs,
        outputs: vec![
            Out::new("full_load_a", M::AMPERE, "full-load current of the transformer"),
            Out::new("multiplier", M::NUMBER, "fault current over full-load current"),
            Out::new(
                "transformer_fault_a",
                M::AMPERE,
                "fault current at its terminals, stiff primary; what motors feed in comes on top and is not in it",
            ),
            Out::new("f", M::NUMBER, "factor f of each run"),
            Out::new("m", M::NUMBER, "multiplier M of each run"),
            Out::new("end_fault_a", M::AMPERE, "fault current at the end of each run"),
        ],
        run: run_point_to_point,
    }
}

fn run_point_to_point(given: &Given) -> Result<Results, CalcError> {
    let source = source(given)?;
    let lengths = given.list("run_ft", "L")?;
    let constants = given.for_each("run_c", "C", lengths.len())?;
    let parallels = given.for_each("run_parallel", "n", lengths.len())?;
    let (mut factors, mut multipliers, mut currents) = (Vec::new(), Vec::new(), Vec::new());
    let (at_terminals, voltage) = match (given.word("fault")?, phases(given)?) {
        ("neutral", Phases::Single) => (line_to_neutral_fault(&source.fault)?, half_winding(&source.line)?),
        ("neutral", Phases::Three) => {
            let why = "a line-to-neutral fault is read for centre-tapped single-phase transformers alone";
            return Err(CalcError::NotCovered(why.to_owned()));
        }
        _ => (source.fault.clone(), source.line.clone()),
    };
    let mut here = at_terminals.clone();
    for ((length, c), parallel) in lengths.into_iter().zip(constants).zip(parallels) {
        let run = Run { length, c, parallel };
        let end = fault_at_end(&here, &voltage, &run, phases(given)?)?;
        here = end.current.clone();
        factors.push(end.f);
        multipliers.push(end.m);
        currents.push(end.current);
    }
    Ok(Results::default()
        .known("full_load_a", &source.full_load)
        .known("multiplier", &fault_multiplier(&source.z)?)
        .known("transformer_fault_a", &at_terminals)
        .list("f", &factors)
        .list("m", &multipliers)
        .list("end_fault_a", &currents))
}
