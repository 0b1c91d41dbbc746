//! The search held against brute force. The oracle keeps a clock for every move that is due and steps through whole
//! seconds: a move may come at any tick within its delay and must have come by the latest; sources and manual gear
//! move at any time, events of one instant in any order. With bounds that are whole and closed, every order that is
//! possible in real time is possible in whole ticks too (digitisation of closed timed automata), so what the oracle
//! finds is exactly what can be reached. The oracle judges conditions by its own reading of the graph.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use plant::{Condition, Control, ElementKind, NodeIx, Plant, SourceKind};
use quantity::Quantity;
use states::State;

/// Labels nodes that are joined by closed elements, by merging labels.
fn islands(plant: &Plant, state: &State, relays_too: bool) -> Vec<usize> {
    let mut label: Vec<usize> = (0..plant.nodes.len()).collect();
    for element in &plant.elements {
        let relay = matches!(element.kind, ElementKind::Relays | ElementKind::GeneratorRelays);
        let at = state.positions[element.device.0];
        let closed = if relay { at > 0 } else { at == element.closed_in };
        if !closed || (relay && !relays_too) {
            continue;
        }
        let (keep, drop) = (label[element.from.0], label[element.to.0]);
        for l in &mut label {
            if *l == drop {
                *l = keep;
            }
        }
    }
    label
}

fn there(state: &State, kind: SourceKind) -> bool {
    match kind {
        SourceKind::Utility => state.utility,
        SourceKind::Generator => state.generator,
        SourceKind::Group => state.battery,
    }
}

fn outside(plant: &Plant, state: &State, node: NodeIx, relays_too: bool) -> bool {
    let label = islands(plant, state, relays_too);
    plant
        .sources
        .iter()
        .any(|s| s.kind != SourceKind::Group && there(state, s.kind) && label[s.node.0] == label[node.0])
}

fn forms(plant: &Plant, state: &State) -> bool {
    state.battery && !outside(plant, state, plant.group_output, true)
}

fn truth(condition: &Condition, plant: &Plant, state: &State) -> bool {
    match condition {
        Condition::LiveFromOutside(node) => outside(plant, state, *node, false),
        Condition::Live(node) => {
            let label = islands(plant, state, true);
            outside(plant, state, *node, true)
                || (forms(plant, state) && label[node.0] == label[plant.group_output.0])
        }
        Condition::GroupForms => forms(plant, state),
        Condition::Present(kind) => there(state, *kind),
        Condition::At(device, position) => state.positions[device.0] == *position,
        Condition::All(all) => !all.iter().any(|c| !truth(c, plant, state)),
        Condition::Any(any) => any.iter().any(|c| truth(c, plant, state)),
        Condition::Not(inner) => !truth(inner, plant, state),
    }
}

/// For each device the rule that moves it, if one does.
pub type Moving = Vec<Option<usize>>;

pub fn moving(plant: &Plant, state: &State) -> Moving {
    let one = |k: usize| {
        let device = &plant.devices[k];
        let Control::Automatic(rules) = &device.control else { return None };
        let rule = rules.iter().position(|r| truth(&r.when, plant, state))?;
        let goal =
            if device.members > 1 { rules[rule].position * device.members } else { rules[rule].position };
        (goal != state.positions[k]).then_some(rule)
    };
    (0..plant.devices.len()).map(one).collect()
}

/// Earliest and latest of a device's rule, position wanted.
pub fn timing(plant: &Plant, device: usize, rule: usize) -> (u32, Option<u32>, u8) {
    let Control::Automatic(rules) = &plant.devices[device].control else {
        unreachable!("only automatic ones move")
    };
    let whole = |t: quantity::Duration| {
        let ticks = t.si().round();
        assert!((ticks - t.si()).abs() < 1e-9, "delays of these plants are whole seconds");
        ticks as u32
    };
    let rule = &rules[rule];
    (whole(rule.delay.earliest), rule.delay.latest.map(whole), rule.position)
}

type Timed = (State, Vec<u32>);

/// All states that can be reached.
pub fn oracle(plant: &Plant) -> BTreeSet<State> {
    let start = State {
        utility: plant.sources.iter().any(|s| s.kind == SourceKind::Utility),
        generator: false,
        battery: true,
        positions: plant.devices.iter().map(|d| d.normal).collect(),
    };
    let mut memo: BTreeMap<State, Moving> = BTreeMap::new();
    let mut look = |state: &State| memo.entry(state.clone()).or_insert_with(|| moving(plant, state)).clone();
    let first: Timed = (start, vec![0; plant.devices.len()]);
    let mut seen = BTreeSet::from([first.clone()]);
    let mut queue = VecDeque::from([first]);
    let mut states = BTreeSet::new();
    while let Some((state, clocks)) = queue.pop_front() {
        let due = look(&state);
        states.insert(state.clone());
        let mut next: Vec<Timed> = Vec::new();
        // time goes on by one second, unless a move must come now
        let held = |k: usize| due[k].is_some_and(|rule| timing(plant, k, rule).1 == Some(clocks[k]));
        if !(0..due.len()).any(held) {
            let later = (0..due.len()).map(|k| {
                due[k].map_or(0, |rule| {
                    let (earliest, latest, _) = timing(plant, k, rule);
                    (clocks[k] + 1).min(latest.unwrap_or(earliest).max(earliest))
                })
            });
            next.push((state.clone(), later.collect()));
        }
        for after in events(plant, &state, &due, &clocks) {
            let then = look(&after);
            let kept =
                (0..due.len()).map(|k| if then[k].is_some() && then[k] == due[k] { clocks[k] } else { 0 });
            let kept = kept.collect();
            next.push((after, kept));
        }
        for node in next {
            if seen.insert(node.clone()) {
                queue.push_back(node);
            }
        }
    }
    states
}

fn events(plant: &Plant, state: &State, due: &Moving, clocks: &[u32]) -> Vec<State> {
    let mut all = Vec::new();
    for source in &plant.sources {
        let mut after = state.clone();
        match source.kind {
            SourceKind::Utility => after.utility = !after.utility,
            SourceKind::Generator => after.generator = !after.generator,
            SourceKind::Group => after.battery = !after.battery,
        }
        all.push(after);
    }
    for (k, device) in plant.devices.iter().enumerate() {
        let mut to = |position: u8| {
            let mut after = state.clone();
            after.positions[k] = position;
            all.push(after);
        };
        let at = state.positions[k];
        match &device.control {
            Control::Manual => (0..device.positions.len() as u8).filter(|p| *p != at).for_each(to),
            Control::Automatic(_) => {
                let Some(rule) = due[k] else { continue };
                let (earliest, _, position) = timing(plant, k, rule);
                if clocks[k] >= earliest {
                    to(match (device.members > 1, position) {
                        (true, 1) => at + 1,
                        (true, _) => at - 1,
                        _ => position,
                    });
                }
            }
        }
    }
    all
}
