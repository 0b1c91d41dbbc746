//! Every state that can be reached, and the shortest way to one.
//!
//! Sources come and go at any time, manual gear moves to any position that no interlock forbids, an automatic device
//! moves whenever it is due. Every order of moves counts: no delay is relied on. So the set found holds every settled
//! state of a plant with whatever delays.

use biodivine_lib_bdd::{Bdd, BddVariable, op_function};
use plant::{Control, DeviceIx, SourceKind};

use super::model::Model;
use crate::{Coming, State};

const SOURCES: [SourceKind; 3] = [SourceKind::Utility, SourceKind::Generator, SourceKind::Group];

/// Where the search starts: the utility is there, the generator is not, the battery holds, everything in normal
/// operation.
pub(super) fn start(model: &Model<'_>) -> State {
    State {
        utility: model.plant.supply(SourceKind::Utility).is_some(),
        generator: false,
        battery: true,
        positions: model.plant.gear.iter().map(|g| g.normal).collect(),
    }
}

/// States one move of a device to a position away.
fn moved(model: &Model<'_>, from: &Bdd, device: DeviceIx, position: u8) -> Bdd {
    let there = model.space.at(device, position);
    from.and_not(&there).exists(model.space.bits(device)).and(&there).and(&model.permitted)
}

/// A set with the states of another that differ in one bit.
fn with_flipped(set: &Bdd, other: &Bdd, bit: BddVariable) -> Bdd {
    Bdd::fused_binary_flip_op((set, None), (other, Some(bit)), None, op_function::or)
}

/// A set with the states that a due move of a device leads to from another.
fn with_moved(model: &Model<'_>, set: &Bdd, from: &Bdd, device: DeviceIx, position: u8) -> Bdd {
    match model.space.bits(device) {
        // a device with two positions that is due stands in the other one
        [bit] if !model.locked(device) => with_flipped(set, from, *bit),
        _ => set.or(&moved(model, from, device, position)),
    }
}

fn manual(model: &Model<'_>) -> impl Iterator<Item = DeviceIx> {
    let gear = model.plant.gear.iter().enumerate().filter(|(_, g)| g.control == Control::Manual);
    gear.map(|(k, _)| DeviceIx(k))
}

/// All states that can be reached.
pub(super) fn reachable(model: &Model<'_>) -> Bdd {
    let mut all = model.space.only(&start(model));
    loop {
        let before = all.clone();
        for bit in SOURCES.into_iter().filter_map(|kind| model.space.source(kind)) {
            all = all.var_exists(bit);
        }
        for device in manual(model) {
            if model.locked(device) {
                for position in 0..model.space.positions(device) {
                    all = all.or(&moved(model, &all, device, position));
                }
            } else {
                // free to go anywhere at any time
                all = all.exists(model.space.bits(device)).and(&model.space.somewhere(device));
            }
        }
        for (device, position, due) in &model.due {
            all = with_moved(model, &all, &all.and(due), *device, *position);
        }
        if all == before {
            return all;
        }
    }
}

/// States one move away from a set.
fn next(model: &Model<'_>, from: &Bdd) -> Bdd {
    let mut to = model.space.no();
    for kind in SOURCES {
        if let Some(bit) = model.space.source(kind) {
            to = with_flipped(&to, from, bit);
        }
    }
    for device in manual(model) {
        match model.space.bits(device) {
            [bit] if !model.locked(device) && model.space.positions(device) == 2 => {
                to = with_flipped(&to, from, *bit);
            }
            _ => {
                for position in 0..model.space.positions(device) {
                    to = to.or(&moved(model, from, device, position));
                }
            }
        }
    }
    for (device, position, due) in &model.due {
        to = with_moved(model, &to, &from.and(due), *device, *position);
    }
    to
}

/// One step of a way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What happened.
    pub by: Coming,
    /// The state after it.
    pub state: State,
}

/// Breadth-first layers, as deep as they were asked for.
pub(super) struct Layers<'m, 'p> {
    model: &'m Model<'p>,
    layers: Vec<Bdd>,
    seen: Bdd,
}

impl<'m, 'p> Layers<'m, 'p> {
    pub fn new(model: &'m Model<'p>) -> Self {
        let first = model.space.only(&start(model));
        Self { model, layers: vec![first.clone()], seen: first }
    }

    /// The shortest way to a state of a set; none if none can be reached.
    pub fn way(&mut self, to: &Bdd) -> Option<Vec<Step>> {
        let mut depth = 0;
        loop {
            let hit = self.layer(depth)?.and(to);
            if !hit.is_false() {
                let end = self.model.space.some(&hit)?;
                return Some(self.back(end, depth));
            }
            depth += 1;
        }
    }

    fn layer(&mut self, depth: usize) -> Option<Bdd> {
        while self.layers.len() <= depth {
            let new = next(self.model, self.layers.last()?).and_not(&self.seen);
            if new.is_false() {
                return None;
            }
            self.seen = self.seen.or(&new);
            self.layers.push(new);
        }
        self.layers.get(depth).cloned()
    }

    fn back(&self, end: State, depth: usize) -> Vec<Step> {
        let mut steps = Vec::new();
        let mut at = end;
        for layer in self.layers.iter().take(depth).rev() {
            let Some((by, before)) = self.before(&at, layer) else { break };
            steps.push(Step { by, state: at });
            at = before;
        }
        steps.push(Step { by: Coming::Start, state: at });
        steps.reverse();
        steps
    }

    /// A state of a layer from which one move leads here: sources first, then what moves by itself, then hands.
    fn before(&self, state: &State, layer: &Bdd) -> Option<(Coming, State)> {
        let space = &self.model.space;
        for kind in SOURCES.into_iter().filter(|kind| space.source(*kind).is_some()) {
            let mut before = state.clone();
            let there = match kind {
                SourceKind::Utility => &mut before.utility,
                SourceKind::Generator => &mut before.generator,
                SourceKind::Group => &mut before.battery,
            };
            *there = !*there;
            if space.holds(layer, &before) {
                return Some((Coming::Source(kind, state.present(kind)), before));
            }
        }
        for by_hand in [false, true] {
            for (k, gear) in self.model.plant.gear.iter().enumerate() {
                if (gear.control == Control::Manual) != by_hand {
                    continue;
                }
                let device = DeviceIx(k);
                let at = state.positions.get(k).copied()?;
                for from in (0..space.positions(device)).filter(|from| *from != at) {
                    let mut before = state.clone();
                    if let Some(slot) = before.positions.get_mut(k) {
                        *slot = from;
                    }
                    let due = |(d, p, due): &(DeviceIx, u8, Bdd)| {
                        *d == device && *p == at && space.holds(due, &before)
                    };
                    if space.holds(layer, &before) && (by_hand || self.model.due.iter().any(due)) {
                        return Some((Coming::Moved(device, at), before));
                    }
                }
            }
        }
        None
    }
}
