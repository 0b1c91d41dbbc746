//! The network in the solver's own order: voltages in slots, free nodes first in the order of elimination, then
//! held and dead ones, earth last at 0 V.

use std::collections::BTreeSet;

use num_complex::Complex64;

use super::Network;
use super::order::Order;
use super::part::{Element, Load, Node, Zip};
use super::topology::Topology;

/// Where each node lies.
#[derive(Debug, Clone)]
pub(super) struct Slots {
    pub of_node: Vec<usize>,
    /// Free slots come first; this many.
    pub free: usize,
    /// Slots in all, earth included; earth is the last.
    pub all: usize,
    /// Free nodes of each position.
    pub sizes: Vec<usize>,
    /// Position and place within it of each free slot.
    pub place: Vec<(usize, usize)>,
}

impl Slots {
    pub fn of(network: &Network, topology: &Topology, order: &Order) -> Self {
        let nodes = network.nodes();
        let mut slots =
            Self { of_node: vec![0; nodes], free: 0, all: nodes + 1, sizes: Vec::new(), place: Vec::new() };
        let fixed = |node: &usize| topology.held.contains_key(node) || topology.dead.contains(node);
        for (position, bus) in order.bus.iter().enumerate() {
            let b = &network.buses[*bus];
            let mut size = 0;
            for node in (b.first..b.first + b.conductors.len()).filter(|node| !fixed(node)) {
                slots.of_node[node] = slots.place.len();
                slots.place.push((position, size));
                size += 1;
            }
            slots.sizes.push(size);
        }
        slots.free = slots.place.len();
        for (k, node) in (0..nodes).filter(fixed).enumerate() {
            slots.of_node[node] = slots.free + k;
        }
        slots
    }

    pub fn slot(&self, node: Node) -> usize {
        node.map_or(self.all - 1, |node| self.of_node[node])
    }
}

/// An element between slots.
#[derive(Debug, Clone)]
pub(super) struct FlatElement {
    pub terms: Vec<Vec<(usize, f64)>>,
    pub y_s: Vec<Complex64>,
    /// The two ends of each loop where all loops are plain differences (lines, bonds, shunts).
    pub ends: Option<Vec<(usize, usize)>>,
}

impl FlatElement {
    fn of(element: &Element, slots: &Slots) -> Self {
        let terms: Vec<Vec<(usize, f64)>> =
            element.terms.iter().map(|t| t.iter().map(|(n, c)| (slots.of_node[*n], *c)).collect()).collect();
        let pair = |t: &Vec<(usize, f64)>| match t.as_slice() {
            [(a, 1.0), (b, -1.0)] => Some((*a, *b)),
            _ => None,
        };
        let few = (1..=MOST_LOOPS).contains(&terms.len());
        let ends = if few { terms.iter().map(pair).collect() } else { None };
        Self { terms, y_s: element.y_s.clone(), ends }
    }
}

/// Loops of an element that are evaluated without allocation.
pub(super) const MOST_LOOPS: usize = 4;

/// The constant power of a load that has nothing else: what the inner loop reads.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlainLoad {
    pub a: usize,
    pub b: usize,
    /// conj(S); zero where the load is not plain.
    pub s_conj: Complex64,
}

/// A load between slots.
#[derive(Debug, Clone, Copy)]
pub(super) struct FlatLoad {
    pub a: usize,
    pub b: usize,
    /// conj(S).
    s_conj: Complex64,
    k: Complex64,
    /// Admittance as it is now, and as it was factored.
    pub y: Complex64,
    pub y_factored: Complex64,
    limit_a: f64,
    /// Neither constant current, admittance beside the factored one, nor limit.
    plain: bool,
}

/// Change of a load's current: dI = own dV + conj conj(dV).
pub(super) struct Slope {
    /// The part of the current that the load scale multiplies.
    pub scaled: Complex64,
    pub own: Complex64,
    pub conj: Complex64,
}

impl FlatLoad {
    pub fn of(load: &Load, slots: &Slots) -> Self {
        let [a, b] = load.ends.map(|node| slots.slot(node));
        let mut flat = Self {
            a,
            b,
            s_conj: Complex64::default(),
            k: Complex64::default(),
            y: Complex64::default(),
            y_factored: load.zip.admittance_s,
            limit_a: load.limit_a,
            plain: true,
        };
        flat.set(&load.zip);
        flat
    }

    fn set(&mut self, zip: &Zip) {
        (self.s_conj, self.k, self.y) = (zip.power_va.conj(), zip.current_a, zip.admittance_s);
        let beside = zip.current_a.norm_sqr() + (self.y - self.y_factored).norm_sqr();
        self.plain = beside <= 0.0 && self.limit_a.is_infinite();
    }

    /// Current at a voltage, beside what the factored admittance carries.
    fn beside_factored(&self, u: Complex64) -> Complex64 {
        self.scaled(u, 1.0) + (self.y - self.y_factored) * u
    }

    /// Current of the constant-power and constant-current part, the power multiplied by `scale`.
    fn scaled(&self, u: Complex64, scale: f64) -> Complex64 {
        let square = u.re * u.re + u.im * u.im;
        let mut current = Complex64::default();
        if self.s_conj != Complex64::default() {
            current = self.s_conj * u * (scale / square);
            let size = current.norm_sqr().sqrt();
            if size > self.limit_a {
                current *= self.limit_a / size;
            }
        }
        if self.k != Complex64::default() {
            current += self.k * u * (scale / square.sqrt());
        }
        current
    }

    /// The whole current at a voltage.
    pub fn current(&self, u: Complex64, scale: f64) -> Complex64 {
        self.scaled(u, scale) + self.y * u
    }

    /// Slope at a voltage.
    pub fn slope(&self, u: Complex64, scale: f64) -> Slope {
        let square = u.norm_sqr();
        let size = square.sqrt();
        let turn = u * u / square;
        let (mut own, mut conj, mut by_scale) = (self.y, Complex64::default(), Complex64::default());
        if self.s_conj != Complex64::default() {
            let power = self.s_conj * scale;
            let full = power.norm_sqr().sqrt();
            if full > self.limit_a * size {
                // I = limit (conj(S)/|S|) u/|u|: as a constant current
                let k = power * (self.limit_a / full) / (2.0 * size);
                (own, conj) = (own + k, conj - k * turn);
            } else {
                // I = conj(S) / conj(u)
                conj -= power / (u.conj() * u.conj());
                by_scale += self.s_conj * u / square;
            }
        }
        if self.k != Complex64::default() {
            let k = self.k * (scale / (2.0 * size));
            (own, conj) = (own + k, conj - k * turn);
            by_scale += self.k * u / size;
        }
        Slope { scaled: by_scale, own, conj }
    }

    /// Whether its injection is at its limit.
    pub fn at_limit(&self, u: Complex64) -> bool {
        self.s_conj.norm_sqr().sqrt() > self.limit_a * u.norm_sqr().sqrt()
    }
}

/// A source with impedance between slots. Its loops stand side by side in all lists of loops.
#[derive(Debug, Clone)]
pub(super) struct FlatSource {
    /// Number in the network.
    pub number: usize,
    /// Position of its bus.
    pub position: usize,
    /// First loop.
    pub first: usize,
    pub ends: Vec<(usize, usize)>,
    pub emf_v: Vec<Complex64>,
    pub z_ohm: Vec<Complex64>,
    pub y_s: Vec<Complex64>,
    pub limit_a: Vec<f64>,
}

/// Everything between slots.
#[derive(Debug, Clone)]
pub(super) struct Flat {
    pub elements: Vec<FlatElement>,
    /// `None` for a load without supply.
    pub loads: Vec<Option<FlatLoad>>,
    /// For each load.
    plain: Vec<PlainLoad>,
    /// Loads with supply that are not plain.
    others: BTreeSet<usize>,
    pub sources: Vec<FlatSource>,
    /// Loops of all sources.
    pub loops: usize,
}

impl Flat {
    pub fn of(network: &Network, topology: &Topology, order: &Order, slots: &Slots) -> Self {
        let elements = network.elements.iter().map(|e| FlatElement::of(e, slots));
        let dead = |ends: &[Node; 2]| ends.iter().flatten().any(|node| topology.dead.contains(node));
        let loads = network.loads.iter().map(|l| (!dead(&l.ends)).then(|| FlatLoad::of(l, slots)));
        let (mut sources, mut loops) = (Vec::new(), 0);
        for (number, s) in network.sources.iter().enumerate() {
            if s.z_ohm.is_empty() || s.ends.iter().any(dead) {
                continue;
            }
            sources.push(FlatSource {
                number,
                position: order.position[s.bus.0],
                first: loops,
                ends: s.ends.iter().map(|[a, b]| (slots.slot(*a), slots.slot(*b))).collect(),
                emf_v: s.emf_v.clone(),
                z_ohm: s.z_ohm.clone(),
                y_s: s.y_s.clone(),
                limit_a: s.limit_a.clone(),
            });
            loops += s.ends.len();
        }
        let mut flat = Self {
            elements: elements.collect(),
            loads: loads.collect(),
            plain: Vec::new(),
            others: BTreeSet::new(),
            sources,
            loops,
        };
        flat.plain = vec![PlainLoad { a: 0, b: 0, s_conj: Complex64::default() }; flat.loads.len()];
        (0..flat.loads.len()).for_each(|k| flat.sort_in(k));
        flat
    }

    /// Changes a load.
    pub fn set(&mut self, k: usize, zip: &Zip) {
        if let Some(Some(load)) = self.loads.get_mut(k) {
            load.set(zip);
            self.sort_in(k);
        }
    }

    /// Puts a load among the plain ones or the others.
    fn sort_in(&mut self, k: usize) {
        let (Some(Some(load)), Some(plain)) = (self.loads.get(k), self.plain.get_mut(k)) else { return };
        let s_conj = if load.plain { load.s_conj } else { Complex64::default() };
        *plain = PlainLoad { a: load.a, b: load.b, s_conj };
        if load.plain == self.others.contains(&k) {
            if load.plain {
                self.others.remove(&k)
            } else {
                self.others.insert(k)
            };
        }
    }

    /// Takes the currents of all loads, beside what their factored admittances carry, from what is injected.
    pub fn inject_loads(&self, v: &[Complex64], injected: &mut [Complex64]) {
        let earth = v.len().saturating_sub(1);
        for load in &self.plain {
            // no power, no current: also at 0 V
            if load.s_conj == Complex64::default() {
                continue;
            }
            let u = v[load.a] - v[load.b];
            let i = load.s_conj * u * (1.0 / (u.re * u.re + u.im * u.im));
            injected[load.a] -= i;
            // nobody reads what earth gets; adding it up would make each load wait for the one before
            if load.b != earth {
                injected[load.b] += i;
            }
        }
        for load in self.others.iter().filter_map(|k| self.loads[*k].as_ref()) {
            let i = load.beside_factored(v[load.a] - v[load.b]);
            injected[load.a] -= i;
            injected[load.b] += i;
        }
    }
}

impl FlatSource {
    /// E_j - u_j at slot voltages.
    #[inline]
    pub fn drive(&self, j: usize, v: &[Complex64]) -> Complex64 {
        let (a, b) = self.ends[j];
        self.emf_v[j] - v[a] + v[b]
    }

    /// Current of loop j without a limit.
    #[inline]
    pub fn unlimited(&self, j: usize, v: &[Complex64]) -> Complex64 {
        let n = self.ends.len();
        (0..n).map(|k| self.y_s[j * n + k] * self.drive(k, v)).sum()
    }

    /// What loop j keeps for its own impedance: E_j - u_j - sum over the other loops of z_jk J_k.
    pub fn own_drive(&self, j: usize, v: &[Complex64], currents: &[Complex64]) -> Complex64 {
        let n = self.ends.len();
        let others: Complex64 =
            (0..n).filter(|k| *k != j).map(|k| self.z_ohm[j * n + k] * currents[self.first + k]).sum();
        self.drive(j, v) - others
    }

    pub fn z(&self, j: usize, k: usize) -> Complex64 {
        self.z_ohm[j * self.ends.len() + k]
    }
}
