//! A decision with its reasons.

use std::sync::Arc;

use derivation::{Node, Place};
use saying::Text;

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
    pub value: Text,
    /// Why it fell.
    pub reason: Text,
}

/// One decision.
#[derive(Debug, Clone)]
pub struct Decision {
    /// What was decided: `units`, `arrangement`, ...
    pub what: &'static str,
    /// The outcome.
    pub value: Text,
    /// Who decided.
    pub by: By,
    /// Why, with numbers.
    pub reasons: Vec<Text>,
    /// Alternatives that fell.
    pub dropped: Vec<Dropped>,
    /// The figures it rests on.
    pub from: Vec<Arc<Node>>,
}

impl Decision {
    /// A choice of the tool, or what the site fixes at a place.
    pub fn new(what: &'static str, value: impl Into<Text>, fixed: Option<&Place>) -> Self {
        let by = fixed.map_or(By::Tool, |place| By::Site(place.clone()));
        Self { what, value: value.into(), by, reasons: Vec::new(), dropped: Vec::new(), from: Vec::new() }
    }

    /// With a reason.
    #[must_use]
    pub fn because(mut self, reason: impl Into<Text>) -> Self {
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
    pub fn not(mut self, value: impl Into<Text>, reason: impl Into<Text>) -> Self {
        self.dropped.push(Dropped { value: value.into(), reason: reason.into() });
        self
    }
}
