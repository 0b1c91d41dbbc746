//! What is live, what forms, what moves: a plant as sets of states.

use std::collections::VecDeque;

use biodivine_lib_bdd::Bdd;
use plant::full::{FullPlant, NeutralPath, Part, PartKind};
use plant::{Condition, Control, DeviceIx, NodeIx, SourceKind};

use super::space::Space;

/// A plant with its sets of states.
pub(super) struct Model<'p> {
    pub plant: &'p FullPlant,
    pub space: Space,
    /// Parts at each node, with the other end.
    joins: Vec<Vec<(usize, usize)>>,
    /// States in which each part is closed.
    closed: Vec<Bdd>,
    /// States in which each unit forms a voltage.
    pub forms: Vec<Bdd>,
    /// States in which each node is live from the utility.
    pub from_utility: Vec<Bdd>,
    /// Likewise from the generator.
    pub from_generator: Vec<Bdd>,
    /// Likewise from units that form.
    pub from_group: Vec<Bdd>,
    /// States in which each node is live from utility or generator without going through a unit.
    pub outside: Vec<Bdd>,
    /// For each automatic device and position: the states in which it is about to go there.
    pub due: Vec<(DeviceIx, u8, Bdd)>,
    /// States that no interlock forbids.
    pub permitted: Bdd,
    /// States in which each array inverter finds the voltage of a live source, and so may give.
    pub follows: Vec<Bdd>,
}

/// A layer of the graph.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Layer {
    Lines,
    Neutral,
}

impl<'p> Model<'p> {
    pub fn new(plant: &'p FullPlant) -> Self {
        let space = Space::new(plant);
        let closed = plant
            .parts
            .iter()
            .map(|p| p.moved_by.map_or_else(|| space.yes(), |(device, at)| space.at(device, at)))
            .collect();
        let mut joins = vec![Vec::new(); plant.nodes.len()];
        for (k, part) in plant.parts.iter().enumerate() {
            for (here, there) in [(part.from.0, part.to.0), (part.to.0, part.from.0)] {
                if let Some(list) = joins.get_mut(here) {
                    list.push((k, there));
                }
            }
        }
        // an interlock that normal operation itself does not meet is none: nothing may be proven with it
        let normally = |(d, at): &(DeviceIx, u8)| plant.gear.get(d.0).is_some_and(|g| g.normal == *at);
        let met = plant.interlocks.iter().filter(|lock| !lock.forbids.iter().all(normally));
        let permitted = met.fold(space.yes(), |ok, lock| {
            let all = lock.forbids.iter().fold(space.yes(), |all, (d, at)| all.and(&space.at(*d, *at)));
            ok.and_not(&all)
        });
        let nothing = Vec::new();
        let mut model = Self {
            plant,
            space,
            joins,
            closed,
            forms: nothing.clone(),
            from_utility: nothing.clone(),
            from_generator: nothing.clone(),
            from_group: nothing.clone(),
            outside: nothing,
            due: Vec::new(),
            permitted,
            follows: Vec::new(),
        };
        model.forms = model.forming();
        model.from_utility = model.live_from(SourceKind::Utility, |_| true);
        model.from_generator = model.live_from(SourceKind::Generator, |_| true);
        let seeds: Vec<(usize, Bdd)> =
            plant.units.iter().map(|u| u.ac.0).zip(model.forms.iter().cloned()).collect();
        model.from_group = model.reach(&seeds, Layer::Lines, |_| true);
        let relays_open = |p: &Part| p.kind != PartKind::Relay;
        let utility = model.live_from(SourceKind::Utility, relays_open);
        let generator = model.live_from(SourceKind::Generator, relays_open);
        model.outside = utility.iter().zip(&generator).map(|(a, b)| a.or(b)).collect();
        model.due = model.moves_due();
        model.follows = plant.followers.iter().map(|f| model.states_of(&Condition::Live(f.node))).collect();
        model
    }

    /// States in which a part is closed.
    pub fn closed(&self, part: usize) -> Bdd {
        self.closed.get(part).cloned().unwrap_or_else(|| self.space.no())
    }

    /// States in which each node is joined to a seed while that holds, through closed parts that `pass`.
    pub fn reach(&self, seeds: &[(usize, Bdd)], layer: Layer, pass: impl Fn(&Part) -> bool) -> Vec<Bdd> {
        self.spread(seeds, |k, part| {
            if !pass(part) {
                return None;
            }
            match (layer, part.neutral) {
                (Layer::Lines, _) => part.lines.then(|| self.closed.get(k).cloned()).flatten(),
                (Layer::Neutral, NeutralPath::Solid) => Some(self.space.yes()),
                (Layer::Neutral, NeutralPath::Switched) => self.closed.get(k).cloned(),
                (Layer::Neutral, NeutralPath::Absent) => None,
            }
        })
    }

    /// As [`Model::reach`], with the states in which a part lets through given by `through`; none = never.
    pub fn spread(&self, seeds: &[(usize, Bdd)], through: impl Fn(usize, &Part) -> Option<Bdd>) -> Vec<Bdd> {
        let passes: Vec<Option<Bdd>> =
            self.plant.parts.iter().enumerate().map(|(k, p)| through(k, p)).collect();
        let mut reached = vec![self.space.no(); self.plant.nodes.len()];
        let mut queue: VecDeque<usize> = VecDeque::new();
        for (node, while_) in seeds {
            if let Some(slot) = reached.get_mut(*node) {
                *slot = slot.or(while_);
                queue.push_back(*node);
            }
        }
        while let Some(node) = queue.pop_front() {
            let Some(here) = reached.get(node).cloned() else { continue };
            for (part, there) in self.joins.get(node).into_iter().flatten() {
                let Some(Some(pass)) = passes.get(*part) else { continue };
                let Some(slot) = reached.get_mut(*there) else { continue };
                let new = here.and(pass).and_not(slot);
                if new.is_false() {
                    continue;
                }
                *slot = slot.or(&new);
                if !queue.contains(there) {
                    queue.push_back(*there);
                }
            }
        }
        reached
    }

    /// What each array inverter joins while it gives: one entry a follower, by node.
    pub fn fed_by(&self, follower: usize) -> Vec<Bdd> {
        let seeds = self.plant.followers.get(follower).zip(self.follows.get(follower));
        let seeds: Vec<(usize, Bdd)> =
            seeds.map(|(f, gives)| (f.node.0, gives.clone())).into_iter().collect();
        self.reach(&seeds, Layer::Lines, |_| true)
    }

    /// States in which a device is about to move.
    pub fn about_to_move(&self, device: DeviceIx) -> Bdd {
        let due = self.due.iter().filter(|(d, _, _)| *d == device);
        due.fold(self.space.no(), |any, (_, _, due)| any.or(due))
    }

    fn live_from(&self, kind: SourceKind, pass: impl Fn(&Part) -> bool) -> Vec<Bdd> {
        let seeds: Vec<(usize, Bdd)> =
            self.plant.supply(kind).map(|n| (n.0, self.space.present(kind))).into_iter().collect();
        self.reach(&seeds, Layer::Lines, pass)
    }

    /// A unit forms while it has DC, its own relays are open, and those of all units that it decides with.
    fn forming(&self) -> Vec<Bdd> {
        let dc = self.reach(&[(self.plant.dc_bus.0, self.space.yes())], Layer::Lines, |_| true);
        let battery = self.space.present(SourceKind::Group);
        let open = |relays: &[DeviceIx]| {
            relays.iter().fold(self.space.yes(), |all, relay| all.and(&self.space.at(*relay, 0)))
        };
        let together = self
            .plant
            .units
            .iter()
            .filter(|u| u.linked)
            .fold(self.space.yes(), |all, unit| all.and(&open(&unit.relays)));
        let forms = self.plant.units.iter().map(|unit| {
            let relays = if unit.linked { together.clone() } else { open(&unit.relays) };
            let on = dc.get(unit.dc.0).map_or_else(|| self.space.no(), |dc| battery.and(dc));
            on.and(&relays)
        });
        forms.collect()
    }

    /// States in which a node is live from a kind of source.
    pub fn live(&self, kind: SourceKind, node: NodeIx) -> Bdd {
        let from = match kind {
            SourceKind::Utility => &self.from_utility,
            SourceKind::Generator => &self.from_generator,
            SourceKind::Group => &self.from_group,
        };
        from.get(node.0).cloned().unwrap_or_else(|| self.space.no())
    }

    /// States in which a condition holds.
    pub fn states_of(&self, condition: &Condition) -> Bdd {
        match condition {
            Condition::LiveFromOutside(node) => {
                self.outside.get(node.0).cloned().unwrap_or_else(|| self.space.no())
            }
            Condition::Live(node) => [SourceKind::Utility, SourceKind::Generator, SourceKind::Group]
                .into_iter()
                .fold(self.space.no(), |any, kind| any.or(&self.live(kind, *node))),
            Condition::GroupForms => self.forms.iter().fold(self.space.no(), |any, f| any.or(f)),
            Condition::Present(kind) => self.space.present(*kind),
            Condition::At(device, position) => self.space.at(*device, *position),
            Condition::All(all) => all.iter().fold(self.space.yes(), |so, c| so.and(&self.states_of(c))),
            Condition::Any(any) => any.iter().fold(self.space.no(), |so, c| so.or(&self.states_of(c))),
            Condition::Not(inner) => self.states_of(inner).not(),
        }
    }

    fn moves_due(&self) -> Vec<(DeviceIx, u8, Bdd)> {
        let mut due = Vec::new();
        for (k, gear) in self.plant.gear.iter().enumerate() {
            let Control::Automatic(rules) = &gear.control else { continue };
            let device = DeviceIx(k);
            let mut earlier = self.space.no();
            let mut wanted = vec![self.space.no(); gear.positions.len()];
            for rule in rules {
                let holds = self.states_of(&rule.when);
                if let Some(slot) = wanted.get_mut(usize::from(rule.position)) {
                    *slot = slot.or(&holds.and_not(&earlier));
                }
                earlier = earlier.or(&holds);
            }
            for (position, wanted) in (0u8..).zip(wanted) {
                let elsewhere = wanted.and_not(&self.space.at(device, position));
                if !elsewhere.is_false() {
                    due.push((device, position, elsewhere));
                }
            }
        }
        due
    }

    /// Whether an interlock speaks of a device.
    pub fn locked(&self, device: DeviceIx) -> bool {
        self.plant.interlocks.iter().any(|lock| lock.forbids.iter().any(|(d, _)| *d == device))
    }

    /// States in which some device is about to move.
    pub fn something_due(&self) -> Bdd {
        self.due.iter().fold(self.space.no(), |any, (_, _, due)| any.or(due))
    }

    /// States in which manual gear stands as in normal operation.
    pub fn at_rest(&self) -> Bdd {
        let manual = self.plant.gear.iter().enumerate().filter(|(_, g)| g.control == Control::Manual);
        manual.fold(self.space.yes(), |all, (k, g)| all.and(&self.space.at(DeviceIx(k), g.normal)))
    }
}
