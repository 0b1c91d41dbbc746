//! What drawings are made of, handed in; and what follows from the graph alone: names, and which source reaches a node.

use std::collections::{BTreeMap, BTreeSet};

use catalog::DcDeviceKind;
use design::Wire;
use place::link::LinkPlan;
use place::wall::WallPlan;
use plant::full::{Follower, FullPlant, NeutralPath, NodeKind, Part, PartKind};
use plant::{NodeIx, SourceKind};
use site::{Earthing, Units};

use crate::scene::{A3, ANSI_B, Live, Sheet};
use crate::symbol::SymbolKind;

/// Words of the title block and notes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Texts {
    /// Name of the site.
    pub site: String,
    /// Revision.
    pub revision: String,
    /// Date, as given; nothing is put in its place.
    pub date: Option<String>,
    /// The catalogue is the demo one.
    pub demo: bool,
    /// Cautions, as notes.
    pub cautions: Vec<String>,
}

/// One operating state.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct State {
    /// Short name.
    pub name: String,
    /// Sources and positions in words.
    pub situation: String,
    /// Position of each device of the full plant.
    pub positions: Vec<u8>,
    /// The utility is there.
    pub utility: bool,
    /// The generator runs.
    pub generator: bool,
    /// The battery holds.
    pub battery: bool,
    /// The group forms a voltage of its own.
    pub forms: bool,
    /// Currents of each role on L1, L2, L3 and neutral, in amperes, those of all units together.
    pub currents_a: BTreeMap<String, [f64; 4]>,
    /// What has to be said of it.
    pub notes: Vec<String>,
}

/// Everything that a set of drawings shows.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The plant.
    pub plant: FullPlant,
    /// Its conductors.
    pub wires: Vec<Wire>,
    /// Its states.
    pub states: Vec<State>,
    /// Kind of the overcurrent devices of the direct-current side, by role.
    pub devices: BTreeMap<String, DcDeviceKind>,
    /// What stands for the record of a part, by role: name and figures.
    pub records: BTreeMap<String, String>,
    /// The wall with its gear.
    pub wall: Option<WallPlan>,
    /// Links between the units.
    pub links: Option<LinkPlan>,
    /// How lengths and masses are written.
    pub units: Units,
    /// Words.
    pub texts: Texts,
}

/// A US site: other symbols, sheets and words.
pub(crate) fn us(plant: &FullPlant) -> bool {
    plant.earthing == Earthing::Us
}

/// The sheet that a region uses.
pub(crate) fn sheet(plant: &FullPlant) -> Sheet {
    if us(plant) { ANSI_B } else { A3 }
}

/// Role path without numbers of units, and of an array without those of its like parts; its own name stays whole.
fn gathered(id: &str) -> String {
    let digits = |piece: &str| !piece.is_empty() && piece.chars().all(|c| c.is_ascii_digit());
    let Some(array) = array_of(id) else {
        return id.split('.').filter(|piece| !digits(piece)).collect::<Vec<_>>().join(".");
    };
    let rest = id.strip_prefix(array).unwrap_or_default();
    let pieces = rest.split('.').map(|piece| match piece.rsplit_once(' ') {
        Some((word, number)) if digits(number) => word,
        _ => piece,
    });
    let mut all = vec![array];
    all.extend(pieces.filter(|piece| !digits(piece) && !piece.is_empty()));
    all.join(".")
}

/// The array that a part, node or inverter belongs to: the beginning of its role path.
pub(crate) fn array_of(id: &str) -> Option<&str> {
    let rest = id.strip_prefix("array ").or(id.strip_prefix("array."))?;
    let own = rest.split('.').next().unwrap_or(rest);
    id.get(..id.len() - rest.len() + own.len())
}

/// Role path of a part, like parts gathered.
pub(crate) fn role_of(part: &Part) -> String {
    gathered(&part.id)
}

/// Role path of a node, like nodes gathered.
pub(crate) fn node_role(plant: &FullPlant, node: NodeIx) -> String {
    gathered(plant.nodes.get(node.0).map_or("", |n| n.id.as_str()))
}

/// Role path of an array inverter, like ones gathered.
pub(crate) fn follower_role(follower: &Follower) -> String {
    format!("{}.follower", gathered(&follower.id))
}

/// Designation of each role: class letter and running number, in the order of the plant. Contacts of one device have
/// that device's.
pub(crate) fn designations(plant: &FullPlant) -> BTreeMap<String, String> {
    let mut next: BTreeMap<char, usize> = BTreeMap::new();
    let mut devices: BTreeMap<String, String> = BTreeMap::new();
    let mut all = BTreeMap::new();
    let mut number = |class: char| {
        let number = next.entry(class).or_default();
        *number += 1;
        format!("-{class}{number}")
    };
    for part in &plant.parts {
        let role = role_of(part);
        if all.contains_key(&role) {
            continue;
        }
        let device = part.moved_by.and_then(|(d, _)| plant.gear.get(d.0)).filter(|g| g.unit.is_none());
        let name = match device {
            Some(gear) => devices.entry(gear.id.clone()).or_insert_with(|| number(part.class)).clone(),
            None => number(part.class),
        };
        all.insert(role, name);
    }
    for former in &plant.formers {
        let gear = former.moved_by.and_then(|(device, _)| plant.gear.get(device.0));
        if let Some(gear) = gear.filter(|g| !devices.contains_key(&g.id)) {
            all.insert(format!("{}.breaker", gear.id), number('Q'));
        }
        all.insert(former.id.clone(), number('T'));
    }
    all
}

/// The first part of a role, and how many there are.
pub(crate) fn of_role<'a>(plant: &'a FullPlant, role: &str) -> Option<(&'a Part, usize)> {
    let mut all = plant.parts.iter().filter(|p| role_of(p) == role);
    let first = all.next()?;
    Some((first, all.count() + 1))
}

/// Which source each node is live from in a state, by role; the utility before the generator before the group.
pub(crate) fn sources(plant: &FullPlant, state: &State) -> BTreeMap<String, Live> {
    let mut live: Vec<Live> = vec![Live::Dead; plant.nodes.len()];
    let outside = |kind: SourceKind| plant.supply(kind).into_iter().collect::<Vec<_>>();
    let units = plant.units.iter().map(|u| u.ac).collect::<Vec<_>>();
    for (there, from, what) in [
        (state.utility, outside(SourceKind::Utility), Live::Utility),
        (state.generator, outside(SourceKind::Generator), Live::Generator),
        (state.forms, units, Live::Group),
    ] {
        let mut next = if there { from } else { Vec::new() };
        while let Some(node) = next.pop() {
            match live.get_mut(node.0) {
                Some(at) if *at == Live::Dead => *at = what,
                _ => continue,
            }
            for part in plant.parts.iter().filter(|p| p.lines && plant.closed(p, &state.positions)) {
                for (here, there) in [(part.from, part.to), (part.to, part.from)] {
                    if here == node {
                        next.push(there);
                    }
                }
            }
        }
    }
    for (node, live) in plant.nodes.iter().zip(&mut live) {
        if node.kind == NodeKind::Dc && state.battery {
            *live = Live::Group;
        }
    }
    let mut all: BTreeMap<String, Live> = BTreeMap::new();
    for (k, live) in live.into_iter().enumerate() {
        let entry = all.entry(node_role(plant, NodeIx(k))).or_insert(live);
        // of gathered nodes, what is live anywhere is shown live
        *entry = (*entry).min(live);
    }
    all
}

/// Nodes that the neutral of a node reaches with every device where `positions` say.
pub(crate) fn neutral_from(plant: &FullPlant, start: NodeIx, positions: &[u8]) -> BTreeSet<NodeIx> {
    let mut reached = BTreeSet::new();
    let mut next = vec![start];
    while let Some(node) = next.pop() {
        if !plant.nodes.get(node.0).is_some_and(|n| n.neutral) || !reached.insert(node) {
            continue;
        }
        for part in &plant.parts {
            let joins = match part.neutral {
                NeutralPath::Solid => true,
                NeutralPath::Switched => plant.closed(part, positions),
                NeutralPath::Absent => false,
            };
            for (here, there) in [(part.from, part.to), (part.to, part.from)] {
                if joins && here == node {
                    next.push(there);
                }
            }
        }
    }
    reached
}

/// The symbol of a part. Of a protective device without a position and without a record the kind is not known.
pub(crate) fn symbol_of(facts: &Facts, part: &Part) -> SymbolKind {
    let kind = facts.devices.get(&role_of(part));
    match (part.kind, kind) {
        (PartKind::Conductor, _) => SymbolKind::Run,
        (PartKind::Breaker, Some(DcDeviceKind::Breaker)) => SymbolKind::Breaker,
        (PartKind::Breaker, Some(DcDeviceKind::Fuse)) => SymbolKind::Fuse,
        (PartKind::Breaker, Some(DcDeviceKind::FuseSwitch)) => SymbolKind::FuseSwitch,
        (PartKind::Breaker, None) if part.moved_by.is_none() => SymbolKind::Guard,
        (PartKind::Breaker, None) => SymbolKind::Breaker,
        (PartKind::Switch | PartKind::Relay, _) | (PartKind::Breaker, Some(DcDeviceKind::Switch)) => {
            SymbolKind::Contact
        }
        (PartKind::Converter, _) => SymbolKind::Controller,
    }
}
