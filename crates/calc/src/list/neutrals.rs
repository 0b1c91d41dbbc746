//! Neutral currents and the halves of a split-phase transformer.

use network::Sense;
use network::neutral::{LegCurrent, largest_neutral, neutral_current, wye_by_magnitudes};
use network::split_halves::split_halves;

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

const SYSTEMS: &[&str] = &[
    "120 V single-phase",
    "230 V single-phase",
    "120/240 V split-phase",
    "120/208 V wye",
    "120/208 V two legs",
    "230/400 V wye",
];

pub(super) fn all() -> Vec<Calculation> {
    vec![neutral(), halves()]
}

fn neutral() -> Calculation {
    Calculation {
        id: "neutral-current",
        purpose: "What the neutral carries for given line-to-neutral currents on the legs",
        inputs: vec![
            In::word("system", "voltage system", SYSTEMS),
            In::numbers("leg_a", M::AMPERE, "line-to-neutral current of leg").within(0.0, 1e6),
            In::numbers("power_factor", M::NUMBER, "displacement power factor of leg")
                .within(0.0, 1.0)
                .or("1"),
            In::word("sense", "current lags or leads the voltage", &["lag", "lead"]).each().or("lag"),
            In::numbers("third_pct", M::PERCENT, "third-harmonic over fundamental current of leg")
                .within(0.0, 100.0)
                .or("0"),
        ],
        outputs: vec![
            Out::new("neutral_a", M::AMPERE, "neutral current with these currents"),
            Out::new("largest_neutral_a", M::AMPERE, "largest neutral current when legs may be off"),
            Out::new("fundamental_a", M::AMPERE, "fundamental part"),
            Out::new("third_a", M::AMPERE, "third-harmonic part"),
            Out::new("magnitude_formula_a", M::AMPERE, "three legs by the formula for equal power factors"),
        ],
        run: run_neutral,
    }
}

fn run_neutral(given: &Given) -> Result<Results, CalcError> {
    let system = given.system()?;
    let currents = given.list("leg_a", "I")?;
    let count = currents.len();
    let factors = given.for_each("power_factor", "pf", count)?;
    let senses = given.words_for_each("sense", count)?;
    let thirds = given.for_each("third_pct", "h", count)?;
    let currents =
        if count > system.legs().len() { exactly("leg_a", currents, system.legs().len())? } else { currents };
    let legs: Vec<LegCurrent> = currents
        .into_iter()
        .zip(factors)
        .zip(senses.iter().zip(thirds))
        .zip(system.legs())
        .map(|(((current, power_factor), (sense, third)), leg)| LegCurrent {
            leg: *leg,
            current,
            power_factor,
            sense: if sense == "lead" { Sense::Leading } else { Sense::Lagging },
            third: Some(third),
        })
        .collect();
    let neutral = neutral_current(system, &legs)?;
    let by_magnitudes = match legs.as_slice() {
        [a, b, c] => Some(wye_by_magnitudes(&a.current, &b.current, &c.current)?),
        _ => None,
    };
    Ok(Results::default()
        .known("neutral_a", &neutral.total)
        .known("largest_neutral_a", &largest_neutral(system, &legs)?)
        .known("fundamental_a", &neutral.fundamental)
        .known("third_a", &neutral.third)
        .known_if("magnitude_formula_a", by_magnitudes.as_ref()))
}

fn halves() -> Calculation {
    Calculation {
        id: "split-transformer-halves",
        purpose: "How unequal legs load the two halves of a split-phase transformer",
        inputs: vec![
            In::number("rating_va", M::VOLT_AMPERE, "rating of the transformer"),
            In::number("leg_v", M::PHASE_VOLT, "voltage from leg to neutral"),
            In::numbers("leg_a", M::AMPERE, "current of leg").within(0.0, 1e6),
        ],
        outputs: vec![
            Out::new("leg_va", M::VOLT_AMPERE, "power of each leg"),
            Out::new("total_va", M::VOLT_AMPERE, "power of both"),
            Out::new("half_va", M::VOLT_AMPERE, "rating of one half"),
            Out::new("worst_half_pct", M::PERCENT, "larger leg over one half's rating"),
        ],
        run: run_halves,
    }
}

fn run_halves(given: &Given) -> Result<Results, CalcError> {
    let currents = exactly("leg_a", given.list("leg_a", "I")?, 2)?;
    let [first, second] = currents.as_slice() else {
        return Err(CalcError::Undeclared { key: "leg_a" });
    };
    let rating = given.one("rating_va", "S")?;
    let halves = split_halves(&rating, &given.one("leg_v", "V")?, &[first.clone(), second.clone()])?;
    Ok(Results::default()
        .list("leg_va", &halves.legs)
        .known("total_va", &halves.total)
        .known("half_va", &halves.half)
        .known("worst_half_pct", &halves.worst))
}
