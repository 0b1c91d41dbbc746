//! One step of the check-out.

use std::sync::Arc;

use derivation::Node;

/// What should be read at a step.
#[derive(Debug, Clone)]
pub struct Reading {
    /// What is read, and where: "L1 to neutral at the backup panel".
    pub what: String,
    /// The expected value as people read it: "114 V to 126 V".
    pub expected: String,
    /// How it came about: lowest and highest, or one value; empty where it is a yes or no.
    pub from: Vec<Arc<Node>>,
}

/// A step with its caution, what to read and room to write it down.
#[derive(Debug, Clone)]
pub struct CheckoutStep {
    /// From 1.
    pub number: u32,
    /// Stage of the check-out: "before any source", "direct current", "first energising", ...
    pub stage: &'static str,
    /// What to do, in one or two sentences.
    pub action: String,
    /// What can hurt or destroy at this step, and what keeps it from it.
    pub caution: Option<String>,
    /// What to read; each gets a line to write on.
    pub readings: Vec<Reading>,
    /// What to do where a reading is not as expected.
    pub otherwise: String,
}
