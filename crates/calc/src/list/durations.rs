//! The demand-duration curve of a list of loads.

use demand::{CyclingLoad, duration_curve};
use derivation::Known;
use quantity::{Duration, Power};

use crate::error::{CalcError, InputError};
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![Calculation {
        id: "demand-duration",
        purpose: "Highest demand that loads which may all run together can keep up for a time",
        inputs: vec![
            In::numbers("power_w", M::WATT, "power of each load"),
            In::numbers("daily_s", M::SECOND, "running time of each load in any 24 hours")
                .within(0.0, 86_400.0),
            In::numbers("lasts_s", M::SECOND, "longest run of each load; 0 = all of its day in one run")
                .within(0.0, 86_400.0)
                .or("0"),
            In::numbers("rests_s", M::SECOND, "shortest pause of each load between runs")
                .within(0.0, 86_400.0)
                .or("0"),
            In::numbers("window_s", M::SECOND, "times of interest").or("5,60,300,1800,10800"),
        ],
        outputs: vec![
            Out::new("demand_w", M::WATT, "highest demand for each time of interest"),
            Out::new("at_once_w", M::WATT, "all loads at once"),
        ],
        run,
    }]
}

fn run(given: &Given) -> Result<Results, CalcError> {
    let powers: Vec<Known<Power>> = given.list("power_w", "P")?;
    let count = powers.len();
    let days: Vec<Known<Duration>> = given.for_each("daily_s", "t", count)?;
    let lasts: Vec<Known<Duration>> = given.for_each("lasts_s", "L", count)?;
    let rests: Vec<Known<Duration>> = given.for_each("rests_s", "R", count)?;
    let mut loads = Vec::new();
    for (((power, a_day), run), rest) in powers.iter().zip(days).zip(lasts).zip(rests) {
        let cycles = run.value() > Duration::ZERO;
        if rest.value() > Duration::ZERO && !cycles {
            return Err(InputError::OutOfRange {
                key: "lasts_s",
                value: "0".to_owned(),
                allowed: "above 0 where a pause is given".to_owned(),
            }
            .into());
        }
        let cycle = cycles.then_some((run, rest));
        loads.push(CyclingLoad { power: power.clone(), a_day, cycle });
    }
    let windows: Vec<Duration> = given.list("window_s", "D")?.iter().map(Known::value).collect();
    let at_once = Known::sum("P_all", "all loads at once", &powers);
    Ok(Results::default().list("demand_w", &duration_curve(&loads, &windows)).known("at_once_w", &at_once))
}
