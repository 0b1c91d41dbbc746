//! What must hold at single acts and steps, beside that everything can be moved as printed.

use std::collections::{BTreeMap, BTreeSet};

use dossier::{Act, CheckoutStep};

use super::Play;

/// A generator that starts by itself is blocked, but where a step has it start so.
pub(super) fn unattended(play: &Play<'_>, step: &CheckoutStep, here: &BTreeMap<String, BTreeSet<String>>) {
    let words = format!("step {} \"{}\"", step.number, step.action);
    let free = here["generator.start"].contains("free") && step.number > 1;
    let starts = here["generator"].contains("running") && step.action.contains("starts by itself");
    let last = step.stage == "handing over";
    assert!(!free || starts || last, "{words}: the generator may start by itself");
    assert!(last || play.is("generator.start", "blocked"), "{words}: the generator is left to itself");
    if step.number == 1 {
        assert!(step.action.contains("Block the start of the generator"), "{words}");
    }
}

/// Battery currents are read before the sun charges, export while it does.
pub(super) fn suns(play: &Play<'_>, step: &CheckoutStep) {
    let words = format!("step {} \"{}\"", step.number, step.action);
    let off = |id: &str| plant::full::array_of(id).is_some() && !play.is(id, "closed");
    let of_arrays: Vec<&String> = play
        .at
        .keys()
        .filter(|id| plant::full::array_of(id).is_some() && !id.ends_with(".lock-out"))
        .collect();
    let controllers = || of_arrays.iter().filter(|id| id.contains(".controller."));
    let reads = |what: &str| step.readings.iter().any(|r| r.what.contains(what) || r.expected.contains(what));
    if reads("battery current") {
        let on = controllers().find(|id| id.ends_with(".disconnect") && !off(id));
        assert!(on.is_none(), "{words}: {on:?} charges while the battery's current is read");
    }
    if reads("power to the utility") {
        let out = of_arrays.iter().find(|id| off(id));
        assert!(out.is_none(), "{words}: {out:?} is not joined while export is read");
    }
}

/// A unit is joined to a source only after its own leg was read against every leg of that source.
pub(super) fn legs_known(play: &Play<'_>, steps: &[CheckoutStep], act: &Act) {
    let Act::Moves { device, to: "closed" } = act else { return };
    let Some(unit) = play
        .plant
        .units
        .iter()
        .find(|u| ["input", "second"].iter().any(|side| *device == format!("unit.{}.{side}", u.number)))
    else {
        return;
    };
    let breaker = if device.ends_with(".second") { "second-input breaker" } else { "open input breaker" };
    let mut legs: Vec<_> = play.plant.units.iter().flat_map(|u| &u.legs).map(ToString::to_string).collect();
    legs.sort();
    legs.dedup();
    let own = format!("unit {}, ", unit.number);
    let read = |leg: &str| {
        steps.iter().flat_map(|s| &s.readings).any(|r| {
            let of = r.what.starts_with(&own) && r.what.contains(breaker) && !r.from.is_empty();
            let to = r.what.split_once(" to ").map_or("", |(_, to)| to);
            of && (unit.legs.len() > 1 || legs.len() == 1 || to.contains(leg))
        })
    };
    assert!(legs.iter().all(|leg| read(leg)), "{device} closes on a leg that nobody has read");
}

/// Onto a live bus a unit goes only after it was measured against it in the same step, both sides live.
pub(super) fn in_step(play: &Play<'_>, step: &CheckoutStep, device: &str) {
    let bus = play.node("output");
    if !play.live(bus) {
        return;
    }
    let own = Act::Live(format!("{device}.run"));
    let before = step.acts.iter().take_while(|a| !matches!(a, Act::Moves { device: d, .. } if d == device));
    let seen: Vec<&Act> = before.collect();
    assert!(seen.contains(&&own) && seen.contains(&&Act::Live("output".to_owned())), "{}", step.action);
    let read = |r: &dossier::Reading| {
        !r.from.is_empty() && (r.what.contains("across the open") || r.what.contains("of the output bus"))
    };
    assert!(step.readings.iter().any(read), "{}", step.action);
}
