//! Breadth-first search over sources, positions and moves that are due.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use plant::{Condition, Control, DeviceIx, ElementKind, Plant, Rule, SourceKind};
use quantity::Quantity;

/// States after which the search gives up; the result then says that it is not complete.
pub const LIMIT: usize = 500_000;

/// Which sources are there and where every device stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct State {
    /// The utility is there (false without one).
    pub utility: bool,
    /// The generator runs.
    pub generator: bool,
    /// The battery holds and the units are on.
    pub battery: bool,
    /// Position of each device; number of closed members for sets.
    pub positions: Vec<u8>,
}

impl State {
    /// Whether a source is there.
    pub fn present(&self, kind: SourceKind) -> bool {
        match kind {
            SourceKind::Utility => self.utility,
            SourceKind::Generator => self.generator,
            SourceKind::Group => self.battery,
        }
    }

    /// Whether the group forms a voltage of its own: the battery holds and no relay joins it to a live source.
    pub fn group_forms(&self, plant: &Plant) -> bool {
        self.battery && !self.group_follows(plant)
    }

    /// Whether the group is joined to a live source through its relays.
    pub fn group_follows(&self, plant: &Plant) -> bool {
        [SourceKind::Utility, SourceKind::Generator].into_iter().any(|kind| {
            self.present(kind)
                && plant.source(kind).is_some_and(|source| {
                    plant.joined(source.node, &self.positions, &[]).contains(&plant.group_output)
                })
        })
    }

    /// Which source feeds the backup panel, if any: the nearest outside source wins over the group.
    pub fn feeds_panel(&self, plant: &Plant) -> Option<SourceKind> {
        let reaches = |kind: SourceKind| {
            self.present(kind)
                && plant.source(kind).is_some_and(|source| {
                    plant.joined(source.node, &self.positions, &[]).contains(&plant.backup_panel)
                })
        };
        if reaches(SourceKind::Utility) {
            return Some(SourceKind::Utility);
        }
        if reaches(SourceKind::Generator) {
            return Some(SourceKind::Generator);
        }
        (self.group_forms(plant) && reaches(SourceKind::Group)).then_some(SourceKind::Group)
    }
}

fn holds(condition: &Condition, state: &State, plant: &Plant) -> bool {
    match condition {
        Condition::LiveFromOutside(node) => {
            [SourceKind::Utility, SourceKind::Generator].into_iter().any(|kind| {
                state.present(kind)
                    && plant.source(kind).is_some_and(|source| {
                        plant
                            .joined(
                                source.node,
                                &state.positions,
                                &[ElementKind::Relays, ElementKind::GeneratorRelays],
                            )
                            .contains(node)
                    })
            })
        }
        Condition::GroupForms => state.group_forms(plant),
        Condition::Present(kind) => state.present(*kind),
        Condition::At(device, position) => state.positions.get(device.0) == Some(position),
        Condition::All(all) => all.iter().all(|c| holds(c, state, plant)),
        Condition::Any(any) => any.iter().any(|c| holds(c, state, plant)),
        Condition::Not(inner) => !holds(inner, state, plant),
    }
}

/// What led to a state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Coming {
    /// It is where the search starts.
    Start,
    /// A source came or went.
    Source(SourceKind, bool),
    /// A device moved to a position (sets: to this many closed).
    Moved(DeviceIx, u8),
}

/// A state with how the search got there.
#[derive(Debug, Clone)]
pub struct Reached {
    /// The state.
    pub state: State,
    /// Devices that are due to move, with the position that they want.
    pub due: Vec<(DeviceIx, u8)>,
    /// The last step.
    pub by: Coming,
    /// The state before, as an index into [`Search::states`].
    pub before: Option<usize>,
}

/// All states found.
#[derive(Debug, Clone)]
pub struct Search {
    /// Distinct settled states in the order of their distance from normal operation.
    pub states: Vec<Reached>,
    /// Number of search nodes (state and order of moves that are due).
    pub visited: usize,
    /// The search ended before [`LIMIT`].
    pub complete: bool,
}

impl Search {
    /// The shortest sequence of steps from normal operation to a state.
    pub fn path(&self, index: usize) -> Vec<&Reached> {
        let mut path = Vec::new();
        let mut at = Some(index);
        while let Some(reached) = at.and_then(|k| self.states.get(k)) {
            path.push(reached);
            at = reached.before;
        }
        path.reverse();
        path
    }
}

/// A search node: the state, and which due moves must wait for which others.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Node {
    state: State,
    waits: BTreeSet<(DeviceIx, DeviceIx)>,
}

fn wanted<'p>(device: DeviceIx, state: &State, plant: &'p Plant) -> Option<&'p Rule> {
    let it = plant.devices.get(device.0)?;
    let Control::Automatic(rules) = &it.control else {
        return None;
    };
    let rule = rules.iter().find(|rule| holds(&rule.when, state, plant))?;
    let at = *state.positions.get(device.0)?;
    let there = if it.members > 1 { if rule.position == 1 { it.members } else { 0 } } else { rule.position };
    (at != there).then_some(rule)
}

fn due(state: &State, plant: &Plant) -> Vec<(DeviceIx, u8)> {
    (0..plant.devices.len())
        .map(DeviceIx)
        .filter_map(|device| wanted(device, state, plant).map(|rule| (device, rule.position)))
        .collect()
}

/// The waits after an event: those between moves still due stay; a move that became due now waits for every due
/// move that is certain to come first.
fn next_waits(before: &Node, before_due: &[(DeviceIx, u8)], after: &State, plant: &Plant) -> BTreeSet<(DeviceIx, DeviceIx)> {
    let after_due = due(after, plant);
    let still = |device: DeviceIx| {
        let now = after_due.iter().find(|(d, _)| *d == device);
        now.is_some() && now == before_due.iter().find(|(d, _)| *d == device)
    };
    let mut waits: BTreeSet<_> =
        before.waits.iter().copied().filter(|(late, early)| still(*late) && still(*early)).collect();
    for &(late, _) in after_due.iter().filter(|(d, _)| !still(*d)) {
        let Some(earliest) = wanted(late, after, plant).map(|rule| rule.delay.earliest.si()) else {
            continue;
        };
        for &(early, _) in after_due.iter().filter(|(d, _)| *d != late) {
            let latest = wanted(early, after, plant).and_then(|rule| rule.delay.latest);
            if latest.is_some_and(|latest| latest.si() < earliest) {
                waits.insert((late, early));
            }
        }
    }
    waits
}

/// Finds every settled state that a plant can reach from normal operation.
pub fn search(plant: &Plant) -> Search {
    let start = State {
        utility: plant.source(SourceKind::Utility).is_some(),
        generator: false,
        battery: true,
        positions: plant.devices.iter().map(|d| d.normal).collect(),
    };
    let mut states: Vec<Reached> = Vec::new();
    let mut index: BTreeMap<State, usize> = BTreeMap::new();
    let mut seen: BTreeSet<Node> = BTreeSet::new();
    let mut queue: VecDeque<(Node, usize)> = VecDeque::new();
    let mut complete = true;

    let first = Node { state: start.clone(), waits: BTreeSet::new() };
    states.push(Reached { due: due(&start, plant), state: start.clone(), by: Coming::Start, before: None });
    index.insert(start, 0);
    seen.insert(first.clone());
    queue.push_back((first, 0));

    while let Some((node, from)) = queue.pop_front() {
        if seen.len() > LIMIT {
            complete = false;
            break;
        }
        let now_due = due(&node.state, plant);
        for (by, state) in steps(&node, &now_due, plant) {
            let waits = next_waits(&node, &now_due, &state, plant);
            let next = Node { state, waits };
            let at = *index.entry(next.state.clone()).or_insert_with(|| {
                states.push(Reached {
                    due: due(&next.state, plant),
                    state: next.state.clone(),
                    by,
                    before: Some(from),
                });
                states.len() - 1
            });
            if seen.insert(next.clone()) {
                queue.push_back((next, at));
            }
        }
    }
    Search { states, visited: seen.len(), complete }
}

fn steps(node: &Node, now_due: &[(DeviceIx, u8)], plant: &Plant) -> Vec<(Coming, State)> {
    let mut steps = Vec::new();
    for kind in [SourceKind::Utility, SourceKind::Generator, SourceKind::Group] {
        if plant.source(kind).is_none() {
            continue;
        }
        let mut state = node.state.clone();
        let there = match kind {
            SourceKind::Utility => &mut state.utility,
            SourceKind::Generator => &mut state.generator,
            SourceKind::Group => &mut state.battery,
        };
        *there = !*there;
        let now = *there;
        steps.push((Coming::Source(kind, now), state));
    }
    for &(device, position) in now_due {
        if node.waits.iter().any(|(late, _)| *late == device) {
            continue;
        }
        steps.extend(moved(&node.state, device, position, plant));
    }
    for (k, device) in plant.devices.iter().enumerate().filter(|(_, d)| d.control == Control::Manual) {
        let at = node.state.positions.get(k).copied();
        for position in 0..u8::try_from(device.positions.len()).unwrap_or(u8::MAX) {
            if at != Some(position) {
                steps.extend(moved(&node.state, DeviceIx(k), position, plant));
            }
        }
    }
    steps
}

/// One contact system moves: a set moves one member.
fn moved(state: &State, device: DeviceIx, position: u8, plant: &Plant) -> Option<(Coming, State)> {
    let members = plant.devices.get(device.0)?.members;
    let mut next = state.clone();
    let at = next.positions.get_mut(device.0)?;
    *at = match (members > 1, position) {
        (true, 1) => *at + 1,
        (true, _) => at.checked_sub(1)?,
        (false, _) => position,
    };
    let now = *at;
    Some((Coming::Moved(device, now), next))
}
