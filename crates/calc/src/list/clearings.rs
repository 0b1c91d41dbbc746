//! Whether a breaker clears a fault.

use network::fault::clearing::{Clearing, Curve, Device, clearing, interrupting};
use network::fault::{FaultLevel, Lasts};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![Calculation {
        id: "clearing",
        purpose: "Whether a breaker clears a fault while its source lasts, and its interrupting rating",
        inputs: vec![
            In::number("least_a", M::AMPERE, "least fault current"),
            In::number("largest_a", M::AMPERE, "largest fault current, for the interrupting rating")
                .if_given(),
            In::number(
                "lasts_s",
                M::SECOND,
                "time for which the source keeps it up; left out: until cleared",
            )
            .if_given(),
            In::word(
                "curve",
                "curve to IEC 60898-1, or an inverse-time breaker as its catalogue states it",
                &["B", "C", "D", "inverse-time"],
            ),
            In::number("rated_a", M::AMPERE, "rated current, for a curve").if_given(),
            In::number(
                "instantaneous_a",
                M::AMPERE,
                "current from which an inverse-time breaker opens at once, as stated",
            )
            .if_given(),
            In::number("instantaneous_s", M::SECOND, "its clearing time then, as stated").if_given(),
            In::number("interrupting_a", M::AMPERE, "interrupting rating").if_given(),
        ],
        outputs: vec![
            Out::new("clears", M::WORD, "it is sure to open while the source lasts"),
            Out::new("how", M::WORD, "how, or why not"),
            Out::new("within_s", M::SECOND, "longest time to open"),
            Out::new("from_a", M::AMPERE, "least current at which it is to open at all"),
            Out::new("over", M::NUMBER, "fault current over the current from which it opens at once"),
            Out::new("interrupting_pct", M::PERCENT, "largest fault current over interrupting rating"),
            Out::new("interrupts", M::WORD, "the interrupting rating is no less than the current"),
        ],
        run,
    }]
}

fn device(given: &Given) -> Result<Device, CalcError> {
    let curve = match given.word("curve")? {
        "B" => Curve::B,
        "C" => Curve::C,
        "D" => Curve::D,
        _ => {
            let instantaneous = given.one_if("instantaneous_a", "I_i")?;
            let time = given.one_if("instantaneous_s", "t_i")?;
            return Ok(Device::stated(instantaneous.map(|current| (current, time)), &[]));
        }
    };
    match given.one_if("rated_a", "I_n")? {
        Some(rated) => Ok(Device::iec60898(&rated, curve)?),
        None => Err(CalcError::NotCovered("a curve needs rated_a".to_owned())),
    }
}

fn run(given: &Given) -> Result<Results, CalcError> {
    let least = given.one("least_a", "I_f,min")?;
    let lasts = given.one_if("lasts_s", "t")?.map_or(Lasts::UntilCleared, Lasts::For);
    let largest = given.one_if("largest_a", "I_f,max")?;
    let level = FaultLevel { largest: largest.clone().unwrap_or_else(|| least.clone()), least, lasts };
    let results = match clearing(&device(given)?, &level)? {
        Clearing::Instantaneous { within, over } => Results::default()
            .flag("clears", true)
            .text("how", "instantaneous release")
            .known_if("within_s", within.as_ref())
            .known("over", &over),
        Clearing::ThermalWithin { within } => {
            Results::default().flag("clears", true).text("how", "delayed release").known("within_s", &within)
        }
        Clearing::NotWithinSourceTime { needed, .. } => Results::default()
            .flag("clears", false)
            .text("how", "may need longer than the source lasts")
            .known("within_s", &needed),
        Clearing::NotPromised { from, .. } => Results::default()
            .flag("clears", false)
            .text("how", "too little current for it to open")
            .known("from_a", &from),
        Clearing::NotCovered(why) => return Err(CalcError::NotCovered(why.to_owned())),
    };
    Ok(match (given.one_if("interrupting_a", "I_cn")?, largest) {
        (Some(rating), Some(_)) => {
            let held = interrupting(&level, &rating)?;
            results.known("interrupting_pct", &held.loading).flag("interrupts", held.holds)
        }
        (Some(_), None) => {
            return Err(CalcError::NotCovered("an interrupting rating needs largest_a".to_owned()));
        }
        (None, _) => results,
    })
}
