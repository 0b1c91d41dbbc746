//! A decision with its reasons.

use std::sync::Arc;

use derivation::{Node, Place};

/// Who decided.
#[derive(Debug, Clone, PartialEq)]
pub enum By {
    /// The site file fixes it.
    Site(Place),
    /// The tool chose it.
    Tool,
}

/// An alternative that was not taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Dropped {
    /// What it was.
    pub value: String,
    /// Why it fell.
    pub reason: String,
}

/// One decision.
#[derive(Debug, Clone)]
pub struct Decision {
    /// What was decided: `units`, `arrangement`, ...
    pub what: &'static str,
    /// The outcome.
    pub value: String,
    /// Who decided.
    pub by: By,
    /// Why, with numbers.
    pub reasons: Vec<String>,
    /// Alternatives that fell.
    pub dropped: Vec<Dropped>,
    /// The figures it rests on.
    pub from: Vec<Arc<Node>>,
}

impl Decision {
    /// A choice of the tool, or what the site fixes at a place.
    pub fn new(what: &'static str, value: impl Into<String>, fixed: Option<&Place>) -> Self {
        let by = fixed.map_or(By::Tool, |place| By::Site(place.clone()));
        Self { what, value: value.into(), by, reasons: Vec::new(), dropped: Vec::new(), from: Vec::new() }
    }

    /// With a reason.
    #[must_use]
    pub fn because(mut self, reason: impl Into<String>) -> Self {
        self.reasons.push(reason.into());
        self
    }

    /// With a figure.
    #[must_use]
    pub fn resting_on(mut self, node: &Arc<Node>) -> Self {
        self.from.push(node.clone());
        self
    }

    /// With an alternative that fell.
    #[must_use]
    pub fn not(mut self, value: impl Into<String>, reason: impl Into<String>) -> Self {
        self.dropped.push(Dropped { value: value.into(), reason: reason.into() });
        self
    }
}
