//! The power path of every layout, by hand.
#![allow(clippy::expect_used, clippy::panic)] // helpers of tests are tests too

use catalog::{Catalog, DelayRange, TransferSwitch, UnitModel};
use plant::{Condition, Control, ElementKind, Gear, GeneratorGear, Layout, Plant, Rule, SourceKind, build};
use quantity::{Duration, VoltageSystem};

fn demo() -> Catalog {
    catalog::demo().0.expect("the demo catalogue reads")
}

fn unit(catalog: &Catalog) -> &UnitModel {
    catalog
        .units
        .values()
        .find(|u| u.second_input.is_some() && u.input_inhibit)
        .expect("a family with everything")
}

fn switch(catalog: &Catalog) -> &TransferSwitch {
    catalog.transfer_switches.values().find(|s| s.to_second.latest.is_some()).expect("a switch")
}

fn gear(catalog: &Catalog, layout: Layout, members: u8) -> Gear<'_> {
    Gear {
        system: VoltageSystem::Split120_240,
        layout,
        unit: unit(catalog),
        paths_a_leg: members,
        units: members,
        transfer: None,
        retransfer: None,
        inhibit: false,
        bypass: None,
        generator: None,
        locked_out: Vec::new(),
    }
}

fn positions(plant: &Plant, set: &[(&str, u8)]) -> Vec<u8> {
    let mut at: Vec<u8> = plant.devices.iter().map(|d| d.normal).collect();
    for (id, position) in set {
        let (device, _) = plant.device(id).unwrap_or_else(|| panic!("no device {id}"));
        at[device.0] = *position;
    }
    at
}

/// Names of the nodes that are joined to a source.
fn joined(plant: &Plant, kind: SourceKind, set: &[(&str, u8)]) -> Vec<String> {
    let source = plant.source(kind).expect("a source").node;
    let nodes = plant.joined(source, &positions(plant, set), &[]);
    let mut names: Vec<String> = nodes.into_iter().map(|n| plant.nodes[n.0].clone()).collect();
    names.sort();
    names
}

fn rules<'p>(plant: &'p Plant, id: &str) -> &'p [Rule] {
    match &plant.device(id).expect("a device").1.control {
        Control::Automatic(rules) => rules,
        Control::Manual => panic!("{id} is automatic"),
    }
}

#[test]
fn inline_goes_through_the_units_or_round_them() {
    let catalog = demo();
    let bypass = catalog.bypasses.values().next();
    let plant = build(&Gear { bypass, ..gear(&catalog, Layout::Inline, 3) });
    let utility = |set: &[(&str, u8)]| joined(&plant, SourceKind::Utility, set);
    assert_eq!(utility(&[]), ["backup panel", "group output", "main panel"]);
    assert_eq!(utility(&[("unit.relay", 1)]), ["backup panel", "group output", "main panel"]);
    assert_eq!(utility(&[("unit.relay", 0)]), ["main panel"]);
    // bypassed, the units' output stands alone, whatever the relays do
    assert_eq!(utility(&[("bypass", 1), ("unit.relay", 0)]), ["backup panel", "main panel"]);
    assert_eq!(utility(&[("bypass", 1)]), ["backup panel", "group output", "main panel"]);
    assert_eq!(utility(&[("bypass", 2)]), ["group output", "main panel"]);
    for off in [1, 2] {
        assert_eq!(
            joined(&plant, SourceKind::Group, &[("bypass", off), ("unit.relay", 0)]),
            ["group output"]
        );
    }
}

#[test]
fn outboard_keeps_the_output_off_the_panel_until_the_switch_goes() {
    let catalog = demo();
    let (transfer, bypass) = (Some(switch(&catalog)), catalog.bypasses.values().next());
    let plant = build(&Gear { transfer, bypass, ..gear(&catalog, Layout::Outboard, 3) });
    let side = "transfer switch load side";
    let group = |set: &[(&str, u8)]| joined(&plant, SourceKind::Group, set);
    assert_eq!(group(&[("unit.relay", 0)]), ["group output"]);
    assert_eq!(group(&[("unit.relay", 0), ("transfer", 1)]), ["backup panel", "group output", side]);
    assert_eq!(group(&[("unit.relay", 0), ("transfer", 1), ("bypass", 1)]), ["group output", side]);
    let utility = joined(&plant, SourceKind::Utility, &[("unit.relay", 0)]);
    assert_eq!(utility, ["backup panel", "main panel", side]);
    assert_eq!(
        joined(&plant, SourceKind::Utility, &[("unit.relay", 0), ("transfer", 1), ("bypass", 2)]),
        ["main panel"]
    );
    // without bypass gear the panel is the load side of the switch
    let bare = build(&Gear { transfer, ..gear(&catalog, Layout::Outboard, 3) });
    assert_eq!(bare.nodes[bare.backup_panel.0], side);
}

#[test]
fn a_generator_comes_in_where_its_gear_puts_it() {
    let catalog = demo();
    let transfer = switch(&catalog);
    let with = |layout, generator| build(&Gear { generator: Some(generator), ..gear(&catalog, layout, 2) });
    let second = with(Layout::Inline, GeneratorGear::SecondInput);
    let at = [("unit.relay", 0), ("unit.generator relay", 1)];
    assert_eq!(joined(&second, SourceKind::Generator, &at), ["generator", "group output"]);
    assert_eq!(joined(&second, SourceKind::Generator, &[]), ["generator"]);
    let selected = with(Layout::Inline, GeneratorGear::SourceSwitch(transfer));
    assert_eq!(joined(&selected, SourceKind::Generator, &[]), ["generator"]);
    assert_eq!(
        joined(&selected, SourceKind::Generator, &[("source switch", 1)]),
        ["generator", "group input", "group output"]
    );
    assert_eq!(joined(&selected, SourceKind::Utility, &[("source switch", 1)]), ["main panel"]);
    for gear in [GeneratorGear::OnlyInput, GeneratorGear::SourceSwitch(transfer)] {
        let island = with(Layout::Islanded, gear);
        assert!(island.source(SourceKind::Utility).is_none());
        assert_eq!(joined(&island, SourceKind::Generator, &[]), ["generator"]);
        assert_eq!(
            joined(&island, SourceKind::Generator, &[("unit.relay", 2)]),
            ["generator", "group output"]
        );
    }
}

/// A generator is never dropped in silence: without a way in it stands there and feeds nothing.
#[test]
fn a_generator_without_a_way_in_stays_in_the_plant() {
    let catalog = demo();
    let mut lacking = unit(&catalog).clone();
    lacking.second_input = None;
    let plain = gear(&catalog, Layout::Inline, 2);
    let only = build(&Gear { generator: Some(GeneratorGear::OnlyInput), ..plain.clone() });
    let second = build(&Gear { generator: Some(GeneratorGear::SecondInput), unit: &lacking, ..plain });
    for plant in [only, second] {
        let everything: Vec<u8> = plant.devices.iter().map(|d| d.members).collect();
        let node = plant.source(SourceKind::Generator).expect("a generator").node;
        assert_eq!(plant.joined(node, &everything, &[]), [node]);
    }
}

#[test]
fn closed_paths_of_one_and_of_many() {
    let catalog = demo();
    for members in [1, 2, 36] {
        let plant =
            build(&Gear { transfer: Some(switch(&catalog)), ..gear(&catalog, Layout::Outboard, members) });
        let (_, relays) = plant.element("unit.relay").expect("relays");
        for closed in 0..=members {
            assert_eq!(plant.closed_paths(relays, &positions(&plant, &[("unit.relay", closed)])), closed);
        }
        for (at, utility, group) in [(0, 1, 0), (1, 0, 1)] {
            let at = positions(&plant, &[("transfer", at)]);
            let paths = |id| plant.closed_paths(plant.element(id).expect("a pole").1, &at);
            assert_eq!((paths("transfer.utility"), paths("transfer.group")), (utility, group));
        }
        // a device of which nothing is known counts as open
        assert_eq!(plant.closed_paths(relays, &[]), 0);
    }
}

#[test]
fn joined_leaves_out_the_kinds_that_it_is_told_to() {
    let catalog = demo();
    let plant = build(&gear(&catalog, Layout::Inline, 2));
    let main = plant.source(SourceKind::Utility).expect("utility").node;
    assert_eq!(plant.joined(main, &positions(&plant, &[]), &[ElementKind::Relays]), [main]);
    assert!(plant.joined(plant.group_output, &positions(&plant, &[]), &[]).contains(&main), "both ways");
}

/// The utility wins at the transfer switch; what its poles lose by the units' relays adds to its own delay.
#[test]
fn the_transfer_switch_prefers_the_utility() {
    let catalog = demo();
    let transfer = switch(&catalog);
    let back = DelayRange { earliest: Duration::of(7.0), latest: None };
    let plant = build(&Gear {
        transfer: Some(transfer),
        retransfer: Some(back.clone()),
        ..gear(&catalog, Layout::Outboard, 2)
    });
    let main = plant.source(SourceKind::Utility).expect("utility").node;
    let [first, second] = rules(&plant, "transfer") else { panic!("two rules") };
    assert_eq!(*first, Rule { when: Condition::LiveFromOutside(main), position: 0, delay: back });
    assert_eq!((&second.when, second.position), (&Condition::Live(plant.group_output), 1));
    assert_eq!(second.delay.earliest, transfer.to_second.earliest);
    let latest = transfer.to_second.latest.expect("stated") + unit(&catalog).transfer_gap;
    assert_eq!(second.delay.latest, Some(latest));
}

/// Reconnection is stated for the utility; of the generator's side only how soon the second input may close.
#[test]
fn reconnection_delays_hold_for_the_utility_only() {
    let catalog = demo();
    let unit = unit(&catalog);
    let stated = DelayRange { earliest: unit.reconnect_earliest, latest: unit.reconnect_latest };
    let unknown = DelayRange { earliest: Duration::ZERO, latest: None };
    let with = |layout, generator| build(&Gear { generator: Some(generator), ..gear(&catalog, layout, 2) });
    let closing = |plant: &Plant, id: &str| -> Vec<DelayRange> {
        rules(plant, id).iter().filter(|r| r.position == 1).map(|r| r.delay.clone()).collect()
    };
    let second = with(Layout::Inline, GeneratorGear::SecondInput);
    assert_eq!(closing(&second, "unit.relay"), std::slice::from_ref(&stated));
    let earliest = unit.second_input.as_ref().and_then(|input| input.closes_after).expect("stated");
    assert_eq!(closing(&second, "unit.generator relay"), [DelayRange { earliest, latest: None }]);
    let selected = with(Layout::Inline, GeneratorGear::SourceSwitch(switch(&catalog)));
    assert_eq!(closing(&selected, "unit.relay"), [unknown.clone(), stated]);
    let only = with(Layout::Islanded, GeneratorGear::OnlyInput);
    assert_eq!(closing(&only, "unit.relay"), [unknown]);
}
