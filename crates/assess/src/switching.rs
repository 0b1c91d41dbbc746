//! What a single relay may have to make or break. Contacts of a group never move at the same instant: the last one
//! to open breaks what is left, the first one to close makes what waits, so each event is held against one relay.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::{DeviceIx, ElementKind};
use quantity::{Current, Leg, Ratio};
use states::Search;

use crate::{Case, Ledger};

/// Holds the switching events of every leg.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    let Some((_, relays)) =
        case.plant.elements.iter().enumerate().find(|(_, e)| e.kind == ElementKind::Relays)
    else {
        return;
    };
    let unit = case.unit;
    let breaking = unit.relay.breaking.map(|i| {
        Known::catalog("I_b", "breaking rating of one transfer relay", i, &unit.id, "relay breaking")
    });
    let make = unit
        .relay
        .make
        .map(|i| Known::catalog("I_m", "making rating of one transfer relay", i, &unit.id, "relay make"));
    let loaded_makes = closes_onto_panel(case, search, relays.device);
    let mut unknown_breaking = false;
    let mut unknown_make = false;
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        match &breaking {
            Some(breaking) => {
                let collapse = collapse_exchange(case, leg);
                event(case, leg, "utility collapse", &collapse, breaking, "relay-breaking-over", ledger);
                let load = lane.steady_current.clone();
                event(
                    case,
                    leg,
                    "utility lost with an empty battery",
                    &load,
                    breaking,
                    "relay-breaking-over",
                    ledger,
                );
            }
            None => unknown_breaking = true,
        }
        if let Some(state) = &loaded_makes {
            let start = worst_start(case, leg, &lane.steady_current);
            match &make {
                Some(make) => event(case, leg, state, &start, make, "relay-make-over", ledger),
                None => unknown_make = true,
            }
        }
    }
    for (unknown, id, what) in [
        (unknown_breaking, "relay-breaking-unknown", "breaking"),
        (unknown_make, "relay-make-unknown", "making"),
    ] {
        if unknown {
            ledger.find(
                Finding::new(
                    id,
                    Severity::NotCovered,
                    "unit.relay",
                    format!(
                        "the catalogue does not publish the {what} rating of the transfer relay of {}",
                        unit.id
                    ),
                )
                .at(Some(&case.site.group.unit.place), "this family")
                .fix(format!("ask the maker for the {what} rating and enter it in a catalogue of your own")),
            );
        }
    }
}

/// What bridges and grid exchange when the utility collapses: every bridge of the leg at its current limit, since
/// the grid looks like a short circuit until the relays are open.
fn collapse_exchange(case: &Case<'_>, leg: Leg) -> Known<Current> {
    let n = Known::chosen(
        "n",
        "units on the leg",
        Ratio::of(f64::from(case.formation.on(leg))),
        "formation",
        Vec::new(),
    );
    let I_s = Known::catalog(
        "I_s",
        "current limit of one bridge",
        case.unit.surge.current,
        &case.unit.id,
        "surge current",
    );
    formula!("I_ex", "exchange between group and grid", [n, I_s] => n * I_s)
}

/// The panel with its worst motor start, at full voltage.
fn worst_start(case: &Case<'_>, leg: Leg, steady: &Known<Current>) -> Known<Current> {
    let U = &case.voltage();
    let mut all = vec![steady.clone()];
    for event in &case.demand.starts {
        if let Some(it) = event.legs.get(&leg) {
            let (S_s, S_r) = (&it.start_known, &it.running_known);
            let name = format!("current with {} starting", event.name);
            all.push(formula!("I_st", name, [S_s, S_r, U] => (S_s + S_r) / U));
        }
    }
    Known::largest("I_in", "current onto which the first relay closes", &all)
        .unwrap_or_else(|| steady.clone())
}

/// Whether a relay may be the first to close onto a dead panel: whether some state that can be reached has one relay
/// closed, the battery empty, and the panel behind it.
fn closes_onto_panel(case: &Case<'_>, search: &Search, relays: DeviceIx) -> Option<String> {
    let closes = search.states.iter().any(|reached| {
        let state = &reached.state;
        !state.battery
            && state.positions.get(relays.0) == Some(&1)
            && case
                .plant
                .joined(case.plant.group_output, &state.positions, &[ElementKind::Relays])
                .contains(&case.plant.backup_panel)
    });
    closes.then(|| "utility back with an empty battery".to_owned())
}

fn event(
    case: &Case<'_>,
    leg: Leg,
    state: &str,
    value: &Known<Current>,
    limit: &Known<Current>,
    id: &'static str,
    ledger: &mut Ledger,
) {
    let what = if id == "relay-make-over" { "made" } else { "broken" };
    let margin =
        Margin::below("unit.relay", format!("current {what} by one relay, {leg}"), state, value, limit);
    ledger.hold(margin, |m| {
        Finding::new(
            id,
            Severity::Error,
            "unit.relay",
            format!("{state}: {} on {leg} may be {what} by one relay; it is rated {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(Some(case.count_place()), "sets how much the group exchanges")
        .fix(if id == "relay-make-over" {
            "choose the outboard arrangement, soft-start the motors, or shed loads before the panel is energised again"
        } else {
            "use fewer, larger units, or a family whose relay breaks more"
        })
    });
}
