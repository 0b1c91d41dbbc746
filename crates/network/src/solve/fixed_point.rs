//! Current injection: Y V = I(V) on one factorisation.
//!
//! Y holds lines, transformers, bonds, shunts, constant-admittance loads and the sources' impedances. I holds
//! what sources give at short circuit, minus the currents that constant-power and constant-current loads draw at
//! the voltages of the step before. The mismatch of Kirchhoff's law after a step is I(V_new) - I(V_old), which
//! costs nothing extra. The map contracts about as loads' currents times the impedance to the sources over the
//! voltage: 5 % drop gains a factor 20 a step. Where it does not contract the continuation takes over.

use super::solver::Solver;
use super::{Event, Go};

/// How the fixed point ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FixedPoint {
    /// The injected currents rest.
    Rests,
    /// They do not.
    Wanders,
    /// The observer stopped it.
    Stopped,
}

impl Solver {
    /// Iterates from the voltages without load; leaves voltages, and source currents without limits.
    pub(super) fn fixed_point(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> FixedPoint {
        self.v.copy_from_slice(&self.start_v);
        self.inject();
        let goal_a = 0.5 * self.config.tolerance_a;
        let mut last = f64::INFINITY;
        let mut worse = 0;
        for step in 1..=self.config.fixed_point_steps {
            self.take_injected();
            self.back_solve();
            let change_a = self.inject();
            if watch(Event::FixedPoint { step, change_a }) == Go::Stop {
                self.unlimited_currents();
                return FixedPoint::Stopped;
            }
            if change_a <= goal_a {
                self.unlimited_currents();
                return FixedPoint::Rests;
            }
            worse = if change_a < last { 0 } else { worse + 1 };
            if !change_a.is_finite() || worse > 3 {
                break;
            }
            last = change_a;
        }
        FixedPoint::Wanders
    }
}
