//! Service, transfer switch, bypass, feeder of the backup panel.

use catalog::{BypassGear, BypassKind, DelayRange, LegControl, TransferSwitch};
use derivation::Known;
use quantity::Current;

use super::build::{Breaker, Builder, FullGear, standard, times};
use super::resistance;
use super::{Former, Interlock, NeutralPath, NodeKind, PartKind};
use crate::{Condition, Control, DeviceIx, Layout, NodeIx, Rule, SourceKind};

/// Service disconnect and main panel.
pub(super) fn service(b: &mut Builder, gear: &FullGear<'_>) -> NodeIx {
    let utility = b.node("utility", "utility", NodeKind::Terminal, None);
    b.supply(SourceKind::Utility, utility);
    let head = b.node("service.run", "service disconnect, line side", NodeKind::Terminal, None);
    b.part(
        ("service.conductor", "service conductors"),
        PartKind::Conductor,
        (utility, head),
        NeutralPath::Solid,
        None,
        gear.service.clone(),
    );
    b.exempt(
        "service.conductor",
        SourceKind::Utility,
        "NEC 230.90 and its form in IEC 60364-4-43 (from memory): service conductors end in the service disconnect",
    );
    let main = b.node("main", "main panel", NodeKind::Panel, None);
    needs_neutral(b, main);
    let rating = gear.service.clone().unwrap_or_else(|| gear.panel.clone());
    let breaker = Breaker {
        id: "service",
        name: "service disconnect",
        rating,
        neutral: gear.breaker_neutral(),
        unit: None,
    };
    b.breaker(breaker, (head, main));
    main
}

fn needs_neutral(b: &mut Builder, node: NodeIx) {
    if let Some(node) = b.plant.nodes.get_mut(node.0) {
        node.needs_neutral = true;
    }
}

/// What serves the feeder, and what holds the units off their input.
pub(super) struct ToPanel {
    pub served: NodeIx,
    pub hold: Option<Condition>,
}

/// From the group's output to the feeder of the panel.
pub(super) fn to_panel(
    b: &mut Builder,
    gear: &FullGear<'_>,
    output: NodeIx,
    main: Option<NodeIx>,
) -> ToPanel {
    let group = group_output(b, gear, output, main);
    let (served, hold) = match (gear.layout, gear.transfer, main) {
        (Layout::Outboard, Some(switch), Some(main)) => {
            let (served, device) = transfer(b, gear, switch, (main, group));
            (served, gear.inhibit.then_some(Condition::At(device, 0)))
        }
        _ => (group, None),
    };
    let served = match (gear.bypass, main) {
        (Some(bypass), Some(main)) => bypass_gear(b, gear, bypass, (served, main)),
        _ => served,
    };
    ToPanel { served, hold }
}

/// Output bus, breaker, conductor. A neutral former sits on the bus behind its own breaker, whose contact is the
/// lines' contact too if the former trips them.
fn group_output(b: &mut Builder, gear: &FullGear<'_>, output: NodeIx, main: Option<NodeIx>) -> NodeIx {
    let behind = b.node("group.output", "group output breaker, load side", NodeKind::Bus, None);
    let breaker = Breaker {
        id: "group.output",
        name: "group output breaker",
        rating: output_rating(gear),
        neutral: gear.breaker_neutral(),
        unit: None,
    };
    let device = b.breaker(breaker, (output, behind));
    if let Some(former) = gear.former.filter(|_| gear.unit.leg_control == LegControl::LineToLine) {
        let moved_by = if former.trips_lines {
            (device, 1)
        } else {
            (b.gear(("former", "neutral former breaker"), &["open", "closed"], 1, None), 1)
        };
        b.plant.formers.push(Former { id: "former".to_owned(), node: behind, moved_by: Some(moved_by) });
    }
    if gear.unit.leg_control == LegControl::LineToLine {
        // the units pass lines only: the utility's neutral goes round them
        if let Some(main) = main {
            b.part(
                ("neutral.round", "neutral conductor round the units"),
                PartKind::Conductor,
                (main, behind),
                NeutralPath::Solid,
                None,
                Some(gear.panel.clone()),
            );
            if let Some(part) = b.plant.parts.last_mut() {
                part.lines = false;
            }
        }
        let units = ["output"];
        for node in b.plant.nodes.iter_mut().filter(|n| units.contains(&n.id.as_str())) {
            node.neutral = false;
        }
    }
    // named after what stands there
    let far = match (gear.layout, gear.transfer, gear.bypass, main) {
        (Layout::Outboard, Some(_), _, Some(_)) => "the transfer gear, group side",
        (_, _, Some(_), Some(_)) => "the bypass gear, units side",
        _ => "the backup feeder breaker",
    };
    b.run(("group.output.run", far), behind, output_rating(gear), None)
}

/// The group's output breaker: rated for the panel where the group feeds nothing else.
fn output_rating(gear: &FullGear<'_>) -> Known<Current> {
    let all = standard(gear, &times(&gear.output_breaker(), gear.most_a_leg));
    Known::smallest("I_q", "group output breaker", &[all.clone(), gear.panel.clone()]).unwrap_or(all)
}

/// A feeder from the main panel to one side of transfer or bypass gear.
fn supply(b: &mut Builder, gear: &FullGear<'_>, main: NodeIx, id: &str, name: &str) -> NodeIx {
    let behind = b.node(id, &format!("{name}, load side"), NodeKind::Bus, None);
    let breaker =
        Breaker { id, name, rating: gear.panel.clone(), neutral: gear.breaker_neutral(), unit: None };
    b.breaker(breaker, (main, behind));
    b.run((&format!("{id}.run"), &format!("{name}, far end")), behind, gear.panel.clone(), None)
}

fn transfer(
    b: &mut Builder,
    gear: &FullGear<'_>,
    switch: &TransferSwitch,
    (main, group): (NodeIx, NodeIx),
) -> (NodeIx, DeviceIx) {
    let utility = supply(b, gear, main, "transfer.supply", "transfer switch supply breaker");
    let served = b.node("transfer", "transfer switch, load side", NodeKind::Bus, None);
    let device = b.gear(("transfer", "transfer switch"), &["on the utility", "on the group"], 0, None);
    let latest = switch.to_second.latest.map(|latest| latest + gear.unit.transfer_gap);
    let away = DelayRange { earliest: switch.to_second.earliest, latest };
    let rules = vec![
        Rule { when: Condition::LiveFromOutside(utility), position: 0, delay: switch.to_first.clone() },
        Rule { when: Condition::Live(group), position: 1, delay: away },
    ];
    b.control(device, Control::Automatic(rules));
    for (id, name, from, at) in [
        ("transfer.utility", "transfer switch, utility side", utility, 0),
        ("transfer.group", "transfer switch, group side", group, 1),
    ] {
        let rating =
            Known::catalog("I_r", "rating of the transfer switch", switch.rating, &switch.id, "rating");
        b.part(
            (id, name),
            PartKind::Switch,
            (from, served),
            switch.neutral.into(),
            Some((device, at)),
            Some(rating),
        );
    }
    (served, device)
}

fn bypass_gear(
    b: &mut Builder,
    gear: &FullGear<'_>,
    bypass: &BypassGear,
    (served, main): (NodeIx, NodeIx),
) -> NodeIx {
    let load = b.node("bypass", "bypass gear, load side", NodeKind::Bus, None);
    let supplied = supply(b, gear, main, "bypass.supply", "bypass supply breaker");
    let rating = || Known::catalog("I_r", "rating of the bypass", bypass.rating, &bypass.id, "rating");
    let units = ("bypass.units", "bypass gear, units side");
    let round = ("bypass.bypass", "bypass gear, bypass side");
    let neutral: NeutralPath = bypass.neutral.into();
    match bypass.kind {
        BypassKind::ManualSwitch => {
            let device = b.gear(("bypass", "bypass switch"), &["on the units", "on bypass", "off"], 0, None);
            b.part(units, PartKind::Switch, (served, load), neutral, Some((device, 0)), Some(rating()));
            b.part(round, PartKind::Switch, (supplied, load), neutral, Some((device, 1)), Some(rating()));
        }
        BypassKind::InterlockedBreakers => {
            let open = ["open", "closed"];
            let on = b.gear(("bypass.units", "bypass breaker, units side"), &open, 1, None);
            let off = b.gear(("bypass.bypass", "bypass breaker, bypass side"), &open, 0, None);
            b.part(units, PartKind::Switch, (served, load), neutral, Some((on, 1)), Some(rating()));
            b.part(round, PartKind::Switch, (supplied, load), neutral, Some((off, 1)), Some(rating()));
            b.plant.interlocks.push(Interlock {
                id: "bypass.interlock".to_owned(),
                name: "mechanical interlock of the bypass breakers".to_owned(),
                forbids: vec![(on, 1), (off, 1)],
            });
        }
    }
    load
}

/// The feeder of the backup panel.
pub(super) fn feeder(b: &mut Builder, gear: &FullGear<'_>, served: NodeIx) {
    let behind = b.node("backup.feeder", "backup feeder breaker, load side", NodeKind::Bus, None);
    let breaker = Breaker {
        id: "backup.feeder",
        name: "backup feeder breaker",
        rating: gear.panel.clone(),
        neutral: gear.breaker_neutral(),
        unit: None,
    };
    b.breaker(breaker, (served, behind));
    let panel = b.run(("backup", "backup panel"), behind, gear.panel.clone(), None);
    if let Some(node) = b.plant.nodes.get_mut(panel.0) {
        node.kind = NodeKind::Panel;
    }
    if let Some(part) = b.plant.parts.last_mut() {
        part.length = gear.run.clone().or_else(|| part.length.clone());
        part.resistance = Some(resistance::of(&gear.panel, part.length.as_ref()));
    }
    needs_neutral(b, panel);
    b.plant.panel = panel;
}
