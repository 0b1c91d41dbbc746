//! Motor starts that are fed through the units' relays or the transfer switch: short-time current, at full voltage.

use catalog::ShortTime;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::{Element, ElementKind, SourceKind};
use quantity::{Current, Leg};
use saying::say;
use states::Search;

use crate::positions::{collapsing, short_time};
use crate::{Case, Ledger};

/// A part that a start may flow through, with what its record says of it.
struct Part<'a> {
    name: &'static str,
    short_time: &'a [ShortTime],
    continuous: Current,
    record: &'a str,
}

fn part<'a>(case: &Case<'a>, element: &Element) -> Option<Part<'a>> {
    let of_switch = |name, switch: &'a catalog::TransferSwitch| Part {
        name,
        short_time: &switch.short_time,
        continuous: switch.rating,
        record: &switch.id,
    };
    match element.kind {
        ElementKind::Relays => Some(Part {
            name: "unit.relay",
            short_time: &case.unit.relay.short_time,
            continuous: case.unit.relay.continuous,
            record: &case.unit.id,
        }),
        ElementKind::GeneratorRelays => case.unit.second_input.as_ref().map(|second| Part {
            name: "unit.generator relay",
            short_time: &second.short_time,
            continuous: second.continuous,
            record: &case.unit.id,
        }),
        ElementKind::TransferPole if element.id.starts_with("source switch") => {
            case.source_switch.map(|switch| of_switch("source switch", switch))
        }
        ElementKind::TransferPole => case.transfer.map(|switch| of_switch("transfer", switch)),
        _ => None,
    }
}

/// Holds every start against the short-time current of what it flows through.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    let mut held: Vec<&'static str> = Vec::new();
    for element in &case.plant.elements {
        let Some(part) = part(case, element).filter(|part| !held.contains(&part.name)) else { continue };
        let fed = search
            .states
            .iter()
            .find(|reached| !collapsing(case, reached) && between(case, &reached.state, element));
        let Some(state) = fed.map(|reached| crate::state_name::name(case, reached)) else { continue };
        held.push(part.name);
        for event in &case.demand.starts {
            for (leg, it) in &event.legs {
                let U = &case.voltage();
                let (S_s, S_r) = (&it.start_known, &it.running_known);
                let what = "current with the motor at standstill";
                let value: Known<Current> = formula!("I_st", what, [S_s, S_r, U] => (S_s + S_r) / U);
                one(&part, event, (*leg, &state), &value, ledger);
            }
        }
    }
}

fn between(case: &Case<'_>, state: &states::State, element: &Element) -> bool {
    if case.plant.closed_paths(element, &state.positions) == 0 {
        return false;
    }
    [SourceKind::Utility, SourceKind::Generator, SourceKind::Group].into_iter().any(|kind| {
        let there =
            if kind == SourceKind::Group { state.group_forms(&case.plant) } else { state.present(kind) };
        there
            && case.plant.source(kind).is_some_and(|s| {
                case.plant.between(s.node, case.plant.backup_panel, &state.positions, element)
            })
    })
}

fn one(
    part: &Part<'_>,
    event: &demand::StartEvent,
    (leg, state): (Leg, &str),
    value: &Known<Current>,
    ledger: &mut Ledger,
) {
    let name = &event.name;
    let (part, list, continuous, id) = (part.name, part.short_time, part.continuous, part.record);
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
                    say!(
                        "starting {name} draws {value} through it; the catalogue states no current for {run_up}",
                        name,
                        value = value.value(),
                        run_up = event.run_up.value()
                    ),
                )
                .in_state(state)
                .at(event.place.as_ref(), say!("this motor"))
                .fix(say!(
                    "ask the maker for the short-time current, or give the motor a soft starter or a drive"
                )),
            );
        }
        return;
    };
    let limit = Known::catalog("I_st", "short-time current", allowed.current, id, "short_time");
    let margin =
        Margin::below(part, say!("current, {name} starting, {leg}", name, leg), state, value, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "short-time-over",
            Severity::Error,
            part,
            say!(
                "starting {name} draws {value} on {leg}; {part} carries {limit} for that long",
                name,
                value = m.value.amount.text,
                leg,
                part,
                limit = m.limit.amount.text
            ),
        )
        .at(event.place.as_ref(), say!("this motor"))
        .fix(say!(
            "give the motor a soft starter or a drive, or choose an arrangement that keeps it off the relays"
        ))
    });
}
