//! Every default, each once by its text.

use std::collections::BTreeMap;
use std::sync::Arc;

use derivation::{Known, Node};
use quantity::Quantity;

/// Collects defaults.
#[derive(Debug, Default)]
pub(crate) struct Assumptions {
    by_text: BTreeMap<String, Arc<Node>>,
}

impl Assumptions {
    /// A default: the same text gives the same node.
    pub fn take<Q: Quantity>(&mut self, symbol: &str, what: &str, value: Q, why: &str) -> Known<Q> {
        let fresh = Known::assumed(symbol, what, value, why);
        self.by_text
            .entry(format!("{what}|{}|{why}", fresh.node().amount.text))
            .or_insert(fresh.node().clone());
        fresh
    }

    /// All of them, by text.
    pub fn all(self) -> Vec<Arc<Node>> {
        self.by_text.into_values().collect()
    }
}
