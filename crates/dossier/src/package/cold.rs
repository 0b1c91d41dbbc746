//! Steps before any source.

use design::Design;
use plant::Layout;
use plant::full::NodeKind;
use quantity::Quantity;
use saying::{Text, say};
use site::Earthing;

use super::checkout::{Walk, step};
use super::direct;
use crate::CheckoutStep;
use crate::units::to_carry;

const BEFORE: &str = "before any source";

pub(super) fn before(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let design = walk.design;
    let case = walk.case;
    let units = case.formation.units();
    let heavy = case.unit.footprint.mass.si() > 25.0;
    let compare = step(
        BEFORE,
        say!("Compare everything that is mounted with the schedules: units, gear, breakers, conductors, labels."),
    )
    .see(say!("units"), say!("{units} of {unit}", units, unit = case.unit.id))
    .see(say!("transfer switch"), case.transfer.map_or(say!("none"), |t| t.id.clone().into()))
    .see(say!("bypass"), case.bypass.map_or(say!("none"), |b| b.id.clone().into()))
    .see(say!("free spaces and air outlets"), say!("as on the elevation, nothing stored in them"));
    let compare = if heavy {
        let mass = to_carry(case.site.units(), case.unit.footprint.mass);
        compare.caution(say!("Each unit weighs {mass}: two people or a lift.", mass))
    } else {
        compare
    };
    let mut all = vec![
        lock(walk),
        compare,
        step(BEFORE, say!(
            "Measure insulation of the AC conductors against earth and each other, units, electronics and surge protective devices disconnected; then connect them again."
        ))
            .caution(say!(
                "The tester puts out 500 V DC: nobody touches conductors, and they are discharged afterwards."
            ))
            .see(say!("each conductor against earth, 500 V DC"), least_insulation(walk.design)),
        step(BEFORE, say!(
            "Tighten every power terminal to the torque marked on the equipment, with a calibrated tool, and mark it."
        ))
            .see(say!("terminals"), say!("all marked; value of each kind written down"))
            .otherwise(say!("do it again with the marked torque; replace damaged lugs")),
        step(BEFORE, say!(
            "Measure continuity of protective conductors. Then count the joins of neutral and earth: take off the one that the drawing shows, measure the neutral of every section against earth, on both sides of every open neutral pole, and put it back."
        ))
            .see(say!(
                "each exposed metal part to the main earthing terminal"
            ), say!("continuous, as low as its conductor explains"))
            .see(say!("neutral of each section against earth, the join taken off"), say!("no continuity: none but that of the drawing is there"))
            .see(say!("the same with the join back"), say!("continuous, in the sections that reach it"))
            .see(say!("joins of neutral and earth"), bonds(design))
            .see(say!("joins that relays of units make"), say!("not seen here: read live, in the island and on the utility")),
    ];
    all.extend(traced(walk));
    let links = design.placed.as_ref().map(|p| &p.links).filter(|l| !l.links.is_empty());
    if let Some(links) = links {
        let mut s = step(
            BEFORE,
            say!("Check link cables, addresses, terminators and the lead unit against the address table."),
        )
        .otherwise(say!("correct it; two lead units or equal addresses must never be energised together"));
        for link in &links.links {
            let ends: Vec<&str> =
                link.devices.iter().filter(|d| d.terminated).map(|d| d.part.as_str()).collect();
            let order: Vec<&str> = link.devices.iter().map(|d| d.part.as_str()).collect();
            let ends = if ends.is_empty() {
                say!("no terminators")
            } else {
                say!("terminators at {ends}", ends = ends.join(" and "))
            };
            s = s.see(
                say!("link {link}", link = link.name),
                say!("{order}; {ends}", order = order.join(" – "), ends),
            );
        }
        all.push(s.see(say!("lead unit"), links.lead.clone()));
    }
    all
}

/// A conductor that is exchanged between units joins two legs through relays; dead it is found by tracing alone.
fn traced(walk: &Walk<'_, '_>) -> Option<CheckoutStep> {
    let several = walk.case.system().legs().len() > 1;
    let s = step(
        BEFORE,
        say!("Trace the AC conductors of every unit with a continuity tester, one by one, from the unit's terminals to its own breakers, and from there to the bar or breaker that feeds them."),
    )
    .otherwise(say!("land it where it belongs: exchanged legs are joined line to line through the units' relays"));
    several.then(|| {
        s.each(&walk.plant.units, |s, unit| {
            let number = unit.number;
            s.see(
                say!("unit {number}, every AC terminal", number),
                say!("{legs} and no other", legs = super::island::words(&unit.legs)),
            )
        })
    })
}

/// The least insulation of AC conductors: a figure of the one book, a custom where the other has none.
fn least_insulation(design: &Design<'_>) -> Text {
    if design.case.site.service.earthing.value == Earthing::Us {
        say!("1 Mohm or more (common practice)")
    } else {
        say!("1 Mohm or more (IEC 60364-6 Table 6A, from memory, confirm)")
    }
}

/// Everything open and locked, and found dead.
fn lock(walk: &Walk<'_, '_>) -> CheckoutStep {
    let design = walk.design;
    let bus = walk.plant.nodes.get(walk.plant.dc_bus.0).map(|n| n.id.clone());
    let places = ["main", "input", "generator.feed", "output", "group.output.run", "backup"];
    let dead = places.into_iter().filter(|id| walk.place(id)).map(str::to_owned).chain(bus);
    let names = walk.plant.nodes.iter().filter(|n| places.contains(&n.id.as_str()) && n.kind != NodeKind::Dc);
    let names: Vec<&str> = names.map(|n| n.name.as_str()).collect();
    let block = if walk.automatic() {
        say!(
            " Block the start of the generator, which starts by itself, at its own controls; it stays blocked until the step that says otherwise."
        )
    } else {
        Text::default()
    };
    let resistors = if direct::by_resistor(walk.case) {
        say!(", with the pre-charge switch of each unit,")
    } else {
        Text::default()
    };
    let s = step(
        BEFORE,
        say!(
            "Open every disconnect, breaker and fuse switch of the schedules, also those of each battery string, of each unit{resistors} and of arrays; lock and tag each by itself.{block} Sources: {sources}. Every lock stays on until the step that names its device.",
            resistors,
            block,
            sources = sources(design)
        ),
    )
    .caution(say!(
        "Test for absence of voltage with a meter that was tried on a live source before and after. The line side of the service disconnect, batteries and modules stay live."
    ))
    .see(say!(
        "absence of voltage, each conductor to each other and to earth"
    ), say!("none at: {names}; DC busbar", names = names.join("; ")))
    .otherwise(say!("find the source that feeds in and lock it; nothing else is done before"))
    .given(walk.case.generator.is_some(), |s| s.moves("generator", "stopped"))
    .given(walk.automatic(), |s| s.moves("generator.start", "blocked"))
    .given(direct::by_resistor(walk.case), |s| {
        s.each(&walk.plant.units, |s, u| s.opens(format!("unit.{}.precharge", u.number)))
    })
    .each(&walk.plant.units, |s, u| s.moves(format!("unit.{}", u.number), "off"));
    let opened = walk.plant.gear.iter().filter_map(|g| {
        let to = ["open", "off"].into_iter().find(|p| g.positions.contains(p))?;
        (!g.id.ends_with("lock-out")).then(|| (g.id.clone(), to))
    });
    s.each(opened, |s, (id, to)| s.moves(id, to))
        .each(walk.by_hand(), |s, p| s.opens(p.id.clone()))
        .given(walk.case.bank.is_none(), |s| s.opens("battery"))
        .given(walk.has("transfer"), |s| s.moves("transfer", "on the utility"))
        .given(walk.has("source switch"), |s| s.moves("source switch", "on the utility"))
        .each(dead, CheckoutStep::dead)
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

fn bonds(design: &Design<'_>) -> Text {
    if design.case.layout == Layout::Islanded {
        return say!("one, where the drawing shows it");
    }
    match design.case.site.service.earthing.value {
        Earthing::Us | Earthing::TnS | Earthing::TnCS => {
            say!("exactly one while the utility feeds, at the place that the drawing shows")
        }
        Earthing::Tt => {
            say!(
                "none in the installation while the utility feeds; one in the island, where the drawing shows it"
            )
        }
        Earthing::It => say!("none while the utility feeds; in the island as the drawing shows"),
    }
}
