//! Breadth-first search over sources, positions and moves that are due.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use plant::{Control, DeviceIx, Plant, Rule, SourceKind};
use quantity::Quantity;

use crate::State;
use crate::state::holds;

/// States after which the search gives up; the result then says that it is not complete.
pub const LIMIT: usize = 500_000;

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
    /// The state before on the shortest way here, as an index into [`Search::states`]. The way to that state alone
    /// may be shorter than this way's first part: [`Search::path`] gives the whole way.
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
    /// Steps of the shortest ways, each with the step before it. A way is a chain of search nodes, not of states:
    /// how a state was reached decides which moves may come next.
    steps: Vec<(Reached, Option<usize>)>,
    /// For each of `states` the last step of the shortest way to it.
    ends: Vec<usize>,
}

impl Search {
    /// The shortest sequence of steps from normal operation to a state that keeps to the delays.
    pub fn path(&self, index: usize) -> Vec<&Reached> {
        let mut path = Vec::new();
        let mut at = self.ends.get(index).copied();
        while let Some((reached, before)) = at.and_then(|k| self.steps.get(k)) {
            path.push(reached);
            at = *before;
        }
        path.reverse();
        path
    }

    /// States in which the panel is dead for good: a source is there, manual gear stands as in normal operation, and
    /// no device is due to move, so that nothing but another failure or a hand will change it.
    pub fn stranded(&self, plant: &Plant) -> Vec<usize> {
        let untouched = |state: &State| {
            plant
                .devices
                .iter()
                .zip(&state.positions)
                .all(|(d, at)| d.control != Control::Manual || *at == d.normal)
        };
        let stays_dead = |reached: &Reached| {
            let state = &reached.state;
            let powered = plant.sources.iter().any(|source| state.present(source.kind));
            powered && reached.due.is_empty() && untouched(state) && state.feeds_panel(plant).is_none()
        };
        self.states.iter().enumerate().filter(|(_, reached)| stays_dead(reached)).map(|(k, _)| k).collect()
    }
}

/// A search node: the state, and which due moves must wait for which others.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Node {
    state: State,
    waits: BTreeSet<(DeviceIx, DeviceIx)>,
}

/// The rule by which an automatic device wants to move, with its place among the device's rules.
fn wanted<'p>(device: DeviceIx, state: &State, plant: &'p Plant) -> Option<(usize, &'p Rule)> {
    let it = plant.devices.get(device.0)?;
    let Control::Automatic(rules) = &it.control else {
        return None;
    };
    let (k, rule) = rules.iter().enumerate().find(|(_, rule)| holds(&rule.when, state, plant))?;
    let at = *state.positions.get(device.0)?;
    let there = if it.members > 1 { if rule.position == 1 { it.members } else { 0 } } else { rule.position };
    (at != there).then_some((k, rule))
}

/// A device that is due to move.
#[derive(Clone, Copy)]
struct Due<'p> {
    device: DeviceIx,
    rule: usize,
    by: &'p Rule,
}

impl Due<'_> {
    /// The same rule has gone on deciding, so its time has gone on running.
    fn goes_on_in(&self, others: &[Due<'_>]) -> bool {
        others.iter().any(|o| o.device == self.device && o.rule == self.rule)
    }

    /// Whether this is certain to have moved before `late` may, if both become due now or `late` later.
    fn comes_before(&self, late: &Due<'_>) -> bool {
        self.by.delay.latest.is_some_and(|latest| latest.si() < late.by.delay.earliest.si())
    }
}

fn due<'p>(state: &State, plant: &'p Plant) -> Vec<Due<'p>> {
    (0..plant.devices.len())
        .map(DeviceIx)
        .filter_map(|device| wanted(device, state, plant).map(|(rule, by)| Due { device, rule, by }))
        .collect()
}

fn due_positions(due: &[Due<'_>]) -> Vec<(DeviceIx, u8)> {
    due.iter().map(|d| (d.device, d.by.position)).collect()
}

/// The waits after an event: those between moves still due stay; a move that became due now waits for every due
/// move that is certain to come first. That holds for moves which have been due for longer too, since their time
/// is up even earlier; the opposite (an old move waiting for a new one) is never certain.
fn next_waits(
    before: &Node,
    before_due: &[Due<'_>],
    after_due: &[Due<'_>],
) -> BTreeSet<(DeviceIx, DeviceIx)> {
    let goes_on = |device: DeviceIx| after_due.iter().any(|d| d.device == device && d.goes_on_in(before_due));
    let mut waits: BTreeSet<_> =
        before.waits.iter().copied().filter(|(late, early)| goes_on(*late) && goes_on(*early)).collect();
    for late in after_due.iter().filter(|d| !d.goes_on_in(before_due)) {
        let first = after_due.iter().filter(|early| early.device != late.device && early.comes_before(late));
        waits.extend(first.map(|early| (late.device, early.device)));
    }
    waits
}

/// A search node that was found: its state, the step to it and the node before.
struct Found {
    state: usize,
    by: Coming,
    before: Option<usize>,
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
    let mut found: Vec<Found> = Vec::new();
    // the node by which each state was found first
    let mut first: Vec<usize> = Vec::new();
    let mut queue: VecDeque<(Node, usize)> = VecDeque::new();
    let mut complete = true;

    let node = Node { state: start.clone(), waits: BTreeSet::new() };
    let start_due = due_positions(&due(&start, plant));
    states.push(Reached { due: start_due, state: start.clone(), by: Coming::Start, before: None });
    index.insert(start, 0);
    found.push(Found { state: 0, by: Coming::Start, before: None });
    first.push(0);
    seen.insert(node.clone());
    queue.push_back((node, 0));

    while let Some((node, from)) = queue.pop_front() {
        if seen.len() > LIMIT {
            complete = false;
            break;
        }
        let now_due = due(&node.state, plant);
        for (by, state) in steps(&node, &now_due, plant) {
            let next_due = due(&state, plant);
            let next = Node { waits: next_waits(&node, &now_due, &next_due), state };
            if seen.contains(&next) {
                continue;
            }
            let at = *index.entry(next.state.clone()).or_insert_with(|| {
                states.push(Reached {
                    due: due_positions(&next_due),
                    state: next.state.clone(),
                    by: by.clone(),
                    before: found.get(from).map(|f| f.state),
                });
                first.push(found.len());
                states.len() - 1
            });
            found.push(Found { state: at, by, before: Some(from) });
            seen.insert(next.clone());
            queue.push_back((next, found.len() - 1));
        }
    }
    let (steps, ends) = ways(&states, &found, &first);
    Search { states, visited: seen.len(), complete, steps, ends }
}

/// The steps of the shortest ways to all states, and where each way ends.
fn ways(states: &[Reached], found: &[Found], first: &[usize]) -> (Vec<(Reached, Option<usize>)>, Vec<usize>) {
    let mut wanted = BTreeSet::new();
    for &end in first {
        let mut at = Some(end);
        while let Some(node) = at.filter(|k| wanted.insert(*k)) {
            at = found.get(node).and_then(|f| f.before);
        }
    }
    // nodes are found after the node before them, so ascending order meets that one first
    let mut steps = Vec::new();
    let mut placed: BTreeMap<usize, usize> = BTreeMap::new();
    for node in wanted {
        let Some(found_here) = found.get(node) else { continue };
        let Some(reached) = states.get(found_here.state) else { continue };
        let before = found_here.before.and_then(|k| found.get(k)).map(|f| f.state);
        placed.insert(node, steps.len());
        steps.push((
            Reached { by: found_here.by.clone(), before, ..reached.clone() },
            found_here.before.and_then(|k| placed.get(&k).copied()),
        ));
    }
    let ends = first.iter().filter_map(|node| placed.get(node).copied()).collect();
    (steps, ends)
}

fn steps(node: &Node, now_due: &[Due<'_>], plant: &Plant) -> Vec<(Coming, State)> {
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
    for Due { device, by, .. } in now_due {
        if node.waits.iter().any(|(late, _)| late == device) {
            continue;
        }
        steps.extend(moved(&node.state, *device, by.position, plant));
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
