//! Currents of transfer gear and relays in every settled state that the gear can reach.

use std::collections::{BTreeMap, BTreeSet};

use catalog::{LegControl, ShortTime};
use demand::Lane;
use derivation::Known;
use finding::{Finding, Margin, Severity};
use network::operating::Unsolved;
use plant::{Element, ElementKind, Layout, SourceKind};
use quantity::{Apparent, Current, Leg, Quantity};
use saying::{Text, say};
use states::{Reached, Search};

use crate::flowing::{Corner, Flowing, Solved};
use crate::parts::WorstParts;
use crate::runs::Run;
use crate::state_name::name;
use crate::{Case, Ledger, island_fault, order, passing, runs, spread};

/// A reachable state as it is reported.
#[derive(Debug, Clone)]
pub struct StateReport {
    /// Short name.
    pub name: String,
    /// Sources and positions in words.
    pub situation: String,
    /// Shortest sequence of steps from normal operation.
    pub steps: Vec<String>,
    /// Current of each element and leg in each corner (load, charging, exporting).
    pub currents: Vec<(String, Leg, &'static str, Known<Current>)>,
}

/// The worst current, with the state where it flows, of each element, leg, whether only some of its paths are closed,
/// and corner.
type WorstOf = BTreeMap<(usize, Leg, bool, Corner), (Known<Current>, usize)>;

/// The worst current of an element in one corner.
struct Worst<'a> {
    element: &'a Element,
    leg: Leg,
    partial: bool,
    corner: Corner,
    current: &'a Known<Current>,
    search: &'a Search,
    k: usize,
}

/// Walks all states; returns those that differ in what flows.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) -> (Vec<StateReport>, Vec<Run>) {
    if !search.complete {
        ledger.find(
            Finding::new(
                "states-not-covered",
                Severity::NotCovered,
                "plant",
                say!("more than {limit} states: the search was not finished", limit = states::LIMIT),
            )
            .at(Some(&case.site.group.place), say!("this group")),
        );
    }
    order::hold(case, search, ledger);
    let several_counted = passing::limit(case).value() > case.unit.relay.continuous;
    let mut reports = Vec::new();
    let mut worst = WorstOf::new();
    let flowing = Flowing::new(case);
    let mut parts = WorstParts::default();
    let mut known = BTreeMap::new();
    for k in distinct(case, search) {
        let Some(reached) = search.states.get(k) else { continue };
        order::sources_apart(case, search, k, ledger);
        let mut report = StateReport {
            name: name(case, reached),
            situation: states::situation(&reached.state, &case.plant),
            steps: states::tell(&search.path(k), &case.plant),
            currents: Vec::new(),
        };
        let key = electrical(case, reached);
        let again = known.contains_key(&key);
        let solved = known.entry(key).or_insert_with(|| state_currents(&flowing, case, reached, ledger));
        if several_counted && !again {
            solved.iter().for_each(|s| spread::hold(case, &flowing, (&name(case, reached), s), ledger));
        }
        for corner in solved.iter() {
            parts.take(case, &flowing, (k, reached), corner);
        }
        for (element, leg, corner, current) in solved.iter().flat_map(|s| of_elements(&flowing, case, s)) {
            // one relay is counted: then it makes no difference how many of them are closed
            let partial = several_counted && is_partial(case, reached, element);
            let entry = worst.entry((element, leg, partial, corner)).or_insert_with(|| (current.clone(), k));
            if current.value() > entry.0.value() {
                *entry = (current.clone(), k);
            }
            if let Some(it) = case.plant.elements.get(element) {
                report.currents.push((it.id.clone(), leg, corner.word(), current));
            }
        }
        reports.push(report);
    }
    neutrals(case, search, &worst, ledger);
    parts.hold(case, &flowing, search, ledger);
    if let Some(feeder) =
        flowing.plant.part_ix("backup.feeder").and_then(|k| flowing.plant.parts.get(k)?.rating.clone())
    {
        island_fault::tell(case, &feeder, ledger);
    }
    let runs = runs::runs(case, &flowing, &parts);
    for ((element, leg, partial, corner), (current, k)) in worst {
        if let Some(element) = case.plant.elements.get(element) {
            let found = Worst { element, leg, partial, corner, current: &current, search, k };
            hold_element(case, &found, ledger);
        }
    }
    (reports, runs)
}

/// What decides the currents: what is closed, which sources are there, whether relays are about to let go of one that
/// is gone.
pub(crate) type Electrical = (Vec<u8>, [bool; 3], bool);

pub(crate) fn electrical(case: &Case<'_>, reached: &Reached) -> Electrical {
    let (closed, sources, _) = pattern(case, reached);
    (closed, sources, collapsing(case, reached))
}

/// The first of the states of each pattern of flow.
pub(crate) fn distinct(case: &Case<'_>, search: &Search) -> Vec<usize> {
    let mut seen = BTreeSet::new();
    let states = search.states.iter().enumerate();
    states.filter(|(_, reached)| seen.insert(pattern(case, reached))).map(|(k, _)| k).collect()
}

/// What decides the flow: which elements are closed (relays: some or all), and which sources are there.
fn pattern(case: &Case<'_>, reached: &Reached) -> (Vec<u8>, [bool; 3], Vec<plant::DeviceIx>) {
    let mut closed: Vec<u8> = case
        .plant
        .elements
        .iter()
        .map(|e| {
            let members = case.plant.devices.get(e.device.0).map_or(1, |d| d.members);
            match case.plant.closed_paths(e, &reached.state.positions) {
                0 => 0,
                n if n == members || members == 1 => 2,
                _ => 1,
            }
        })
        .collect();
    let s = &reached.state;
    // contactors of arrays have no element of their own
    for array in case.arrays.iter().filter(|array| array.locked_out) {
        let device = case.plant.device(&format!("{}.lock-out", array.id));
        closed.extend(device.and_then(|(device, _)| s.positions.get(device.0)));
    }
    let due = reached.due.iter().map(|(device, _)| *device).collect();
    (closed, [s.utility, s.generator, s.battery], due)
}

fn is_partial(case: &Case<'_>, reached: &Reached, element: usize) -> bool {
    case.plant.elements.get(element).is_some_and(|e| {
        let members = case.plant.devices.get(e.device.0).map_or(1, |d| d.members);
        let closed = case.plant.closed_paths(e, &reached.state.positions);
        closed > 0 && closed < members
    })
}

/// Whether relays are still closed onto an outside source that is gone. They are about to open; what flows until then
/// is the exchange of the collapse, which is held as a switching event.
pub(crate) fn collapsing(case: &Case<'_>, reached: &Reached) -> bool {
    case.plant.elements.iter().any(|e| {
        let closed = case.plant.closed_paths(e, &reached.state.positions) > 0;
        let opening = reached.due.iter().any(|(device, position)| *device == e.device && *position == 0);
        let relays = matches!(e.kind, ElementKind::Relays | ElementKind::GeneratorRelays);
        relays
            && closed
            && opening
            && !LIVE.into_iter().any(|source| {
                reached.state.present(source)
                    && case.plant.source(source).is_some_and(|s| {
                        case.plant
                            .joined(
                                s.node,
                                &reached.state.positions,
                                &[ElementKind::Relays, ElementKind::GeneratorRelays],
                            )
                            .contains(&e.from)
                    })
            })
    })
}

pub(crate) const LIVE: [SourceKind; 2] = [SourceKind::Utility, SourceKind::Generator];

/// The currents of the elements of the gathered plant.
fn of_elements(
    flowing: &Flowing<'_, '_>,
    case: &Case<'_>,
    solved: &Solved,
) -> Vec<(usize, Leg, Corner, Known<Current>)> {
    let legs = case.system().legs();
    let elements = case.plant.elements.iter().enumerate();
    let currents = elements.flat_map(|(k, element)| {
        legs.iter()
            .filter_map(move |&leg| Some((k, leg, solved.corner, flowing.element(solved, element, leg)?)))
    });
    currents.collect()
}

/// The currents of one state, in each of its corners.
fn state_currents(
    flowing: &Flowing<'_, '_>,
    case: &Case<'_>,
    reached: &Reached,
    ledger: &mut Ledger,
) -> Vec<Solved> {
    if let Some(element) = case.plant.looped(&reached.state.positions) {
        // how the current divides would rest on assumed resistances
        ledger.find(
            Finding::new(
                "flow-not-covered",
                Severity::NotCovered,
                "plant",
                say!(
                    "the currents of a state cannot be told: closed gear makes a loop at {element}",
                    element = element.name
                ),
            )
            .in_state(name(case, reached))
            .at(Some(&case.site.group.place), say!("this group")),
        );
        return Vec::new();
    }
    let mut all = Vec::new();
    for corner in Corner::DECIDING {
        match flowing.solve(reached, corner) {
            None => {}
            Some(Ok(solved)) => all.push(solved),
            Some(Err(error)) => ledger.find(unsolved(case, reached, &error)),
        }
    }
    all
}

/// A state without an answer is never fine.
fn unsolved(case: &Case<'_>, reached: &Reached, error: &Unsolved) -> Finding {
    let (id, severity) = match error {
        Unsolved::NoVoltage(_) => ("no-voltage", Severity::Error),
        _ => ("flow-not-covered", Severity::NotCovered),
    };
    Finding::new(id, severity, "plant", say!("the currents of a state cannot be told: {error}", error))
        .in_state(name(case, reached))
        .at(Some(&case.site.group.place), say!("this group"))
}

pub(crate) fn panel_current(case: &Case<'_>, leg: Leg) -> Known<Current> {
    case.demand
        .lanes
        .get(&Lane::Leg(leg))
        .map_or_else(|| nothing("panel current", "no load on this leg"), |lane| lane.steady_current.clone())
}

/// What a generator may give a panel through the units. While the battery helps, the units hold it to its limit; without
/// it, the generator's own breaker ends more than its rating, and without a stated breaker nothing does.
pub(crate) fn from_generator(case: &Case<'_>, battery: bool, asked: Known<Current>) -> Known<Current> {
    let held = case.settings.generator_limit.as_ref().filter(|_| battery && case.helps_one_leg());
    let breaker = case.generator.and_then(|set| {
        let rating = set.breaker?;
        Some(Known::catalog("I_br", "breaker of the generator", rating, &set.id, "breaker"))
    });
    match held.cloned().or(breaker) {
        Some(most) if most.value() < asked.value() => {
            Known::smallest("I_gen", "what the generator may give the panel", &[asked.clone(), most])
                .unwrap_or(asked)
        }
        _ => asked,
    }
}

/// No current, and why.
pub(crate) fn nothing(what: &str, why: &str) -> Known<Current> {
    Known::chosen("I_0", what, Current::ZERO, why, Vec::new())
}

/// The neutral of the backup panel flows through whatever the panel is fed through. Poles and relays are held against
/// their rating for the neutral as for a line; line-to-line units have none.
fn neutrals(case: &Case<'_>, search: &Search, worst: &WorstOf, ledger: &mut Ledger) {
    for (k, element) in case.plant.elements.iter().enumerate() {
        let carries = worst
            .iter()
            .find(|((e, _, _, corner), (current, _))| {
                *e == k && *corner == Corner::Load && current.value() > Current::ZERO
            })
            .map(|(_, (_, state))| *state);
        let Some(reached) = carries.and_then(|state| search.states.get(state)) else { continue };
        let relays = matches!(element.kind, ElementKind::Relays | ElementKind::GeneratorRelays);
        if relays && case.unit.leg_control == LegControl::LineToLine {
            continue;
        }
        let limit =
            if element.kind == ElementKind::Relays { passing::limit(case) } else { element.rating.clone() };
        let margin = Margin::below(
            element.id.clone(),
            say!("neutral current"),
            name(case, reached),
            &case.demand.neutral,
            &limit,
        );
        ledger.hold(margin, |m| {
            Finding::new(
                "neutral-over-rating",
                Severity::Error,
                element.id.clone(),
                say!(
                    "{element}: the neutral may carry {value}; a pole is rated {limit}",
                    element = element.name,
                    value = m.value.amount.text,
                    limit = m.limit.amount.text
                ),
            )
            .at(Some(case.arrangement_place()), say!("this arrangement"))
            .fix(say!(
                "spread line-to-neutral loads over the legs, connect loads line to line, or choose larger gear"
            ))
        });
    }
}

fn hold_element(case: &Case<'_>, worst: &Worst<'_>, ledger: &mut Ledger) {
    let Worst { element, leg, current, .. } = *worst;
    let Some(reached) = worst.search.states.get(worst.k) else { return };
    let state = name(case, reached);
    let what = match worst.corner {
        Corner::Load => say!("current, {leg}", leg),
        corner => say!("current {corner}, {leg}", corner = corner.word(), leg),
    };
    let held = |margin: Margin| match worst.corner {
        Corner::Load | Corner::OneOut | Corner::Array => margin,
        Corner::Charging | Corner::Contributing | Corner::Helping => margin.held_by("input limit"),
        Corner::Exporting => margin.held_by("export limit"),
    };
    if element.kind == ElementKind::Relays {
        let limit = if worst.partial { moving_limit(case, ledger) } else { passing::limit(case) };
        let margin = held(Margin::below(element.id.clone(), what, state, current, &limit));
        ledger.hold(margin, |_| over_relay(case, worst, &limit));
        return;
    }
    let margin = held(Margin::below(element.id.clone(), what, state, current, &element.rating));
    let id = if element.kind == ElementKind::GeneratorRelays {
        "generator-relay-over"
    } else {
        "gear-over-rating"
    };
    ledger.hold(margin, |m| {
        let finding = Finding::new(
            id,
            Severity::Error,
            element.id.clone(),
            say!(
                "{element}: {value} on {leg} ({corner}) is over the rating of {limit}",
                element = element.name,
                value = m.value.amount.text,
                leg,
                corner = worst.corner.word(),
                limit = m.limit.amount.text
            ),
        )
        .at(Some(case.arrangement_place()), say!("this arrangement"));
        finding.fix(say!(
            "move {over_power} off {leg} of the backup panel, or choose larger gear",
            over_power = over_power(case, current, &element.rating),
            leg
        ))
    });
}

/// While relays move one after the other, one of them may carry everything for the time that the family states.
fn moving_limit(case: &Case<'_>, ledger: &mut Ledger) -> Known<Current> {
    let full = passing::limit(case);
    let relay = &case.unit.relay;
    let one = Known::catalog(
        "I_r",
        "rating of one transfer relay",
        relay.continuous,
        &case.unit.id,
        "relay continuous",
    );
    if full.value() <= one.value() {
        return full;
    }
    let enough = relay.group_moves_within.and_then(|within| short_time(&relay.short_time, within));
    match enough {
        Some(enough) => Known::catalog(
            "I_st",
            "what one relay carries while the others follow",
            enough.current,
            &case.unit.id,
            "relay short_time",
        ),
        None => {
            let known = "relay-order-not-covered";
            if !ledger.findings.iter().any(|f| f.id == known) {
                ledger.find(
                    Finding::new(
                        known,
                        Severity::NotCovered,
                        "unit.relay",
                        say!("the family does not state how far apart the relays of a group move, or what one carries for that time"),
                    )
                    .at(Some(&case.site.group.unit.place), say!("this family"))
                    .fix(say!("ask the maker, or leave matched_wiring out so that one relay is counted")),
                );
            }
            one
        }
    }
}

/// The highest current that is stated for at least so long.
pub(crate) fn short_time(list: &[ShortTime], lasts: quantity::Duration) -> Option<&ShortTime> {
    list.iter().filter(|s| s.lasts >= lasts).max_by(|a, b| a.current.si().total_cmp(&b.current.si()))
}

fn over_power(case: &Case<'_>, current: &Known<Current>, limit: &Known<Current>) -> Apparent {
    (current.value() - limit.value()) * case.system().phase_voltage()
}

fn over_relay(case: &Case<'_>, worst: &Worst<'_>, limit: &Known<Current>) -> Finding {
    let Worst { leg, current, search, k, .. } = *worst;
    let over = over_power(case, current, limit);
    let steps: Vec<String> = states::tell(&search.path(k), &case.plant).into_iter().skip(1).collect();
    let how = if steps.is_empty() { Text::default() } else { say!(" ({steps})", steps = steps.join("; ")) };
    let site = &case.site.group;
    if worst.corner != Corner::Load {
        return Finding::new(
            "pass-through-over-relay",
            Severity::Error,
            "unit.relay",
            say!(
                "while {corner} the units' relays pass {current} on {leg}; together they may pass {limit}",
                corner = worst.corner.word(),
                current = current.value(),
                leg,
                limit = limit.value()
            ),
        )
        .at(site.input_limit.fixed().map(|i| &i.place).or(Some(&site.place)), say!("sets what flows"))
        .fix(say!("set the limit to at most {limit}", limit = limit.value()));
    }
    if case.layout == Layout::Outboard {
        let place = site.retransfer.as_ref().map_or(case.arrangement_place(), |(from, _)| &from.place);
        return Finding::new(
            "pass-through-over-relay",
            Severity::Error,
            "unit.relay",
            say!(
                "before the transfer switch returns, the whole backup panel flows through the units' relays: {current} on {leg}; together they may pass {limit}{how}",
                current = current.value(),
                leg,
                limit = limit.value(),
                how
            ),
        )
        .at(Some(place), say!("the units may reconnect before the switch leaves them"))
        .fix(say!(
            "hold the units' input by an auxiliary contact of the transfer switch (input_inhibit), or give the switch a return delay whose latest time is under the {reconnect_earliest} after which the units reconnect at the earliest",
            reconnect_earliest = case.unit.reconnect_earliest
        ))
        .fix(say!("or move {over} off {leg} of the backup panel", over, leg));
    }
    Finding::new(
        "pass-through-over-relay",
        Severity::Error,
        "unit.relay",
        say!(
            "the units' relays pass {current} on {leg}; together they may pass {limit}{how}",
            current = current.value(),
            leg,
            limit = limit.value(),
            how
        ),
    )
    .at(Some(case.arrangement_place()), say!("the backup panel is fed through the units"))
    .fix(say!(
        "move {over} off {leg} of the backup panel, or choose the outboard arrangement",
        over,
        leg
    ))
}
