//! Breakers of the units: the smallest standard rating that passes everything that flows through them.

use assess::{Case, Run};
use derivation::{Known, formula};
use finding::{Finding, Severity};
use plant::full::{UnitBreakers, next_device};
use quantity::{Current, Ratio};
use saying::{Text, say};
use site::{BreakerWish, UnitBreaker};

use super::Wire;
use crate::Decision;

/// Runs behind the breakers of a unit, each with the run of all units together whose breaker is made of these.
const RUNS: [(&str, Option<&str>); 3] = [
    ("unit.input.run.conductor", Some("input.conductor")),
    ("unit.output.run.conductor", Some("group.output.run.conductor")),
    ("unit.second.run.conductor", None),
];

fn name(which: UnitBreaker) -> &'static str {
    match which {
        UnitBreaker::Input => "unit input breaker",
        UnitBreaker::Output => "unit output breaker",
    }
}

/// The breakers that the runs as they are chosen ask for. Through its closed relay a unit's conductors are fed from either
/// side, so the tool chooses one rating for all its breakers: each then protects all of them. Where the site fixes them apart, the
/// conductors are made for the larger.
pub(super) fn choose(case: &Case<'_>, runs: &[Run], wires: &[Wire]) -> UnitBreakers {
    let chosen = smallest(case, runs, wires);
    let there = |parts: &[&str]| runs.iter().any(|run| parts.iter().any(|part| run.role.starts_with(part)));
    let of = |which| match (wish(case, which), which) {
        (Some(wish), _) => Some(wish.rating.known("I_q", "rating of the breaker")),
        // off grid nothing feeds an input
        (None, UnitBreaker::Input) if !there(&["unit.input.", "unit.second."]) => None,
        (None, _) => chosen.clone(),
    };
    UnitBreakers { input: of(UnitBreaker::Input), output: of(UnitBreaker::Output) }
}

fn wish<'c>(case: &'c Case<'_>, which: UnitBreaker) -> Option<&'c BreakerWish> {
    case.site.breakers.iter().find(|wish| wish.part.value == which)
}

fn largest(case: &Case<'_>) -> Known<Current> {
    let unit = case.unit;
    let what = say!("largest breaker ahead of the unit's input");
    Known::catalog("I_q", what, unit.input_breaker, &unit.id, "input_breaker")
}

/// The smallest of a standard rating for what flows for any time, counted as the code asks, for what the breakers of all
/// units together ask of each, and for motor starts: no curve is known, so it is taken to open on whatever is above its
/// rating. No more than the family allows. None where a run has no conductor: then the largest stays.
fn smallest(case: &Case<'_>, runs: &[Run], wires: &[Wire]) -> Option<Known<Current>> {
    let wire = |role: &str| wires.iter().find(|wire| wire.role == role);
    let mut all = Vec::new();
    for (role, of_all) in RUNS {
        let Some(run) = runs.iter().find(|run| run.role == role) else { continue };
        all.push(wire(role)?.required.clone());
        all.extend(run.of_one.clone());
        all.extend(run.start_of_one.clone());
        all.extend(of_all.and_then(wire).map(|wire| part_of_all(case, &wire.required)));
    }
    let least = Known::largest("I_q", "what the breakers of a unit must pass", &all)?;
    let rating = next_device(case.site.service.earthing.value, &least);
    Known::smallest(
        "I_q",
        "rating of a unit's breakers, no larger than the family allows",
        &[rating, largest(case)],
    )
}

/// The breaker of all units on a leg is the standard one for so many of theirs.
fn part_of_all(case: &Case<'_>, I: &Known<Current>) -> Known<Current> {
    let most = case.system().legs().iter().map(|leg| case.formation.on(*leg)).max();
    let most = Ratio::of(f64::from(most.unwrap_or(case.formation.units()).max(1)));
    let n = Known::chosen("n", "units that feed one leg", most, "formation", Vec::new());
    formula!("I_n", "one unit's part of what all ask for", [I, n] => I / n)
}

/// Why each is what it is.
pub(super) fn explain(case: &Case<'_>) -> Vec<Decision> {
    let of = |which: UnitBreaker, chosen: &Option<Known<Current>>| {
        let chosen = chosen.as_ref()?;
        let fixed = wish(case, which).map(|wish| &wish.rating.place);
        let why = if fixed.is_some() {
            say!("fixed by the site")
        } else if chosen.value() >= case.unit.input_breaker {
            say!(
                "the largest that the family allows: {input_breaker}",
                input_breaker = case.unit.input_breaker
            )
        } else {
            say!(
                "the smallest standard rating that passes what one unit carries, also in a motor start; all breakers of a unit are alike"
            )
        };
        let decision = Decision::new(name(which), chosen.value().to_string(), fixed);
        Some(decision.because(why).resting_on(chosen.node()))
    };
    let both = [of(UnitBreaker::Input, &case.breakers.input), of(UnitBreaker::Output, &case.breakers.output)];
    both.into_iter().flatten().collect()
}

/// What is wrong with breakers that the site fixes, beside what they carry.
pub(super) fn fixed(case: &Case<'_>, runs: &[Run]) -> Vec<Finding> {
    let mut found = Vec::new();
    for (part, which) in UnitBreaker::ALL {
        let Some(wish) = wish(case, which) else { continue };
        let (rating, most) = (wish.rating.known("I_q", "rating of the breaker"), largest(case));
        let new = |id, severity, message: Text, limit: &Known<Current>| {
            Finding::new(id, severity, part, message)
                .measured(rating.node(), limit.node())
                .at(Some(&wish.rating.place), say!("this breaker"))
        };
        if rating.value() > most.value() {
            let message = say!(
                "a breaker of {rating} at every unit; {unit} allows {most}",
                rating = rating.value(),
                unit = case.unit.id,
                most = most.value()
            );
            let fix = say!("a breaker of {most} or less", most = most.value());
            found.push(new("unit-breaker-over", Severity::Error, message, &most).fix(fix));
        }
        let role = format!("{part}.run.conductor");
        let start = runs.iter().find(|run| run.role == role);
        if let Some(start) = start.and_then(|run| run.start_of_one.as_ref())
            && rating.value() < start.value()
            && rating.value() < most.value()
        {
            let message = say!(
                "a motor start brings {start} through a breaker of {rating}, whose curve is not known: it may open",
                start = start.value(),
                rating = rating.value()
            );
            let fix =
                say!("a larger breaker, up to {most}, or leave its rating to the tool", most = most.value());
            found.push(new("unit-breaker-may-open", Severity::Warning, message, start).fix(fix));
        }
    }
    found
}
