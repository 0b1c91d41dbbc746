//! Every conductor of the plant: the smallest that passes the rules of the site's book, with its protective conductor
//! and, by the US book, its raceway. The plant is solved again with them until nothing changes.

mod breakers;
mod iec;
mod us;

use std::sync::Arc;

use assess::{Assessed, Case, For, InArray, Run, assess};
use codebook::NotCovered;
use derivation::{Known, Node, formula};
use finding::{Finding, Severity};
use plant::full::UnitBreakers;
use quantity::{Current, Length, Ratio, Resistance};
use saying::say;
use site::Earthing;

use crate::candidate::Design;
use crate::code::amended_share;
use crate::{Held, Prepared, bank, checks, ways};

/// Rounds after which a choice that still changes is a finding.
const ROUNDS: usize = 20;
/// Share of the nominal voltage above which a run's drop is worth saying (NEC 2023 215.2(A)(2), informational note:
/// 3 %; IEC 60364-5-52 Table G.52.1 asks for 3 % or 5 % to the load, of which a feeder takes a part).
pub(crate) const DROP_SHARE: f64 = 0.03;
/// Share above which the run is of no use: equipment is made for 10 % below the nominal voltage (IEC 60038, from memory).
const UNUSABLE_SHARE: f64 = 0.10;

/// A conductor run as it is to be built.
#[derive(Debug, Clone)]
pub struct Wire {
    /// Role path without the number of its unit.
    pub role: String,
    /// Name for people.
    pub name: String,
    /// How many like it there are.
    pub count: usize,
    /// Line conductors of one run; on the direct-current side its poles.
    pub lines: usize,
    /// On the direct-current side.
    pub direct: bool,
    /// Length, one way.
    pub length: Known<Length>,
    /// Rating of the device ahead; without one of its own, of the device that stands for it.
    pub device: Known<Current>,
    /// A device protects it; else its sources give no more than it carries.
    pub guarded: bool,
    /// What the rules ask it to carry.
    pub required: Known<Current>,
    /// Size of each line conductor, as the trade writes it.
    pub size: String,
    /// Conductors in parallel.
    pub sets: usize,
    /// Size of the neutral.
    pub neutral: Option<String>,
    /// Size of the protective conductor; none along service conductors.
    pub ground: Option<String>,
    /// Raceway, where the book has its table.
    pub raceway: Option<String>,
    /// What it may carry where it lies.
    pub ampacity: Known<Current>,
    /// What flows, without what a code adds: what it must carry where it lies.
    pub carried: Known<Current>,
    /// What its terminals let through, where the book asks for `required` of them, before the factors of the surroundings.
    pub before: Option<Known<Current>>,
    /// Resistance of one line conductor, sets together, at working temperature.
    pub resistance: Known<Resistance>,
    /// Share of the nominal voltage that is lost out and back by its worst current.
    pub drop: Known<Ratio>,
    /// Why that size, and why no smaller one.
    pub why: Arc<Node>,
    /// What ground and raceway rest on.
    pub from: Vec<Arc<Node>>,
}

/// What a book chooses of a run; the rest follows alike in both.
struct Chosen {
    size: String,
    sets: usize,
    neutral: Option<String>,
    ground: Option<String>,
    raceway: Option<String>,
    required: Known<Current>,
    ampacity: Known<Current>,
    before: Option<Known<Current>>,
    resistance: Known<Resistance>,
    why: Arc<Node>,
    from: Vec<Arc<Node>>,
    /// By the share that a dwelling's service conductors carry.
    dwelling: bool,
}

/// Chooses until nothing changes.
pub(crate) fn settle<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    for round in 0.. {
        let (wires, mut found, held) = choose(&design.case, &design.assessed);
        let breakers = breakers::choose(&design.case, &design.assessed.runs, &wires);
        let settled = same(&breakers, &design.case.breakers)
            && wires.len() == design.wires.len()
            && wires.iter().zip(&design.wires).all(|(a, b)| (&a.size, a.sets) == (&b.size, b.sets));
        design.wires = wires;
        if settled || round >= ROUNDS {
            if !settled {
                found.push(Finding::new(
                    "wiring-does-not-settle",
                    Severity::NotCovered,
                    "conductors",
                    say!("conductor sizes still change after {rounds} rounds", rounds = ROUNDS),
                ));
            }
            found.extend(breakers::fixed(&design.case, &design.assessed.runs));
            design.assessed.ledger.findings.extend(found);
            design.held.extend(held);
            design.decisions.extend(breakers::explain(&design.case));
            return;
        }
        let resistances = design.wires.iter().map(|w| (w.role.clone(), w.resistance.clone()));
        design.case.conductors = resistances.collect();
        // the buses of the group hang on the wall with the housings that their breakers ask for
        let others = !same(&breakers, &design.case.breakers);
        design.case.breakers = breakers;
        if others {
            ways::measure(prepared, design);
        }
        bank::settle_charging(design);
        design.assessed = assess(&design.case);
        checks::add(prepared, design);
    }
}

fn same(a: &UnitBreakers, b: &UnitBreakers) -> bool {
    let rating = |breaker: &Option<Known<Current>>| breaker.as_ref().map(Known::value);
    rating(&a.input) == rating(&b.input) && rating(&a.output) == rating(&b.output)
}

fn choose(case: &Case<'_>, assessed: &Assessed) -> (Vec<Wire>, Vec<Finding>, Vec<Held>) {
    let mut found = Vec::new();
    let mut held = Vec::new();
    let mut wires = Vec::new();
    for run in &assessed.runs {
        let us = us_book(case);
        let chosen = if us { us::choose(case, run) } else { iec::choose(case, &assessed.runs, run) };
        match chosen {
            Ok(chosen) => {
                let small = device_small(case, run, &chosen.required);
                held.extend(of_run(us, run, &chosen, small.is_none()));
                found.extend(small);
                wires.push(wire(case, run, chosen));
            }
            Err(refused) => {
                let rule = if us { "conductor-size" } else { "conductor-choice" };
                held.push(Held::not_covered(rule, &run.role));
                found.push(not_covered(case, run, &refused));
            }
        }
    }
    let source = if us_book(case) {
        "NEC 2023 215.2(A)(2), informational note"
    } else {
        "our own share of the 3 % or 5 % to the load of IEC 60364-5-52 Table G.52.1"
    };
    let code = Known::factor("u", "drop that is recommended at most", DROP_SHARE, source);
    // the IEC book has a drop to the load, of which this is a part: the place cannot change it by that rule
    let most = if us_book(case) { amended_share(case.site, "voltage-drop", code) } else { Some(code) };
    found.extend(wires.iter().filter_map(|wire| drop_over(case, wire, most.as_ref())));
    if us_book(case) {
        for wire in &wires {
            // recommended, not asked for, unless the place does: what is over it is a warning
            let Some(most) = &most else {
                let none = Held { part: wire.role.clone(), ..Held::does_not_apply("voltage-drop") };
                held.push(none.because(say!("by local amendment the place does not apply it")));
                continue;
            };
            let within = wire.drop.value() <= most.value();
            if within || amends(case) {
                held.push(Held::new("voltage-drop", &wire.role, within));
            }
        }
    }
    (wires, found, held)
}

/// A drop that is recommended against, or one that no appliance is made for.
fn drop_over(case: &Case<'_>, wire: &Wire, most: Option<&Known<Ratio>>) -> Option<Finding> {
    let far = wire.drop.value() > Ratio::of(UNUSABLE_SHARE);
    let limit = if far {
        Known::factor(
            "u",
            "lowest voltage that equipment is made for",
            UNUSABLE_SHARE,
            "IEC 60038 table 1: 10 % below nominal (from memory)",
        )
    } else {
        most.filter(|most| wire.drop.value() > most.value())?.clone()
    };
    let percent = rounded(100.0 * quantity::Quantity::si(wire.drop.value()));
    let severity = if far || (us_book(case) && amends(case)) { Severity::Error } else { Severity::Warning };
    let message = say!(
        "{wire} loses {percent} % of the voltage with {x}, out and back",
        wire = wire.name,
        percent,
        x = if wire.direct {
            "its lasting current"
        } else {
            "one leg at its worst current and the others idle"
        }
    );
    let finding = Finding::new("voltage-drop-over", severity, wire.role.clone(), message)
        .measured(wire.drop.node(), limit.node())
        .at(Some(&case.site.group.place), say!("this group"))
        .fix(say!("a larger conductor (`[[conductor]]`), or a shorter run"));
    Some(finding)
}

/// The place makes a limit of what the code only recommends.
fn amends(case: &Case<'_>) -> bool {
    let of = |a: &&site::Amendment| a.rule.value == "voltage-drop";
    case.site.amendments.iter().find(of).is_some_and(|a| matches!(a.change, site::Change::Share(_)))
}

/// The site's demand is found by the calculation of a dwelling.
pub(crate) fn dwelling(case: &Case<'_>) -> bool {
    matches!(
        case.site.demand,
        site::DemandMethod::DwellingStandard(_) | site::DemandMethod::DwellingOptional(_)
    )
}

fn us_book(case: &Case<'_>) -> bool {
    case.site.service.earthing.value == Earthing::Us
}

/// What a cable of an array has besides.
fn in_array(run: &Run) -> Option<&InArray> {
    run.direct.as_ref().and_then(|direct| direct.array.as_ref())
}

/// The rules that a chosen run went through.
fn of_run(us: bool, run: &Run, chosen: &Chosen, device: bool) -> Vec<Held> {
    let mut rules = if us {
        vec![
            "conductor-size",
            "conductor-ampacity",
            "terminal-temperature",
            "small-conductor",
            "raceway-fill",
        ]
    } else {
        vec!["conductor-choice", "cable-ampacity", "conductor-resistance"]
    };
    if chosen.ground.is_some() {
        rules.push(if us { "equipment-ground" } else { "protective-conductor" });
    }
    if chosen.sets > 1 && us {
        rules.push("parallel-set");
    }
    if us && matches!(run.wanted, For::Generator(_)) {
        rules.push("generator-conductor");
    }
    if chosen.dwelling {
        rules.retain(|rule| *rule != "conductor-size");
        rules.push("dwelling-service");
    }
    let mut held: Vec<Held> = rules.into_iter().map(|rule| Held::new(rule, &run.role, true)).collect();
    if in_array(run).is_some_and(|array| !array.guarded) {
        held.retain(|held| held.rule != "small-conductor");
        return held;
    }
    // what the device lets through, and what it must not trip on
    held.push(Held::new(if us { "overcurrent-device" } else { "overload-coordination" }, &run.role, device));
    if us && in_array(run).is_none() && matches!(run.wanted, For::Counted(_) | For::Continuous(_)) {
        held.push(Held::new("continuous-load", &run.role, device));
    }
    held
}

fn rounded(percent: f64) -> String {
    format!("{percent:.1}")
}

fn wire(case: &Case<'_>, run: &Run, chosen: Chosen) -> Wire {
    let (R, I) = (&chosen.resistance, &run.carried);
    let U = case.voltage();
    let drop = match &run.direct {
        None => formula!("u", "share of the voltage lost out and back", [R, I, U] => R * I * 2.0 / U,
            source = "Ohm's law, one leg loaded: out on the line, back on the neutral"),
        Some(direct) => {
            let (I, U) = (&direct.carried, &direct.nominal);
            formula!("u", "share of the voltage lost out and back", [R, I, U] => R * I * 2.0 / U,
                source = "Ohm's law, both poles")
        }
    };
    Wire {
        role: run.role.clone(),
        name: run.name.clone(),
        count: run.count,
        lines: if run.lines { run.legs.len() } else { 0 },
        direct: run.direct.is_some(),
        length: run.length.clone(),
        device: run.device.clone(),
        guarded: in_array(run).is_none_or(|array| array.guarded),
        drop,
        size: chosen.size,
        sets: chosen.sets,
        neutral: chosen.neutral,
        ground: chosen.ground,
        raceway: chosen.raceway,
        required: chosen.required,
        ampacity: chosen.ampacity,
        carried: run.carried.clone(),
        before: chosen.before,
        resistance: chosen.resistance,
        why: chosen.why,
        from: chosen.from,
    }
}

/// A device that is smaller than what flows for hours may trip.
fn device_small(case: &Case<'_>, run: &Run, required: &Known<Current>) -> Option<Finding> {
    // a generator's own breaker is its maker's; a service and a neutral are held elsewhere
    let guarded = in_array(run).is_none_or(|array| array.guarded);
    let held = matches!(run.wanted, For::Counted(_) | For::Continuous(_)) && run.lines && guarded;
    if !held || required.value() <= run.device.value() {
        return None;
    }
    Some(
        Finding::new(
            "device-under-load",
            Severity::Error,
            run.role.clone(),
            say!(
                "{run}: the device ahead is rated {device}; the load asks for {required}, what runs for hours counted as the code asks",
                run = run.name,
                device = run.device.value(),
                required = required.value()
            ),
        )
        .measured(required.node(), run.device.node())
        .at(Some(case.arrangement_place()), say!("this arrangement"))
        .fix(say!("a device of at least {required}, or less load behind it", required = required.value())),
    )
}

fn not_covered(case: &Case<'_>, run: &Run, refused: &NotCovered) -> Finding {
    let fixed = run.fixed.as_ref().map(|(wire, _)| &wire.place);
    let what =
        if fixed.is_some() { "the fixed conductor does not pass" } else { "no conductor could be chosen" };
    Finding::new(
        "conductor-not-covered",
        Severity::NotCovered,
        run.role.clone(),
        say!("{run}: {what}: {reason}", run = run.name, what, reason = refused.reason),
    )
    .by(refused.clause.clone())
    .at(
        fixed.or(Some(&case.site.group.place)),
        if fixed.is_some() { say!("this size") } else { say!("this group") },
    )
}
