//! Voltages and currents of a solved network.

use num_complex::Complex64;

use super::part::Node;
use super::solver::Solver;
use super::{BusIx, Conductor, ElementIx, LoadIx, SourceIx};

/// A solved network: phasors in volts and amperes RMS. Every accessor answers `None` for a part, conductor or end
/// that is not there.
#[derive(Debug, Clone, Copy)]
pub struct Solution<'a> {
    solver: &'a Solver,
}

impl<'a> Solution<'a> {
    pub(super) fn of(solver: &'a Solver) -> Self {
        Self { solver }
    }

    fn at(&self, node: Node) -> Complex64 {
        self.solver.v[self.solver.slots.slot(node)]
    }

    fn node(&self, bus: BusIx, conductor: Conductor) -> Option<Node> {
        self.solver.network.node("", bus, conductor).ok()
    }

    /// Voltage of a conductor against earth. 0 on conductors that no source reaches.
    pub fn voltage(&self, bus: BusIx, conductor: Conductor) -> Option<Complex64> {
        self.node(bus, conductor).map(|node| self.at(node))
    }

    /// Voltage from one conductor to another of the same bus: line to neutral, line to line.
    pub fn between(&self, bus: BusIx, from: Conductor, to: Conductor) -> Option<Complex64> {
        Some(self.voltage(bus, from)? - self.voltage(bus, to)?)
    }

    /// Voltage of the neutral against earth: how far it has shifted.
    pub fn neutral_shift(&self, bus: BusIx) -> Option<Complex64> {
        self.voltage(bus, Conductor::N)
    }

    /// Current of a line on one conductor, positive from the first to the second bus. Lines have no charging
    /// current, so both ends carry the same.
    pub fn line_current(&self, line: ElementIx, conductor: Conductor) -> Option<Complex64> {
        let element = self.solver.network.elements.get(line.0)?;
        let (_, _, conductors) = element.line.as_ref()?;
        let k = conductors.iter().position(|c| *c == conductor)?;
        element.loop_currents(|node| self.at(Some(node))).get(k).copied()
    }

    /// Current that a conductor of a bus gives into an element (any line, transformer, bond or shunt). Into a bond
    /// without impedance goes what Kirchhoff's law leaves over there, shared evenly among bonds of one conductor.
    pub fn into_element(&self, element: ElementIx, bus: BusIx, conductor: Conductor) -> Option<Complex64> {
        let node = self.node(bus, conductor)??;
        let part = self.solver.network.elements.get(element.0)?;
        let solid: Vec<&(ElementIx, usize)> =
            self.solver.network.earthed.iter().filter(|(_, n)| *n == node).collect();
        if solid.iter().any(|(ix, _)| *ix == element) {
            return Some(-self.leaving(node) / solid.len() as f64);
        }
        let currents = part.loop_currents(|n| self.at(Some(n)));
        let mut sum = None;
        for (terms, i) in part.terms.iter().zip(currents) {
            for (_, c) in terms.iter().filter(|(n, _)| *n == node) {
                sum = Some(sum.unwrap_or_default() + i * *c);
            }
        }
        sum
    }

    /// Current that leaves a node into elements, loads and sources with impedance.
    fn leaving(&self, node: usize) -> Complex64 {
        let s = self.solver;
        let mut out = vec![Complex64::default(); s.slots.all];
        s.flat.leaving(&s.v, &s.j, 1.0, &mut out);
        out[s.slots.of_node[node]]
    }

    /// Currents of a source's loops, positive out of the `from` conductor. A source without impedance gives what
    /// Kirchhoff's law leaves over at the conductors that it holds; where such a conductor is also the return of
    /// another of its loops, its share is that conductor's own.
    pub fn source_currents(&self, source: SourceIx) -> Option<Vec<Complex64>> {
        let part = self.solver.network.sources.get(source.0)?;
        if let Some(flat) = self.solver.flat.sources.iter().find(|s| s.number == source.0) {
            return self.solver.j.get(flat.first..flat.first + flat.ends.len()).map(<[Complex64]>::to_vec);
        }
        if !part.z_ohm.is_empty() {
            return Some(vec![Complex64::default(); part.ends.len()]);
        }
        let held = |[from, to]: &[Node; 2]| match (from, to) {
            (Some(node), _) => self.leaving(*node),
            (None, Some(node)) => -self.leaving(*node),
            (None, None) => Complex64::default(),
        };
        Some(part.ends.iter().map(held).collect())
    }

    /// Which loops of a source are at their current limit.
    pub fn at_limit(&self, source: SourceIx) -> Option<Vec<bool>> {
        let part = self.solver.network.sources.get(source.0)?;
        let flat = self.solver.flat.sources.iter().find(|s| s.number == source.0);
        Some(flat.map_or_else(
            || vec![false; part.ends.len()],
            |s| self.solver.at_limit.iter().skip(s.first).take(s.ends.len()).copied().collect(),
        ))
    }

    /// Current into a load; out of an injection it is negative. 0 where no source reaches.
    pub fn load_current(&self, load: LoadIx) -> Option<Complex64> {
        let part = self.solver.flat.loads.get(load.0)?;
        let current = |l: &super::flat::FlatLoad| l.current(self.solver.v[l.a] - self.solver.v[l.b], 1.0);
        Some(part.as_ref().map_or_else(Complex64::default, current))
    }

    /// Whether a following unit is held at its current limit.
    pub fn injection_at_limit(&self, injection: LoadIx) -> Option<bool> {
        let part = self.solver.flat.loads.get(injection.0)?;
        Some(part.as_ref().is_some_and(|l| l.at_limit(self.solver.v[l.a] - self.solver.v[l.b])))
    }

    /// Loads that no source reaches: they get nothing.
    pub fn unserved(&self) -> Vec<LoadIx> {
        let without = self.solver.flat.loads.iter().enumerate().filter(|(_, l)| l.is_none());
        without.map(|(k, _)| LoadIx(k)).collect()
    }

    /// Buses with a conductor that no source reaches.
    pub fn dead_buses(&self) -> Vec<BusIx> {
        let dead = &self.solver.topology.dead;
        let buses = self.solver.network.buses.iter().enumerate();
        let is_dead =
            |b: &super::model::Bus| dead.range(b.first..b.first + b.conductors.len()).next().is_some();
        buses.filter(|(_, b)| is_dead(b)).map(|(k, _)| BusIx(k)).collect()
    }
}
