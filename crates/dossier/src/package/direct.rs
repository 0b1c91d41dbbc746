//! Steps on the direct-current side, until the units are awake and every setting is read back.

use assess::{Case, Landing, SoftStart};
use catalog::Chemistry;
use design::Readings;
use saying::say;

use super::checkout::{Walk, step};
use crate::{CheckoutStep, Setting};

const DIRECT: &str = "direct current";
const SETTINGS: &str = "settings";

pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let mut all: Vec<CheckoutStep> = landings(walk).into_iter().collect();
    all.extend([polarity(walk), match_strings(walk.r), join(walk)]);
    let dc = walk.of_units("dc");
    let bus = walk.plant.nodes.get(walk.plant.dc_bus.0).map(|n| n.id.clone());
    all.push(
        pre_charge(walk.r).each(bus, CheckoutStep::live).each(dc, |s, id| s.closes(id.clone()).live(id)),
    );
    let idle = &walk.r.idle;
    all.push(
        step(DIRECT, say!(
            "Wake the units on the battery alone, their AC outputs switched off at their controls; AC breakers stay open and locked."
        ))
            .caution(say!(
                "A unit whose output cannot be switched off by itself forms a voltage as it wakes: from here on its AC terminals count as live."
            ))
            .read(say!(
                "battery current, outputs off"
            ), say!("at most {idle}", idle = idle.value()), &[idle.node()])
            .each(&walk.plant.units, |s, u| s.moves(format!("unit.{}", u.number), "awake")),
    );
    all.push(read_back(walk.settings));
    all
}

/// Strings and units in the order in which they land on the bar, in words; none where no sharing rests on it.
pub(super) fn order(case: &Case<'_>) -> Option<String> {
    let bank = case.bank.as_ref().filter(|b| b.strings > 1 && b.busbar.is_some())?;
    let along = assess::along_the_bar(bank, case.formation.units());
    Some(along.iter().map(ToString::to_string).collect::<Vec<_>>().join(" – "))
}

/// How strings share rests on where everything lands.
fn landings(walk: &Walk<'_, '_>) -> Option<CheckoutStep> {
    let order = order(walk.case)?;
    let bank = walk.case.bank.as_ref()?;
    let s = step(DIRECT, say!(
        "Compare the order in which cables land along the DC busbar, from one end to the other, with this list; plus and minus bar alike."
    ))
        .caution(say!(
            "The strings are live up to their open disconnects: insulated tools, one pole at a time."
        ))
        .see(say!("landings, from one end of the bar"), order);
    let s = match assess::landing_gain(walk.case, bank) {
        Some((apart, in_turn)) => {
            let most = if bank.landing == Landing::Apart { apart } else { in_turn };
            let most_of = say!("most loaded string, at the lasting load and landed so");
            s.read(
                most_of,
                say!("{most}, reckoned: to compare with under load", most = most.value()),
                &[most.node()],
            )
        }
        None => s,
    };
    let s = if bank.controllers > 0 {
        s.see(say!("charge controllers of arrays"), say!("spread among the landings of the units"))
    } else {
        s
    };
    Some(s.otherwise(say!(
        "land them in this order: otherwise one string carries more than was reckoned, and its device may open"
    )))
}

fn polarity(walk: &Walk<'_, '_>) -> CheckoutStep {
    let gas = walk.case.bank.as_ref().is_some_and(|b| b.model.chemistry == Chemistry::FloodedLeadAcid);
    let (low, high) = &walk.r.battery;
    let burn = say!(
        "A battery cannot be switched off and feeds thousands of amperes into a short: insulated tools, face shield, \
        no rings or watches, one pole at a time."
    );
    let words = if gas {
        say!("{burn} Air the room first: it gives off hydrogen; acid needs eye wash at hand.", burn)
    } else {
        burn.to_owned()
    };
    step(DIRECT, say!(
        "With every DC disconnect open, measure polarity and voltage of each battery string at its disconnect, at rest."
    ))
        .caution(words)
        .read(
            say!("each string, plus to minus"),
            say!("positive, {low} to {high}", low = low.value(), high = high.value()),
            &[low.node(), high.node()],
        )
        .see(say!(
            "conductors from each disconnect to each unit's DC terminals, traced"
        ), say!("plus on plus, minus on minus"))
        .otherwise(say!(
            "never close a disconnect on reversed polarity: it destroys the units at once; a string out of the band is looked at by its maker first"
        ))
}

/// Strings that are joined equalise at once: their difference of voltage drives a current through their resistances.
fn match_strings(r: &Readings) -> CheckoutStep {
    let caution = say!(
        "Strings of different charge equalise at once when joined, with a current that only their resistance limits."
    );
    let s = step(
        DIRECT,
        say!("Before strings are paralleled, all disconnects open, compare their voltages at rest; bring the lower one up by charging it alone, with a charger of its own."),
    )
    .caution(caution);
    match (&r.strings_differ, r.strings) {
        (Some(most), _) => s.read(
            say!("difference between any two strings"),
            say!("at most {most}", most = most.value()),
            &[most.node()],
        ),
        (None, Some(_)) => s.see(say!("difference between strings"), say!("one string: nothing to compare")),
        (None, None) => s.see(
            say!("difference between any two strings"),
            say!("as the battery's maker states for paralleling"),
        ),
    }
    .otherwise(say!("do not parallel them: charge the lower string alone first"))
}

/// One string after the other onto the busbar, nothing else on it.
fn join(walk: &Walk<'_, '_>) -> CheckoutStep {
    let caution = say!(
        "Each closing may draw an arc: covers on, face away, one firm movement. The DC breakers of the units stay open and locked: their capacitors are not pre-charged yet."
    );
    let several = walk.r.strings != Some(1);
    let action = if several {
        say!(
            "Take the lock off the disconnect of the first string and close it onto the empty busbar. Then one string after the other: measure across its open disconnect, close it only within the limit, and wait until the current between strings has died away."
        )
    } else {
        say!("Take the lock off the disconnect of the string and close it onto the empty busbar.")
    };
    let s = step(DIRECT, action).caution(caution);
    let (low, high) = &walk.r.battery;
    let s = s.read(
        say!("busbar, plus to minus"),
        say!("positive, {low} to {high}", low = low.value(), high = high.value()),
        &[low.node(), high.node()],
    );
    let s = match (&walk.r.strings_differ, several) {
        (Some(most), _) => {
            let what = say!("across the open disconnect of each further string, before it closes");
            s.read(what, say!("at most {most}", most = most.value()), &[most.node()])
        }
        (None, true) => s.see(
            say!("across the open disconnect of each further string, before it closes"),
            say!("as the battery's maker states for paralleling"),
        ),
        (None, false) => s,
    };
    let strings = walk.by_hand().filter(|p| p.id.starts_with("battery.string."));
    let bus = walk.plant.nodes.get(walk.plant.dc_bus.0).map(|n| n.id.clone());
    s.given(several, |s| {
        s.see(say!("current of each string some minutes after it was joined"), say!("near nothing"))
    })
    .otherwise(say!("leave that disconnect open and locked: charge the lower string alone first"))
    .each(bus.clone(), CheckoutStep::dead)
    .each(strings, |s, p| s.closes(p.id.clone()))
    .given(walk.case.bank.is_none(), |s| s.closes("battery"))
    .each(bus, CheckoutStep::live)
}

/// Every setting, before anything gives alternating voltage.
fn read_back(settings: &[Setting]) -> CheckoutStep {
    let mut s = step(
        SETTINGS,
        say!("Read every setting back from every unit and device, one after the other, and compare with the settings sheet. No AC source has been closed, and none is before this step is signed."),
    )
    .caution(say!(
        "A wrong charge limit burns a battery, a wrong protection setting feeds a dead utility: they are looked at before anything can flow."
    ));
    let mut groups: Vec<&str> = Vec::new();
    for setting in settings {
        if !groups.contains(&setting.group) {
            groups.push(setting.group);
        }
    }
    for group in groups {
        let of = settings.iter().filter(|s| s.group == group);
        if group == "battery" {
            for setting in of {
                let from: Vec<_> = setting.from.iter().collect();
                s = s.read(
                    say!("{setting}, {device}", setting = setting.name, device = setting.device),
                    setting.value.clone(),
                    &from,
                );
            }
        } else {
            let expected = if group == "grid protection" {
                say!("each as in the settings sheet, or as the utility asked")
            } else {
                say!("each as in the settings sheet")
            };
            s = s.see(
                say!("settings under \"{group}\": {count} in the sheet", group, count = of.count()),
                expected,
            );
        }
    }
    s.otherwise(say!("correct it and read it back again; energise nothing before"))
}

/// How the capacitors of the units are charged.
fn pre_charge(readings: &Readings) -> CheckoutStep {
    let caution = say!(
        "Closed without pre-charge, the capacitors draw a short-circuit current for a moment: it welds contacts and throws metal."
    );
    let across = say!("across the open disconnect at the end of pre-charge");
    let through = say!(
        "Charge the units' input capacitors through the pre-charge resistor, then take the lock off the DC breaker of one unit after the other and close it."
    );
    match &readings.soft_start {
        Some(SoftStart::Own) => step(
            DIRECT,
            say!("Take the lock off the DC breaker of one unit after the other and close it. The units charge their input capacitors softly by themselves: pre-charge is built in."),
        )
        .caution(say!(
            "A unit whose own pre-charge has failed draws a short-circuit current as its disconnect closes: covers on, face away, one firm movement."
        ))
        .see(say!("pre-charge"), say!("built in: the disconnect closes without a flash, no resistor of its own")),
        Some(SoftStart::Resistor(r)) => {
            let (found, t) = (&r.found, &r.time);
            step(DIRECT, through)
                .caution(say!(
                    "{caution} The unit stays switched off until its disconnect is closed.",
                    caution
                ))
                .read(say!("resistor"), r.resistor.value().to_string(), &[r.resistor.node()])
                .read(say!("pre-charge time"), say!("at least {t}", t = t.value()), &[t.node()])
                .read(across, say!("under {left}", left = found.left.value()), &[found.left.node()])
                .read(
                    say!("heat of the resistor at each closing"),
                    say!(
                        "{energy}: let it cool before the next unit as its maker states",
                        energy = found.energy.value()
                    ),
                    &[found.energy.node()],
                )
                .otherwise(say!(
                    "leave the disconnect open: something draws current behind it, or the resistor is not the one chosen"
                ))
        }
        Some(SoftStart::Open(_)) | None => {
            let left = &readings.precharged;
            step(DIRECT, through)
                .caution(caution)
                .read(across, say!("under {left}", left = left.value()), &[left.node()])
                .see(say!("pre-charge time"), say!("as the maker of unit and battery states"))
        }
    }
}
