//! What hangs together: which nodes a source reaches, which have a path of admittances to earth.
//!
//! An ideal transformer fixes only the difference of voltages between its winding's ends, so it joins the two
//! sides for energy, not for potential: a side without a bond of its own floats, whatever feeds it. Loads of
//! constant power or current determine no potential either.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use super::part::{Node, Source};
use super::{BusIx, LoadIx, ModelError, Network};

/// What the network's shape says before any number is solved.
#[derive(Debug, Clone)]
pub(super) struct Topology {
    /// Nodes held at a known voltage: earthed ones and those of sources without impedance.
    pub held: BTreeMap<usize, Complex64>,
    /// Nodes that no source reaches; they are at 0 V and their loads get nothing.
    pub dead: BTreeSet<usize>,
    /// Buses with a node that is energised and has no path to earth.
    pub floating: Vec<BusIx>,
    /// An injection where no source reaches.
    pub follows_nothing: Option<LoadIx>,
}

/// Sets that are joined pairwise.
struct Sets(Vec<usize>);

impl Sets {
    fn new(n: usize) -> Self {
        Self((0..n).collect())
    }

    fn root(&mut self, mut a: usize) -> usize {
        while self.0[a] != a {
            self.0[a] = self.0[self.0[a]];
            a = self.0[a];
        }
        a
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }
}

pub(super) fn topology(network: &Network) -> Result<Topology, ModelError> {
    let n = network.nodes();
    let held = held(network)?;
    let mut live = live(network, n);
    let mut fed = BTreeSet::new();
    for source in &network.sources {
        for (ends, emf) in source.ends.iter().zip(&source.emf_v) {
            if crate::impedance::magnitude(*emf) > 0.0 {
                fed.extend(ends.iter().flatten().map(|node| live.root(*node)));
            }
        }
    }
    let dead: BTreeSet<usize> = (0..n).filter(|node| !fed.contains(&live.root(*node))).collect();
    let mut bound = bound(network, n, &held);
    let earth = bound.root(n);
    let loose: BTreeSet<usize> =
        (0..n).filter(|node| !dead.contains(node) && bound.root(*node) != earth).collect();
    let has_loose =
        |b: &super::model::Bus| loose.range(b.first..b.first + b.conductors.len()).next().is_some();
    let floating =
        network.buses.iter().enumerate().filter(|(_, b)| has_loose(b)).map(|(k, _)| BusIx(k)).collect();
    let is_dead = |ends: &[Node; 2]| ends.iter().flatten().any(|node| dead.contains(node));
    let follows_nothing = network
        .loads
        .iter()
        .position(|l| l.injects && crate::impedance::magnitude(l.zip.power_va) > 0.0 && is_dead(&l.ends))
        .map(LoadIx);
    Ok(Topology { held, dead, floating, follows_nothing })
}

/// Joined for energy: by elements, loads and sources; earth joins nothing.
fn live(network: &Network, n: usize) -> Sets {
    let mut sets = Sets::new(n);
    let mut join = |nodes: &mut dyn Iterator<Item = usize>| {
        if let Some(first) = nodes.next() {
            nodes.for_each(|node| sets.join(first, node));
        }
    };
    for element in &network.elements {
        for terms in &element.terms {
            join(&mut terms.iter().map(|(node, _)| *node));
        }
    }
    for load in &network.loads {
        join(&mut load.ends.iter().flatten().copied());
    }
    for ends in network.sources.iter().flat_map(|s| &s.ends) {
        join(&mut ends.iter().flatten().copied());
    }
    sets
}

/// Joined for potential: galvanically, through admittances; earth is the last set.
fn bound(network: &Network, n: usize, held: &BTreeMap<usize, Complex64>) -> Sets {
    let mut sets = Sets::new(n + 1);
    let mut join = |ends: [Node; 2]| sets.join(ends[0].unwrap_or(n), ends[1].unwrap_or(n));
    for (a, b) in network.elements.iter().flat_map(|e| &e.links) {
        join([*a, *b]);
    }
    for load in &network.loads {
        if crate::impedance::magnitude(load.zip.admittance_s) > 0.0 {
            join(load.ends);
        }
    }
    for ends in network.sources.iter().filter(|s| !s.z_ohm.is_empty()).flat_map(|s| &s.ends) {
        join(*ends);
    }
    for node in held.keys() {
        join([Some(*node), None]);
    }
    sets
}

/// Voltages of the held nodes. A source without impedance must return on earth or on a held node.
fn held(network: &Network) -> Result<BTreeMap<usize, Complex64>, ModelError> {
    let mut held: BTreeMap<usize, Complex64> =
        network.earthed.iter().map(|(_, node)| (*node, Complex64::default())).collect();
    for (k, source) in network.sources.iter().enumerate() {
        if source.z_ohm.is_empty() {
            hold(&format!("source {k}"), source, &mut held)?;
        }
    }
    Ok(held)
}

fn hold(part: &str, source: &Source, held: &mut BTreeMap<usize, Complex64>) -> Result<(), ModelError> {
    let refuse = |why| ModelError::IdealSource { part: part.to_owned(), why };
    for ([from, to], emf) in source.ends.iter().zip(&source.emf_v) {
        let (node, v) = match (from, to) {
            (Some(node), None) => (*node, *emf),
            (None, Some(node)) => (*node, -emf),
            (Some(node), Some(back)) => {
                let v = held.get(back).ok_or_else(|| {
                    refuse("needs its return on earth or on a conductor bonded solidly at its bus")
                })?;
                (*node, v + emf)
            }
            (None, None) => return Err(ModelError::SameEnds { part: part.to_owned() }),
        };
        if held.insert(node, v).is_some() {
            return Err(refuse("holds a conductor that is held already"));
        }
    }
    Ok(())
}
