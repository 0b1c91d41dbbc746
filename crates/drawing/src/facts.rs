//! What drawings are made of, handed in; and what follows from the graph alone: names, and which source reaches a node.

use std::collections::{BTreeMap, BTreeSet};

use catalog::DcDeviceKind;
use design::{EarthConductor, Wire};
use place::link::LinkPlan;
use place::wall::WallPlan;
use plant::full::{Follower, FullPlant, NeutralPath, NodeKind, Part, PartKind, gathered};
use plant::{NodeIx, SourceKind};
use site::{Earthing, Units};

use crate::scene::{A3, ANSI_B, Live, Sheet};
use crate::symbol::SymbolKind;

pub(crate) use plant::full::{all_together, array_of, role_of};

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
    /// Conductors that bond and earth, as the book sizes them; empty where none was sized.
    pub earthing: Vec<EarthConductor>,
    /// Its states.
    pub states: Vec<State>,
    /// Kind of the overcurrent devices of the direct-current side, by role.
    pub devices: BTreeMap<String, DcDeviceKind>,
    /// What stands for the record of a part, by role: name and figures.
    pub records: BTreeMap<String, String>,
    /// Residual current devices in words, by the role of the breaker beside them or of the panel ahead of whose circuits
    /// they stand.
    pub residual: BTreeMap<String, String>,
    /// What the single line names at a place without following it, by the place: "utility" (the meter), "main" and
    /// "backup" (what else these panels feed).
    pub outgoing: BTreeMap<String, Vec<String>>,
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

/// Role path of a node, like nodes gathered.
pub(crate) fn node_role(plant: &FullPlant, node: NodeIx) -> String {
    gathered(plant.nodes.get(node.0).map_or("", |n| n.id.as_str()))
}

/// Role path of an array inverter, like ones gathered.
pub(crate) fn follower_role(follower: &Follower) -> String {
    format!("{}.follower", gathered(&follower.id))
}

/// So many of a thing; of one the thing alone.
pub(crate) fn several(count: usize, what: &str) -> String {
    if count == 1 { what.to_owned() } else { format!("{count} x {what}") }
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
