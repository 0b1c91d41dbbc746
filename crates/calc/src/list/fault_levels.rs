//! Fault levels of each kind of source.

use derivation::Known;
use network::Impedance;
use network::fault::generator::{GeneratorSource, SustainedFault, generator_fault};
use network::fault::island::{LoopVoltage, UnitFault, island_fault};
use network::fault::utility::{FaultRun, Strength, UtilitySource, Winding, utility_fault};
use network::fault::{FaultKind, FaultLevel, Lasts};
use quantity::{Current, Resistance};

use super::{phases, phases_input};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![utility(), generator(), island()]
}

fn kind_input() -> In {
    In::word(
        "fault",
        "which conductors touch",
        &["three-phase", "line-to-line", "line-to-neutral", "line-to-earth"],
    )
}

fn kind(given: &Given) -> Result<FaultKind, CalcError> {
    Ok(match given.word("fault")? {
        "three-phase" => FaultKind::ThreePhase,
        "line-to-line" => FaultKind::LineToLine,
        "line-to-neutral" => FaultKind::LineToNeutral,
        _ => FaultKind::LineToEarth,
    })
}

fn level_outputs() -> Vec<Out> {
    vec![
        Out::new("largest_a", M::AMPERE, "largest fault current, for ratings"),
        Out::new("least_a", M::AMPERE, "least fault current, for clearing"),
        Out::new("until_cleared", M::WORD, "it lasts until something opens"),
        Out::new("lasts_s", M::SECOND, "it lasts no longer than this is promised"),
    ]
}

fn level(results: Results, level: &FaultLevel) -> Results {
    let results = results.known("largest_a", &level.largest).known("least_a", &level.least);
    match &level.lasts {
        Lasts::UntilCleared => results.flag("until_cleared", true),
        Lasts::For(time) => results.flag("until_cleared", false).known("lasts_s", time),
    }
}

fn impedances(
    given: &Given,
    [r, x]: [&'static str; 2],
    symbol: &str,
    count: usize,
) -> Result<Option<Vec<Impedance>>, CalcError> {
    if !given.has(r) {
        return Ok(None);
    }
    let ohms = given.for_each::<Resistance>(r, &format!("R_{symbol}"), count)?;
    let reactances: Vec<Option<Known<Resistance>>> = if given.has(x) {
        given.for_each(x, &format!("X_{symbol}"), count)?.into_iter().map(Some).collect()
    } else {
        vec![None; count]
    };
    Ok(Some(ohms.into_iter().zip(reactances).map(|(r, x)| Impedance { r, x }).collect()))
}

fn utility() -> Calculation {
    let ohm = |key, what| In::numbers(key, M::OHM, what).within(0.0, 1e3).if_given();
    Calculation {
        id: "utility-fault",
        purpose: "Fault current of a utility at the end of runs, with complex impedances",
        inputs: vec![
            kind_input(),
            In::word("winding", "how the source is wound", &["three-phase", "centre-tapped"]),
            In::number("line_v", M::LINE_VOLT, "voltage between lines"),
            In::number("transformer_va", M::VOLT_AMPERE, "rating of the transformer").if_given(),
            In::number("impedance_pct", M::PERCENT, "impedance of the transformer")
                .within(0.01, 100.0)
                .if_given(),
            In::number(
                "stated_a",
                M::AMPERE,
                "stated fault current instead: three-phase, or line to line of a centre-tapped source",
            )
            .if_given(),
            In::number("x_over_r", M::NUMBER, "reactance over resistance of the source")
                .within(0.0, 1000.0)
                .if_given(),
            In::number(
                "centre_tap_factor",
                M::NUMBER,
                "line-to-neutral over line-to-line fault current at centre-tapped terminals",
            )
            .within(1.0, 2.0)
            .or("1.5"),
            ohm("line_ohm", "resistance of a line conductor of run"),
            ohm("line_x_ohm", "its reactance, run"),
            ohm("neutral_ohm", "resistance of the neutral of run"),
            ohm("neutral_x_ohm", "its reactance, run"),
            ohm("earth_ohm", "resistance of the protective conductor of run"),
            ohm("earth_x_ohm", "its reactance, run"),
        ],
        outputs: level_outputs(),
        run: run_utility,
    }
}

fn run_utility(given: &Given) -> Result<Results, CalcError> {
    let strength = match (given.has("transformer_va"), given.has("impedance_pct"), given.has("stated_a")) {
        (true, true, false) => Strength::Transformer {
            rating: given.one("transformer_va", "S")?,
            z: given.one("impedance_pct", "z")?,
        },
        (false, false, true) => Strength::Stated(given.one("stated_a", "I")?),
        _ => {
            let needed = "give transformer_va with impedance_pct, or stated_a, and not both";
            return Err(CalcError::NotCovered(needed.to_owned()));
        }
    };
    let winding = match given.word("winding")? {
        "three-phase" => Winding::ThreePhase,
        _ => Winding::CentreTapped { factor: given.one("centre_tap_factor", "k")? },
    };
    let x_over_r = given.one_if("x_over_r", "X/R")?;
    let source = UtilitySource { line: given.one("line_v", "V")?, winding, strength, x_over_r };
    let count = if given.has("line_ohm") { given.numbers("line_ohm")?.len() } else { 0 };
    let lines = impedances(given, ["line_ohm", "line_x_ohm"], "line", count)?.unwrap_or_default();
    let neutrals = impedances(given, ["neutral_ohm", "neutral_x_ohm"], "neutral", count)?;
    let earths = impedances(given, ["earth_ohm", "earth_x_ohm"], "earth", count)?;
    let of = |list: &Option<Vec<Impedance>>, k: usize| list.as_ref().and_then(|l| l.get(k).cloned());
    let run = |(k, line)| FaultRun { line, neutral: of(&neutrals, k), earth: of(&earths, k) };
    let runs: Vec<FaultRun> = lines.into_iter().enumerate().map(run).collect();
    Ok(level(Results::default(), &utility_fault(&source, &runs, kind(given)?)?))
}

fn loop_inputs() -> Vec<In> {
    vec![
        In::number(
            "run_ohm",
            M::OHM,
            "resistance of the run: the whole loop, or one phase of a three-phase fault",
        )
        .within(0.0, 1e3)
        .or("0"),
        In::number("run_x_ohm", M::OHM, "its reactance").within(0.0, 1e3).if_given(),
    ]
}

fn run_impedance(given: &Given) -> Result<Impedance, CalcError> {
    Ok(Impedance { r: given.one("run_ohm", "R")?, x: given.one_if("run_x_ohm", "X")? })
}

fn generator() -> Calculation {
    let mut inputs = vec![
        kind_input(),
        phases_input(),
        In::number("rating_va", M::VOLT_AMPERE, "rating of the generator"),
        In::number("line_v", M::LINE_VOLT, "voltage between lines"),
        In::number("subtransient_pct", M::PERCENT, "subtransient reactance").within(1.0, 100.0).if_given(),
        In::number("sustained", M::NUMBER, "sustained over rated current, stated for this fault")
            .within(0.1, 20.0)
            .if_given(),
        In::number("sustained_s", M::SECOND, "for how long").if_given(),
    ];
    inputs.extend(loop_inputs());
    let mut outputs = vec![Out::new("first_a", M::AMPERE, "fault current of the first cycles")];
    outputs.extend(level_outputs());
    Calculation {
        id: "generator-fault",
        purpose: "Fault current of a generator, first cycles and sustained, as far as it is stated",
        inputs,
        outputs,
        run: |given| {
            let kind = kind(given)?;
            let sustained = match (given.one_if("sustained", "m")?, given.one_if("sustained_s", "t")?) {
                (Some(ratio), Some(time)) => Some(SustainedFault { kind, ratio, time }),
                (None, None) => None,
                _ => {
                    let needed = "give sustained and sustained_s together, or neither";
                    return Err(CalcError::NotCovered(needed.to_owned()));
                }
            };
            let source = GeneratorSource {
                rating: given.one("rating_va", "S")?,
                line: given.one("line_v", "V")?,
                phases: phases(given)?,
                subtransient: given.one_if("subtransient_pct", "x")?,
                sustained,
            };
            let found = generator_fault(&source, &run_impedance(given)?, kind)?;
            let results = Results::default().known_if("first_a", found.first.as_ref());
            Ok(match &found.sustained {
                Some(sustained) => level(results, sustained),
                None => results,
            })
        },
    }
}

fn island() -> Calculation {
    let mut inputs = vec![
        In::numbers("unit_a", M::AMPERE, "stated fault current on the leg of unit"),
        In::numbers("unit_s", M::SECOND, "stated time of unit"),
        In::word("between", "what the loop lies between", &["line-to-neutral", "line-to-line"]),
        In::number("loop_v", M::PHASE_VOLT, "voltage that drives the loop"),
    ];
    inputs.extend(loop_inputs());
    Calculation {
        id: "island-fault",
        purpose: "Fault current of inverters on an island: a stated current for a stated time",
        inputs,
        outputs: level_outputs(),
        run: |given| {
            let currents: Vec<Known<Current>> = given.list("unit_a", "I")?;
            let times = given.for_each("unit_s", "t", currents.len())?;
            let units: Vec<UnitFault> =
                currents.into_iter().zip(times).map(|(current, time)| UnitFault { current, time }).collect();
            let voltage = match given.word("between")? {
                "line-to-line" => LoopVoltage::Line(given.one("loop_v", "U")?),
                _ => LoopVoltage::Phase(given.one("loop_v", "U")?),
            };
            Ok(level(Results::default(), &island_fault(&units, &voltage, &run_impedance(given)?)?))
        },
    }
}
