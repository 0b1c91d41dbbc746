//! No state that can be reached is missed: the search held against the oracle.

use std::collections::BTreeSet;

use catalog::DelayRange;
use plant::{Condition, Control, Device, DeviceIx, Layout, NodeIx, Plant, Rule, Source, SourceKind};
use proptest::prelude::*;
use quantity::{Duration, VoltageSystem};
use states::{State, search};

use crate::oracle::oracle;
use crate::shapes::{Inlet, Range, Shape, layouts, plant};

/// States that the search has beyond the oracle, and how many the oracle has; fails on a state that was missed.
fn beyond(plant: &Plant) -> (usize, usize) {
    let search = search(plant);
    assert!(search.complete);
    let found: BTreeSet<State> = search.states.iter().map(|r| r.state.clone()).collect();
    assert_eq!(found.len(), search.states.len(), "states are distinct");
    let exact = oracle(plant);
    let missed: Vec<String> = exact.difference(&found).map(|s| states::situation(s, plant)).collect();
    assert!(missed.is_empty(), "missed {missed:#?} of {plant:#?}");
    (found.len() - exact.len(), exact.len())
}

fn delay() -> impl Strategy<Value = Range> {
    (0u32..=4, proptest::option::weighted(0.75, 0u32..=4))
        .prop_map(|(earliest, more)| (earliest, more.map(|more| (earliest + more).min(4))))
}

pub fn shape() -> impl Strategy<Value = Shape> {
    let kind = (proptest::sample::select(layouts()), any::<bool>(), any::<bool>(), 1u8..=2, 0u32..=2);
    (kind, delay(), delay(), delay(), proptest::option::of(delay())).prop_map(
        |((layout_inlet, inhibit, bypass, members, gap), reconnect, to_second, to_first, retransfer)| Shape {
            layout: layout_inlet.0,
            inlet: layout_inlet.1,
            inhibit,
            bypass,
            members,
            gap,
            reconnect,
            to_second,
            to_first,
            retransfer,
        },
    )
}

/// Conditions of made-up controls: sources and the other devices' positions in any combination.
fn condition() -> impl Strategy<Value = Condition> {
    let atom = prop_oneof![
        Just(Condition::Present(SourceKind::Utility)),
        Just(Condition::GroupForms),
        (0usize..3, 0u8..=2).prop_map(|(device, position)| Condition::At(DeviceIx(device), position)),
    ];
    atom.prop_recursive(2, 6, 2, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 1..=2).prop_map(Condition::All),
            proptest::collection::vec(inner.clone(), 1..=2).prop_map(Condition::Any),
            inner.prop_map(Condition::negated),
        ]
    })
}

fn device() -> impl Strategy<Value = Device> {
    let rule = (condition(), 0u8..=1, delay()).prop_map(|(when, position, (earliest, latest))| {
        let seconds = |n: u32| Duration::of(f64::from(n));
        Rule {
            when,
            position,
            delay: DelayRange { earliest: seconds(earliest), latest: latest.map(seconds) },
        }
    });
    (1u8..=2, 0u8..=1, proptest::collection::vec(rule, 1..=3)).prop_map(|(members, normal, rules)| Device {
        id: String::new(),
        name: "devices".to_owned(),
        positions: vec!["open", "closed"],
        members,
        normal,
        control: Control::Automatic(rules),
    })
}

/// Three devices that watch the sources and each other in ways that no built plant does.
fn machine() -> impl Strategy<Value = Plant> {
    proptest::collection::vec(device(), 3).prop_map(|devices| Plant {
        system: VoltageSystem::Split120_240,
        nodes: vec!["utility".to_owned(), "group".to_owned()],
        elements: Vec::new(),
        devices,
        sources: [SourceKind::Utility, SourceKind::Group]
            .into_iter()
            .enumerate()
            .map(|(k, kind)| Source { id: String::new(), kind, node: NodeIx(k) })
            .collect(),
        group_output: NodeIx(1),
        backup_panel: NodeIx(1),
        units: 1,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// On the plants that are built the search is exact too: nothing is reported that cannot happen.
    #[test]
    fn built_plants_have_exactly_the_states_that_can_be_reached(shape in shape()) {
        let (more, exact) = beyond(&plant(&shape));
        prop_assert_eq!(more, 0, "beyond {} that can be reached: {:?}", exact, shape);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn made_up_controls_miss_no_state(plant in machine()) {
        let (more, exact) = beyond(&plant);
        if more > 0 {
            println!("{more} states beyond {exact} that can be reached");
        }
    }
}

fn tight(inlet: Inlet, members: u8) -> Shape {
    Shape {
        layout: Layout::Outboard,
        inlet,
        inhibit: false,
        bypass: false,
        members,
        gap: 0,
        reconnect: (4, Some(6)),
        to_second: (1, Some(2)),
        to_first: (2, Some(3)),
        retransfer: None,
    }
}

/// Ordered delays: both agree that the panel never flows from the utility through the relays.
#[test]
fn ordered_delays_exclude_the_panel_on_the_relays() {
    for (to_first, crosses) in [((2, Some(3)), false), ((2, Some(4)), true), ((2, None), true)] {
        let shape = Shape { to_first, ..tight(Inlet::None, 2) };
        let plant = plant(&shape);
        let (relays, _) = plant.device("unit.relay").expect("relays");
        let (transfer, _) = plant.device("transfer").expect("switch");
        let crossed = |s: &State| s.utility && s.positions[relays.0] > 0 && s.positions[transfer.0] == 1;
        assert_eq!(search(&plant).states.iter().any(|r| crossed(&r.state)), crosses, "{shape:?}");
        assert_eq!(oracle(&plant).iter().any(crossed), crosses, "{shape:?}");
    }
}
