//! What a single relay may have to make or break. Contacts of a group never move at the same instant: the last one
//! to open breaks what is left, the first one to close makes what waits, so each event is held against one relay.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::{DeviceIx, ElementKind, Layout, SourceKind};
use quantity::{Current, Leg, Ratio};
use saying::say;
use states::Search;

use crate::{Case, Ledger};

/// One set of relays with what is published of one of them.
struct Set {
    part: &'static str,
    named: &'static str,
    source: &'static str,
    kind: ElementKind,
    device: DeviceIx,
    make: Option<Known<Current>>,
    breaking: Option<Known<Current>>,
}

fn sets(case: &Case<'_>) -> Vec<Set> {
    let unit = case.unit;
    let device = |kind: ElementKind| case.plant.elements.iter().find(|e| e.kind == kind).map(|e| e.device);
    let known = |symbol: &str, what: &str, current: Option<Current>, field: &str| {
        current.map(|i| Known::catalog(symbol, what, i, &unit.id, field))
    };
    let utility = case.plant.source(SourceKind::Utility).is_some();
    let first = device(ElementKind::Relays).map(|device| Set {
        part: "unit.relay",
        named: "transfer relay",
        source: if utility { "utility" } else { "generator" },
        kind: ElementKind::Relays,
        device,
        make: known("I_m", "making rating of one transfer relay", unit.relay.make, "relay make"),
        breaking: known(
            "I_b",
            "breaking rating of one transfer relay",
            unit.relay.breaking,
            "relay breaking",
        ),
    });
    let second = device(ElementKind::GeneratorRelays).map(|device| {
        let published = unit.second_input.as_ref();
        Set {
            part: "unit.generator relay",
            named: "second-input relay",
            source: "generator",
            kind: ElementKind::GeneratorRelays,
            device,
            make: known(
                "I_m2",
                "making rating of one second-input relay",
                published.and_then(|s| s.make),
                "second_input make",
            ),
            breaking: known(
                "I_b2",
                "breaking rating of one second-input relay",
                published.and_then(|s| s.breaking),
                "second_input breaking",
            ),
        }
    });
    first.into_iter().chain(second).collect()
}

/// Holds the switching events of every leg, for each set of relays.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    for set in sets(case) {
        hold_set(case, search, &set, ledger);
    }
}

fn hold_set(case: &Case<'_>, search: &Search, set: &Set, ledger: &mut Ledger) {
    let loaded_makes = closes_onto_panel(case, search, set);
    let collapse_state = format!("{} collapse", set.source);
    let empty_state = format!("{} lost with an empty battery", set.source);
    let make_state = format!("{} back with an empty battery", set.source);
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        if let Some(breaking) = &set.breaking {
            let exchange = collapse_exchange(case, leg);
            event(case, set, (leg, &collapse_state), &exchange, breaking, "relay-breaking-over", ledger);
            let load = lane.steady_current.clone();
            event(case, set, (leg, &empty_state), &load, breaking, "relay-breaking-over", ledger);
        }
        if let (true, Some(make)) = (loaded_makes, &set.make) {
            let start = worst_start(case, leg, &lane.steady_current);
            event(case, set, (leg, &make_state), &start, make, "relay-make-over", ledger);
        }
    }
    let unknown = [
        (set.breaking.is_none(), "relay-breaking-unknown", "breaking"),
        (loaded_makes && set.make.is_none(), "relay-make-unknown", "making"),
    ];
    for (_, id, what) in unknown.into_iter().filter(|(unknown, _, _)| *unknown) {
        let message = say!(
            "the catalogue does not publish the {what} rating of the {named} of {unit}",
            what,
            named = set.named,
            unit = case.unit.id
        );
        ledger.find(
            Finding::new(id, Severity::NotCovered, set.part, message)
                .at(Some(&case.site.group.unit.place), say!("this family"))
                .fix(say!(
                    "ask the maker for the {what} rating and enter it in a catalogue of your own",
                    what
                )),
        );
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
fn closes_onto_panel(case: &Case<'_>, search: &Search, set: &Set) -> bool {
    search.states.iter().any(|reached| {
        let state = &reached.state;
        !state.battery
            && state.positions.get(set.device.0) == Some(&1)
            && case
                .plant
                .joined(case.plant.group_output, &state.positions, &[set.kind])
                .contains(&case.plant.backup_panel)
    })
}

fn event(
    case: &Case<'_>,
    set: &Set,
    (leg, state): (Leg, &str),
    value: &Known<Current>,
    limit: &Known<Current>,
    id: &'static str,
    ledger: &mut Ledger,
) {
    let what = if id == "relay-make-over" { "made" } else { "broken" };
    let margin =
        Margin::below(set.part, say!("current {what} by one relay, {leg}", what, leg), state, value, limit);
    ledger.hold(margin, |m| {
        Finding::new(
            id,
            Severity::Error,
            set.part,
            say!(
                "{state}: {value} on {leg} may be {what} by one relay; it is rated {limit}",
                state,
                value = m.value.amount.text,
                leg,
                what,
                limit = m.limit.amount.text
            ),
        )
        .at(
            Some(if id == "relay-make-over" { case.arrangement_place() } else { case.count_place() }),
            if id == "relay-make-over" { say!(
                "the relays close onto the panel"
            ) } else { say!("sets how much the group exchanges") },
        )
        .fix(match (id, case.layout) {
            ("relay-make-over", Layout::Inline) => {
                say!("choose the outboard arrangement, soft-start the motors, or shed loads before the panel is energised again")
            }
            ("relay-make-over", _) => say!(
                "soft-start the motors, or shed loads before the panel is energised again"
            ),
            _ => say!("use fewer, larger units, or a family whose relay breaks more"),
        })
    });
}
