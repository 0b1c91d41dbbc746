//! Motor starts that are fed through the units' relays or the transfer switch: short-time current, at full voltage.

use catalog::ShortTime;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::{ElementKind, SourceKind};
use quantity::{Current, Leg};
use states::Search;

use crate::positions::{collapsing, short_time};
use crate::{Case, Ledger};

/// Holds every start against the short-time current of what it flows through.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    for kind in [ElementKind::Relays, ElementKind::GeneratorRelays, ElementKind::TransferPole] {
        let fed = search.states.iter().find(|reached| {
            !collapsing(case, reached)
                && case.plant.elements.iter().any(|e| e.kind == kind && between(case, &reached.state, e))
        });
        let Some(state) = fed.map(|reached| crate::state_name::name(case, reached)) else { continue };
        for event in &case.demand.starts {
            for (leg, it) in &event.legs {
                let U = &case.voltage();
                let (S_s, S_r) = (&it.start_known, &it.running_known);
                let value: Known<Current> = formula!("I_st", "current with the motor at standstill", [S_s, S_r, U] => (S_s + S_r) / U);
                one(case, kind, &event.name, (*leg, &state), &value, event, ledger);
            }
        }
    }
}

fn between(case: &Case<'_>, state: &states::State, element: &plant::Element) -> bool {
    if case.plant.closed_paths(element, &state.positions) == 0 {
        return false;
    }
    [SourceKind::Utility, SourceKind::Generator, SourceKind::Group].into_iter().any(|kind| {
        let there =
            if kind == SourceKind::Group { state.group_forms(&case.plant) } else { state.present(kind) };
        there
            && case.plant.source(kind).is_some_and(|s| {
                let draw = network::balance::Draw {
                    node: case.plant.backup_panel,
                    current: Known::chosen(
                        "I",
                        "one ampere",
                        Current::of(1.0),
                        "to see where it flows",
                        Vec::new(),
                    ),
                };
                network::balance::flows(&case.plant, &state.positions, s.node, &[draw]).is_ok_and(|flows| {
                    flows
                        .iter()
                        .any(|f| case.plant.elements.get(f.element.0).is_some_and(|e| e.id == element.id))
                })
            })
    })
}

fn one(
    case: &Case<'_>,
    kind: ElementKind,
    name: &str,
    (leg, state): (Leg, &str),
    value: &Known<Current>,
    event: &demand::StartEvent,
    ledger: &mut Ledger,
) {
    let (part, list, continuous, id): (&str, &[ShortTime], Current, &str) = match kind {
        ElementKind::Relays => {
            ("unit.relay", &case.unit.relay.short_time, case.unit.relay.continuous, &case.unit.id)
        }
        ElementKind::GeneratorRelays => {
            let Some(second) = &case.unit.second_input else { return };
            ("unit.generator relay", &second.short_time, second.continuous, &case.unit.id)
        }
        _ => {
            let Some(switch) = case.transfer.or(case.source_switch) else { return };
            ("transfer", &switch.short_time, switch.rating, &switch.id)
        }
    };
    if value.value() <= continuous {
        return;
    }
    let Some(allowed) = short_time(list, event.run_up.value()) else {
        if !ledger.findings.iter().any(|f| f.id == "short-time-unknown" && f.part == part) {
            ledger.find(
                Finding::new(
                    "short-time-unknown",
                    Severity::NotCovered,
                    part,
                    format!(
                        "starting {name} draws {} through it; the catalogue states no current for {}",
                        value.value(),
                        event.run_up.value()
                    ),
                )
                .in_state(state)
                .at(event.place.as_ref(), "this motor")
                .fix("ask the maker for the short-time current, or give the motor a soft starter or a drive"),
            );
        }
        return;
    };
    let limit = Known::catalog("I_st", "short-time current", allowed.current, id, "short_time");
    let margin = Margin::below(part, format!("current, {name} starting, {leg}"), state, value, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "short-time-over",
            Severity::Error,
            part,
            format!(
                "starting {name} draws {} on {leg}; {part} carries {} for that long",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(event.place.as_ref(), "this motor")
        .fix(
            "give the motor a soft starter or a drive, or choose an arrangement that keeps it off the relays",
        )
    });
}
