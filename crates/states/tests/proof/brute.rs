//! Brute force: states one by one, with its own reading of the graph, of the controls and of what each property says.

use std::collections::{BTreeMap, VecDeque};

use plant::full::{BondPlace, FullPlant, NeutralPath, NodeKind, Part, PartKind};
use plant::{Condition, Control, DeviceIx, NodeIx, SourceKind};
use quantity::Quantity;
use site::Earthing;
use states::State;
use states::proof::{ProofInput, Property};

const KINDS: [SourceKind; 3] = [SourceKind::Utility, SourceKind::Generator, SourceKind::Group];

/// A plant that is looked at state by state.
pub struct Brute<'p> {
    pub plant: &'p FullPlant,
    pub input: ProofInput,
}

/// Islands as labels: two nodes with the same label are joined.
struct Labels(Vec<usize>);

impl Labels {
    fn joined(&self, a: NodeIx, b: NodeIx) -> bool {
        self.0[a.0] == self.0[b.0]
    }
}

impl Brute<'_> {
    pub fn start(&self) -> State {
        State {
            utility: self.supply(SourceKind::Utility).is_some(),
            generator: false,
            battery: true,
            positions: self.plant.gear.iter().map(|g| g.normal).collect(),
        }
    }

    fn supply(&self, kind: SourceKind) -> Option<NodeIx> {
        self.plant.supplies.iter().find(|s| s.kind == kind).map(|s| s.node)
    }

    fn closed(part: &Part, state: &State) -> bool {
        part.moved_by.is_none_or(|(device, at)| state.positions[device.0] == at)
    }

    fn labels(&self, joins: impl Fn(&Part) -> bool) -> Labels {
        let mut label: Vec<usize> = (0..self.plant.nodes.len()).collect();
        for part in self.plant.parts.iter().filter(|p| joins(p)) {
            let (keep, drop) = (label[part.from.0], label[part.to.0]);
            label.iter_mut().filter(|l| **l == drop).for_each(|l| *l = keep);
        }
        Labels(label)
    }

    fn lines(&self, state: &State, without: impl Fn(&Part) -> bool) -> Labels {
        self.labels(|p| p.lines && Self::closed(p, state) && !without(p))
    }

    fn neutrals(&self, state: &State) -> Labels {
        self.labels(|p| match p.neutral {
            NeutralPath::Solid => true,
            NeutralPath::Switched => Self::closed(p, state),
            NeutralPath::Absent => false,
        })
    }

    fn has_dc(&self, k: usize, state: &State, lines: &Labels) -> bool {
        state.battery && lines.joined(self.plant.dc_bus, self.plant.units[k].dc)
    }

    fn forming(&self, state: &State, lines: &Labels) -> Vec<usize> {
        let open = |k: usize| self.plant.units[k].relays.iter().all(|r| state.positions[r.0] == 0);
        let linked = |k: usize| self.plant.units[k].linked;
        let all = 0..self.plant.units.len();
        all.clone()
            .filter(|k| {
                let others = !linked(*k) || all.clone().all(|j| !linked(j) || open(j));
                self.has_dc(*k, state, lines) && open(*k) && others
            })
            .collect()
    }

    fn live(&self, kind: SourceKind, node: NodeIx, state: &State, lines: &Labels) -> bool {
        if kind == SourceKind::Group {
            return self
                .forming(state, lines)
                .into_iter()
                .any(|k| lines.joined(self.plant.units[k].ac, node));
        }
        state.present(kind) && self.supply(kind).is_some_and(|s| lines.joined(s, node))
    }

    pub fn is_live(&self, node: NodeIx, state: &State) -> bool {
        let lines = self.lines(state, |_| false);
        KINDS.into_iter().any(|kind| self.live(kind, node, state, &lines))
    }

    fn live_outside(&self, node: NodeIx, state: &State) -> bool {
        let lines = self.lines(state, |p| p.kind == PartKind::Relay);
        [SourceKind::Utility, SourceKind::Generator]
            .into_iter()
            .any(|kind| self.live(kind, node, state, &lines))
    }

    fn truth(&self, condition: &Condition, state: &State) -> bool {
        match condition {
            Condition::LiveFromOutside(node) => self.live_outside(*node, state),
            Condition::Live(node) => {
                let lines = self.lines(state, |_| false);
                KINDS.into_iter().any(|kind| self.live(kind, *node, state, &lines))
            }
            Condition::GroupForms => !self.forming(state, &self.lines(state, |_| false)).is_empty(),
            Condition::Present(kind) => state.present(*kind),
            Condition::At(device, at) => state.positions[device.0] == *at,
            Condition::All(all) => all.iter().all(|c| self.truth(c, state)),
            Condition::Any(any) => any.iter().any(|c| self.truth(c, state)),
            Condition::Not(inner) => !self.truth(inner, state),
        }
    }

    fn due(&self, state: &State) -> Vec<(usize, u8)> {
        let gear = self.plant.gear.iter().enumerate();
        gear.filter_map(|(k, gear)| {
            let Control::Automatic(rules) = &gear.control else { return None };
            let rule = rules.iter().find(|r| self.truth(&r.when, state))?;
            (rule.position != state.positions[k]).then_some((k, rule.position))
        })
        .collect()
    }

    fn allowed(&self, state: &State) -> bool {
        self.plant
            .interlocks
            .iter()
            .filter(|lock| lock.forbids.iter().any(|(d, at)| self.plant.gear[d.0].normal != *at))
            .all(|lock| lock.forbids.iter().any(|(d, at)| state.positions[d.0] != *at))
    }

    /// States one move away.
    pub fn next(&self, state: &State) -> Vec<State> {
        let mut all = Vec::new();
        for kind in KINDS {
            let mut to = state.clone();
            match kind {
                SourceKind::Utility => to.utility = !to.utility,
                SourceKind::Generator => to.generator = !to.generator,
                SourceKind::Group => to.battery = !to.battery,
            }
            if kind == SourceKind::Group || self.supply(kind).is_some() {
                all.push(to);
            }
        }
        let mut go = |device: usize, at: u8| {
            let mut to = state.clone();
            to.positions[device] = at;
            if self.allowed(&to) {
                all.push(to);
            }
        };
        for (device, at) in self.due(state) {
            go(device, at);
        }
        for (k, gear) in self.plant.gear.iter().enumerate().filter(|(_, g)| g.control == Control::Manual) {
            for at in (0..gear.positions.len() as u8).filter(|at| *at != state.positions[k]) {
                go(k, at);
            }
        }
        all
    }

    /// Moves of the shortest way to a state that `wanted` picks, at most `most` states looked at.
    pub fn moves_to(&self, wanted: impl Fn(&State) -> bool, most: usize) -> Option<usize> {
        let start = self.start();
        let mut seen = BTreeMap::from([(start.clone(), 0)]);
        let mut queue = VecDeque::from([start]);
        while let Some(state) = queue.pop_front() {
            let depth = seen[&state];
            if wanted(&state) {
                return Some(depth);
            }
            assert!(seen.len() < most, "brute force gave up after {most} states");
            for next in self.next(&state) {
                if !seen.contains_key(&next) {
                    seen.insert(next.clone(), depth + 1);
                    queue.push_back(next);
                }
            }
        }
        None
    }

    /// All states that can be reached.
    pub fn all(&self) -> Vec<State> {
        let mut seen = std::collections::BTreeSet::from([self.start()]);
        let mut queue = VecDeque::from([self.start()]);
        while let Some(state) = queue.pop_front() {
            for next in self.next(&state) {
                if seen.insert(next.clone()) {
                    queue.push_back(next);
                }
            }
        }
        seen.into_iter().collect()
    }

    /// Whether a state breaks a property. P4 speaks of what must be possible: see [`Brute::isolates`].
    pub fn breaks(&self, property: Property, state: &State) -> bool {
        let lines = self.lines(state, |_| false);
        match property {
            Property::SourcesMeet => self.meet(state, &lines),
            Property::DeadUtility => self.backfeeds(state, &lines),
            Property::Service => self.unserved(state, &lines),
            Property::Isolation => panic!("P4 is about all states together"),
            Property::Bonding => self.wrong_bond(state, &lines),
            Property::Protection => self.unprotected(state),
            Property::Neutral => self.neutral_lost(state, &lines),
        }
    }

    fn meet(&self, state: &State, lines: &Labels) -> bool {
        let mut at: Vec<(usize, NodeIx)> = Vec::new();
        for (k, kind) in [SourceKind::Utility, SourceKind::Generator].into_iter().enumerate() {
            at.extend(self.supply(kind).filter(|_| state.present(kind)).map(|n| (k, n)));
        }
        for k in self.forming(state, lines) {
            // linked units are one source, a unit alone is a source of its own
            let unit = &self.plant.units[k];
            at.push((if unit.linked { 2 } else { 3 + k }, unit.ac));
        }
        at.iter().any(|(a, x)| at.iter().any(|(b, y)| a != b && lines.joined(*x, *y)))
            || self.array_beside_generator(state, lines)
    }

    /// An array inverter joined to the running generator, with its contactor where it wants to be.
    fn array_beside_generator(&self, state: &State, lines: &Labels) -> bool {
        let Some(generator) = self.supply(SourceKind::Generator).filter(|_| state.generator) else {
            return false;
        };
        let due = self.due(state);
        let still = |lockout: Option<DeviceIx>| lockout.is_none_or(|d| due.iter().all(|(k, _)| *k != d.0));
        self.plant.followers.iter().any(|f| lines.joined(f.node, generator) && still(f.lockout))
    }

    fn backfeeds(&self, state: &State, lines: &Labels) -> bool {
        let Some(utility) = self.supply(SourceKind::Utility) else { return false };
        !state.utility
            && (self.live(SourceKind::Group, utility, state, lines)
                || self.live(SourceKind::Generator, utility, state, lines))
    }

    fn at_rest(&self, state: &State) -> bool {
        let gear = self.plant.gear.iter().zip(&state.positions);
        gear.into_iter().all(|(g, at)| g.control != Control::Manual || *at == g.normal)
    }

    fn unserved(&self, state: &State, lines: &Labels) -> bool {
        if !self.at_rest(state) {
            return false;
        }
        if !self.due(state).is_empty() {
            return !self.comes_to_rest(state);
        }
        let by = |kind| self.live(kind, self.plant.panel, state, lines);
        match (state.utility, state.battery, state.generator) {
            (true, _, _) => !by(SourceKind::Utility),
            (false, true, false) => !by(SourceKind::Group),
            (false, true, true) => !by(SourceKind::Group) && !by(SourceKind::Generator),
            (false, false, true) => self.input.generator_automatic && !by(SourceKind::Generator),
            (false, false, false) => false,
        }
    }

    fn comes_to_rest(&self, state: &State) -> bool {
        let mut seen = vec![state.clone()];
        let mut next = 0;
        while let Some(here) = seen.get(next).cloned() {
            next += 1;
            let due = self.due(&here);
            if due.is_empty() {
                return true;
            }
            for (device, at) in due {
                let mut to = here.clone();
                to.positions[device] = at;
                if !seen.contains(&to) {
                    seen.push(to);
                }
            }
        }
        false
    }

    fn wrong_bond(&self, state: &State, lines: &Labels) -> bool {
        let neutrals = self.neutrals(state);
        let nodes = self.plant.nodes.iter().enumerate().filter(|(_, n)| {
            n.neutral && n.unit.is_none() && (n.kind == NodeKind::Bus || n.kind == NodeKind::Panel)
        });
        let active: Vec<_> = self.plant.bonds.iter().filter(|b| self.truth(&b.while_, state)).collect();
        for (k, _) in nodes {
            let here: Vec<BondPlace> =
                active.iter().filter(|b| neutrals.joined(b.node, NodeIx(k))).map(|b| b.place).collect();
            for kind in KINDS.into_iter().filter(|kind| self.live(*kind, NodeIx(k), state, lines)) {
                if !bond_is_right(self.plant.earthing, kind, &here) {
                    return true;
                }
            }
        }
        false
    }

    fn unprotected(&self, state: &State) -> bool {
        let conductors = self.plant.parts.iter().filter(|p| p.kind == PartKind::Conductor && p.lines);
        conductors.into_iter().any(|conductor| {
            let Some(rating) = conductor.rating.as_ref().map(|r| r.value().si()) else { return true };
            let guard = |p: &Part| {
                p.kind == PartKind::Breaker
                    && p.rating.as_ref().is_some_and(|r| r.value().si() <= rating + 1e-6)
            };
            let open = self.lines(state, guard);
            let reached = |n: NodeIx| open.joined(n, conductor.from) || open.joined(n, conductor.to);
            let exempt = |kind| conductor.exempt.iter().any(|e| e.from == kind);
            let outside = [SourceKind::Utility, SourceKind::Generator]
                .into_iter()
                .any(|kind| !exempt(kind) && state.present(kind) && self.supply(kind).is_some_and(reached));
            let one = self.plant.bridge_limit.value().si();
            let all_fit = one * f64::from(self.plant.most_a_leg) <= rating;
            let lines = self.lines(state, |_| false);
            let forming = self.forming(state, &lines);
            let own = self.plant.nodes[conductor.from.0].unit;
            let group = !all_fit
                && self.plant.units.iter().enumerate().any(|(k, unit)| {
                    let gives = forming.contains(&k)
                        || (self.has_dc(k, state, &lines)
                            && self.live(SourceKind::Utility, unit.ac, state, &lines));
                    let spared = own == Some(unit.number) && exempt(SourceKind::Group) && one <= rating;
                    gives && !spared && reached(unit.ac)
                });
            outside || group
        })
    }

    fn neutral_lost(&self, state: &State, lines: &Labels) -> bool {
        let neutrals = self.neutrals(state);
        let panels = self.plant.nodes.iter().enumerate().filter(|(_, n)| n.needs_neutral);
        panels.map(|(k, _)| NodeIx(k)).any(|panel| {
            KINDS.into_iter().filter(|kind| self.live(*kind, panel, state, lines)).any(|kind| {
                let mut own: Vec<NodeIx> = Vec::new();
                if kind == SourceKind::Group {
                    let forming = self.forming(state, lines);
                    own.extend(
                        forming.into_iter().map(|k| &self.plant.units[k]).filter(|u| u.neutral).map(|u| u.ac),
                    );
                    for former in &self.plant.formers {
                        let on = former.moved_by.is_none_or(|(d, at)| state.positions[d.0] == at);
                        if on && self.live(kind, former.node, state, lines) {
                            own.push(former.node);
                        }
                    }
                } else {
                    own.extend(self.supply(kind));
                }
                !own.into_iter().any(|n| neutrals.joined(n, panel))
            })
        })
    }

    /// Whether a unit is isolated in a state, and the panel served meanwhile if that is asked for.
    pub fn isolates(&self, unit: u8, state: &State) -> bool {
        let own = |n: NodeIx| self.plant.nodes[n.0].unit == Some(unit);
        let holds_off = |part: &Part| {
            part.moved_by.is_some_and(|(device, at): (DeviceIx, u8)| {
                let gear = &self.plant.gear[device.0];
                gear.lockable && gear.control == Control::Manual && state.positions[device.0] != at
            })
        };
        let earth_apart = matches!(self.plant.earthing, Earthing::Tt | Earthing::It);
        let crossing = self.plant.parts.iter().filter(|p| own(p.from) != own(p.to));
        let off = crossing.into_iter().all(|p| {
            let lines = !p.lines || holds_off(p);
            let neutral = match p.neutral {
                NeutralPath::Solid => !earth_apart,
                NeutralPath::Switched => !earth_apart || holds_off(p),
                NeutralPath::Absent => true,
            };
            lines && neutral
        });
        off && (!self.input.bypass_asked || self.live_outside(self.plant.panel, state))
    }
}

/// The table of bonds, written anew.
fn bond_is_right(earthing: Earthing, fed_by: SourceKind, here: &[BondPlace]) -> bool {
    let one = |allowed: &[BondPlace]| here.len() == 1 && allowed.contains(&here[0]);
    use BondPlace::{Generator, Group, Service, Supplier};
    match (earthing, fed_by) {
        (Earthing::It, _) => here.is_empty(),
        (Earthing::Us | Earthing::TnCS, SourceKind::Utility) => one(&[Service]),
        (Earthing::Us | Earthing::TnCS, SourceKind::Group) => one(&[Service, Group]),
        (Earthing::Us | Earthing::TnCS, SourceKind::Generator) => one(&[Service, Group, Generator]),
        (Earthing::TnS, SourceKind::Utility) => one(&[Supplier]),
        (Earthing::TnS, SourceKind::Group) => one(&[Supplier, Group]),
        (Earthing::TnS, SourceKind::Generator) => one(&[Supplier, Group, Generator]),
        (Earthing::Tt, SourceKind::Utility) => one(&[Supplier]),
        (Earthing::Tt, SourceKind::Group) => one(&[Group]),
        (Earthing::Tt, SourceKind::Generator) => one(&[Group, Generator]),
    }
}
