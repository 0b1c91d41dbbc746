//! Decides: how many units in which formation, the transfer arrangement, transfer and bypass gear, settings. It
//! chooses, builds the plant, has it assessed, and chooses again; the reason of each decision is kept, and why the
//! alternatives fell.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod arrangement;
mod arrays;
mod bank;
mod breakers;
mod candidate;
mod checks;
mod code;
mod compliance;
mod connection;
mod decision;
mod distribution;
mod entered;
mod formation;
mod gear;
mod grid;
mod placing;
mod prepare;
mod proof;
mod readings;
mod settings;
mod taps;
mod ways;
mod wiring;

pub use arrays::{ArrayLayout, part as array_part};
pub use breakers::BreakerChoice;
pub use candidate::{Design, Fixed};
pub use code::{
    CodeWork, EarthConductor, Label, MotorCircuit, MotorRelay, NeutralWays, WorkingSpace, neutral_ways,
};
pub use compliance::{Clause, Held, Verdict, compliance};
pub use decision::{By, Decision, Dropped};
pub use distribution::DistributionBus;
pub use entered::{
    charge_ceiling, charge_limit, charger_stays_off, controller_current, dc_tenth_below, entered_limit,
    frequency_points, island_raised, lowest_charge, outage_charge, shortest_retransfer, tenth_below,
};
pub use grid::{GridEntry, GridTrip, TripAt, grid_entry, grid_trips};
pub use placing::Placed;
pub use prepare::{Prepared, prepare};
pub use readings::{
    AcArrayReadings, Band, Insulation, LegReadings, OpensIn, Readings, ResidualReadings, SourceReadings,
    StringReadings, VoltageAt, earliest_return, floor, readings, residual_devices, returns_by, window,
};
pub use wiring::Wire;

/// Designs what the site leaves open and checks what it fixes.
pub fn design<'a>(prepared: &'a Prepared<'a>) -> Design<'a> {
    proof::proven(prepared)
}

/// Designs with some decisions fixed from outside the site file: for growth tables and comparisons. The interlock proof
/// is left out: it speaks of the kind of gear, not of its size.
pub fn design_with<'a>(prepared: &'a Prepared<'a>, fixed: &Fixed) -> Design<'a> {
    candidate::design(prepared, fixed)
}
