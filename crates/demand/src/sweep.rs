//! The largest magnitude of a phasor sum over every permitted subset.
//!
//! For a direction u the largest component of the sum along u is the weight of a heaviest permitted subset, weights
//! being the components of the loads along u; loads that point away from u are left off. Those largest components
//! are the distances of lines that touch the convex hull of all permitted sums. The polygon of 360 such lines
//! contains the hull, so its farthest corner bounds the magnitude from above; it is at most 1/cos(0.5 degrees)
//! (0.004 %) too large and exact where one subset is the answer on both sides of its direction.

use num_complex::Complex64;

use crate::coincidence::{Coincidence, Heaviest};
use crate::phasor::{NOTHING, polar};

const STEPS: u32 = 360;

/// The phasors of the instances of one load: value and number of alike ones, of which at most `at_once` run.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Copies {
    pub at_once: u32,
    pub alike: Vec<(Complex64, u32)>,
}

impl Copies {
    /// The largest sum of `measure` over at most `at_once` instances; instances below zero stay off.
    pub fn top(&self, measure: impl Fn(Complex64) -> f64) -> f64 {
        self.picked(measure).0
    }

    /// That sum, and the phasor sum of the instances taken for it.
    pub fn picked(&self, measure: impl Fn(Complex64) -> f64) -> (f64, Complex64) {
        if let [(z, n)] = self.alike[..] {
            let (m, n) = (measure(z), f64::from(n.min(self.at_once)));
            return if m > 0.0 { (m * n, z * n) } else { (0.0, NOTHING) };
        }
        let mut order: Vec<(f64, Complex64, u32)> =
            self.alike.iter().map(|(z, n)| (measure(*z), *z, *n)).filter(|(m, _, _)| *m > 0.0).collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut left = self.at_once;
        let mut sum = (0.0, NOTHING);
        for (m, z, n) in order {
            let taken = n.min(left);
            left -= taken;
            sum.0 += m * f64::from(taken);
            sum.1 += z * f64::from(taken);
        }
        sum
    }

    /// Sum of `measure` over all instances, those below zero left out.
    pub fn all(&self, measure: impl Fn(Complex64) -> f64) -> f64 {
        self.alike.iter().map(|(z, n)| measure(*z).max(0.0) * f64::from(*n)).sum()
    }

    /// Makes one instance of an entry larger by a factor.
    pub fn raise_one(&mut self, entry: usize, by: f64) {
        if let Some((z, n)) = self.alike.get_mut(entry).filter(|(_, n)| *n > 0) {
            let one = *z * by;
            *n -= 1;
            self.alike.push((one, 1));
        }
    }

    /// The same copies with each phasor changed.
    pub fn map(&self, with: impl Fn(Complex64) -> Complex64) -> Self {
        Self { at_once: self.at_once, alike: self.alike.iter().map(|(z, n)| (with(*z), *n)).collect() }
    }
}

/// The subset whose phasor sum is largest.
#[derive(Debug, Clone)]
pub(crate) struct Farthest {
    /// Upper bound of the magnitude, a fixed phasor included.
    pub bound: f64,
    /// The loads of the subset found.
    pub chosen: Vec<usize>,
    /// Phasor sum of the loads of that subset, the fixed phasor not included.
    pub sum: Complex64,
    /// The direction in which it was found.
    pub direction: Complex64,
    /// Every subset was found without running out of effort.
    pub exact: bool,
}

/// The largest |fixed + sum of loads|.
pub(crate) fn farthest(graph: &Coincidence, loads: &[Copies], fixed: Complex64) -> Farthest {
    let mut reach = Vec::new();
    let mut best =
        Farthest { bound: 0.0, chosen: Vec::new(), sum: NOTHING, direction: polar(1.0, 0.0), exact: true };
    let mut exact = true;
    for step in 0..STEPS {
        let u = unit(step);
        let along = |z: Complex64| z.re * u.re + z.im * u.im;
        let weights: Vec<f64> = loads.iter().map(|l| l.top(along)).collect();
        let found: Heaviest = graph.heaviest(&weights);
        exact &= found.exact;
        let distance = found.value + along(fixed);
        reach.push(distance);
        if distance > best.bound {
            let sum =
                found.chosen.iter().filter_map(|v| loads.get(*v)).fold(NOTHING, |s, l| s + l.picked(along).1);
            best = Farthest { bound: distance, chosen: found.chosen, sum, direction: u, exact: true };
        }
    }
    let loosest = best.bound / libm::cos(0.5f64.to_radians());
    if exact {
        // a bounded reach is no distance of a touching line, so corners are only taken where all are exact
        best.bound = farthest_corner(&reach).clamp(best.bound, loosest);
    } else {
        best.bound = loosest;
    }
    best.exact = exact;
    best
}

fn unit(step: u32) -> Complex64 {
    // the axes without a rounding remainder
    match step * 360 / STEPS {
        0 => Complex64::new(1.0, 0.0),
        90 => Complex64::new(0.0, 1.0),
        180 => Complex64::new(-1.0, 0.0),
        270 => Complex64::new(0.0, -1.0),
        degrees => polar(1.0, f64::from(degrees)),
    }
}

/// Farthest corner of the polygon of lines at distances `reach` in equally spaced directions. Two lines d apart in
/// angle meet at r^2 = (h1^2 + h2^2 - 2 h1 h2 cos d) / sin^2 d (law of cosines).
fn farthest_corner(reach: &[f64]) -> f64 {
    let (sin, cos) = libm::sincos((360.0 / f64::from(STEPS)).to_radians());
    let next = reach.iter().skip(1).chain(reach.first());
    reach
        .iter()
        .zip(next)
        .map(|(a, b)| ((a * a + b * b - 2.0 * a * b * cos).max(0.0)).sqrt() / sin)
        .fold(0.0, f64::max)
}

/// Loads of one phasor each that may all run at once.
#[cfg(test)]
pub(crate) fn single(z: Complex64) -> Copies {
    Copies { at_once: 1, alike: vec![(z, 1)] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn sum_is_bounded_closely(
            parts in proptest::collection::vec((-50i32..50, -50i32..50), 1..9),
            edges in proptest::collection::vec((0usize..9, 0usize..9), 0..8),
            fixed in (-50i32..50, -50i32..50),
        ) {
            let z: Vec<Complex64> = parts.iter().map(|(a, b)| Complex64::new(f64::from(*a), f64::from(*b))).collect();
            let fixed = Complex64::new(f64::from(fixed.0), f64::from(fixed.1));
            let n = z.len();
            let graph = Coincidence::new(vec![None; n], &edges);
            let loads: Vec<Copies> = z.iter().map(|z| single(*z)).collect();
            let found = farthest(&graph, &loads, fixed);
            let truth = (0u32..1 << n)
                .filter(|set| (0..n).all(|a| (0..a).all(|b| {
                    set >> a & 1 == 0 || set >> b & 1 == 0 || graph.compatible(a, b)
                })))
                .map(|set| (fixed + (0..n).filter(|v| set >> v & 1 == 1).map(|v| z[v]).sum::<Complex64>()).norm())
                .fold(0.0, f64::max);
            prop_assert!(found.bound >= truth - 1e-9, "{} below {truth}", found.bound);
            prop_assert!(found.bound <= truth * 1.0001 + 1e-9, "{} above {truth}", found.bound);
        }
    }

    #[test]
    fn two_of_three_alike_run() {
        let graph = Coincidence::new(vec![None], &[]);
        let three = Copies { at_once: 2, alike: vec![(Complex64::new(10.0, 0.0), 3)] };
        assert!((farthest(&graph, &[three], NOTHING).bound - 20.0).abs() < 1e-9);
    }
}
