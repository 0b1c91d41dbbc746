//! How a solve ended.

use super::{BusIx, LoadIx};

/// How a solve ended. Only [`Status::Converged`] leaves voltages to be relied on.
#[derive(Debug, Clone, PartialEq)]
pub enum Status {
    /// Every node keeps Kirchhoff's current law and every source its law.
    Converged {
        /// Linear systems solved.
        iterations: usize,
        /// Largest mismatch, in amperes, recomputed from the model.
        residual_a: f64,
    },
    /// No answer was found, and none was shown not to exist.
    NotConverged {
        /// Why the search ended.
        why: Stopped,
        /// Mismatch of the voltages that are kept, in amperes; infinite where they are no numbers.
        residual_a: f64,
    },
    /// The branch of solutions that leads to the question ends before it.
    NoSolution {
        /// Where and why.
        reason: NoSolution,
    },
    /// Energised conductors whose voltage nothing determines: no path of admittances to earth.
    Floating {
        /// The buses they belong to, in order.
        buses: Vec<BusIx>,
    },
}

impl Status {
    /// Whether the voltages can be relied on.
    pub fn converged(&self) -> bool {
        matches!(self, Status::Converged { .. })
    }
}

/// Why a search ended without an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// The number of steps or points that the settings allow.
    Steps,
    /// Steps became too small to lead anywhere.
    StepSize,
    /// The set of sources at their limit came back to one that was tried before, or changed too often.
    Limits,
    /// Steps stopped changing anything while the mismatch was above the tolerance.
    Rounding,
    /// The observer said so.
    Observer,
}

/// Why there is no solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoSolution {
    /// Followed from no load, the solutions turn back at this share of the constant-power and constant-current
    /// loads.
    LoadFold {
        /// Largest share of the loads that has a solution, below 1.
        share: f64,
    },
    /// Followed from the unlimited sources to their limits, the solutions turn back on the way: the loads ask for
    /// more at any voltage.
    LimitFold {
        /// How far the limits came down from the unlimited currents, 0 to 1.
        reached: f64,
        /// Least current of the source loop that is over its limit by the most, in amperes.
        least_a: f64,
    },
    /// A unit that follows stands where no source forms a voltage.
    FollowsNothing {
        /// The injection.
        injection: LoadIx,
    },
    /// The equations have no single solution (a resonance, or admittances that cancel).
    Singular,
}
