//! A network made ready to be solved: topology, order of elimination and factors once, loads as often as wanted.

use num_complex::Complex64;

use super::block::Layout;
use super::config::Config;
use super::flat::{Flat, Slots};
use super::linear::Linear;
use super::newton::Newton;
use super::order::Order;
use super::part::Zip;
use super::status::NoSolution;
use super::topology::{Topology, topology};
use super::{Event, Go, LoadIx, ModelError, Network, Solution, Status};

/// How much work the last solve and the preparation took.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Complex factorisations since the network was prepared.
    pub factorisations: usize,
    /// Complex systems solved by the last solve.
    pub fixed_point_steps: usize,
    /// Real factorisations by the last solve's continuations.
    pub newton_steps: usize,
    /// Accepted points of the last solve's continuations.
    pub continuation_points: usize,
    /// Changes of the set of loops at their limit in the last solve.
    pub limit_changes: usize,
    /// Whether the block elimination gave way to the dense one.
    pub dense: bool,
}

/// A network ready to be solved.
#[derive(Debug, Clone)]
pub struct Solver {
    pub(super) network: Network,
    pub(super) config: Config,
    pub(super) topology: Topology,
    pub(super) order: Order,
    pub(super) slots: Slots,
    pub(super) flat: Flat,
    layout: Layout,
    linear: Linear<Complex64>,
    /// Currents of the sources at short circuit, and of what held nodes drive.
    base: Vec<Complex64>,
    /// Voltages without constant power and current: where every solve starts.
    pub(super) start_v: Vec<Complex64>,
    pub(super) v: Vec<Complex64>,
    /// Currents of the source loops.
    pub(super) j: Vec<Complex64>,
    pub(super) at_limit: Vec<bool>,
    injected: Vec<Complex64>,
    before: Vec<Complex64>,
    pub(super) spare: Vec<Complex64>,
    pub(super) newton: Option<Box<Newton>>,
    pub(super) work: Work,
    pub(super) status: Option<Status>,
    singular: bool,
}

impl Solver {
    /// Finds islands, orders the buses and factors the admittances.
    ///
    /// # Errors
    /// Settings outside their range, a source without impedance that holds what is held already or returns on a
    /// conductor that nothing holds.
    pub fn new(network: Network, config: Config) -> Result<Self, ModelError> {
        let config = config.checked()?;
        let topology = topology(&network)?;
        let order = Order::of(network.buses.len(), coupled(&network));
        let slots = Slots::of(&network, &topology, &order);
        let flat = Flat::of(&network, &topology, &order, &slots);
        let layout = Layout::new(&order, &slots.sizes);
        let linear = Linear::new(&layout, config.dense);
        let zeros = vec![Complex64::default(); slots.all];
        let mut v = zeros.clone();
        for (node, held) in &topology.held {
            v[slots.of_node[*node]] = *held;
        }
        let mut solver = Self {
            network,
            config,
            topology,
            order,
            linear,
            layout,
            base: zeros.clone(),
            start_v: v.clone(),
            v,
            j: vec![Complex64::default(); flat.loops],
            at_limit: vec![false; flat.loops],
            injected: zeros.clone(),
            before: zeros.clone(),
            spare: zeros,
            newton: None,
            work: Work::default(),
            status: None,
            singular: false,
            slots,
            flat,
        };
        if solver.topology.floating.is_empty() {
            solver.factor();
        }
        Ok(solver)
    }

    /// Assembles and factors the admittances, and solves the network without constant power and current.
    fn factor(&mut self) {
        let (layout, slots) = (&self.layout, &self.slots);
        let mut stamp = |n: usize, m: usize, y: Complex64| {
            if n >= slots.free {
                return;
            }
            if m < slots.free {
                self.linear.add(layout, slots.place[n], slots.place[m], y);
            } else {
                self.base[n] -= y * self.v[m];
            }
        };
        for element in &self.flat.elements {
            let k = element.terms.len();
            for (row, terms) in element.terms.iter().enumerate() {
                for (column, others) in element.terms.iter().enumerate() {
                    let y = element.y_s[row * k + column];
                    for (n, a) in terms {
                        others.iter().for_each(|(m, b)| stamp(*n, *m, y * (a * b)));
                    }
                }
            }
        }
        for load in self.flat.loads.iter().flatten() {
            stamp_pair(&mut stamp, (load.a, load.b), (load.a, load.b), load.y_factored);
        }
        for source in &self.flat.sources {
            let k = source.ends.len();
            for (row, ends) in source.ends.iter().enumerate() {
                for (column, others) in source.ends.iter().enumerate() {
                    stamp_pair(&mut stamp, *ends, *others, source.y_s[row * k + column]);
                }
            }
        }
        for source in &self.flat.sources {
            let k = source.ends.len();
            for (row, (a, b)) in source.ends.iter().enumerate() {
                let i: Complex64 = (0..k).map(|c| source.y_s[row * k + c] * source.emf_v[c]).sum();
                self.base[*a] += i;
                self.base[*b] -= i;
            }
        }
        self.work.factorisations += 1;
        self.singular = !self.linear.factor(&self.layout);
        self.work.dense = self.linear.is_dense() && !self.config.dense;
        self.start_v.copy_from_slice(&self.v);
        if !self.singular {
            self.start_v[..self.slots.free].copy_from_slice(&self.base[..self.slots.free]);
            self.linear.solve(&self.layout, &mut self.start_v[..self.slots.free]);
        }
    }

    /// Changes a load without factoring again. A change of its constant admittance is carried as a current beside
    /// the factored one; only where the admittance comes or goes altogether is everything prepared anew, since it
    /// may have been what held a conductor.
    ///
    /// # Errors
    /// No such load, one that is an injection, or a value that is not finite.
    pub fn set_load(&mut self, load: LoadIx, zip: Zip) -> Result<(), ModelError> {
        let part = self.network.loads.get_mut(load.0).filter(|l| !l.injects);
        let Some(part) = part else {
            return Err(ModelError::NoSuchPart { what: "load", number: load.0 });
        };
        if !zip.is_finite() {
            return Err(ModelError::NotFinite { part: format!("load {}", load.0), what: "load" });
        }
        let had = part.zip.admittance_s.norm_sqr() > 0.0;
        part.zip = zip;
        if had != (zip.admittance_s.norm_sqr() > 0.0) {
            *self = Self::new(std::mem::take(&mut self.network), self.config)?;
        } else {
            self.flat.set(load.0, &zip);
        }
        self.status = None;
        Ok(())
    }

    /// Changes what a following unit gives, without factoring again.
    ///
    /// # Errors
    /// No such injection, or a power that is not finite.
    pub fn set_injection(&mut self, injection: LoadIx, given_va: Complex64) -> Result<(), ModelError> {
        let part = self.network.loads.get_mut(injection.0).filter(|l| l.injects);
        let Some(part) = part else {
            return Err(ModelError::NoSuchPart { what: "injection", number: injection.0 });
        };
        if !given_va.is_finite() {
            return Err(ModelError::NotFinite { part: format!("injection {}", injection.0), what: "power" });
        }
        part.zip = Zip::power(-given_va);
        let zip = part.zip;
        self.flat.set(injection.0, &zip);
        self.topology = topology(&self.network)?;
        self.status = None;
        Ok(())
    }

    /// Solves. The same network gives the same answer, whatever was solved before.
    pub fn solve(&mut self) -> Status {
        self.solve_watched(&mut |_| Go::On)
    }

    /// Solves under the eyes of an observer, who may stop it.
    pub fn solve_watched(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> Status {
        let Work { factorisations, dense, .. } = self.work;
        self.work = Work { factorisations, dense, ..Work::default() };
        self.at_limit.fill(false);
        let status = if !self.topology.floating.is_empty() {
            Status::Floating { buses: self.topology.floating.clone() }
        } else if let Some(injection) = self.topology.follows_nothing {
            Status::NoSolution { reason: NoSolution::FollowsNothing { injection } }
        } else if self.singular {
            Status::NoSolution { reason: NoSolution::Singular }
        } else {
            self.with_limits(watch)
        };
        self.status = Some(status.clone());
        status
    }

    /// The last solve's voltages and currents; `None` unless it converged.
    pub fn solution(&self) -> Option<Solution<'_>> {
        self.status.as_ref().filter(|s| s.converged()).map(|_| Solution::of(self))
    }

    /// Voltages and currents where the last solve stopped without converging, for a report of how far it came.
    /// Never to be taken for an answer. `None` before the first solve and where nothing was solved.
    pub fn best_effort(&self) -> Option<Solution<'_>> {
        matches!(self.status, Some(Status::NotConverged { .. } | Status::NoSolution { .. }))
            .then(|| Solution::of(self))
    }

    /// What the last solve took.
    pub fn work(&self) -> Work {
        self.work
    }

    /// The network as it is now.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// One system with the factored admittances, in place.
    pub(super) fn back_solve(&mut self) {
        self.work.fixed_point_steps += 1;
        self.linear.solve(&self.layout, &mut self.v[..self.slots.free]);
    }

    /// Injected currents at the present voltages into `injected`; what was there goes to `before`. Largest change
    /// at a free node, in amperes; NaN where one is not a number.
    pub(super) fn inject(&mut self) -> f64 {
        std::mem::swap(&mut self.injected, &mut self.before);
        self.injected.copy_from_slice(&self.base);
        self.flat.inject_loads(&self.v, &mut self.injected);
        largest_change(&self.injected[..self.slots.free], &self.before[..self.slots.free])
    }

    pub(super) fn take_injected(&mut self) {
        let free = self.slots.free;
        self.v[..free].copy_from_slice(&self.injected[..free]);
    }
}

/// Largest difference of a real or imaginary part; NaN where one is not a number. Four lanes, since one running
/// maximum would make each number wait for the one before.
fn largest_change(now: &[Complex64], before: &[Complex64]) -> f64 {
    let (mut largest, mut sum) = ([0.0_f64; 4], [0.0_f64; 4]);
    let mut take = |lane: usize, change: f64| {
        largest[lane] = if change > largest[lane] { change } else { largest[lane] };
        sum[lane] += change;
    };
    let (pairs, others) = (now.chunks_exact(2), before.chunks_exact(2));
    for (a, b) in pairs.remainder().iter().zip(others.remainder()) {
        take(0, (a.re - b.re).abs());
        take(1, (a.im - b.im).abs());
    }
    for (a, b) in pairs.zip(others) {
        take(0, (a[0].re - b[0].re).abs());
        take(1, (a[0].im - b[0].im).abs());
        take(2, (a[1].re - b[1].re).abs());
        take(3, (a[1].im - b[1].im).abs());
    }
    if sum.iter().sum::<f64>().is_nan() { f64::NAN } else { largest.into_iter().fold(0.0, f64::max) }
}

/// Stamps y between the loops (a, b) and (c, d).
fn stamp_pair(
    stamp: &mut impl FnMut(usize, usize, Complex64),
    (a, b): (usize, usize),
    (c, d): (usize, usize),
    y: Complex64,
) {
    stamp(a, c, y);
    stamp(a, d, -y);
    stamp(b, c, -y);
    stamp(b, d, y);
}

/// Buses that share an element.
fn coupled(network: &Network) -> Vec<(usize, usize)> {
    let bus_of = |node: usize| network.buses.partition_point(|b| b.first + b.conductors.len() <= node);
    let mut pairs = Vec::new();
    for element in &network.elements {
        let mut buses: Vec<usize> = element.terms.iter().flatten().map(|(n, _)| bus_of(*n)).collect();
        buses.sort_unstable();
        buses.dedup();
        for (k, a) in buses.iter().enumerate() {
            pairs.extend(buses.iter().skip(k + 1).map(|b| (*a, *b)));
        }
    }
    pairs
}
