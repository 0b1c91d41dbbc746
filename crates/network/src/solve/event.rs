//! What an observer sees while a network is solved.

/// One step of the solver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A step of the fixed point, with the change of the injected currents since the step before.
    FixedPoint {
        /// Number of the step, from 1.
        step: usize,
        /// Largest change at a node, in amperes.
        change_a: f64,
    },
    /// A point of a continuation.
    Continuation {
        /// Number of the point, from 1.
        point: usize,
        /// How far the parameter has come, 0 to 1.
        reached: f64,
    },
    /// The set of source loops at their limit has changed.
    Limits {
        /// How many loops are at their limit now.
        at_limit: usize,
    },
}

/// Whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Go {
    /// Go on.
    On,
    /// Stop: the status will be [`NotConverged`](super::Status::NotConverged).
    Stop,
}
