//! One plant in; findings and the margin ledger out. Decides nothing.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod arrays;
mod case;
mod dc;
mod detail;
mod faults;
mod feed;
mod flowing;
mod formation;
mod former;
mod gaps;
mod generator;
mod group;
mod heat;
mod helping;
mod island_fault;
mod ledger;
mod neutral_most;
mod order;
mod panels;
mod parts;
mod passing;
mod positions;
mod proving;
mod reverse;
mod runs;
mod scope;
mod service;
mod solar;
mod spread;
mod starts;
mod state_name;
mod switching;
mod through_start;
mod unit_flows;
mod utility;

pub use arrays::power as array_power;
pub use case::{Case, Settings};
pub use dc::{
    Bank, Breaking, DcFlow, ForATime, Landed, Landing, SoftStart, ageing_factor, all_loads_from_bus,
    along_the_bar, breaking, charging_worst, cold_factor, landing_gain, least_strings, lowest_open_circuit,
    nominal_voltage, soft_start, string_resistance,
};
pub use detail::{CornerDetail, PartFlow, StateDetail, detail, lowest_share};
pub use faults::available as fault_current;
pub use feed::headroom as charging_headroom;
pub use formation::{Formation, counted};
pub use gaps::longest as transfer_gap;
pub use generator::{generator_current, generator_limit, generator_power};
pub use island_fault::{highest_island_fault, island_fault_at_panel};
pub use ledger::Ledger;
pub use positions::StateReport;
pub use proving::{full_plant, prove, prove_plant};
pub use runs::{Direct, For, InArray, Run};
pub use solar::{Cable, Guard, Output, Strings};
pub use spread::{RelayShare, own_within};
pub use unit_flows::export_within;

use derivation::Known;
use finding::{Finding, Severity};
use quantity::Current;
use saying::say;

/// What was found of one plant.
#[derive(Debug, Clone)]
pub struct Assessed {
    /// Findings and margins.
    pub ledger: Ledger,
    /// Reachable states that differ in what flows.
    pub states: Vec<StateReport>,
    /// What every conductor run has to carry.
    pub runs: Vec<Run>,
    /// Settled states found in all.
    pub states_found: usize,
}

/// Assesses one plant in every state that it can reach.
pub fn assess(case: &Case<'_>) -> Assessed {
    let mut ledger = Ledger::default();
    hold_group(case, &case.formation, &mut ledger);
    let search = states::search(&case.plant);
    let (reports, runs) = positions::hold(case, &search, &mut ledger);
    switching::hold(case, &search, &mut ledger);
    through_start::hold(case, &search, &mut ledger);
    passing::notes(case, &mut ledger);
    faults::hold(case, &mut ledger);
    gaps::hold(case, &mut ledger);
    service::hold(case, &mut ledger);
    panels::hold(case, &mut ledger);
    feed::hold(case, &mut ledger);
    generator::hold(case, &mut ledger);
    reverse::hold(case, &search, &mut ledger);
    utility::hold(case, &mut ledger);
    arrays::hold(case, &mut ledger);
    dc::hold(case, &mut ledger);
    solar::hold(case, &mut ledger);
    former::hold(case, &mut ledger);
    measured(case, &mut ledger);
    scope::name(case, &mut ledger);
    ledger.gather();
    Assessed { ledger, runs, states: reports, states_found: search.states.len() }
}

/// Interval data say nothing of what happens within an interval.
fn measured(case: &Case<'_>, ledger: &mut Ledger) {
    if let Some(from) = &case.demand.covered_from {
        ledger.find(
            Finding::new(
                "measured-short-unknown",
                Severity::NotCovered,
                "group",
                say!(
                    "the measured demand says nothing of less than {from}: the overload limits cannot be held",
                    from = from.value()
                ),
            )
            .at(from.place(), say!("interval data"))
            .fix(say!(
                "state short_peak_factor (highest demand of seconds over the highest interval mean), or list the loads"
            )),
        );
    }
}

/// Holds only the group's own limits for a formation: what decides how many units there are.
pub fn assess_group(case: &Case<'_>, formation: &Formation) -> Ledger {
    let mut ledger = Ledger::default();
    hold_group(case, formation, &mut ledger);
    ledger
}

/// Holds only the direct-current side: what decides how many strings there are.
pub fn assess_bank(case: &Case<'_>) -> Ledger {
    let mut ledger = Ledger::default();
    dc::hold(case, &mut ledger);
    ledger
}

fn hold_group(case: &Case<'_>, formation: &Formation, ledger: &mut Ledger) {
    let state = "outage, group carries the panel";
    group::hold(case, formation, state, ledger);
    starts::hold(case, formation, state, ledger);
    if case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value) {
        for less in formation.one_out() {
            let state = "outage, one unit out";
            if formation.system().legs().iter().any(|&leg| less.on(leg) == 0) {
                ledger.find(
                    Finding::new(
                        "one-unit-out-leaves-none",
                        Severity::Error,
                        "group",
                        say!("with one unit of {formation} out, a leg has none left", formation),
                    )
                    .in_state(state)
                    .at(
                        case.site.wish.one_unit_may_be_out.as_ref().map(|w| &w.place),
                        say!("asks that one unit may be out"),
                    )
                    .fix(say!("add a unit on every leg")),
                );
                break;
            }
            group::hold(case, &less, state, ledger);
            starts::hold(case, &less, state, ledger);
        }
    }
}

/// The largest current per leg that may flow through all transfer relays of the group together.
pub fn pass_through(case: &Case<'_>) -> Known<Current> {
    passing::limit(case)
}
