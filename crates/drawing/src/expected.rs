//! What a drawing has to show, taken from the plant and not from any layout.

use std::collections::{BTreeMap, BTreeSet};

use plant::SourceKind;
use plant::full::{BondPlace, FullPlant, NeutralPath, NodeKind, Part, PartKind};

use crate::facts::{Facts, State, array_of, follower_role, node_role, role_of, sources};
use crate::scene::Live;
use crate::single_line::arrays_apart;

/// What a drawing has to show.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Expected {
    /// The net that each terminal is on. Terminals of a net are joined, those of two nets are not.
    pub terminals: BTreeMap<String, String>,
    /// How many parts of the plant the symbols of each role stand for.
    pub counts: BTreeMap<String, usize>,
    /// Which contacts are drawn closed.
    pub closed: BTreeMap<String, bool>,
    /// Contacts that move together or are interlocked.
    pub linked: Vec<BTreeSet<String>>,
    /// Which source each net is live from; empty where no state is drawn.
    pub live: BTreeMap<String, Live>,
    /// What is drawn to scale.
    pub outlines: BTreeMap<String, Outline>,
    /// Words that stand by a symbol or in an outline; of each entry one of its spellings.
    pub labels: BTreeMap<String, Vec<Vec<String>>>,
    /// Rows of lists, words from left to right.
    pub rows: Vec<Vec<String>>,
}

/// A thing on a wall, from its lower left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// From the left end, in metres.
    pub left_m: f64,
    /// Above the floor, in metres.
    pub bottom_m: f64,
    /// Width, in metres.
    pub width_m: f64,
    /// Height, in metres.
    pub height_m: f64,
}

impl Expected {
    fn terminal(&mut self, terminal: String, net: &str) {
        self.terminals.insert(terminal, net.to_owned());
    }
}

/// Both ends are on the DC side.
pub(crate) fn direct(plant: &FullPlant, part: &Part) -> bool {
    [part.from, part.to].iter().all(|n| plant.nodes.get(n.0).is_some_and(|n| n.kind == NodeKind::Dc))
}

/// Whether the single-line diagram shows a part: all but the strings behind the DC bus.
fn on_single_line(plant: &FullPlant, apart: bool, part: &Part) -> bool {
    let elsewhere = direct(plant, part) || (apart && array_of(&part.id).is_some());
    !elsewhere || part.id.starts_with("unit.")
}

fn parts(e: &mut Expected, plant: &FullPlant, positions: &[u8], shown: impl Fn(&Part) -> bool) {
    for part in plant.parts.iter().filter(|part| shown(part)) {
        let role = role_of(part);
        for (pin, node) in [(1, part.from), (2, part.to)] {
            e.terminal(format!("{role}:{pin}"), &node_role(plant, node));
        }
        if part.kind != PartKind::Conductor {
            let closed = plant.closed(part, positions);
            *e.closed.entry(role.clone()).or_insert(false) |= closed;
        }
        *e.counts.entry(role).or_default() += 1;
    }
}

/// Contacts of one device, and those of an interlock.
fn linked(plant: &FullPlant, shown: impl Fn(&Part) -> bool) -> Vec<BTreeSet<String>> {
    let of = |devices: &[usize]| -> BTreeSet<String> {
        let parts = plant.parts.iter().filter(|part| shown(part));
        parts
            .filter(|p| p.moved_by.is_some_and(|(device, _)| devices.contains(&device.0)))
            .map(role_of)
            .collect()
    };
    let devices = (0..plant.gear.len()).map(|k| of(&[k]));
    let interlocks = plant.interlocks.iter().map(|i| {
        let devices: Vec<usize> = i.forbids.iter().map(|(device, _)| device.0).collect();
        of(&devices)
    });
    let mut all: Vec<BTreeSet<String>> = devices.chain(interlocks).filter(|set| set.len() > 1).collect();
    all.sort();
    all.dedup();
    all
}

/// Array inverters at their terminals.
fn followers(e: &mut Expected, plant: &FullPlant, shown: impl Fn(&str) -> bool) {
    for follower in &plant.followers {
        let role = follower_role(follower);
        if shown(&role) {
            e.terminal(format!("{role}:1"), &node_role(plant, follower.node));
            *e.counts.entry(role).or_default() += 1;
        }
    }
}

/// Arrays on panels that a sheet of their own shows.
pub fn arrays(plant: &FullPlant, names: &[String]) -> Expected {
    let mut e = Expected::default();
    let of = |id: &str| names.iter().any(|name| array_of(id) == Some(name.as_str()));
    let shown = |part: &Part| !direct(plant, part) && of(&part.id);
    parts(&mut e, plant, &normal(plant), shown);
    followers(&mut e, plant, of);
    e.linked = linked(plant, shown);
    e
}

/// Positions in normal operation.
pub(crate) fn normal(plant: &FullPlant) -> Vec<u8> {
    plant.gear.iter().map(|g| g.normal).collect()
}

/// The single-line diagram, in normal operation or in a state.
pub fn single_line(plant: &FullPlant, state: Option<&State>) -> Expected {
    let mut e = Expected::default();
    let positions = state.map_or_else(|| normal(plant), |s| s.positions.clone());
    let apart = arrays_apart(plant);
    let shown = |part: &Part| on_single_line(plant, apart, part);
    parts(&mut e, plant, &positions, shown);
    e.linked = linked(plant, shown);
    for supply in &plant.supplies {
        let name = if supply.kind == SourceKind::Generator { "generator" } else { "utility" };
        e.terminal(format!("source.{name}:1"), &node_role(plant, supply.node));
    }
    for bond in &plant.bonds {
        e.terminal(format!("{}:1", bond.id), &node_role(plant, bond.node));
    }
    for former in &plant.formers {
        let node = node_role(plant, former.node);
        let own = former.moved_by.filter(|(device, _)| own_breaker(plant, device.0));
        match own {
            None => e.terminal(format!("{}:1", former.id), &node),
            Some((device, at)) => {
                let id = plant.gear.get(device.0).map_or("", |g| g.id.as_str());
                e.terminal(format!("{id}.breaker:1"), &node);
                e.terminal(format!("{id}.breaker:2"), "former.terminals");
                e.terminal(format!("{}:1", former.id), "former.terminals");
                e.closed.insert(format!("{id}.breaker"), positions.get(device.0) == Some(&at));
                e.counts.insert(format!("{id}.breaker"), 1);
            }
        }
    }
    if !apart {
        followers(&mut e, plant, |_| true);
    }
    e.terminal("unit.bridge:1".to_owned(), "unit.ac");
    e.terminal("unit.bridge:2".to_owned(), "unit.dc");
    e.counts.insert("unit.bridge".to_owned(), plant.units.len());
    e.terminal("battery:1".to_owned(), &node_role(plant, plant.dc_bus));
    if let Some(state) = state {
        e.live = sources(plant, state);
        e.live.insert("former.terminals".to_owned(), former_live(plant, state, &e.live));
    }
    e
}

/// A device that moves no part of its own: the former's breaker.
pub(crate) fn own_breaker(plant: &FullPlant, device: usize) -> bool {
    !plant.parts.iter().any(|p| p.moved_by.is_some_and(|(d, _)| d.0 == device))
}

pub(crate) fn former_live(plant: &FullPlant, state: &State, live: &BTreeMap<String, Live>) -> Live {
    let former = plant.formers.first();
    let closed = former.and_then(|f| f.moved_by).is_none_or(|(d, at)| state.positions.get(d.0) == Some(&at));
    let node = former.and_then(|f| live.get(&node_role(plant, f.node))).copied();
    node.filter(|_| closed).unwrap_or(Live::Dead)
}

/// The DC side.
pub fn dc(plant: &FullPlant) -> Expected {
    let mut e = Expected::default();
    let shown = |part: &Part| direct(plant, part);
    parts(&mut e, plant, &normal(plant), shown);
    e.linked = linked(plant, shown);
    e.terminal("unit.bridge:2".to_owned(), "unit.dc");
    e.counts.insert("unit.bridge".to_owned(), plant.units.len());
    for node in battery_nodes(plant) {
        e.terminal(format!("battery {node}:1"), &node);
    }
    for node in array_nodes(plant) {
        e.terminal(format!("modules {node}:1"), &node);
    }
    for node in inverter_nodes(plant) {
        e.terminal(format!("input {node}:1"), &node);
    }
    e
}

/// Where modules of arrays are joined: the ends of the DC side that an array has.
pub(crate) fn array_nodes(plant: &FullPlant) -> Vec<String> {
    ends(plant)
        .into_iter()
        .filter(|(node, count)| *count == 1 && array_of(node).is_some() && !of_inverter(node))
        .map(|(n, _)| n)
        .collect()
}

/// Where strings end at array inverters.
pub(crate) fn inverter_nodes(plant: &FullPlant) -> Vec<String> {
    let all = ends(plant).into_keys();
    all.filter(|node| array_of(node).is_some() && of_inverter(node)).collect()
}

fn of_inverter(node: &str) -> bool {
    node.ends_with(".inverter.terminals")
}

/// How many kinds of part of the DC side end at each node.
fn ends(plant: &FullPlant) -> BTreeMap<String, usize> {
    let mut ends: BTreeMap<String, usize> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for part in plant.parts.iter().filter(|p| direct(plant, p)) {
        if seen.insert(role_of(part)) {
            for node in [part.from, part.to] {
                *ends.entry(node_role(plant, node)).or_default() += 1;
            }
        }
    }
    ends
}

/// Where batteries are joined: the ends of the DC side that no unit has; without any, the DC bus.
pub(crate) fn battery_nodes(plant: &FullPlant) -> Vec<String> {
    let bus = node_role(plant, plant.dc_bus);
    let leaf = |(node, count): (String, usize)| {
        let others = node.starts_with("unit.") || array_of(&node).is_some();
        (count == 1 && node != bus && !others).then_some(node)
    };
    let leaves: Vec<String> = ends(plant).into_iter().filter_map(leaf).collect();
    if leaves.is_empty() { vec![bus] } else { leaves }
}

/// One unit and its gear with every conductor. Terminals are `role:conductor:pin`.
pub fn three_line(plant: &FullPlant) -> Expected {
    let mut e = Expected::default();
    let Some(unit) = plant.units.first() else { return e };
    let lines: Vec<String> = unit.legs.iter().map(ToString::to_string).collect();
    let positions = normal(plant);
    let own = |part: &&Part| {
        let of = [part.from, part.to]
            .iter()
            .any(|n| plant.nodes.get(n.0).is_some_and(|n| n.unit == Some(unit.number)));
        of && !direct(plant, part)
    };
    // what a part passes on without a symbol is one net
    let mut same: Vec<(String, String)> = Vec::new();
    let neutral = |node: plant::NodeIx| plant.nodes.get(node.0).is_some_and(|n| n.neutral);
    for part in plant.parts.iter().filter(own) {
        let role = role_of(part);
        let conductor = part.kind == PartKind::Conductor;
        let mut each = lines.clone();
        let has_neutral = neutral(part.from) && neutral(part.to) && unit.neutral;
        if has_neutral && (conductor || part.neutral == NeutralPath::Switched) {
            each.push("N".to_owned());
        }
        for line in &each {
            for (pin, node) in [(1, part.from), (2, part.to)] {
                e.terminal(format!("{role}:{line}:{pin}"), &format!("{}:{line}", node_role(plant, node)));
            }
        }
        if has_neutral && !conductor && part.neutral == NeutralPath::Solid {
            same.push((
                format!("{}:N", node_role(plant, part.to)),
                format!("{}:N", node_role(plant, part.from)),
            ));
        }
        if !conductor {
            for line in &each {
                e.closed.insert(format!("{role}:{line}"), plant.closed(part, &positions));
            }
            if each.len() > 1 {
                e.linked.push(each.iter().map(|line| format!("{role}:{line}")).collect());
            }
        }
    }
    let bridge = if unit.neutral { [lines, vec!["N".to_owned()]].concat() } else { lines };
    for line in bridge {
        e.terminal(format!("unit.bridge:{line}"), &format!("unit.ac:{line}"));
    }
    e.terminal("unit.bridge:dc".to_owned(), "unit.dc");
    e.terminal("onward:dc".to_owned(), "unit.dc");
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    let root = |names: &BTreeMap<String, String>, net: &String| {
        let mut net = net;
        while let Some(next) = names.get(net) {
            net = next;
        }
        net.clone()
    };
    for (one, other) in same {
        let (one, other) = (root(&names, &one), root(&names, &other));
        if one != other {
            names.insert(one, other);
        }
    }
    for net in e.terminals.values_mut() {
        *net = root(&names, net);
    }
    e
}

/// Where neutral and ground are joined, and the sizes of what bonds and earths.
pub fn grounding(facts: &Facts) -> Expected {
    let mut e = Expected::default();
    let plant = &facts.plant;
    for bond in &plant.bonds {
        e.terminal(format!("{}:1", bond.id), &format!("{}:neutral", node_role(plant, bond.node)));
        let own = own_electrode(plant, bond);
        e.terminal(format!("{}:2", bond.id), if own { "supplier's electrode" } else { "ground" });
        if own {
            e.terminal("supplier.electrode:1".to_owned(), "supplier's electrode");
        }
    }
    e.terminal("electrode:1".to_owned(), "ground");
    for conductor in &facts.earthing {
        let bond = plant.bonds.iter().find(|b| jumper_role(b) == conductor.role);
        let at = bond.map_or("electrode", |b| b.id.as_str());
        e.labels.entry(at.to_owned()).or_default().push(vec![dossier::spelled(&conductor.size)]);
    }
    e
}

/// Role path of the jumper that makes a bond.
pub(crate) fn jumper_role(bond: &plant::full::Bond) -> String {
    format!("{}.jumper", bond.id)
}

/// The supplier's electrode is not joined to the installation's: a TT system.
pub(crate) fn own_electrode(plant: &FullPlant, bond: &plant::full::Bond) -> bool {
    plant.earthing == site::Earthing::Tt && bond.place == BondPlace::Supplier
}
