//! The full plant by hand.
#![allow(clippy::expect_used, clippy::panic)] // helpers of tests are tests too

use std::collections::BTreeSet;

use catalog::{BypassKind, Catalog};
use derivation::Known;
use plant::full::{
    Behind, Concern, FullGear, FullPlant, GeneratorIn, NeutralPath, NodeKind, PartKind, StringsIn, build_full,
};
use plant::{Control, GeneratorGear, Layout, SourceKind};
use quantity::{Current, DcCurrent, Length, Quantity, VoltageSystem};
use site::Earthing;

fn demo() -> Catalog {
    catalog::demo().0.expect("the demo catalogue reads")
}

fn gear<'a>(catalog: &'a Catalog, layout: Layout, earthing: Earthing) -> FullGear<'a> {
    FullGear {
        system: VoltageSystem::Split120_240,
        earthing,
        layout,
        unit: catalog.units.get("demo-split-5k4").expect("a family"),
        units: 3,
        unit_breakers: plant::full::UnitBreakers::default(),
        most_a_leg: 3,
        on_legs: Vec::new(),
        run: None,
        chosen: std::collections::BTreeMap::new(),
        lengths: std::collections::BTreeMap::new(),
        service: Some(Known::assumed("I_s", "service", Current::of(150.0), "test")),
        panel: Known::assumed("I_n", "panel", Current::of(100.0), "test"),
        transfer: catalog.transfer_switches.values().next().filter(|_| layout == Layout::Outboard),
        inhibit: false,
        bypass: catalog.bypasses.values().find(|b| b.kind == BypassKind::InterlockedBreakers),
        generator: catalog
            .generators
            .values()
            .next()
            .map(|model| GeneratorIn { model, way: GeneratorGear::SecondInput }),
        former: None,
        arrays: Vec::new(),
        strings: Vec::new(),
        bank: None,
    }
}

fn build(layout: Layout, earthing: Earthing) -> FullPlant {
    let catalog = demo();
    build_full(&gear(&catalog, layout, earthing))
}

/// Role paths on the way from a node to another, through parts that are neither relays nor open by nature.
fn way(plant: &FullPlant, from: &str, to: &str) -> Vec<String> {
    let (from, to) = (plant.node_ix(from).expect("a node"), plant.node_ix(to).expect("a node"));
    let mut ways = vec![(from, Vec::<String>::new())];
    let mut seen = BTreeSet::from([from]);
    let mut next = 0;
    while let Some((node, path)) = ways.get(next).cloned() {
        next += 1;
        if node == to {
            return path;
        }
        for part in plant.parts.iter().filter(|p| p.from == node && p.lines) {
            if seen.insert(part.to) {
                let path = path.iter().cloned().chain([part.id.clone()]).collect();
                ways.push((part.to, path));
            }
        }
    }
    panic!("no way")
}

#[test]
fn role_paths_are_unique_and_the_graph_is_whole() {
    for layout in [Layout::Inline, Layout::Outboard, Layout::Islanded] {
        let plant = build(layout, Earthing::Us);
        for ids in [
            plant.parts.iter().map(|p| &p.id).collect::<Vec<_>>(),
            plant.gear.iter().map(|g| &g.id).collect(),
            plant.nodes.iter().map(|n| &n.id).collect(),
        ] {
            assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "{ids:?}");
        }
        for part in &plant.parts {
            let class = match part.kind {
                PartKind::Conductor => 'W',
                PartKind::Converter => 'T',
                _ => 'Q',
            };
            assert_eq!(part.class, class);
            assert!(part.from.0 < plant.nodes.len() && part.to.0 < plant.nodes.len());
            let device = part.moved_by.map(|(device, at)| (&plant.gear[device.0], at));
            assert!(device.is_none_or(|(gear, at)| usize::from(at) < gear.positions.len()));
        }
        // no node that nothing joins, but for a generator without a way in
        for (k, node) in plant.nodes.iter().enumerate() {
            assert!(plant.parts.iter().any(|p| p.from.0 == k || p.to.0 == k), "{}", node.id);
        }
    }
}

#[test]
fn each_unit_has_breaker_conductor_relay_in_a_row() {
    let plant = build(Layout::Inline, Earthing::Us);
    assert_eq!(
        way(&plant, "utility", "unit.2.ac"),
        [
            "service.conductor",
            "service",
            "group.breaker",
            "input.conductor",
            "unit.2.input",
            "unit.2.input.run.conductor",
            "unit.2.relay",
        ]
    );
    assert_eq!(
        way(&plant, "generator", "unit.2.ac"),
        [
            "generator.breaker",
            "generator.feed.conductor",
            "unit.2.second",
            "unit.2.second.run.conductor",
            "unit.2.second relay",
        ]
    );
    assert_eq!(
        way(&plant, "unit.2.ac", "backup"),
        [
            "unit.2.output.run.conductor",
            "unit.2.output",
            "group.output",
            "group.output.run.conductor",
            "bypass.units",
            "backup.feeder",
            "backup.conductor",
        ]
    );
    assert_eq!(plant.units.len(), 3);
    assert_eq!(plant.interlocks.len(), 1);
    // three breakers of 60 A side by side, but no more than the service
    let feed = &plant.parts[plant.part_ix("group.breaker").expect("a breaker")];
    assert_eq!(feed.rating.as_ref().map(|r| r.value().si()), Some(150.0));
    // 2.7 kVA at 120 V, with a quarter on top
    assert!((plant.bridge_limit.value().si() - 28.125).abs() < 1e-9);
}

#[test]
fn outboard_the_switch_stands_between_two_feeds() {
    let plant = build(Layout::Outboard, Earthing::Us);
    let utility = way(&plant, "main", "transfer");
    assert_eq!(utility, ["transfer.supply", "transfer.supply.run.conductor", "transfer.utility"]);
    let group = way(&plant, "output", "transfer");
    assert_eq!(group, ["group.output", "group.output.run.conductor", "transfer.group"]);
    let automatic = plant.gear.iter().filter(|g| g.control != Control::Manual).count();
    assert_eq!(automatic, 1 + 2 * 3);
}

#[test]
fn the_earthing_system_decides_about_neutral_poles_and_bonds() {
    for (earthing, neutral, bond) in [
        (Earthing::Us, NeutralPath::Solid, Some("main")),
        (Earthing::TnCS, NeutralPath::Solid, Some("main")),
        (Earthing::TnS, NeutralPath::Solid, Some("utility")),
        (Earthing::Tt, NeutralPath::Switched, Some("utility")),
        (Earthing::It, NeutralPath::Switched, None),
    ] {
        let plant = build(Layout::Inline, earthing);
        let breaker = &plant.parts[plant.part_ix("unit.1.output").expect("a breaker")];
        assert_eq!(breaker.neutral, neutral, "{earthing:?}");
        let at: Vec<&str> = plant.bonds.iter().map(|b| plant.nodes[b.node.0].id.as_str()).collect();
        assert_eq!(at, bond.into_iter().collect::<Vec<_>>(), "{earthing:?}");
    }
    let island = build(Layout::Islanded, Earthing::Tt);
    let at: Vec<&str> = island.bonds.iter().map(|b| island.nodes[b.node.0].id.as_str()).collect();
    assert_eq!(at, ["output"]);
    assert_eq!(island.supply(SourceKind::Utility), None);
}

#[test]
fn what_the_catalogue_leaves_out_is_listed() {
    let catalog = demo();
    let whole = gear(&catalog, Layout::Inline, Earthing::Us);
    assert!(build_full(&whole).unstated.is_empty());
    let mut unit = whole.unit.clone();
    (unit.neutral, unit.island_bond, unit.decides_together) = (None, None, None);
    unit.leaves_together = false;
    let plant = build_full(&FullGear { unit: &unit, ..whole.clone() });
    let of = |concern| plant.unstated.iter().filter(|u| u.concern == concern).count();
    assert_eq!((of(Concern::Neutral), of(Concern::Together)), (2, 2));
    // one unit decides with nobody
    let one = build_full(&FullGear { unit: &unit, units: 1, ..whole });
    assert_eq!(one.unstated.iter().filter(|u| u.what.contains("decides_together")).count(), 0);
    assert!(plant.nodes.iter().filter(|n| n.needs_neutral).all(|n| n.kind == NodeKind::Panel));
}

/// Two controllers of three strings with devices: from the modules over device, combiner and disconnect through the
/// controller to the bus. One string at an array inverter has no combiner, and no way to the bus.
#[test]
fn strings_reach_the_bus_by_way_of_their_controller() {
    let catalog = demo();
    let amperes = |a: f64| Known::assumed("I", "current", DcCurrent::of(a), "test");
    let roof = StringsIn {
        id: "array roof".to_owned(),
        devices: 2,
        strings: 3,
        short: 0,
        guarded: true,
        string_device: Some(amperes(25.0)),
        string_carries: amperes(21.7),
        disconnect: Some(amperes(80.0)),
        array_carries: amperes(65.2),
        takes: Some(amperes(60.0)),
        run: Known::assumed("l", "run", Length::of(20.0), "test"),
        behind: Behind::Controller { device: Some(amperes(125.0)), carries: amperes(125.0) },
    };
    let shed = StringsIn {
        id: "array shed".to_owned(),
        devices: 1,
        strings: 1,
        short: 0,
        guarded: false,
        string_device: None,
        behind: Behind::Inverter,
        ..roof.clone()
    };
    let barn = StringsIn { id: "array barn".to_owned(), devices: 3, strings: 2, short: 1, ..roof.clone() };
    let with = FullGear { strings: vec![roof, shed, barn], ..gear(&catalog, Layout::Inline, Earthing::Us) };
    let plant = build_full(&with);
    let to_bus = way(&plant, "array roof.controller.2.string.3", "array roof.controller.2.output");
    let parts = ["string.3.conductor", "string.3.device", "conductor", "disconnect", ""];
    let expected: Vec<String> = parts
        .iter()
        .map(|p| format!("array roof.controller.2.{p}").trim_end_matches('.').to_owned())
        .collect();
    assert_eq!(to_bus, expected);
    let from_bus = way(&plant, "dc", "array roof.controller.2.output");
    assert_eq!(
        from_bus,
        ["array roof.controller.2.output.device", "array roof.controller.2.output.conductor"]
    );
    let alone = way(&plant, "array shed.inverter.1.string.1", "array shed.inverter.1.terminals");
    assert_eq!(alone, ["array shed.inverter.1.string.1.conductor", "array shed.inverter.1.disconnect"]);
    let of = |begins: &str| plant.parts.iter().filter(|p| p.id.starts_with(begins)).count();
    assert_eq!((of("array roof"), of("array shed")), (2 * (3 * 2 + 1 + 1 + 1 + 2), 2));
    // 2, 2 and 1 strings: the last controller has no combiner and no cable behind it
    assert_eq!(of("array barn"), 5 * 2 + 2 + 3 * (1 + 1 + 2));
    let last = way(&plant, "array barn.controller.3.string.1", "array barn.controller.3.terminals");
    let parts = ["string.1.conductor", "string.1.device", "disconnect"];
    assert_eq!(last, parts.map(|p| format!("array barn.controller.3.{p}")));
    let role = |id: &str| plant.part_ix(id).map(|k| plant.parts[k].role());
    assert_eq!(
        role("array roof.controller.2.string.3.device"),
        Some("array roof.controller.string.device".to_owned())
    );
}
