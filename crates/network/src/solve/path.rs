//! Following the solutions along a parameter that goes from 0, where one is known, to 1, where one is asked for.
//!
//! A point is x = (V, J) with its parameter p. Each step goes along the tangent t and comes back to the curve
//! F(x, p) = 0 on the plane t (z - z_predicted) = 0 (pseudo-arclength: H. B. Keller, 1977). So the curve can be
//! followed round a fold, where p turns back: that is the proof that this branch ends, told apart from steps that
//! merely fail. Since the branch starts at the voltages without load, what arrives at 1 without a fold is the
//! solution of high voltage, the stable one.

use num_complex::Complex64;

use super::newton::{At, Newton};
use super::solver::Solver;
use super::status::Stopped;
use super::{Event, Go};

/// What the parameter moves.
#[derive(Debug, Clone)]
pub(super) enum Along {
    /// The share of constant power and current.
    Loads,
    /// The limits of the loops at their limit, from one value to another.
    Limits { from_a: Vec<f64>, to_a: Vec<f64> },
}

/// How following ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum End {
    Arrived,
    /// The parameter turned back here.
    Fold(f64),
    Lost(Stopped),
}

/// A point of the curve.
#[derive(Debug, Clone, Default)]
struct Point {
    v: Vec<Complex64>,
    j: Vec<Complex64>,
    parameter: f64,
}

/// Numbers of one path.
struct Path<'a> {
    solver: &'a mut Solver,
    newton: &'a mut Newton,
    along: &'a Along,
    parameter: f64,
    /// Tangent: of x, and of the parameter.
    tangent: Vec<f64>,
    tangent_p: f64,
    /// Weight of each entry of x in lengths: 1 over the bus's voltage, squared; none for currents.
    weight: Vec<f64>,
    goal_a: f64,
}

const FIRST_STEP: f64 = 0.25;
const LONGEST_STEP: f64 = 0.5;
const SHORTEST_STEP: f64 = 1e-8;
/// A fold passed with a step longer than this is looked at again more closely.
const FOLD_STEP: f64 = 1e-3;
/// Least cosine of the angle between the tangents at both ends of a step.
const STRAIGHT: f64 = 0.9;

impl Along {
    fn set(&self, newton: &mut Newton, p: f64) {
        let setting = &mut newton.setting;
        match self {
            Along::Loads => (setting.scale, setting.scale_slope) = (p, 1.0),
            Along::Limits { from_a, to_a } => {
                (setting.scale, setting.scale_slope) = (1.0, 0.0);
                for (k, (from, to)) in from_a.iter().zip(to_a).enumerate() {
                    // exact at both ends
                    setting.limit_a[k] = from * (1.0 - p) + to * p;
                    setting.limit_slope_a[k] = to - from;
                }
            }
        }
    }
}

impl Solver {
    /// Follows the solutions from the present point, which must solve at 0.
    pub(super) fn follow(&mut self, along: &Along, watch: &mut dyn FnMut(Event) -> Go) -> End {
        let mut newton = self.newton.take().unwrap_or_else(|| {
            Box::new(Newton::new(&self.flat, &self.slots, &self.order, self.config.dense))
        });
        let end = Path::new(self, &mut newton, along).run(watch);
        self.newton = Some(newton);
        end
    }

    /// Mismatch that rounding alone leaves: a few units in the last place of the largest admittance times the
    /// largest voltage.
    fn rounding_a(&self) -> f64 {
        let elements = self.flat.elements.iter().flat_map(|e| &e.y_s);
        let sources = self.flat.sources.iter().flat_map(|s| &s.y_s);
        let y = elements.chain(sources).map(|y| y.norm_sqr()).fold(0.0, f64::max).sqrt();
        let v = self.start_v.iter().map(|v| v.norm_sqr()).fold(0.0, f64::max).sqrt();
        8.0 * f64::EPSILON * y * v
    }

    /// 1 over the square of the largest voltage without load at a node's bus.
    fn weights(&self, newton: &Newton) -> Vec<f64> {
        let mut weight = vec![0.0; newton.layout.len()];
        let emf = self.flat.sources.iter().flat_map(|s| &s.emf_v).map(|e| e.norm_sqr());
        let held = self.topology.held.values().map(|v| v.norm_sqr());
        let most = emf.chain(held).fold(0.0, f64::max);
        let mut of_bus = vec![0.0_f64; self.network.buses.len()];
        for (slot, (position, _)) in self.slots.place.iter().enumerate() {
            of_bus[*position] = of_bus[*position].max(self.start_v[slot].norm_sqr());
        }
        for (slot, (position, _)) in self.slots.place.iter().enumerate() {
            let square = if of_bus[*position] > 1e-6 * most { of_bus[*position] } else { most.max(1e-6) };
            let k = newton.of_slot(&self.slots, slot);
            (weight[k], weight[k + 1]) = (1.0 / square, 1.0 / square);
        }
        weight
    }
}

impl<'a> Path<'a> {
    fn new(solver: &'a mut Solver, newton: &'a mut Newton, along: &'a Along) -> Self {
        let weight = solver.weights(newton);
        let goal_a = (0.1 * solver.config.tolerance_a).max(solver.rounding_a());
        let tangent = vec![0.0; newton.layout.len()];
        Self { solver, newton, along, parameter: 0.0, tangent, tangent_p: 0.0, weight, goal_a }
    }

    fn run(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> End {
        if !self.correct_at(0.0) || !self.set_tangent(true) {
            return End::Lost(Stopped::StepSize);
        }
        let mut length = FIRST_STEP;
        let mut old = Point::default();
        let mut old_tangent = self.tangent.clone();
        for point in 1..=self.solver.config.continuation_points {
            if watch(Event::Continuation { point, reached: self.parameter }) == Go::Stop {
                return End::Lost(Stopped::Observer);
            }
            if length < SHORTEST_STEP {
                return End::Lost(Stopped::StepSize);
            }
            self.keep(&mut old);
            old_tangent.copy_from_slice(&self.tangent);
            let old_p = self.tangent_p;
            let to_end = (1.0 - self.parameter) / self.tangent_p;
            if (0.0..=length).contains(&to_end) {
                self.advance(to_end);
                if self.correct_at(1.0) && self.set_tangent(false) && self.straight_on(&old_tangent, old_p) {
                    self.solver.work.continuation_points += 1;
                    return End::Arrived;
                }
                self.back_to(&old, &old_tangent, old_p);
                length = 0.25 * to_end;
                continue;
            }
            self.advance(length);
            let Some(steps) = self.correct_on_plane() else {
                self.restore(&old);
                length *= 0.25;
                continue;
            };
            let turned = self.set_tangent(false) && self.tangent_p < 0.0;
            let beyond = self.parameter >= 1.0;
            // a bend that one step takes at once could hide a fold
            if beyond || (length > FOLD_STEP && !self.straight_on(&old_tangent, old_p)) {
                self.back_to(&old, &old_tangent, old_p);
                length *= 0.25;
                continue;
            }
            if turned {
                self.solver.work.continuation_points += 1;
                return End::Fold(self.parameter.max(old.parameter));
            }
            self.solver.work.continuation_points += 1;
            if steps <= 3 {
                length = (1.6 * length).min(LONGEST_STEP);
            }
        }
        End::Lost(Stopped::Steps)
    }

    fn keep(&self, point: &mut Point) {
        point.v.clone_from(&self.solver.v);
        point.j.clone_from(&self.solver.j);
        point.parameter = self.parameter;
    }

    fn restore(&mut self, point: &Point) {
        self.solver.v.clone_from(&point.v);
        self.solver.j.clone_from(&point.j);
        self.parameter = point.parameter;
    }

    fn back_to(&mut self, point: &Point, tangent: &[f64], tangent_p: f64) {
        self.restore(point);
        self.tangent.copy_from_slice(tangent);
        self.tangent_p = tangent_p;
    }

    /// Whether the tangent still leads upward and has turned little against an earlier one.
    fn straight_on(&self, tangent: &[f64], tangent_p: f64) -> bool {
        self.tangent_p > 0.0 && self.dot(&self.tangent, tangent) + self.tangent_p * tangent_p >= STRAIGHT
    }

    /// Adds a step of x.
    fn add(&mut self, x: &[f64], factor: f64) {
        for slot in 0..self.solver.slots.free {
            let k = self.newton.of_slot(&self.solver.slots, slot);
            self.solver.v[slot] += Complex64::new(x[k], x[k + 1]) * factor;
        }
        for l in 0..self.solver.flat.loops {
            let k = self.newton.of_loop(l);
            self.solver.j[l] += Complex64::new(x[k], x[k + 1]) * factor;
        }
    }

    fn advance(&mut self, length: f64) {
        let tangent = std::mem::take(&mut self.tangent);
        self.add(&tangent, length);
        self.tangent = tangent;
        self.parameter += length * self.tangent_p;
    }

    /// Largest equation at the present point and a parameter.
    fn evaluate(&mut self, p: f64) -> f64 {
        self.along.set(self.newton, p);
        let s = &*self.solver;
        self.newton.evaluate(&At { flat: &s.flat, slots: &s.slots, v: &s.v, j: &s.j, at_limit: &s.at_limit })
    }

    fn factor(&mut self) -> bool {
        self.solver.work.newton_steps += 1;
        let s = &*self.solver;
        self.newton.factor(&At { flat: &s.flat, slots: &s.slots, v: &s.v, j: &s.j, at_limit: &s.at_limit })
    }

    /// x and y in the metric of voltages.
    fn dot(&self, x: &[f64], y: &[f64]) -> f64 {
        self.weight.iter().zip(x).zip(y).map(|((w, x), y)| w * x * y).sum()
    }

    /// Whether a step moves voltages by more than half.
    fn leaps(&self, x: &[f64]) -> bool {
        let small = |(w, x): (&f64, &f64)| w * x * x <= 0.25;
        // what is not a number is not small
        !self.weight.iter().zip(x).all(small)
    }

    /// Newton steps at a fixed parameter.
    fn correct_at(&mut self, p: f64) -> bool {
        self.parameter = p;
        for _ in 0..12 {
            let off_a = self.evaluate(p);
            if off_a <= self.goal_a {
                return true;
            }
            if !off_a.is_finite() || !self.factor() {
                return false;
            }
            let mut step: Vec<f64> = self.newton.f.iter().map(|f| -f).collect();
            self.newton.solve(&mut step);
            // without constant power and current the equations are linear, and a step of any size is right
            let linear = p <= 0.0 && matches!(self.along, Along::Loads);
            if !linear && self.leaps(&step) {
                return false;
            }
            self.add(&step, 1.0);
        }
        false
    }

    /// Newton steps on the plane through the predicted point; how many it took.
    fn correct_on_plane(&mut self) -> Option<usize> {
        // distance from the plane: steps stay on it once they are on it, rounding aside
        let mut off_plane = 0.0;
        for step in 0..8 {
            let off_a = self.evaluate(self.parameter);
            if off_a <= self.goal_a {
                return Some(step);
            }
            if !off_a.is_finite() || !self.factor() {
                return None;
            }
            let mut a: Vec<f64> = self.newton.f.iter().map(|f| -f).collect();
            self.newton.solve(&mut a);
            let mut b = self.newton.f_slope.clone();
            self.newton.solve(&mut b);
            let denominator = self.tangent_p - self.dot(&self.tangent, &b);
            let by_p = -(off_plane + self.dot(&self.tangent, &a)) / denominator;
            for (a, b) in a.iter_mut().zip(&b) {
                *a -= b * by_p;
            }
            if !by_p.is_finite() || by_p.abs() > 0.5 || self.leaps(&a) {
                return None;
            }
            off_plane += self.dot(&self.tangent, &a) + self.tangent_p * by_p;
            self.add(&a, 1.0);
            self.parameter += by_p;
        }
        None
    }

    /// Tangent at the present point, in the direction gone so far, or upward.
    fn set_tangent(&mut self, upward: bool) -> bool {
        self.evaluate(self.parameter);
        if !self.factor() {
            return false;
        }
        let mut x: Vec<f64> = self.newton.f_slope.iter().map(|f| -f).collect();
        self.newton.solve(&mut x);
        let length = (self.dot(&x, &x) + 1.0).sqrt();
        let along = if upward { 1.0 } else { self.dot(&self.tangent, &x) + self.tangent_p };
        let factor = if along < 0.0 { -1.0 / length } else { 1.0 / length };
        if !factor.is_finite() {
            return false;
        }
        x.iter_mut().for_each(|x| *x *= factor);
        self.tangent = x;
        self.tangent_p = factor;
        true
    }
}
