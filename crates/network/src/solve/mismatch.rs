//! What a set of voltages and source currents leaves over, counted from the parts themselves: nothing here uses a
//! factored matrix.

use num_complex::Complex64;

use super::flat::{Flat, MOST_LOOPS};
use super::solver::Solver;
use crate::impedance::magnitude;

impl Flat {
    /// Current that leaves each slot into elements, loads and sources; loads' constant power and current
    /// multiplied by `scale`.
    pub fn leaving(&self, v: &[Complex64], j: &[Complex64], scale: f64, out: &mut [Complex64]) {
        out.fill(Complex64::default());
        for element in &self.elements {
            if let Some(ends) = &element.ends {
                differences(ends, &element.y_s, v, out);
                continue;
            }
            let k = element.terms.len();
            for (column, others) in element.terms.iter().enumerate() {
                let u: Complex64 = others.iter().map(|(m, b)| v[*m] * *b).sum();
                for (row, terms) in element.terms.iter().enumerate() {
                    let i = element.y_s[row * k + column] * u;
                    for (n, a) in terms {
                        out[*n] += i * *a;
                    }
                }
            }
        }
        for load in self.loads.iter().flatten() {
            let i = load.current(v[load.a] - v[load.b], scale);
            out[load.a] += i;
            out[load.b] -= i;
        }
        for source in &self.sources {
            for ((a, b), current) in source.ends.iter().zip(&j[source.first..]) {
                out[*a] -= current;
                out[*b] += current;
            }
        }
    }
}

/// Currents of a part whose loops are plain differences.
fn differences(ends: &[(usize, usize)], y_s: &[Complex64], v: &[Complex64], out: &mut [Complex64]) {
    match ends.len() {
        1 => differences_sized::<1>(ends, y_s, v, out),
        2 => differences_sized::<2>(ends, y_s, v, out),
        3 => differences_sized::<3>(ends, y_s, v, out),
        _ => differences_sized::<MOST_LOOPS>(ends, y_s, v, out),
    }
}

#[inline]
fn differences_sized<const N: usize>(
    ends: &[(usize, usize)],
    y_s: &[Complex64],
    v: &[Complex64],
    out: &mut [Complex64],
) {
    let mut u = [Complex64::default(); N];
    for (u, (a, b)) in u.iter_mut().zip(ends) {
        *u = v[*a] - v[*b];
    }
    for (row, (a, b)) in y_s.chunks_exact(N).zip(ends) {
        let mut i = Complex64::default();
        for k in 0..N {
            i += row[k] * u[k];
        }
        out[*a] += i;
        out[*b] -= i;
    }
}

impl Solver {
    /// Largest mismatch in amperes: of Kirchhoff's current law over all free nodes, and of each source loop's law.
    /// Below its limit a loop obeys E - u - sum z J = 0; at its limit J is the limit in the direction of
    /// (E - u - sum over the other loops) / z, with at least the limit wanted. Infinite where something is not a
    /// number.
    pub(super) fn mismatch(&mut self) -> f64 {
        let mut out = std::mem::take(&mut self.spare);
        self.flat.leaving(&self.v, &self.j, 1.0, &mut out);
        let kirchhoff = out.iter().take(self.slots.free).map(|i| i.norm_sqr());
        let worst = kirchhoff.fold(0.0, larger).sqrt();
        self.spare = out;
        larger(worst, self.source_mismatch())
    }

    fn source_mismatch(&self) -> f64 {
        let mut worst = 0.0;
        for source in &self.flat.sources {
            for k in 0..source.ends.len() {
                let wanted = source.own_drive(k, &self.v, &self.j) / source.z(k, k);
                let (j, limit) = (self.j[source.first + k], source.limit_a[k]);
                let size = magnitude(wanted);
                let lawful = if self.at_limit[source.first + k] {
                    if size < limit * (1.0 - 1e-9) {
                        return f64::INFINITY;
                    }
                    wanted * (limit / size)
                } else {
                    wanted
                };
                worst = larger(worst, magnitude(j - lawful));
            }
        }
        worst
    }

    /// Source currents that the voltages make without limits.
    pub(super) fn unlimited_currents(&mut self) {
        for source in &self.flat.sources {
            for k in 0..source.ends.len() {
                self.j[source.first + k] = source.unlimited(k, &self.v);
            }
        }
    }
}

/// The larger; not-a-number counts as infinite.
fn larger(a: f64, b: f64) -> f64 {
    if b.is_nan() || a.is_nan() { f64::INFINITY } else { a.max(b) }
}
