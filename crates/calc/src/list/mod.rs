//! The list of calculations. Each file holds one subject; none holds a formula.

mod array_output;
mod arrays;
mod batteries;
mod battery_strings;
mod buildings;
mod circuits;
mod clearings;
mod conductor_inputs;
mod conductors;
mod connections;
mod direct;
mod drops;
mod durations;
mod dwellings;
mod fault_levels;
mod faults;
mod grounding;
mod iec_arrays;
mod iec_cables;
mod iec_conductors;
mod iec_shock;
mod measured;
mod motors;
mod neutrals;
mod outages;
mod paths;
mod planes;
mod raceways;
mod room_states;
mod rooms;
mod services;
mod storage_rules;
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
        fault_levels::all(),
        clearings::all(),
        direct::all(),
        unbalance::all(),
        services::all(),
        durations::all(),
        units::all(),
        dwellings::all(),
        buildings::all(),
        measured::all(),
        arrays::all(),
        array_output::all(),
        batteries::all(),
        battery_strings::all(),
        storage_rules::all(),
        rooms::all(),
        room_states::all(),
        outages::all(),
        conductors::all(),
        drops::all(),
        grounding::all(),
        raceways::all(),
        circuits::all(),
        connections::all(),
        iec_cables::all(),
        iec_conductors::all(),
        iec_shock::all(),
        iec_arrays::all(),
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

/// The choice behind a word that the declaration allows.
fn choice<T>(given: &Given, key: &'static str, read: fn(&str) -> Option<T>) -> Result<T, CalcError> {
    read(given.word(key)?).ok_or(CalcError::Undeclared { key })
}

/// Refuses two inputs of which the first is above the second.
fn rising(given: &Given, low: &'static str, high: &'static str) -> Result<(), CalcError> {
    let (from, to) = (given.plain(low)?, given.plain(high)?);
    if from <= to {
        return Ok(());
    }
    Err(CalcError::NotCovered(format!("{low} is {from}, above {high}, which is {to}: change them over")))
}

fn yes(given: &Given, key: &'static str) -> Result<bool, CalcError> {
    Ok(given.word(key)? == "yes")
}

fn phases(given: &Given) -> Result<Phases, CalcError> {
    Ok(if given.word("phases")? == "3" { Phases::Three } else { Phases::Single })
}
