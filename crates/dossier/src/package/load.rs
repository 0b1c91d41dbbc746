//! The group under load, without links, in its room, and towards a utility that goes; handing over.

use saying::{Text, say};

use super::checkout::{Walk, step};
use super::generator::locked_out;
use super::utility::export;
use crate::CheckoutStep;
use crate::units::shown;

const LOAD: &str = "load";

/// From the battery alone. It ends on the utility, where there is one.
pub(super) fn in_the_island(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let mut all = vec![full(walk)];
    all.extend(links(walk));
    if walk.utility() {
        all.push(back(walk));
    }
    all
}

/// What goes back to the utility, and ceases when it goes.
pub(super) fn towards_the_utility(walk: &Walk<'_, '_>) -> Option<CheckoutStep> {
    walk.utility().then(|| ceases(walk))
}

/// A generator that starts by itself would carry a part of what is read.
fn blocked(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    s.given(walk.case.generator.is_some(), |s| {
        let expected = if walk.automatic() {
            say!("stopped, its automatic start still blocked")
        } else {
            say!("stopped; nobody starts it")
        };
        s.see(say!("generator"), expected)
    })
}

fn full(walk: &Walk<'_, '_>) -> CheckoutStep {
    let case = walk.case;
    let action = if walk.utility() {
        say!(
            "Open the service disconnect, close the branch breakers of the panel one after the other, load the group in the island, from the battery, up to the assessed demand and hold it for 30 min; read currents and warm terminals."
        )
    } else {
        say!(
            "Close the branch breakers of the panel one after the other, load the group from the battery up to the assessed demand and hold it for 30 min; read currents and warm terminals."
        )
    };
    let mut s = step(LOAD, action).caution(say!(
        "Loose terminals burn under load: look with a thermal camera through the doors, not with hands."
    ));
    s = blocked(walk, s);
    for leg in &walk.r.legs {
        let (I, leg_name) = (&leg.panel, leg.leg);
        s = s.read(
            say!("{leg_name} at the backup panel", leg_name),
            say!("up to {i}", i = I.value()),
            &[I.node()],
        );
        if let Some(most) = &leg.unit {
            s = s.read(
                say!("{leg_name} of each unit at that load", leg_name),
                say!(
                    "at most {most} (equal part and {sharing_tolerance})",
                    most = most.value(),
                    sharing_tolerance = case.unit.sharing_tolerance
                ),
                &[most.node()],
            );
        }
    }
    let N = &case.demand.neutral;
    let s = s.read(say!("neutral at the backup panel"), say!("up to {n}", n = N.value()), &[N.node()]);
    walk.leave(s).live("backup").given(walk.utility(), |s| s.dead("main"))
}

fn links(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let Some(placed) = &walk.design.placed else { return Vec::new() };
    let mut all = Vec::new();
    for link in placed.links.links.iter().filter(|l| !l.cables.is_empty()) {
        let Some(cable) =
            link.cables.iter().max_by_key(|c| (c.cuts_off.len(), std::cmp::Reverse(c.name.clone())))
        else {
            continue;
        };
        let words = link
            .if_lost
            .clone()
            .map_or(say!("not stated by the record: write down what they do"), Text::from);
        all.push(
            blocked(walk, step(LOAD, say!(
                "With a small load in the island, pull link cable {cable} out of {to}; then put it back and start what stopped.",
                cable = cable.name,
                to = cable.to
            )))
                .caution(say!(
                    "Loads may lose power. Units that go on out of step would feed each other: be ready to open their output breakers."
                ))
                .see(say!("{cuts_off} without its lead unit", cuts_off = cable.cuts_off.join(", ")), words)
                .otherwise(say!("open the output breakers of the units that went on by themselves"))
                .live("backup"),
        );
    }
    if let Some(room) = &placed.room {
        all.push(
            step(
                LOAD,
                say!("After two hours at load, read the room temperature at the units' air intake, and outdoors."),
            )
            .read(
                say!("room"),
                say!("at most {site_units}", site_units = shown(walk.case.site.units(), room.stated.value())),
                &[room.stated.node()],
            )
            .otherwise(say!("more air or cooling before the group is handed over"))
            .live("backup"),
        );
    }
    all
}

/// The end of what is tried in the island.
fn back(walk: &Walk<'_, '_>) -> CheckoutStep {
    let s =
        step(LOAD, say!("Close the service disconnect and wait until the units are back on the utility."))
            .caution(say!("Before closing see that nobody works on the main panel or ahead of it."))
            .read(
                say!("units back on the utility after"),
                design::returns_by(walk.case),
                &[walk.r.units_back.node()],
            );
    walk.come_back(s).live("main").live("backup")
}

/// Part load beside the utility, then the utility goes: what the settings promise is seen once.
fn ceases(walk: &Walk<'_, '_>) -> CheckoutStep {
    let arrays = if !walk.case.arrays.is_empty() || !walk.case.strings.is_empty() {
        say!(", in full sun with every array running,")
    } else {
        Text::default()
    };
    let s = step(
        LOAD,
        say!("At part load{arrays} read the power to the utility, then open the service disconnect and time until the output towards it ceases; then close it again.", arrays),
    )
    .caution(say!("The panel changes over by itself: nobody works on it, nor on the main panel."));
    let s = export(walk, s);
    let s = match &walk.r.unbalance {
        Some(most) => s.read(
            say!("difference between the phases at the service, charging and giving back"),
            say!("at most {most}", most = most.value()),
            &[most.node()],
        ),
        None => s,
    };
    let s = match &walk.r.ceases {
        Some(within) => s.read(
            say!("output towards the opened service ceases within"),
            within.value().to_string(),
            &[within.node()],
        ),
        None => s.see(
            say!("output towards the opened service ceases"),
            say!("within the time that the network operator asks for"),
        ),
    };
    let s = s.otherwise(say!(
        "leave the service disconnect open and locked: do not stay connected to the utility"
    ));
    let s = s.live("main").live("backup");
    walk.come_back(walk.leave(s).dead("main").live("backup")).live("backup")
}

pub(super) fn hand_over(walk: &Walk<'_, '_>) -> CheckoutStep {
    let locks = if locked_out(walk) {
        say!(
            "only that of the generator breaker; every other device in the position that the drawing of normal operation shows"
        )
    } else {
        say!("none left; every device in the position that the drawing of normal operation shows")
    };
    step(
        "handing over",
        say!("Fit all labels, close all covers, put drawings and this list at the equipment."),
    )
    .see(say!("labels"), say!("all of the schedule"))
    .see(say!("locks"), locks)
    .given(walk.automatic(), |s| {
        if locked_out(walk) {
            return s.see(
                say!("automatic start of the generator"),
                say!("blocked: nothing joins it to the units"),
            );
        }
        s.see(say!("automatic start of the generator"), say!("block taken off, last of all"))
            .moves("generator.start", "free")
    })
    .see(say!("who operates it"), say!("shown: outage, bypass, shutdown, whom to call"))
    .otherwise(say!("do not hand over"))
}
