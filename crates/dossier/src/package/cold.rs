//! Steps before any source, and on the direct-current side.

use assess::SoftStart;
use catalog::Chemistry;
use design::{Design, Readings};
use plant::Layout;
use quantity::Quantity;
use site::Earthing;

use super::checkout::step;
use crate::CheckoutStep;
use crate::units::to_carry;

const BEFORE: &str = "before any source";
const DIRECT: &str = "direct current";

pub(super) fn before(design: &Design<'_>) -> Vec<CheckoutStep> {
    let case = &design.case;
    let units = case.formation.units();
    let heavy = case.unit.footprint.mass.si() > 25.0;
    let lock = format!(
        "Every source is open, locked and tagged: {}. Test for absence of voltage with a meter that was tried on a live source before and after.",
        sources(design)
    );
    let mut all = vec![
        step(BEFORE, "Compare everything that is mounted with the schedules: units, gear, breakers, conductors, labels.")
            .caution(if heavy {
                let mass = to_carry(case.site.units(), case.unit.footprint.mass);
                format!("{lock} Each unit weighs {mass}: two people or a lift.")
            } else {
                lock
            })
            .see("units", format!("{units} of {}", case.unit.id))
            .see("transfer switch", case.transfer.map_or("none", |t| t.id.as_str()))
            .see("bypass", case.bypass.map_or("none", |b| b.id.as_str()))
            .see("free spaces and air outlets", "as on the elevation, nothing stored in them"),
        step(BEFORE, "Tighten every power terminal to the torque marked on the equipment, with a calibrated tool, and mark it.")
            .see("terminals", "all marked; value of each kind written down")
            .otherwise("do it again with the marked torque; replace damaged lugs"),
        step(BEFORE, "Measure insulation of the AC conductors against earth and each other, units and electronics disconnected.")
            .caution("The tester puts out 500 V DC: nobody touches conductors, and they are discharged afterwards.")
            .see("each conductor against earth, 500 V DC", "1 Mohm or more (IEC 60364-6 Table 6A, from memory, confirm)"),
        step(BEFORE, "Measure continuity of protective conductors, and count the joins of neutral and earth.")
            .see("each exposed metal part to the main earthing terminal", "continuous, as low as its conductor explains")
            .see("joins of neutral and earth", bonds(design)),
    ];
    let links = design.placed.as_ref().map(|p| &p.links).filter(|l| !l.links.is_empty());
    if let Some(links) = links {
        let mut s = step(
            BEFORE,
            "Check link cables, addresses, terminators and the lead unit against the address table.",
        )
        .otherwise("correct it; two lead units or equal addresses must never be energised together");
        for link in &links.links {
            let ends: Vec<&str> =
                link.devices.iter().filter(|d| d.terminated).map(|d| d.part.as_str()).collect();
            let order: Vec<&str> = link.devices.iter().map(|d| d.part.as_str()).collect();
            let ends = if ends.is_empty() {
                "no terminators".to_owned()
            } else {
                format!("terminators at {}", ends.join(" and "))
            };
            s = s.see(format!("link {}", link.name), format!("{}; {ends}", order.join(" – ")));
        }
        all.push(s.see("lead unit", links.lead.clone()));
    }
    all
}

/// The sources of this plant.
fn sources(design: &Design<'_>) -> String {
    let case = &design.case;
    let there = [
        (case.layout != Layout::Islanded, "service"),
        (case.generator.is_some(), "generator"),
        (true, "battery"),
        (!case.strings.is_empty() || !case.arrays.is_empty(), "arrays"),
    ];
    let names: Vec<&str> = there.into_iter().filter(|(there, _)| *there).map(|(_, name)| name).collect();
    names.join(", ")
}

fn bonds(design: &Design<'_>) -> &'static str {
    if design.case.layout == Layout::Islanded {
        return "one, where the drawing shows it";
    }
    match design.case.site.service.earthing.value {
        Earthing::Us | Earthing::TnS | Earthing::TnCS => {
            "exactly one while the utility feeds, at the place that the drawing shows"
        }
        Earthing::Tt => {
            "none in the installation while the utility feeds; one in the island, where the drawing shows it"
        }
        Earthing::It => "none while the utility feeds; in the island as the drawing shows",
    }
}

pub(super) fn direct(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let gas = design.case.bank.as_ref().is_some_and(|b| b.model.chemistry == Chemistry::FloodedLeadAcid);
    let (low, high) = &r.battery;
    let burn = "A battery cannot be switched off and feeds thousands of amperes into a short: insulated tools, face shield, \
        no rings or watches, one pole at a time.";
    let polarity = if gas {
        format!("{burn} Air the room first: it gives off hydrogen; acid needs eye wash at hand.")
    } else {
        burn.to_owned()
    };
    let idle = &r.idle;
    vec![
        step(DIRECT, "With every DC disconnect open, measure polarity and voltage of each battery string at its disconnect.")
            .caution(polarity)
            .read(
                "each string, plus to minus",
                format!("positive, {} to {}", low.value(), high.value()),
                &[low.node(), high.node()],
            )
            .see("each unit's DC terminals against the conductors", "plus on plus, minus on minus")
            .otherwise("never close a disconnect on reversed polarity: it destroys the units at once"),
        match_strings(r),
        soft_start(r),
        step(DIRECT, "Wake the units without load and without any AC source; read the battery current.")
            .read(
                "battery current",
                format!("about {}, no more than half as much again", idle.value()),
                &[idle.node()],
            ),
    ]
}

/// How the capacitors of the units are charged.
fn soft_start(readings: &Readings) -> CheckoutStep {
    let caution = "Closed without pre-charge, the capacitors draw a short-circuit current for a moment: it welds contacts and throws metal.";
    let across = "across the open disconnect at the end of pre-charge";
    let through = "Charge the units' input capacitors through the pre-charge resistor, then close the DC disconnect of one unit after the other.";
    match &readings.soft_start {
        Some(SoftStart::Own) => step(
            DIRECT,
            "Close the DC disconnect of one unit after the other. The units charge their input capacitors softly by themselves: pre-charge is built in.",
        )
        .caution("A unit whose own pre-charge has failed draws a short-circuit current as its disconnect closes: covers on, face away, one firm movement.")
        .see("pre-charge", "built in: the disconnect closes without a flash, no resistor of its own"),
        Some(SoftStart::Resistor(r)) => {
            let (found, t) = (&r.found, &r.time);
            step(DIRECT, through)
                .caution(format!("{caution} The unit stays switched off until its disconnect is closed."))
                .read("resistor", r.resistor.value().to_string(), &[r.resistor.node()])
                .read("pre-charge time", format!("at least {}", t.value()), &[t.node()])
                .read(across, format!("under {}", found.left.value()), &[found.left.node()])
                .read(
                    "heat of the resistor at each closing",
                    format!("{}: let it cool before the next unit as its maker states", found.energy.value()),
                    &[found.energy.node()],
                )
                .otherwise("leave the disconnect open: something draws current behind it, or the resistor is not the one chosen")
        }
        Some(SoftStart::Open(_)) | None => {
            let left = &readings.precharged;
            step(DIRECT, through)
                .caution(caution)
                .read(across, format!("under {}", left.value()), &[left.node()])
                .see("pre-charge time", "as the maker of unit and battery states")
        }
    }
}

/// Strings that are joined equalise at once: their difference of voltage drives a current through both resistances.
fn match_strings(r: &Readings) -> CheckoutStep {
    let caution = "Strings of different charge equalise at once when joined, with a current that only their resistance limits.";
    let s = step(DIRECT, "Before strings are paralleled, compare their voltages at rest; bring the lower one up by charging it alone.")
        .caution(caution);
    match (&r.strings_differ, r.strings) {
        (Some(most), _) => {
            s.read("difference between any two strings", format!("at most {}", most.value()), &[most.node()])
        }
        (None, Some(_)) => s.see("difference between strings", "one string: nothing to compare"),
        (None, None) => {
            s.see("difference between any two strings", "as the battery's maker states for paralleling")
        }
    }
    .otherwise("do not parallel them: charge the lower string alone first")
}
