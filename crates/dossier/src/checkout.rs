//! One step of the check-out.

use std::sync::Arc;

use derivation::Node;
use saying::Text;

/// What should be read at a step.
#[derive(Debug, Clone)]
pub struct Reading {
    /// What is read, and where: "L1 to neutral at the backup panel".
    pub what: Text,
    /// The expected value as people read it: "114 V to 126 V".
    pub expected: Text,
    /// How it came about: lowest and highest, or one value; empty where it is a yes or no.
    pub from: Vec<Arc<Node>>,
}

/// The final circuits of the backup panel, behind their residual current devices, as a place of an [`Act`].
pub const FINAL: &str = "backup.final";

/// What a step does to the plant or finds at a place of it, in the order in which the step does it. Devices and places
/// are role paths of the full plant. Beside its devices move: the disconnect of a battery string, "battery" where no bank
/// is decided, a unit ("unit.2": off, awake, forming), the generator (running, stopped), the conductor of the earth
/// electrode ("electrode") and a residual current device by its own role path. Final circuits behind theirs are a place:
/// [`FINAL`].
///
/// [`FINAL`]: crate::FINAL
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// A device is put into a position, or goes there by itself.
    Moves {
        /// Which.
        device: String,
        /// Name of the position.
        to: &'static str,
    },
    /// There is voltage at a place.
    Live(String),
    /// There is none.
    Dead(String),
}

/// A step with its caution, what to read and room to write it down.
#[derive(Debug, Clone)]
pub struct CheckoutStep {
    /// From 1.
    pub number: u32,
    /// Stage of the check-out: "before any source", "direct current", "first energising", ...
    pub stage: &'static str,
    /// What to do, in one or two sentences.
    pub action: Text,
    /// What can hurt or destroy at this step, and what keeps it from it.
    pub caution: Option<Text>,
    /// What to read; each gets a line to write on.
    pub readings: Vec<Reading>,
    /// What to do where a reading is not as expected.
    pub otherwise: Text,
    /// What it does to the plant and finds there, in this order.
    pub acts: Vec<Act>,
}
