//! The full equations and their slopes, in real numbers: for constant power near collapse and for sources at their
//! limit.
//!
//! Unknown are the real and imaginary parts of the free voltages V and of all source loop currents J. With u_j the
//! voltage across loop j, w_j = E_j - u_j - sum over k != j of z_jk J_k, and L_j the limit:
//!
//! - at each node: sum of currents into elements and loads - sum of J = 0;
//! - loop below its limit: (w_j - z_jj J_j) / |z_jj| = 0;
//! - loop at its limit: (|J_j|^2 - L_j^2) / (2 L_j) = 0 and Im(w_j conj(z_jj J_j)) / (|z_jj|^2 L_j) = 0.
//!
//! The second says w_j = a z_jj J_j with a real a >= 1: the source acts as if its own impedance had grown, at its
//! own angle, until the current fits the limit. So the current keeps the direction (E - u)/z that the network
//! gives it, and a source without load at rest and one in short circuit come out of the same law. (Assumption on
//! how a bridge behaves at its limit: a limiter that scales the current phasor. Quasi-static: a control that
//! trips, folds back or hiccups does worse.)
//!
//! Where one current flows through two loops at their limits, how they divide the voltage is left open and the
//! slopes are singular along that direction. The slope of the first limit equation therefore gets a small share
//! [`SLACK`] of the slope of a: it changes the way to the answer, not the equations, and picks the answer that
//! lies nearest on the way (two equal legs stay equal).

use num_complex::Complex64;

use super::block::Layout;
use super::flat::{Flat, FlatSource, Slots};
use super::linear::Linear;
use super::order::Order;

/// See above.
const SLACK: f64 = 1e-7;

/// Shares of loads and limits that are in force.
#[derive(Debug, Clone, Default)]
pub(super) struct Setting {
    /// Multiplies constant power and constant current.
    pub scale: f64,
    pub limit_a: Vec<f64>,
    /// Their derivatives by the parameter of the continuation.
    pub scale_slope: f64,
    pub limit_slope_a: Vec<f64>,
}

/// Matrix, right-hand sides and scales.
#[derive(Debug, Clone)]
pub(super) struct Newton {
    pub layout: Layout,
    linear: Linear<f64>,
    /// Slopes of the elements, which never change.
    fixed: Vec<f64>,
    /// Position and place of each loop's real part.
    loop_place: Vec<(usize, usize)>,
    /// The equations, and their derivative by the parameter.
    pub f: Vec<f64>,
    pub f_slope: Vec<f64>,
    leaving: Vec<Complex64>,
    pub setting: Setting,
}

/// Everything the equations are evaluated at.
pub(super) struct At<'a> {
    pub flat: &'a Flat,
    pub slots: &'a Slots,
    pub v: &'a [Complex64],
    pub j: &'a [Complex64],
    pub at_limit: &'a [bool],
}

type Place = (usize, usize);

impl Newton {
    pub fn new(flat: &Flat, slots: &Slots, order: &Order, dense: bool) -> Self {
        let mut sizes: Vec<usize> = slots.sizes.iter().map(|n| 2 * n).collect();
        let mut loop_place = Vec::new();
        for source in &flat.sources {
            for _ in &source.ends {
                loop_place.push((source.position, sizes[source.position]));
                sizes[source.position] += 2;
            }
        }
        let layout = Layout::new(order, &sizes);
        let mut newton = Self {
            linear: Linear::new(&layout, dense),
            fixed: Vec::new(),
            loop_place,
            f: vec![0.0; layout.len()],
            f_slope: vec![0.0; layout.len()],
            leaving: vec![Complex64::default(); slots.all],
            setting: Setting {
                scale: 1.0,
                limit_a: flat.sources.iter().flat_map(|s| s.limit_a.clone()).collect(),
                scale_slope: 0.0,
                limit_slope_a: vec![0.0; flat.loops],
            },
            layout,
        };
        newton.elements(flat, slots);
        newton.fixed = newton.linear.matrix.values.clone();
        newton
    }

    fn elements(&mut self, flat: &Flat, slots: &Slots) {
        for element in &flat.elements {
            let k = element.terms.len();
            for (row, terms) in element.terms.iter().enumerate() {
                for (column, others) in element.terms.iter().enumerate() {
                    let y = element.y_s[row * k + column];
                    for (n, a) in terms {
                        for (m, b) in others {
                            self.between(slots, *n, *m, y * (a * b), Complex64::default());
                        }
                    }
                }
            }
        }
    }

    fn real_place(slots: &Slots, slot: usize) -> Option<Place> {
        slots.place.get(slot).map(|(position, k)| (*position, 2 * k))
    }

    /// Where a free slot's real part lies in vectors.
    pub fn of_slot(&self, slots: &Slots, slot: usize) -> usize {
        let (position, k) = slots.place[slot];
        self.layout.start[position] + 2 * k
    }

    /// Where a loop's real part lies in vectors.
    pub fn of_loop(&self, l: usize) -> usize {
        let (position, k) = self.loop_place[l];
        self.layout.start[position] + k
    }

    fn put(&mut self, row: Place, column: Place, value: f64) {
        // all places of one bus and of coupled buses exist
        let inside = self.linear.add(&self.layout, row, column, value);
        debug_assert!(inside, "a slope outside the structure");
    }

    /// Adds the complex equation `own dx + conj conj(dx)`.
    fn complex(&mut self, row: Place, column: Place, own: Complex64, conj: Complex64) {
        let (r2, c2) = ((row.0, row.1 + 1), (column.0, column.1 + 1));
        self.put(row, column, own.re + conj.re);
        self.put(row, c2, conj.im - own.im);
        self.put(r2, column, own.im + conj.im);
        self.put(r2, c2, own.re - conj.re);
    }

    /// Adds Re(c dx) to a real equation.
    fn real_part(&mut self, row: Place, column: Place, c: Complex64) {
        self.put(row, column, c.re);
        self.put(row, (column.0, column.1 + 1), -c.im);
    }

    fn between(&mut self, slots: &Slots, n: usize, m: usize, own: Complex64, conj: Complex64) {
        if let (Some(row), Some(column)) = (Self::real_place(slots, n), Self::real_place(slots, m)) {
            self.complex(row, column, own, conj);
        }
    }

    /// Evaluates the equations; largest of them, in amperes, NaN where one is not a number.
    pub fn evaluate(&mut self, at: &At) -> f64 {
        let mut leaving = std::mem::take(&mut self.leaving);
        at.flat.leaving(at.v, at.j, self.setting.scale, &mut leaving);
        for (slot, i) in leaving.iter().take(at.slots.free).enumerate() {
            let k = self.of_slot(at.slots, slot);
            (self.f[k], self.f[k + 1]) = (i.re, i.im);
        }
        self.leaving = leaving;
        for source in &at.flat.sources {
            for k in 0..source.ends.len() {
                let l = source.first + k;
                let own = source.own_drive(k, at.v, at.j);
                let zj = source.z(k, k) * at.j[l];
                let z = source.z(k, k).norm_sqr();
                let (first, second) = if at.at_limit[l] {
                    let limit = self.setting.limit_a[l];
                    let over = (at.j[l].norm_sqr() - limit * limit) / (2.0 * limit);
                    (over, (own * zj.conj()).im / (z * limit))
                } else {
                    let law = (own - zj) / z.sqrt();
                    (law.re, law.im)
                };
                let row = self.of_loop(l);
                (self.f[row], self.f[row + 1]) = (first, second);
            }
        }
        self.f.iter().fold(0.0, |most: f64, x| if x.is_nan() { f64::NAN } else { most.max(x.abs()) })
    }

    /// Slopes at a point, factored; `false` where they are singular.
    pub fn factor(&mut self, at: &At) -> bool {
        self.linear.matrix.values.copy_from_slice(&self.fixed);
        self.f_slope.fill(0.0);
        for load in at.flat.loads.iter().flatten() {
            let slope = load.slope(at.v[load.a] - at.v[load.b], self.setting.scale);
            for (n, m, sign) in
                [(load.a, load.a, 1.0), (load.b, load.b, 1.0), (load.a, load.b, -1.0), (load.b, load.a, -1.0)]
            {
                self.between(at.slots, n, m, slope.own * sign, slope.conj * sign);
            }
            let by_scale = slope.scaled * self.setting.scale_slope;
            self.add_to_slope(at.slots, load.a, by_scale);
            self.add_to_slope(at.slots, load.b, -by_scale);
        }
        for source in &at.flat.sources {
            for k in 0..source.ends.len() {
                self.loop_current(at, source, k);
                if at.at_limit[source.first + k] {
                    self.limited_loop(at, source, k);
                } else {
                    self.free_loop(at, source, k);
                }
            }
        }
        self.linear.factor(&self.layout)
    }

    fn add_to_slope(&mut self, slots: &Slots, slot: usize, i: Complex64) {
        if slot < slots.free {
            let k = self.of_slot(slots, slot);
            self.f_slope[k] += i.re;
            self.f_slope[k + 1] += i.im;
        }
    }

    /// The loop's current in the equations of its ends.
    fn loop_current(&mut self, at: &At, source: &FlatSource, k: usize) {
        let column = self.loop_place[source.first + k];
        let one = Complex64::new(1.0, 0.0);
        for (slot, sign) in [(source.ends[k].0, -one), (source.ends[k].1, one)] {
            if let Some(row) = Self::real_place(at.slots, slot) {
                self.complex(row, column, sign, Complex64::default());
            }
        }
    }

    fn free_loop(&mut self, at: &At, source: &FlatSource, k: usize) {
        let row = self.loop_place[source.first + k];
        let c = Complex64::new(1.0 / source.z(k, k).norm_sqr().sqrt(), 0.0);
        let none = Complex64::default();
        for (slot, factor) in [(source.ends[k].0, -c), (source.ends[k].1, c)] {
            if let Some(column) = Self::real_place(at.slots, slot) {
                self.complex(row, column, factor, none);
            }
        }
        for other in 0..source.ends.len() {
            let column = self.loop_place[source.first + other];
            self.complex(row, column, -source.z(k, other) * c, none);
        }
    }

    fn limited_loop(&mut self, at: &At, source: &FlatSource, k: usize) {
        let l = source.first + k;
        let (first, own) = (self.loop_place[l], self.loop_place[l]);
        let second = (first.0, first.1 + 1);
        let (j, limit, z) = (at.j[l], self.setting.limit_a[l], source.z(k, k));
        self.real_part(first, own, j.conj() / limit);
        // Im(c dx) = Re(-i c dx); Im(c conj(dx)) = Re(i conj(c) dx)
        let turn = Complex64::new(0.0, 1.0);
        let c = (z * j).conj() / (z.norm_sqr() * limit);
        for (slot, factor) in [(source.ends[k].0, -c), (source.ends[k].1, c)] {
            if let Some(column) = Self::real_place(at.slots, slot) {
                self.real_part(second, column, -turn * factor);
                self.real_part(first, column, -factor * SLACK);
            }
        }
        for other in (0..source.ends.len()).filter(|other| *other != k) {
            let column = self.loop_place[source.first + other];
            self.real_part(second, column, turn * c * source.z(k, other));
        }
        let through = source.own_drive(k, at.v, at.j) * z.conj() / (z.norm_sqr() * limit);
        self.real_part(second, own, turn * through.conj());
        let row = self.of_loop(l);
        let by_limit = -(j.norm_sqr() + limit * limit) / (2.0 * limit * limit);
        self.f_slope[row] += by_limit * self.setting.limit_slope_a[l];
    }

    /// Solves with the factored slopes, in place.
    pub fn solve(&self, x: &mut [f64]) {
        self.linear.solve(&self.layout, x);
    }
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::{At, Newton};
    use crate::solve::Conductor::{L1, L2, N};
    use crate::solve::{Config, Network, Solver, SourceSpec, Zip};

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    fn prepared() -> Solver {
        let mut net = Network::new();
        let [a, b] = ["a", "b"].map(|name| net.bus(name, &[L1, L2, N]).unwrap());
        net.bond("bond", a, N, Some(c(3.0, 0.0))).unwrap();
        net.plain_line("line", a, b, &[(L1, c(0.1, 0.1)), (L2, c(0.2, 0.1)), (N, c(0.1, 0.3))]).unwrap();
        let source = SourceSpec::split_phase(a, 120.0, c(0.05, 0.02)).with_neutral_impedance(c(0.02, 0.03));
        net.source(source.limited(30.0)).unwrap();
        net.load(b, (L1, N), Zip::power(c(2000.0, 500.0))).unwrap();
        net.load(b, (L2, N), Zip::current(c(1500.0, -300.0), 120.0)).unwrap();
        net.load(b, (L1, L2), Zip::impedance_of(c(3000.0, 800.0), 240.0)).unwrap();
        net.injection(b, (L2, N), c(900.0, 100.0), Some(5.0)).unwrap();
        let mut solver = Solver::new(net, Config::default()).unwrap();
        solver.v.copy_from_slice(&solver.start_v.clone());
        solver.j = vec![c(25.0, -7.0), c(-20.0, 11.0)];
        solver.at_limit = vec![true, false];
        solver
    }

    /// Slopes against differences of the equations, the slack aside.
    #[test]
    fn slopes_are_those_of_the_equations() {
        let mut solver = prepared();
        let mut newton = Newton::new(&solver.flat, &solver.slots, &solver.order, false);
        newton.setting.scale = 0.8;
        let at = |s: &Solver, newton: &mut Newton| {
            let at = At { flat: &s.flat, slots: &s.slots, v: &s.v, j: &s.j, at_limit: &s.at_limit };
            newton.evaluate(&at);
            newton.f.clone()
        };
        let s = &solver;
        newton.factor(&At { flat: &s.flat, slots: &s.slots, v: &s.v, j: &s.j, at_limit: &s.at_limit });
        let n = newton.layout.len();
        let slopes = newton.linear.matrix.to_dense(&newton.layout);
        let unknowns = solver.slots.free + solver.flat.loops;
        for unknown in 0..unknowns {
            for (part, step) in [c(1e-6, 0.0), c(0.0, 1e-6)].into_iter().enumerate() {
                let mut around = [1.0, -1.0].map(|sign| {
                    let kept = (solver.v.clone(), solver.j.clone());
                    match unknown.checked_sub(solver.slots.free) {
                        None => solver.v[unknown] += step * sign,
                        Some(l) => solver.j[l] += step * sign,
                    }
                    let f = at(&solver, &mut newton);
                    (solver.v, solver.j) = kept;
                    f
                });
                let column = match unknown.checked_sub(solver.slots.free) {
                    None => newton.of_slot(&solver.slots, unknown),
                    Some(l) => newton.of_loop(l),
                } + part;
                let [up, down] = &mut around;
                for row in 0..n {
                    let difference = (up[row] - down[row]) / 2e-6;
                    let slope = slopes[row * n + column];
                    let off = (difference - slope).abs();
                    assert!(off < 1e-4 * (1.0 + slope.abs()), "{row} {column}: {difference} {slope}");
                }
            }
        }
    }
}
