//! Currents by balance: by hand on small plants, and Kirchhoff's current law on every reachable state of built ones.
#![allow(clippy::expect_used, clippy::unwrap_used)] // helpers of tests are tests too

use catalog::Catalog;
use derivation::Known;
mod power_balance;

use plant::{
    Control, Device, DeviceIx, Element, ElementIx, ElementKind, Gear, GeneratorGear, Layout, NodeIx, Plant,
    SourceKind, build,
};
use power_balance::{Draw, Flow, flows};
use proptest::prelude::*;
use quantity::{Current, Quantity, VoltageSystem};
use states::search;

fn draw(node: NodeIx, amperes: f64) -> Draw {
    Draw { node, current: Known::assumed("I", "draw", Current::of(amperes), "test") }
}

fn told(flows: &[Flow]) -> Vec<(usize, f64)> {
    flows.iter().map(|f| (f.element.0, f.current.value().si())).collect()
}

/// Nodes in a row or loop: each element has a device of its own with `members`.
fn chain(nodes: usize, links: &[(usize, usize)], members: u8) -> Plant {
    let element = |(k, &(from, to)): (usize, &(usize, usize))| Element {
        id: format!("link.{k}"),
        name: format!("link {k}"),
        kind: ElementKind::TransferPole,
        from: NodeIx(from),
        to: NodeIx(to),
        device: DeviceIx(k),
        closed_in: 1,
        rating: Known::assumed("I_r", "rating", Current::of(50.0), "test"),
    };
    let device = |k: usize| Device {
        id: format!("link.{k}"),
        name: format!("link {k}"),
        positions: vec!["open", "closed"],
        members,
        normal: members,
        control: Control::Manual,
    };
    Plant {
        system: VoltageSystem::Split120_240,
        nodes: (0..nodes).map(|k| format!("node {k}")).collect(),
        elements: links.iter().enumerate().map(element).collect(),
        devices: (0..links.len()).map(device).collect(),
        sources: Vec::new(),
        group_output: NodeIx(0),
        backup_panel: NodeIx(nodes - 1),
        units: 1,
    }
}

#[test]
fn draws_add_up_towards_the_source() {
    // 0 - 1 - 2 and 1 - 3; the second link is drawn from its far end to its near one
    let plant = chain(4, &[(0, 1), (2, 1), (1, 3)], 1);
    let all = [draw(NodeIx(1), 5.0), draw(NodeIx(2), 20.0), draw(NodeIx(3), 7.0), draw(NodeIx(0), 90.0)];
    let found = flows(&plant, &[1, 1, 1], NodeIx(0), &all).unwrap();
    assert_eq!(told(&found), [(0, 32.0), (1, 20.0), (2, 7.0)]);
    // from the other end the same draws take another way
    let found = flows(&plant, &[1, 1, 1], NodeIx(2), &all).unwrap();
    assert_eq!(told(&found), [(0, 90.0), (1, 102.0), (2, 7.0)]);
}

#[test]
fn nothing_beyond_is_not_listed_and_what_is_not_joined_does_not_flow() {
    let plant = chain(4, &[(0, 1), (1, 2), (1, 3)], 1);
    let found = flows(&plant, &[1, 1, 1], NodeIx(0), &[draw(NodeIx(2), 20.0)]).unwrap();
    assert_eq!(told(&found), [(0, 20.0), (1, 20.0)]);
    assert!(flows(&plant, &[1, 0, 1], NodeIx(0), &[draw(NodeIx(2), 20.0)]).unwrap().is_empty());
    assert!(flows(&plant, &[1, 1, 1], NodeIx(0), &[draw(NodeIx(0), 20.0)]).unwrap().is_empty());
    // closed gear on the far side of an open element is no concern of this source
    let far = flows(&plant, &[0, 1, 1], NodeIx(0), &[draw(NodeIx(0), 1.0), draw(NodeIx(3), 9.0)]).unwrap();
    assert!(far.is_empty());
}

/// What is fed in must not hide what is drawn: with unlike phases the two do not cancel.
#[test]
fn a_minus_sign_does_not_cancel() {
    let plant = chain(2, &[(0, 1)], 1);
    let found = flows(&plant, &[1], NodeIx(0), &[draw(NodeIx(1), 30.0), draw(NodeIx(1), -20.0)]).unwrap();
    assert_eq!(told(&found), [(0, 50.0)]);
}

#[test]
fn a_loop_is_refused_wherever_the_source_stands_in_it() {
    let ring = chain(4, &[(0, 1), (1, 2), (2, 0), (2, 3)], 1);
    for slack in 0..4 {
        let error = flows(&ring, &[1, 1, 1, 1], NodeIx(slack), &[draw(NodeIx(3), 1.0)]).unwrap_err();
        assert!(["link 0", "link 1", "link 2"].contains(&error.0.as_str()), "{error}");
        // opened anywhere it is a tree again
        assert!(flows(&ring, &[1, 0, 1, 1], NodeIx(slack), &[draw(NodeIx(3), 1.0)]).is_ok());
    }
    let side_by_side = chain(2, &[(0, 1), (1, 0)], 1);
    assert!(flows(&side_by_side, &[1, 1], NodeIx(0), &[draw(NodeIx(1), 1.0)]).is_err());
}

/// The current of a set is that of all its closed paths together, however many are closed.
#[test]
fn a_partial_set_carries_everything() {
    let plant = chain(2, &[(0, 1)], 6);
    for closed in 0..=6 {
        let found = flows(&plant, &[closed], NodeIx(0), &[draw(NodeIx(1), 60.0)]).unwrap();
        let wanted: &[(usize, f64)] = if closed == 0 { &[] } else { &[(0, 60.0)] };
        assert_eq!(told(&found), wanted);
    }
}

fn built(catalog: &Catalog, layout: Layout, generator: u8) -> Plant {
    let has_all = |u: &&catalog::UnitModel| u.second_input.is_some() && u.input_inhibit;
    let unit = catalog.units.values().find(has_all).unwrap();
    let switch = catalog.transfer_switches.values().next().unwrap();
    build(&Gear {
        system: VoltageSystem::Split120_240,
        layout,
        unit,
        paths_a_leg: 2,
        units: 2,
        transfer: Some(switch),
        retransfer: None,
        inhibit: false,
        bypass: catalog.bypasses.values().next(),
        locked_out: Vec::new(),
        generator: match generator {
            0 => None,
            1 => Some(GeneratorGear::SecondInput),
            _ if layout == Layout::Islanded => Some(GeneratorGear::OnlyInput),
            _ => Some(GeneratorGear::SourceSwitch(switch)),
        },
    })
}

/// How many closed elements lie between two nodes, or none if they are not joined.
fn distance(plant: &Plant, at: &[u8], from: NodeIx) -> Vec<Option<usize>> {
    let mut far = vec![None; plant.nodes.len()];
    far[from.0] = Some(0);
    for _ in 0..plant.nodes.len() {
        for element in plant.elements.iter().filter(|e| plant.closed_paths(e, at) > 0) {
            for (here, there) in [(element.from, element.to), (element.to, element.from)] {
                if let (Some(n), None) = (far[here.0], far[there.0]) {
                    far[there.0] = Some(n + 1);
                }
            }
        }
    }
    far
}

/// Into every node flows what is drawn there and what flows on.
fn kirchhoff(plant: &Plant, at: &[u8], slack: NodeIx, draws: &[f64]) -> Result<(), TestCaseError> {
    let all: Vec<Draw> = draws.iter().enumerate().map(|(k, &i)| draw(NodeIx(k), i)).collect();
    let found = flows(plant, at, slack, &all).expect("built plants make no loops");
    let far = distance(plant, at, slack);
    let current =
        |k: usize| found.iter().find(|f| f.element == ElementIx(k)).map_or(0.0, |f| f.current.value().si());
    let mut out_of_slack = 0.0;
    for (node, reach) in far.iter().enumerate() {
        let (mut into, mut out) = (0.0, 0.0);
        for (k, element) in plant.elements.iter().enumerate() {
            let (Some(a), Some(b)) = (far[element.from.0], far[element.to.0]) else {
                prop_assert!(current(k) == 0.0, "a current where nothing is joined");
                continue;
            };
            let (near, distant) = if a < b { (element.from, element.to) } else { (element.to, element.from) };
            into += if distant.0 == node { current(k) } else { 0.0 };
            out += if near.0 == node { current(k) } else { 0.0 };
        }
        if node == slack.0 {
            out_of_slack = out;
        } else if reach.is_some() {
            prop_assert!(
                (into - out - draws[node]).abs() < 1e-9,
                "node {}: {into} in, {out} out",
                plant.nodes[node]
            );
        }
    }
    let drawn: f64 = (0..draws.len()).filter(|&k| k != slack.0 && far[k].is_some()).map(|k| draws[k]).sum();
    prop_assert!((out_of_slack - drawn).abs() < 1e-9);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn currents_balance_at_every_node_of_every_reachable_state(
        layout in proptest::sample::select(vec![Layout::Inline, Layout::Outboard, Layout::Islanded]),
        generator in 0u8..=2,
        amperes in proptest::collection::vec(0.0f64..200.0, 8),
    ) {
        let catalog = catalog::demo().0.expect("the demo catalogue reads");
        let plant = built(&catalog, layout, generator);
        for reached in &search(&plant).states {
            for kind in [SourceKind::Utility, SourceKind::Generator, SourceKind::Group] {
                if let Some(source) = plant.source(kind) {
                    kirchhoff(&plant, &reached.state.positions, source.node, &amperes[..plant.nodes.len()])?;
                }
            }
        }
    }
}
