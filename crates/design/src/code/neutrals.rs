//! Neutrals that lie in parallel: where transfer or bypass gear does not open the neutral with its lines, the neutral
//! current of the panel comes back over every way at once, also through runs whose lines are open.
//!
//! NEC 2023 300.3(B) wants all conductors of a circuit, its neutral too, together in one raceway, and 310.10(G) lets
//! conductors be joined at both ends only from 1/0 AWG on; IEC 60364-5-52 521.8.1 wants the conductors of a circuit
//! together, and 523.7 alike where they are in parallel. Whether such ways are "conductors in parallel" is read in two
//! ways, and much gear of practice is built so: a warning, and what decides is whoever approves the work.

use std::collections::{BTreeMap, BTreeSet};

use finding::{Finding, Severity};
use plant::full::{FullPlant, NeutralPath, NodeKind, Part, PartKind, gathered, role_of};
use saying::say;

use super::Holding;
use crate::Held;

/// Smallest conductor that may be joined with others at both ends (NEC 2023 310.10(G)).
const LEAST: &str = "1/0 AWG";

/// Runs whose neutrals lie in parallel in a position of the gear.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct NeutralWays {
    /// Transfer and bypass gear that joins them, by name.
    pub gear: Vec<String>,
    /// Role paths of the runs, without the number of a unit, in the order of the plant.
    pub runs: Vec<String>,
}

/// The ways; empty where every neutral has one way alone in every position.
pub fn neutral_ways(plant: &FullPlant) -> NeutralWays {
    let mut runs: BTreeSet<String> = BTreeSet::new();
    let mut gear: BTreeSet<String> = BTreeSet::new();
    for positions in positions(plant) {
        let all = edges(plant, &positions);
        for (_, edge) in all.iter().enumerate().filter(|(k, _)| in_ring(&all, *k)) {
            let Some(part) = plant.parts.get(edge.part) else { continue };
            match part.kind {
                PartKind::Conductor => {
                    runs.insert(role_of(part));
                }
                PartKind::Switch if part.neutral == NeutralPath::Solid => {
                    let device = part.moved_by.and_then(|(device, _)| plant.gear.get(device.0));
                    gear.extend(device.map(|g| g.name.clone()));
                }
                _ => {}
            }
        }
    }
    let mut ordered: Vec<String> = Vec::new();
    for role in plant.parts.iter().map(role_of).filter(|role| runs.contains(role)) {
        if !ordered.contains(&role) {
            ordered.push(role);
        }
    }
    NeutralWays { gear: gear.into_iter().collect(), runs: ordered }
}

/// A way of the neutral between two nodes, like units gathered.
struct Edge {
    part: usize,
    ends: (String, String),
}

/// Switching gear as it can stand: a neutral that opens with its lines is closed in one position only.
fn positions(plant: &FullPlant) -> Vec<Vec<u8>> {
    let switched = |part: &&Part| part.kind == PartKind::Switch && part.neutral == NeutralPath::Switched;
    let devices: BTreeSet<usize> =
        plant.parts.iter().filter(switched).filter_map(|p| p.moved_by.map(|(d, _)| d.0)).collect();
    let mut all: Vec<Vec<u8>> = vec![plant.gear.iter().map(|g| g.normal).collect()];
    for device in devices {
        let count = plant.gear.get(device).map_or(0, |g| g.positions.len());
        all = all
            .iter()
            .flat_map(|before| {
                (0..count).filter_map(move |at| {
                    let mut next = before.clone();
                    *next.get_mut(device)? = u8::try_from(at).ok()?;
                    Some(next)
                })
            })
            .collect();
    }
    let forbidden = |at: &Vec<u8>| {
        plant.interlocks.iter().any(|lock| lock.forbids.iter().all(|(d, p)| at.get(d.0) == Some(p)))
    };
    all.retain(|at| !forbidden(at));
    all
}

/// Everything that joins neutrals; breakers and relays may all be closed.
fn edges(plant: &FullPlant, positions: &[u8]) -> Vec<Edge> {
    let neutral = |n: plant::NodeIx| {
        plant.nodes.get(n.0).filter(|n| n.neutral && n.kind != NodeKind::Dc).map(|n| gathered(&n.id))
    };
    let mut all: BTreeMap<(String, String, String), usize> = BTreeMap::new();
    for (k, part) in plant.parts.iter().enumerate().filter(|(_, p)| p.direct.is_none()) {
        let joins = match (part.neutral, part.kind) {
            (NeutralPath::Absent, _) => false,
            (NeutralPath::Switched, PartKind::Switch) => plant.closed(part, positions),
            _ => true,
        };
        let (Some(from), Some(to)) = (neutral(part.from), neutral(part.to)) else { continue };
        if joins && from != to {
            // like parts of all units are one way: beside each other they carry their lines as well
            all.entry((role_of(part), from, to)).or_insert(k);
        }
    }
    all.into_iter().map(|((_, from, to), part)| Edge { part, ends: (from, to) }).collect()
}

/// Whether the ends of a way are joined without it.
fn in_ring(all: &[Edge], without: usize) -> bool {
    let Some(edge) = all.get(without) else { return false };
    let mut reached: BTreeSet<&str> = BTreeSet::new();
    let mut next = vec![edge.ends.0.as_str()];
    while let Some(node) = next.pop() {
        if !reached.insert(node) {
            continue;
        }
        for (k, Edge { ends: (from, to), .. }) in all.iter().enumerate() {
            match () {
                () if k == without => {}
                () if from == node => next.push(to),
                () if to == node => next.push(from),
                () => {}
            }
        }
    }
    reached.contains(edge.ends.1.as_str())
}

/// Holds the plant against it.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    let Some(plant) = assess::prove_plant(h.case) else { return };
    let ways = neutral_ways(&plant);
    if ways.runs.is_empty() {
        return;
    }
    let names = plant::full::designations(&plant);
    let runs: Vec<String> = ways
        .runs
        .iter()
        .map(|role| {
            let name = names.get(role).map_or(role.as_str(), String::as_str);
            let size = h.wire(role).and_then(|w| w.neutral.clone());
            size.map_or_else(|| name.to_owned(), |size| format!("{name} N {size}"))
        })
        .collect();
    let gear = if ways.gear.is_empty() { say!("the gear") } else { ways.gear.join(" and ").into() };
    let message = say!(
        "neutrals lie in parallel through {gear}: the panel's neutral current divides over {runs}, also through runs whose lines are open",
        gear,
        runs = runs.join(", ")
    );
    let (clause, why) = if h.us() {
        let why = say!(
            "neutrals of several runs are joined at both ends by {gear}: whether they count as conductors in parallel, of {least} or larger, is decided by whoever approves the work",
            gear,
            least = LEAST
        );
        ("NEC 2023 300.3(B) and 310.10(G)", Some(why))
    } else {
        ("IEC 60364-5-52 521.8.1 and 523.7 (from memory, confirm)", None)
    };
    if let Some(why) = why {
        h.held.push(Held::outside("parallel-set", "neutrals").because(why));
    }
    let place = h.case.arrangement_place().clone();
    let finding = Finding::new("neutral-in-parallel", Severity::Warning, "neutrals", message).by(clause);
    h.found.push(finding.at(Some(&place), say!("arranged here")).fix(
        say!("gear whose neutral opens with its lines, with the joins of neutral and earth that follow from it; or have the ways approved as they are, each run with its lines and neutral in one raceway"),
    ));
}
