//! The list of calculations. Each file holds one subject; none holds a formula.

mod durations;
mod dwellings;
mod faults;
mod measured;
mod motors;
mod neutrals;
mod paths;
mod planes;
mod services;
mod sun;
mod unbalance;
mod units;

use network::voltage_dip::Phases;

use crate::error::CalcError;
use crate::given::Given;
use crate::spec::{Calculation, InputSpec};

/// Every calculation, in the order in which they are listed.
pub fn calculations() -> Vec<Calculation> {
    [
        neutrals::all(),
        paths::all(),
        motors::all(),
        faults::all(),
        unbalance::all(),
        services::all(),
        durations::all(),
        units::all(),
        dwellings::all(),
        measured::all(),
        sun::all(),
        planes::all(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The input that tells single-phase from three-phase.
fn phases_input() -> InputSpec {
    InputSpec::word(
        "phases",
        "1 for single-phase (line to line or line to neutral), 3 for three-phase",
        &["1", "3"],
    )
}

fn phases(given: &Given) -> Result<Phases, CalcError> {
    Ok(if given.word("phases")? == "3" { Phases::Three } else { Phases::Single })
}
