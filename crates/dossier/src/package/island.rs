//! The group forms its island by itself: each unit at its own leg, onto an output bus that nothing else joins, then group
//! output, feeder, a small load.

use plant::full::Unit;
use quantity::Leg;
use saying::{Text, say};

use super::checkout::{LIVE, Walk, between, frequency, step, to_neutral, volts};
use crate::CheckoutStep;

const ISLAND: &str = "the island";

pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let order = walk.in_order();
    let Some((lead, followers)) = order.split_first() else { return Vec::new() };
    let mut all = vec![alone(walk, lead), onto_bus(walk, lead)];
    let mut up = lead.legs.clone();
    for unit in followers {
        all.push(follower(walk, unit, &up));
        up.extend(unit.legs.iter().filter(|leg| !up.contains(leg)).copied().collect::<Vec<_>>());
    }
    all.push(group(walk, lead, followers.is_empty()));
    all.push(output(walk));
    all.push(feeder(walk));
    all
}

/// What a meter finds at the output of one unit.
fn at_unit(walk: &Walk<'_, '_>, s: CheckoutStep, unit: &Unit) -> CheckoutStep {
    let e = &walk.r.source;
    let at = say!("at unit {number} output breaker, unit side", number = unit.number);
    let s = match (unit.neutral, unit.legs.as_slice()) {
        (true, [leg]) => to_neutral(s, e, leg.to_string(), &at),
        (true, _) => between(to_neutral(s, e, say!("each leg"), &at), e, &at),
        // without a neutral of its own only its two lines can be read
        (false, _) => between(s, e, &at),
    };
    frequency(s, e, &at)
}

fn alone(walk: &Walk<'_, '_>, unit: &Unit) -> CheckoutStep {
    let k = unit.number;
    let s = step(
        ISLAND,
        say!(
            "Start unit {k} alone from the battery, with all output breakers open and locked and no AC source closed onto anything.",
            k
        ),
    )
    .caution(LIVE)
    .otherwise(say!("switch it off; wrong voltage or frequency burns what is connected"));
    at_unit(walk, s, unit)
        .see(say!("output bus, behind the open output breakers"), say!("no voltage"))
        .moves(format!("unit.{k}"), "forming")
        .live(format!("unit.{k}.output.run"))
        .dead("output")
}

fn onto_bus(walk: &Walk<'_, '_>, unit: &Unit) -> CheckoutStep {
    let k = unit.number;
    let rest = if walk.plant.units.len() > 1 {
        say!("The group output breaker and the output breakers of all other units stay open and locked")
    } else {
        say!("The group output breaker stays open and locked")
    };
    let s = step(
        ISLAND,
        say!(
            "Take the lock off unit {k} output breaker and close it onto the dead output bus. {rest}.",
            k,
            rest
        ),
    )
    .caution(LIVE)
    .see(say!("load side of the group output breaker"), say!("no voltage"));
    let e = &walk.r.source;
    let at = say!("on the output bus");
    let s = match (unit.neutral, unit.legs.as_slice()) {
        (true, [leg]) => to_neutral(s, e, leg.to_string(), &at),
        (true, _) => between(to_neutral(s, e, say!("each leg"), &at), e, &at),
        (false, _) => between(s, e, &at),
    };
    s.dead("output").closes(format!("unit.{k}.output")).live("output").dead("group.output")
}

/// The legs that a unit joins, as words.
pub(super) fn words(legs: &[Leg]) -> String {
    legs.iter().map(ToString::to_string).collect::<Vec<_>>().join(" and ")
}

/// One follower: in step across its open breaker where the bus has its leg, else against the legs that are up.
fn follower(walk: &Walk<'_, '_>, unit: &Unit, up: &[Leg]) -> CheckoutStep {
    let (k, most) = (unit.number, &walk.r.in_step);
    let switched = walk
        .plant
        .parts
        .iter()
        .any(|p| p.id == format!("unit.{k}.output") && p.neutral == plant::full::NeutralPath::Switched);
    let join = if !unit.neutral {
        say!(
            " For the measurement join the two sides of one pole by a fused test lead; take it off again before closing."
        )
    } else if switched {
        say!(
            " For the measurement join the two sides of the neutral pole by a fused test lead; take it off again before closing."
        )
    } else {
        Text::default()
    };
    let there = unit.legs.iter().all(|leg| up.contains(leg));
    let how = if there {
        say!("measure across its open output breaker")
    } else {
        say!("measure from its side of the open output breaker to the output bus")
    };
    let s = step(
        ISLAND,
        say!(
            "Start unit {k}, its output breaker still open; it must find the lead unit. With a meter of low impedance {how}.{join} Only where that reads as below take the lock off unit {k} output breaker and close it.",
            k,
            how,
            join
        ),
    )
    .caution(say!(
        "Outputs that are not in step must never be joined: they feed each other with all they can give. Arc-rated clothing, face shield; one person measures and one watches."
    ));
    let s = at_unit(walk, s, unit);
    let s = if there {
        let poles = if unit.neutral { words(&unit.legs).into() } else { say!("the other pole") };
        s.read(
            say!("across the open output breaker of unit {k}, {poles}", k, poles),
            say!("steady, at most {most} (common practice)", most = most.value()),
            &[most.node()],
        )
    } else {
        let s = s.see(
            say!("{words} of the output bus to neutral, before unit {k} joins", words = words(&unit.legs), k),
            say!("no voltage: no unit is on it yet"),
        );
        match &walk.r.source.line {
            Some((low, high)) => s.each(up, |s, leg| {
                s.read(
                    say!("{words} of unit {k} to {leg} of the output bus", words = words(&unit.legs), k, leg),
                    say!("steady, {low} to {high}", low = low.value(), high = high.value()),
                    &[low.node(), high.node()],
                )
            }),
            None => s,
        }
    };
    s.see(say!("role, leg and address shown at the unit"), say!("as in the settings sheet"))
        .otherwise(say!("leave the breaker open: legs are crossed, or the unit is not in step"))
        .moves(format!("unit.{k}"), "forming")
        .live(format!("unit.{k}.output.run"))
        .live("output")
        .closes(format!("unit.{k}.output"))
}

/// The whole group on its bus, nothing behind it.
fn group(walk: &Walk<'_, '_>, lead: &Unit, single: bool) -> CheckoutStep {
    let (e, idle) = (&walk.r.source, &walk.r.idle);
    let at = say!("at the output bus, all units on it");
    let s = step(
        ISLAND,
        if single {
            say!("With the unit on its bus and the group output breaker open, measure at the output bus.")
        } else {
            say!("With every unit on the bus and the group output breaker open, measure at the output bus.")
        },
    )
    .caution(LIVE);
    let s = if lead.neutral { to_neutral(s, e, say!("each leg"), &at) } else { s };
    let s = frequency(between(s, e, &at), e, &at);
    let s = if walk.rotates() { s.see(say!("rotation of the phases {at}", at), rotation(walk)) } else { s };
    s.read(
        say!("battery current"),
        say!("about {idle}, no more than half as much again", idle = idle.value()),
        &[idle.node()],
    )
    .otherwise(say!(
        "open the output breakers again: a leg is missing, doubled or crossed, or units feed each other"
    ))
    .live("output")
    .dead("group.output")
}

/// The rotation that motors need, and how it is known.
fn rotation(walk: &Walk<'_, '_>) -> Text {
    if walk.utility() {
        say!("L1 – L2 – L3, the same instrument turning as at the service disconnect")
    } else {
        say!("L1 – L2 – L3, as the motors are wired for")
    }
}

fn output(walk: &Walk<'_, '_>) -> CheckoutStep {
    let former = walk.has("former");
    let first = if former {
        say!("Take the lock off the neutral former breaker and close it, then the same with")
    } else {
        say!("Take the lock off")
    };
    let then = if former { Text::default() } else { say!(" and close it") };
    let stay = if walk.has("transfer") {
        say!(" The transfer switch goes over by itself; what is behind it stays open and locked.")
    } else {
        say!(" What is behind it stays open and locked.")
    };
    let s =
        step(ISLAND, say!("{first} the group output breaker{then}.{stay}", first, then, stay)).caution(LIVE);
    let s = volts(s, &walk.r.source, say!("at the far end of the group output conductor"));
    let s = if walk.has("transfer") {
        s.see(say!("transfer switch"), say!("on the group, by itself"))
    } else {
        s
    };
    s.see(say!("backup panel"), say!("no voltage: its feeder breaker is open"))
        .given(former, |s| s.closes("former"))
        .closes("group.output")
        .live("group.output.run")
        .given(walk.has("transfer"), |s| s.moves("transfer", "on the group").live("transfer"))
        .dead("backup")
}

fn feeder(walk: &Walk<'_, '_>) -> CheckoutStep {
    let bypass = if walk.has("bypass") {
        say!("Take the lock off the bypass switch and put it on the units. ")
    } else if walk.has("bypass.units") {
        say!(
            "Take the lock off the bypass breaker, units side, and close it; the bypass side stays open and locked. "
        )
    } else {
        Text::default()
    };
    let s = step(
        ISLAND,
        say!(
            "{bypass}With all branch breakers of the backup panel open, take the lock off the backup feeder breaker and close it; measure, then switch on one small load.",
            bypass
        ),
    )
    .caution(if walk.rotates() {
        say!(
            "The panel and everything behind its branch breakers counts as live from here on. No motor on three phases runs before the rotation is read."
        )
    } else {
        say!("The panel and everything behind its branch breakers counts as live from here on.")
    });
    let s = volts(s, &walk.r.source, say!("at the backup panel"));
    let s = if walk.rotates() {
        s.see(say!("rotation of the phases at the backup panel"), rotation(walk))
    } else {
        s
    };
    super::utility::joins(walk, s)
        .see(say!("small load"), say!("runs; the battery current rises by what it draws"))
        .given(walk.has("bypass"), |s| s.moves("bypass", "on the units"))
        .given(walk.has("bypass.units"), |s| s.closes("bypass.units"))
        .closes("backup.feeder")
        .live("backup")
}
