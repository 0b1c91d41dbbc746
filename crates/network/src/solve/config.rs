//! Settings of a solve, checked once when it is prepared.

use super::ModelError;

/// How far and how long to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Config {
    /// Largest mismatch of Kirchhoff's current law that counts as converged, in amperes.
    pub tolerance_a: f64,
    /// Steps of the fixed point before the continuation takes over.
    pub fixed_point_steps: usize,
    /// Points of one continuation.
    pub continuation_points: usize,
    /// Changes of the set of sources at their limit.
    pub limit_changes: usize,
    /// Solve all linear systems by dense elimination with row exchange over the whole matrix: slower, the
    /// yardstick of tests.
    pub dense: bool,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            tolerance_a: 1e-6,
            fixed_point_steps: 60,
            continuation_points: 400,
            limit_changes: 100,
            dense: false,
        }
    }
}

impl Config {
    pub(super) fn checked(self) -> Result<Self, ModelError> {
        if !(self.tolerance_a.is_finite() && self.tolerance_a > 0.0) {
            let (what, allowed) = ("tolerance_a", "finite and above zero");
            return Err(ModelError::Setting { what, value: self.tolerance_a, allowed });
        }
        let counts = [
            ("fixed_point_steps", self.fixed_point_steps),
            ("continuation_points", self.continuation_points),
            ("limit_changes", self.limit_changes),
        ];
        for (what, count) in counts {
            if count == 0 || count > 100_000 {
                let allowed = "from 1 to 100000";
                return Err(ModelError::Setting { what, value: count as f64, allowed });
            }
        }
        Ok(self)
    }
}
