//! Truth tables by hand, on a plant of four nodes: utility - relays - output - switch side - panel, with a generator
//! on relays of its own.

use derivation::Known;
use plant::{Control, Device, DeviceIx, Element, NodeIx, Source};
use quantity::{Current, VoltageSystem};

use super::*;

const MAIN: NodeIx = NodeIx(0);
const OUTPUT: NodeIx = NodeIx(1);
const PANEL: NodeIx = NodeIx(2);
const GENERATOR: NodeIx = NodeIx(3);

/// Devices: 0 relays (2 of them), 1 generator relay, 2 transfer switch (0 utility, 1 group).
fn outboard() -> Plant {
    let device = |members| Device {
        id: String::new(),
        name: String::new(),
        positions: vec!["open", "closed"],
        members,
        normal: 0,
        control: Control::Manual,
    };
    let element = |kind, from, to, device, closed_in| Element {
        id: String::new(),
        name: String::new(),
        kind,
        from,
        to,
        device: DeviceIx(device),
        closed_in,
        rating: Known::assumed("I_r", "rating", Current::of(50.0), "test"),
    };
    let source = |kind, node| Source { id: String::new(), kind, node };
    Plant {
        system: VoltageSystem::Split120_240,
        nodes: ["main", "output", "panel", "generator"].map(str::to_owned).to_vec(),
        elements: vec![
            element(ElementKind::Relays, MAIN, OUTPUT, 0, 1),
            element(ElementKind::GeneratorRelays, GENERATOR, OUTPUT, 1, 1),
            element(ElementKind::TransferPole, MAIN, PANEL, 2, 0),
            element(ElementKind::TransferPole, OUTPUT, PANEL, 2, 1),
        ],
        devices: vec![device(2), device(1), device(1)],
        sources: vec![
            source(SourceKind::Utility, MAIN),
            source(SourceKind::Generator, GENERATOR),
            source(SourceKind::Group, OUTPUT),
        ],
        group_output: OUTPUT,
        backup_panel: PANEL,
        units: 2,
    }
}

fn state([utility, generator, battery]: [bool; 3], positions: [u8; 3]) -> State {
    State { utility, generator, battery, positions: positions.to_vec() }
}

#[test]
fn who_feeds_follows_and_forms() {
    use SourceKind::{Generator, Group, Utility};
    let (on, off) = (true, false);
    // sources (utility, generator, battery), positions (relays, generator relay, switch): follows, forms, feeds
    let table = [
        ([on, off, on], [2, 0, 0], (on, off, Some(Utility))),
        ([on, off, on], [0, 0, 0], (off, on, Some(Utility))),
        ([on, off, on], [0, 0, 1], (off, on, Some(Group))),
        // one relay of two is enough to follow, and to put the panel on the utility through it
        ([on, off, on], [1, 0, 1], (on, off, Some(Utility))),
        ([on, off, off], [1, 0, 1], (on, off, Some(Utility))),
        ([on, off, off], [0, 0, 1], (off, off, None)),
        // the relays are still closed onto a dead utility: the group backfeeds it and the panel
        ([off, off, on], [2, 0, 0], (off, on, Some(Group))),
        ([off, off, on], [0, 0, 0], (off, on, None)),
        ([off, off, off], [2, 0, 1], (off, off, None)),
        ([off, on, on], [0, 1, 1], (on, off, Some(Generator))),
        ([off, on, off], [0, 1, 0], (on, off, None)),
        ([off, on, on], [0, 0, 1], (off, on, Some(Group))),
        // both would be a fault of the plant: the utility is named
        ([on, on, on], [2, 1, 1], (on, off, Some(Utility))),
    ];
    let plant = outboard();
    for (sources, positions, wanted) in table {
        let s = state(sources, positions);
        assert_eq!(
            (s.group_follows(&plant), s.group_forms(&plant), s.feeds_panel(&plant)),
            wanted,
            "{sources:?} {positions:?}"
        );
    }
}

#[test]
fn what_a_voltage_relay_sees() {
    let plant = outboard();
    let see = |sources, positions, node| {
        let s = state(sources, positions);
        (holds(&Condition::LiveFromOutside(node), &s, &plant), holds(&Condition::Live(node), &s, &plant))
    };
    let (on, off) = (true, false);
    // through its own relays a unit does not see its input live: it would hold itself closed
    assert_eq!(see([on, off, on], [2, 0, 0], OUTPUT), (false, true));
    assert_eq!(see([off, off, on], [2, 0, 0], MAIN), (false, true));
    assert_eq!(see([off, off, on], [0, 0, 0], MAIN), (false, false));
    assert_eq!(see([off, off, on], [0, 0, 0], OUTPUT), (false, true));
    assert_eq!(see([off, off, off], [0, 0, 0], OUTPUT), (false, false));
    assert_eq!(see([off, on, off], [0, 1, 0], OUTPUT), (false, true));
    assert_eq!(see([on, off, off], [0, 0, 0], PANEL), (true, true));
}
