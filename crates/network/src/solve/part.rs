//! What the parts of a network become: loops between nodes.
//!
//! Every linear part is a set of loops. Loop j sees the voltage u_j = sum_n A_jn V_n and carries i = y u with
//! y = z^-1; node n gives the part the current sum_j A_jn i_j. A conductor run from a to b is the loop V_a - V_b;
//! an ideal winding pair of ratio n with leakage z (on its second side) is the loop (V_p1 - V_p2)/n -
//! (V_s1 - V_s2): ideal coupling comes out of A alone.

use num_complex::Complex64;

use super::{BusIx, Conductor};

/// A node: conductor of a bus; `None` is earth.
pub(super) type Node = Option<usize>;

/// One loop: nodes with their coefficients (earth left out).
pub(super) type LoopTerms = Vec<(usize, f64)>;

/// A line, transformer, bond or shunt.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub name: String,
    pub terms: Vec<LoopTerms>,
    /// y = z^-1, row by row, in siemens.
    pub y_s: Vec<Complex64>,
    /// Pairs of nodes that it joins galvanically.
    pub links: Vec<(Node, Node)>,
    /// A line's ends and conductors, in the order of its loops.
    pub line: Option<(BusIx, BusIx, Vec<Conductor>)>,
}

impl Element {
    /// Currents of the loops at node voltages that `v` gives.
    pub fn loop_currents(&self, v: impl Fn(usize) -> Complex64) -> Vec<Complex64> {
        let u: Vec<Complex64> =
            self.terms.iter().map(|terms| terms.iter().map(|(node, c)| v(*node) * *c).sum()).collect();
        let k = u.len();
        (0..k).map(|i| (0..k).map(|j| self.y_s[i * k + j] * u[j]).sum()).collect()
    }
}

/// A load or injection between two conductors of a bus.
#[derive(Debug, Clone)]
pub(super) struct Load {
    pub ends: [Node; 2],
    pub zip: Zip,
    /// Current limit of an injection; infinite where there is none.
    pub limit_a: f64,
    pub injects: bool,
}

/// A load as constant power, constant current and constant admittance side by side:
/// I = conj(S) / conj(V) + K V/|V| + Y V.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Zip {
    /// Constant power P + jQ into the load, in VA; Q positive is inductive.
    pub power_va: Complex64,
    /// Constant current in amperes RMS, its angle counted from the load's voltage: lagging is negative.
    pub current_a: Complex64,
    /// Constant admittance, in siemens.
    pub admittance_s: Complex64,
}

impl Zip {
    /// Constant power.
    pub fn power(power_va: Complex64) -> Self {
        Self { power_va, ..Self::default() }
    }

    /// Constant current of a load that takes `power_va` at `nominal_v`.
    pub fn current(power_va: Complex64, nominal_v: f64) -> Self {
        Self { current_a: power_va.conj() / nominal_v, ..Self::default() }
    }

    /// Constant impedance of a load that takes `power_va` at `nominal_v`.
    pub fn impedance_of(power_va: Complex64, nominal_v: f64) -> Self {
        Self { admittance_s: power_va.conj() / (nominal_v * nominal_v), ..Self::default() }
    }

    /// Constant impedance, in ohms.
    pub fn impedance(z_ohm: Complex64) -> Self {
        Self { admittance_s: z_ohm.inv(), ..Self::default() }
    }

    pub(super) fn is_finite(&self) -> bool {
        [self.power_va, self.current_a, self.admittance_s].iter().all(|c| c.is_finite())
    }
}

/// One voltage of a source, from one conductor to its return.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emf {
    /// Conductor that the current leaves on.
    pub from: Conductor,
    /// Conductor that it returns on.
    pub to: Conductor,
    /// Open voltage from `from` to `to`, in volts RMS.
    pub emf_v: Complex64,
    /// Largest RMS current, in amperes; `None` is unlimited.
    pub limit_a: Option<f64>,
}

/// A source: voltages behind impedances between conductors of one bus.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceSpec {
    /// Where it stands.
    pub bus: BusIx,
    /// Its voltages.
    pub emfs: Vec<Emf>,
    /// Impedances between the loops, row by row, in ohms; empty for a source without impedance.
    pub z_ohm: Vec<Complex64>,
}

impl SourceSpec {
    /// One voltage.
    pub fn single(bus: BusIx, from: Conductor, to: Conductor, emf_v: Complex64, z_ohm: Complex64) -> Self {
        Self { bus, emfs: vec![Emf { from, to, emf_v, limit_a: None }], z_ohm: vec![z_ohm] }
    }

    /// L1 and L2 to neutral, at 0 and 180 degrees, each behind `z_ohm`.
    pub fn split_phase(bus: BusIx, leg_v: f64, z_ohm: Complex64) -> Self {
        Self::legs(bus, &[(Conductor::L1, 0.0), (Conductor::L2, 180.0)], leg_v, z_ohm)
    }

    /// L1, L2 and L3 to neutral, at 0, -120 and 120 degrees, each behind `z_ohm`.
    pub fn wye(bus: BusIx, phase_v: f64, z_ohm: Complex64) -> Self {
        let legs = [(Conductor::L1, 0.0), (Conductor::L2, -120.0), (Conductor::L3, 120.0)];
        Self::legs(bus, &legs, phase_v, z_ohm)
    }

    fn legs(bus: BusIx, legs: &[(Conductor, f64)], leg_v: f64, z_ohm: Complex64) -> Self {
        let emfs = legs.iter().map(|(from, angle_deg)| Emf {
            from: *from,
            to: Conductor::N,
            emf_v: crate::impedance::polar_deg(leg_v, *angle_deg),
            limit_a: None,
        });
        let n = legs.len();
        let z = |k: usize| if k / n == k % n { z_ohm } else { Complex64::default() };
        Self { bus, emfs: emfs.collect(), z_ohm: (0..n * n).map(z).collect() }
    }

    /// With the return on earth in place of the neutral, where the bus has none.
    #[must_use]
    pub fn to_earth(mut self) -> Self {
        for emf in &mut self.emfs {
            emf.to = Conductor::Earth;
        }
        self
    }

    /// With an impedance that the currents of all loops share on their way back, in ohms.
    #[must_use]
    pub fn with_neutral_impedance(mut self, z_ohm: Complex64) -> Self {
        for z in &mut self.z_ohm {
            *z += z_ohm;
        }
        self
    }

    /// Without impedance: it holds its conductors at their voltages.
    #[must_use]
    pub fn ideal(mut self) -> Self {
        self.z_ohm.clear();
        self
    }

    /// With the same RMS current limit on every loop.
    #[must_use]
    pub fn limited(mut self, limit_a: f64) -> Self {
        for emf in &mut self.emfs {
            emf.limit_a = Some(limit_a);
        }
        self
    }
}

/// A source as the solver takes it.
#[derive(Debug, Clone)]
pub(super) struct Source {
    pub bus: BusIx,
    pub ends: Vec<[Node; 2]>,
    pub emf_v: Vec<Complex64>,
    /// Infinite where there is none.
    pub limit_a: Vec<f64>,
    /// Empty for a source without impedance.
    pub z_ohm: Vec<Complex64>,
    pub y_s: Vec<Complex64>,
}
