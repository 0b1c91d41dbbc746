//! One line of the margin ledger.

use std::sync::Arc;

use derivation::{Known, Node, Place};
use quantity::Quantity;
use saying::Text;

/// How far a part is below (or, for a floor, above) its limit, in one operating state.
#[derive(Debug, Clone)]
pub struct Margin {
    /// Role path of the part.
    pub part: String,
    /// What is held against the limit: "continuous power, L2".
    pub what: Text,
    /// Operating state.
    pub state: String,
    /// Value found.
    pub value: Arc<Node>,
    /// Its limit.
    pub limit: Arc<Node>,
    /// The limit is a floor: the value must not be below it.
    pub floor: bool,
    /// The setting that holds the value at or below the limit, so that a margin of zero is meant.
    pub held_by: Option<&'static str>,
    /// Where the user can change the limit or the value.
    pub place: Option<Place>,
}

impl Margin {
    /// A value that must not exceed its limit. Both are of one kind.
    pub fn below<Q: Quantity>(
        part: impl Into<String>,
        what: impl Into<Text>,
        state: impl Into<String>,
        value: &Known<Q>,
        limit: &Known<Q>,
    ) -> Self {
        Self::new(part, what, state, value, limit, false)
    }

    /// A value that must not fall below its limit. Both are of one kind.
    pub fn above<Q: Quantity>(
        part: impl Into<String>,
        what: impl Into<Text>,
        state: impl Into<String>,
        value: &Known<Q>,
        limit: &Known<Q>,
    ) -> Self {
        Self::new(part, what, state, value, limit, true)
    }

    fn new<Q: Quantity>(
        part: impl Into<String>,
        what: impl Into<Text>,
        state: impl Into<String>,
        value: &Known<Q>,
        limit: &Known<Q>,
        floor: bool,
    ) -> Self {
        Self {
            part: part.into(),
            what: what.into(),
            state: state.into(),
            value: value.node().clone(),
            limit: limit.node().clone(),
            floor,
            held_by: None,
            place: value.place().or_else(|| limit.place()).cloned(),
        }
    }

    /// A value that a setting holds.
    #[must_use]
    pub fn held_by(mut self, setting: &'static str) -> Self {
        self.held_by = Some(setting);
        self
    }

    /// The margin as a share of the limit: 0.25 is a quarter below it, negative is beyond it. `None` where there
    /// is no number: such a line never counts as held.
    pub fn share(&self) -> Option<f64> {
        let (value, limit) = (self.value.amount.si, self.limit.amount.si);
        if !value.is_finite() || limit.is_nan() {
            return None;
        }
        if limit == 0.0 {
            let fine = if self.floor { value >= 0.0 } else { value <= 0.0 };
            return Some(if fine { 0.0 } else { f64::NEG_INFINITY });
        }
        if limit.is_infinite() {
            return Some(if self.floor == (limit > 0.0) { f64::NEG_INFINITY } else { 1.0 });
        }
        Some(if self.floor { value / limit - 1.0 } else { 1.0 - value / limit })
    }

    /// Whether the limit is kept. Nothing is forgiven for rounding: limits are kept exactly or not at all, apart
    /// from 1e-9 of the limit, which is the noise of the arithmetic itself.
    pub fn holds(&self) -> bool {
        self.share().is_some_and(|share| share >= -1e-9)
    }
}
