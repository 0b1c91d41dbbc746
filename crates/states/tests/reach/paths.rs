//! The ways that are told lead where they say, one event at a time, and keep to every delay.

use plant::{Control, DeviceIx, Plant, SourceKind};
use proptest::prelude::*;
use states::{Coming, Reached, Search, State, search};

use crate::oracle::{moving, timing};
use crate::shapes::plant;
use crate::soundness::shape;

/// One event applied by its name alone.
fn replayed(from: &State, by: &Coming) -> State {
    let mut to = from.clone();
    match by {
        Coming::Start => {}
        Coming::Source(SourceKind::Utility, there) => to.utility = *there,
        Coming::Source(SourceKind::Generator, there) => to.generator = *there,
        Coming::Source(SourceKind::Group, there) => to.battery = *there,
        Coming::Moved(device, position) => to.positions[device.0] = *position,
    }
    to
}

/// `t[late] - t[early] <= most`
struct Bound {
    late: usize,
    early: usize,
    most: i64,
}

/// Whether moments can be found for all events of a way so that every delay is kept: difference constraints,
/// solved by relaxing them (a negative cycle goes on for ever).
fn keeps_delays(path: &[&Reached], plant: &Plant) -> bool {
    let mut bounds: Vec<Bound> = (1..path.len()).map(|k| Bound { late: k - 1, early: k, most: 0 }).collect();
    for device in 0..plant.devices.len() {
        let rules: Vec<_> = path.iter().map(|r| moving(plant, &r.state)[device]).collect();
        let mut since = 0;
        for k in 0..path.len() {
            if k > 0 && rules[k] != rules[k - 1] {
                since = k;
            }
            let Some(rule) = rules[k] else { continue };
            let (earliest, latest, _) = timing(plant, device, rule);
            // the state lasts until the next event, by which the move has come or is no longer due
            let until = (k + 1).min(path.len() - 1);
            bounds.extend(latest.map(|most| Bound { late: until, early: since, most: i64::from(most) }));
            if let Some(next) = path.get(k + 1)
                && matches!(next.by, Coming::Moved(DeviceIx(moved), _) if moved == device)
            {
                bounds.push(Bound { late: since, early: k + 1, most: -i64::from(earliest) });
            }
        }
    }
    let mut t = vec![0i64; path.len()];
    for _ in 0..=path.len() {
        let mut changed = false;
        for bound in &bounds {
            let limit = t[bound.early] + bound.most;
            if t[bound.late] > limit {
                t[bound.late] = limit;
                changed = true;
            }
        }
        if !changed {
            return true;
        }
    }
    false
}

fn one_event_each(search: &Search, plant: &Plant, index: usize) {
    let path = search.path(index);
    assert_eq!(path[0].by, Coming::Start);
    assert_eq!(path[path.len() - 1].state, search.states[index].state);
    for pair in path.windows(2) {
        let (here, there) = (&pair[0].state, &pair[1].state);
        assert_eq!(replayed(here, &pair[1].by), *there);
        assert_ne!(here, there);
        if let Coming::Moved(device, position) = &pair[1].by
            && matches!(plant.devices[device.0].control, Control::Automatic(_))
        {
            assert!(moving(plant, here)[device.0].is_some(), "moved without being due");
            if plant.devices[device.0].members > 1 {
                assert_eq!(position.abs_diff(here.positions[device.0]), 1, "one contact at a time");
            }
        }
    }
    if let Some(before) = search.states[index].before {
        assert_eq!(search.states[before].state, path[path.len() - 2].state);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_way_can_be_walked(shape in shape()) {
        let plant = plant(&shape);
        let search = search(&plant);
        for k in 0..search.states.len() {
            one_event_each(&search, &plant, k);
            let path = search.path(k);
            prop_assert!(
                keeps_delays(&path, &plant),
                "{:?}",
                path.iter().map(|r| states::describe(r, &plant)).collect::<Vec<_>>()
            );
        }
    }
}

/// The check of delays itself: a relay cannot close a second after the utility is back if it waits for three.
#[test]
fn a_way_against_the_delays_is_recognised() {
    use crate::shapes::{Inlet, Shape, real};
    let shape = Shape {
        reconnect: (3, Some(4)),
        to_first: (1, Some(2)),
        ..real(plant::Layout::Outboard, Inlet::None, 1)
    };
    let plant = plant(&shape);
    let search = search(&plant);
    let step = |by: Coming, from: &Reached| {
        let state = replayed(&from.state, &by);
        Reached { state, due: Vec::new(), by, before: None }
    };
    let relays = plant.device("unit.relay").expect("relays").0;
    let transfer = plant.device("transfer").expect("switch").0;
    let mut way = vec![search.states[0].clone()];
    for by in [
        Coming::Source(SourceKind::Utility, false),
        Coming::Moved(relays, 0),
        Coming::Moved(transfer, 1),
        Coming::Source(SourceKind::Utility, true),
    ] {
        way.push(step(by, &way[way.len() - 1]));
    }
    let back = way[way.len() - 1].clone();
    let walk = |last: Coming| {
        let end = step(last, &back);
        let all: Vec<&Reached> = way.iter().chain([&end]).collect();
        keeps_delays(&all, &plant)
    };
    assert!(walk(Coming::Moved(transfer, 0)));
    assert!(!walk(Coming::Moved(relays, 1)));
}

/// A state may be met first where a move must wait; the way of a later state must not lead through there. A closes at
/// the earliest 3 s after the utility fails; B within 1 s after it, while the group is on. A can be first only if
/// the group comes on late.
#[test]
fn the_way_told_is_one_that_the_delays_allow() {
    use catalog::DelayRange;
    use plant::{Condition, Device, NodeIx, Rule, Source};
    use quantity::{Duration, VoltageSystem};
    let device = |when: Vec<Condition>, earliest: f64, latest: Option<f64>| Device {
        id: String::new(),
        name: "relay".to_owned(),
        positions: vec!["open", "closed"],
        members: 1,
        normal: 0,
        control: Control::Automatic(vec![Rule {
            when: Condition::All(when),
            position: 1,
            delay: DelayRange { earliest: Duration::of(earliest), latest: latest.map(Duration::of) },
        }]),
    };
    let (lost, on) =
        (Condition::Present(SourceKind::Utility).negated(), Condition::Present(SourceKind::Group));
    let source = |kind, node| Source { id: String::new(), kind, node: NodeIx(node) };
    let plant = Plant {
        system: VoltageSystem::Split120_240,
        nodes: vec!["utility".to_owned(), "group".to_owned()],
        elements: Vec::new(),
        devices: vec![device(vec![lost.clone()], 3.0, None), device(vec![lost, on], 0.0, Some(1.0))],
        sources: vec![source(SourceKind::Utility, 0), source(SourceKind::Group, 1)],
        group_output: NodeIx(1),
        backup_panel: NodeIx(1),
        units: 1,
    };
    let search = search(&plant);
    let a_first = State { utility: false, generator: false, battery: true, positions: vec![1, 0] };
    let end = search.states.iter().position(|r| r.state == a_first).expect("A can be first");
    let way = search.path(end);
    assert!(keeps_delays(&way, &plant));
    let told: Vec<&Coming> = way.iter().skip(1).map(|r| &r.by).collect();
    let wanted = [
        Coming::Source(SourceKind::Group, false),
        Coming::Source(SourceKind::Utility, false),
        Coming::Moved(DeviceIx(0), 1),
        Coming::Source(SourceKind::Group, true),
    ];
    assert_eq!(told.len(), wanted.len());
    assert!(wanted.iter().all(|by| told.contains(&by)), "{told:?}");
}
