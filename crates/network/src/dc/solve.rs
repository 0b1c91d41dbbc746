//! Newton's method on the nodal equations of a bus.
//!
//! F(V) = driven - G · V - P / V = 0 at every node. Where all units draw, F is concave and -F' = G - diag(P / V^2)
//! has no positive entry off its diagonal. Newton's steps from the voltages without load then come down
//! monotonically onto the highest solution, and -F' stays positive definite on the way; were it not so at some
//! step, no solution would exist (monotone Newton theorem for concave functions with M-matrices: Ortega and
//! Rheinboldt, Iterative Solution of Nonlinear Equations, from memory). So "no solution" is shown, not guessed.
//! Where all units charge, F is convex and falling, the solution is single, and the steps climb onto it. Where some
//! draw and some charge nothing is promised: an answer counts when it is found and checked, and otherwise there is
//! none.

use super::ladder::{Factor, Ladder, Nodes};

/// Newton's steps; at the very edge of having a solution each only halves the distance.
const STEPS: usize = 100;
/// Mismatch left, over the currents of the bus.
const TOLERANCE: f64 = 1e-10;
/// Mismatch that is still an answer where rounding of stiff bars allows no less.
const ACCEPTED: f64 = 1e-7;

/// How a solve ends.
#[derive(Debug, Clone)]
pub(super) enum Ended {
    /// Every node keeps Kirchhoff's current law, at the highest voltages that do.
    Settled(Point),
    /// No voltages do: shown.
    NoSolution,
    /// None were found.
    NotFound,
}

/// Voltages that solve the bus.
#[derive(Debug, Clone)]
pub(super) struct Point {
    pub nodes: Nodes,
    pub v: Vec<f64>,
    /// Largest mismatch, in amperes.
    pub residual_a: f64,
}

impl Ladder {
    /// Solves with `share` of the units' power.
    pub fn solve(&self, share: f64) -> Ended {
        let nodes = self.nodes();
        let n = nodes.count;
        let g = self.conductances(&nodes);
        let Some(factor) = Factor::of(n, &g) else { return Ended::NotFound };
        let mut v = factor.solve(&self.driven_a(&nodes));
        let draws_only = self.draws.iter().all(|d| d.power_w >= 0.0);
        let failed = if draws_only { Ended::NoSolution } else { Ended::NotFound };
        for _ in 0..STEPS {
            if !v.iter().all(|v| v.is_finite() && *v > 0.0) {
                return failed;
            }
            let f = self.mismatch_a(&nodes, &v, share);
            let residual_a = largest(&f);
            let Some(factor) = Factor::of(n, &self.slope(&nodes, &g, &v, share)) else { return failed };
            if residual_a <= TOLERANCE * self.size_a(&nodes, &v, share) {
                return Ended::Settled(Point { nodes, v, residual_a });
            }
            let before = v.clone();
            for (v, step) in v.iter_mut().zip(factor.solve(&f)) {
                *v += step;
            }
            if before.iter().zip(&v).all(|(a, b)| (a - b).abs() <= 4.0 * f64::EPSILON * a.abs()) {
                let accepted = residual_a <= ACCEPTED * self.size_a(&nodes, &v, share);
                return if accepted {
                    Ended::Settled(Point { nodes, v: before, residual_a })
                } else {
                    Ended::NotFound
                };
            }
        }
        Ended::NotFound
    }

    /// -F' = G - diag(P / V^2).
    fn slope(&self, nodes: &Nodes, g: &[f64], v: &[f64], share: f64) -> Vec<f64> {
        let mut a = g.to_vec();
        for (draw, k) in self.draws.iter().zip(&nodes.terminal) {
            a[*k * nodes.count + *k] -= share * draw.power_w / (v[*k] * v[*k]);
        }
        a
    }

    /// Size of the currents on the bus, at least 1 A.
    fn size_a(&self, nodes: &Nodes, v: &[f64], share: f64) -> f64 {
        let drawn = self.draws.iter().zip(&nodes.terminal).map(|(d, k)| (share * d.power_w / v[*k]).abs());
        drawn.sum::<f64>().max(1.0)
    }

    /// How far the voltage at a landing rises for each ampere put into it, in ohms; `None` where the point is no
    /// stable one.
    pub fn stiffness_ohm(&self, point: &Point, landing: usize) -> Option<f64> {
        let nodes = &point.nodes;
        let slope = self.slope(nodes, &self.conductances(nodes), &point.v, 1.0);
        let mut one = vec![0.0; nodes.count];
        one[nodes.landing[landing]] = 1.0;
        Some(Factor::of(nodes.count, &slope)?.solve(&one)[nodes.landing[landing]])
    }

    /// The largest share of the draws that was found to have a solution, where the whole has none: halving of the
    /// interval, so it errs low.
    pub fn largest_share(&self) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            match self.solve(middle) {
                Ended::Settled(_) => low = middle,
                Ended::NoSolution | Ended::NotFound => high = middle,
            }
        }
        low
    }

    /// Voltages with one node held at zero: a bolted fault. `None` where the matrix is singular.
    pub fn faulted(&self, nodes: &Nodes, at: usize) -> Option<Vec<f64>> {
        let n = nodes.count;
        let mut g = self.conductances(nodes);
        let mut driven = self.driven_a(nodes);
        for k in 0..n {
            g[at * n + k] = 0.0;
            g[k * n + at] = 0.0;
        }
        g[at * n + at] = 1.0;
        driven[at] = 0.0;
        Some(Factor::of(n, &g)?.solve(&driven))
    }
}

pub(super) fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most: f64, x| if x.is_nan() { f64::INFINITY } else { most.max(x.abs()) })
}
