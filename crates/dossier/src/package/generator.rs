//! The generator: unloaded at its open breaker first, then under load.

use saying::{Text, say};

use super::checkout::{Walk, step, volts};
use super::utility::own_legs;
use crate::CheckoutStep;

const GENERATOR: &str = "generator";

/// How it reaches the units.
enum Way {
    /// A second input of each unit.
    Second,
    /// A switch ahead of their only input.
    Switch,
    /// Their only input, off grid.
    Only,
}

/// A generator that nothing joins to the units stays locked out.
pub(super) fn locked_out(walk: &Walk<'_, '_>) -> bool {
    walk.has("generator.breaker") && way(walk).is_none()
}

/// A generator that carries the panel through the units.
pub(super) fn carries(walk: &Walk<'_, '_>) -> bool {
    walk.has("generator.breaker") && way(walk).is_some()
}

fn way(walk: &Walk<'_, '_>) -> Option<Way> {
    // while the utility is away the transfer switch stands on the group, and the units are held off their only input
    let held_off = walk.case.settings.inhibit && walk.has("transfer");
    if !walk.of_units("second").is_empty() {
        Some(Way::Second)
    } else if walk.has("source switch") && !held_off {
        Some(Way::Switch)
    } else if !walk.utility() && !walk.of_units("input").is_empty() {
        Some(Way::Only)
    } else {
        None
    }
}

pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let Some(generator) = walk.case.generator.filter(|_| walk.has("generator.breaker")) else {
        return Vec::new();
    };
    let mut all = vec![unloaded(walk, &generator.id)];
    if let Some(way) = way(walk) {
        all.push(leads(walk, &way));
        all.push(loaded(walk, &generator.id));
        all.push(stopped(walk, &generator.id));
        if walk.automatic() {
            all.push(by_itself(walk, &generator.id));
        }
    }
    all
}

fn unloaded(walk: &Walk<'_, '_>, id: &str) -> CheckoutStep {
    let s = step(
        GENERATOR,
        say!(
            "Start {id} by hand and run it unloaded, the generator breaker open and locked, until it is warm; measure at the line side of that breaker{x}.",
            id,
            x = if locked_out(walk) { ", then stop it" } else { "" }
        ),
    )
    .caution(say!(
        "Exhaust outdoors only. Its neutral is joined to earth as the drawing shows, never twice. Live parts: arc-rated clothing, face shield."
    ));
    let s = volts(s, &walk.r.source, say!("at the open generator breaker, unloaded"));
    let s = rotation(walk, s, say!("at the open generator breaker"));
    let s = if lock_outs(walk).is_empty() {
        s
    } else {
        s.see(say!("lock-out contactors of arrays"), say!("open as soon as the generator gives voltage"))
    };
    let s = if way(walk).is_none() {
        s.see(
            say!("generator breaker"),
            say!("stays open and locked: in this design nothing joins it to the units"),
        )
    } else {
        s
    };
    s.see(say!("load side of the generator breaker"), say!("no voltage"))
        .otherwise(say!("stop it and have it set: units do not take it, or it burns what it feeds"))
        .moves("generator", "running")
        .each(lock_outs(walk), CheckoutStep::opens)
        .live("generator")
        .dead("generator.breaker")
        .given(locked_out(walk), |s| {
            s.moves("generator", "stopped").each(lock_outs(walk), CheckoutStep::closes)
        })
}

fn rotation(walk: &Walk<'_, '_>, s: CheckoutStep, at: Text) -> CheckoutStep {
    if !walk.rotates() {
        return s;
    }
    let same = if walk.utility() { say!("as at the service disconnect") } else { say!("as the island's") };
    s.see(say!("rotation of the phases {at}", at), say!("L1 – L2 – L3, {same}", same))
}

/// Closes its breaker, with the units not yet on it.
fn leads(walk: &Walk<'_, '_>, way: &Way) -> CheckoutStep {
    let (rest, at) = match way {
        Way::Second => (
            say!("The second-input breakers of the units stay open and locked."),
            say!("ahead of the open second-input breakers"),
        ),
        Way::Switch => (
            say!("The source switch stays on the utility."),
            say!("at the generator side of the source switch"),
        ),
        Way::Only => (
            say!("The input breakers of the units stay open and locked."),
            say!("ahead of the open input breakers of the units"),
        ),
    };
    let s = step(GENERATOR, say!("Take the lock off the generator breaker and close it. {rest}", rest))
        .caution(say!("Live parts: arc-rated clothing, face shield, one person measures and one watches."));
    let s = volts(s, &walk.r.source, &at);
    let s = rotation(walk, s, at);
    let behind = match way {
        Way::Second => walk.of_units("second"),
        Way::Only => walk.of_units("input"),
        Way::Switch => Vec::new(),
    };
    let breaker = match way {
        Way::Second => Some(say!("second-input breaker")),
        Way::Only => Some(say!("input breaker")),
        Way::Switch => None,
    };
    let s = match breaker {
        Some(breaker) => own_legs(walk, s, &breaker, &say!("at the load side of the generator breaker")),
        None => {
            let most = &walk.r.in_step;
            s.read(
                say!("each leg at the generator side of the source switch to the same leg at the load side of the generator breaker"),
                say!("at most {most}: it is the same leg", most = most.value()),
                &[most.node()],
            )
        }
    };
    let s = s.otherwise(say!(
        "open the generator breaker and lock it: exchanged legs would be joined through the units"
    ));
    s.closes("generator.breaker").live("generator.feed").each(behind, |s, id| s.dead(format!("{id}.breaker")))
}

fn loaded(walk: &Walk<'_, '_>, id: &str) -> CheckoutStep {
    let inputs = match way(walk) {
        Some(Way::Second) => {
            say!("Take the locks off the second-input breaker of one unit after the other and close it. ")
        }
        Some(Way::Only) => {
            say!("Take the locks off the input breaker of one unit after the other and close it. ")
        }
        _ => Text::default(),
    };
    let open = if walk.utility() { say!("Open the service disconnect; wait") } else { say!("Wait") };
    let s = step(
        GENERATOR,
        say!(
            "{inputs}{open} until the units take {id}, then let them charge where their settings allow it, and load the panel in steps.",
            inputs,
            open,
            id
        ),
    )
    .caution(say!(
        "The panel stays live throughout. A generator that the units feed backwards runs away: open its breaker at once."
    ));
    let s = volts(s, &walk.r.source, say!("at the generator's terminals under load"));
    let s = match &walk.case.settings.generator_limit {
        Some(limit) if design::charger_stays_off(walk.case, limit) => s.read(
            say!("charging current from the generator, at the DC cable of each unit"),
            say!("none: the charger is off on the generator"),
            &[limit.node()],
        ),
        Some(limit) => s.read(
            say!("current of the worst leg from the generator, at the generator breaker"),
            say!("at most {limit}", limit = limit.value()),
            &[limit.node()],
        ),
        None => s.see(
            say!("current of the worst leg from the generator, at the generator breaker"),
            say!("at most its nameplate"),
        ),
    };
    let s = s.see(say!("power back to the generator, with the panel's load taken away"), say!("none"));
    let s = if walk.utility() {
        s.see(
            say!("load terminals of the open service disconnect, each leg to neutral and between lines"),
            say!("no voltage: nothing comes back from generator or group"),
        )
    } else {
        s
    };
    let s = match way(walk) {
        Some(Way::Second) => s.each(walk.of_units("second"), CheckoutStep::closes),
        Some(Way::Only) => s.each(walk.of_units("input"), CheckoutStep::closes),
        _ => s,
    };
    onto(walk, s.otherwise(say!("open the generator breaker; the panel stays on the group")))
}

fn stopped(walk: &Walk<'_, '_>, id: &str) -> CheckoutStep {
    let action = if walk.utility() {
        say!(
            "Close the service disconnect again; when units and switches are back on the utility let {id} cool unloaded and stop it.",
            id
        )
    } else {
        say!(
            "Take the load off, stop {id} after it has cooled, and see the units go on from the battery.",
            id
        )
    };
    let s = step(GENERATOR, action)
        .caution(say!(
            "The panel is live throughout; an automatic generator may start again by itself: its start is blocked before anybody touches it."
        ));
    let s = s.see(say!("backup panel"), say!("served, by utility or battery"));
    off(walk, s)
}

/// Its automatic start, tried once and blocked again: what is read after it is read from the battery alone.
fn by_itself(walk: &Walk<'_, '_>, id: &str) -> CheckoutStep {
    let (open, close) = if walk.utility() {
        (say!("Open the service disconnect, then take"), say!(" Close the service disconnect."))
    } else {
        (say!("Take"), say!(""))
    };
    let s = step(
        GENERATOR,
        say!(
            "{open} the block off the automatic start of {id} and move the level at which it starts until it starts by itself and the units take it. Put the level back to that of the settings sheet.{close} See it stop by itself, then block its start again: what follows is read from the battery alone.",
            open,
            id,
            close
        ),
    )
    .caution(say!("From the moment the block is off it may start at any time: nobody works on it or on its conductors."))
    .see(say!("start"), say!("by itself, at the level that was set; nobody at its controls"))
    .see(say!("stop"), say!("by itself, after it has cooled unloaded"))
    .see(say!("level after the trial"), say!("as in the settings sheet, read back"))
    .otherwise(say!("leave its start blocked: it would start under somebody's hands, or not in an outage"))
    .moves("generator.start", "free");
    off(walk, onto(walk, s)).moves("generator.start", "blocked")
}

/// The utility is gone, the generator runs, the units take it.
pub(super) fn onto(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    let lock_outs = lock_outs(walk);
    let s = walk.leave(s).moves("generator", "running").each(lock_outs, CheckoutStep::opens);
    let s = match way(walk) {
        Some(Way::Second) => s.each(walk.of_units("second relay"), CheckoutStep::closes),
        Some(Way::Switch) => {
            s.moves("source switch", "on the generator").each(walk.of_units("relay"), CheckoutStep::closes)
        }
        Some(Way::Only) => s.each(walk.of_units("relay"), CheckoutStep::closes),
        None => s,
    };
    s.live("generator.feed").live("backup").given(walk.utility(), |s| s.dead("main"))
}

/// The generator stops, the utility is back where there is one.
pub(super) fn off(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    let s = s
        .each(walk.of_units("second relay"), CheckoutStep::opens)
        .each(walk.of_units("relay"), CheckoutStep::opens);
    let s = walk.come_back(s).moves("generator", "stopped").each(lock_outs(walk), CheckoutStep::closes);
    s.live("backup")
}

fn lock_outs(walk: &Walk<'_, '_>) -> Vec<String> {
    let all = walk.plant.gear.iter().filter(|g| g.id.ends_with(".lock-out"));
    all.map(|g| g.id.clone()).collect()
}
