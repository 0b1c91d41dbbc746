//! Findings (what must not be built, what is allowed but must be said, what the model does not cover) and
//! margins (how far below its limit a part is, in its worst operating state).

mod margin;
mod registry;

pub use margin::Margin;
pub use registry::{Kind, kind, kinds};

use std::sync::Arc;

use derivation::{Node, Place};
use saying::Text;

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Must not be built.
    Error,
    /// The model or the book does not reach the case: fails the check, never "fine".
    NotCovered,
    /// Allowed, but say why.
    Warning,
    /// Worth knowing.
    Note,
    /// Named, never called checked; no effect on the exit status.
    OutsideScope,
}

impl Severity {
    /// As it is written to people and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::NotCovered => "not covered",
            Severity::Warning => "warning",
            Severity::Note => "note",
            Severity::OutsideScope => "outside scope",
        }
    }

    /// Whether it makes the check fail.
    pub fn fails(self) -> bool {
        matches!(self, Severity::Error | Severity::NotCovered)
    }
}

/// One finding. Rendered only at the edge.
#[derive(Debug, Clone)]
pub struct Finding {
    /// Stable id in words; registered in [`kinds`].
    pub id: &'static str,
    /// How bad.
    pub severity: Severity,
    /// Role path of the part: `unit.relay`, `backup`, `load.well pump`.
    pub part: String,
    /// Operating state in which it was found.
    pub state: Option<String>,
    /// What is wrong, in one sentence.
    pub message: Text,
    /// The value found.
    pub value: Option<Arc<Node>>,
    /// The limit it was held against.
    pub limit: Option<Arc<Node>>,
    /// The limit is a floor: the value must not be below it.
    pub floor: bool,
    /// Standard, clause and edition.
    pub clause: Option<String>,
    /// Where in the site file a user can change it, and what to say there.
    pub place: Option<(Place, Text)>,
    /// Remedies that name numbers.
    pub fixes: Vec<Text>,
    /// How many more there are of this kind on this part, less far over their limits (other legs, other states).
    pub more_like_it: usize,
}

impl Finding {
    /// A finding of a registered kind on a part.
    pub fn new(
        id: &'static str,
        severity: Severity,
        part: impl Into<String>,
        message: impl Into<Text>,
    ) -> Self {
        debug_assert!(kind(id).is_some(), "finding \"{id}\" is not registered");
        Self {
            id,
            severity,
            part: part.into(),
            state: None,
            message: message.into(),
            value: None,
            limit: None,
            floor: false,
            clause: None,
            place: None,
            fixes: Vec::new(),
            more_like_it: 0,
        }
    }

    /// In which operating state.
    #[must_use]
    pub fn in_state(mut self, state: impl Into<String>) -> Self {
        self.state = Some(state.into());
        self
    }

    /// Value against limit.
    #[must_use]
    pub fn measured(mut self, value: &Arc<Node>, limit: &Arc<Node>) -> Self {
        self.value = Some(value.clone());
        self.limit = Some(limit.clone());
        self
    }

    /// The clause it rests on.
    #[must_use]
    pub fn by(mut self, clause: impl Into<String>) -> Self {
        self.clause = Some(clause.into());
        self
    }

    /// Where the user can change it.
    #[must_use]
    pub fn at(mut self, place: Option<&Place>, label: impl Into<Text>) -> Self {
        if let Some(place) = place {
            self.place = Some((place.clone(), label.into()));
        }
        self
    }

    /// What to do.
    #[must_use]
    pub fn fix(mut self, fix: impl Into<Text>) -> Self {
        self.fixes.push(fix.into());
        self
    }

    /// How far on the right side of the limit, as a share of it; negative beyond it.
    pub fn margin(&self) -> Option<f64> {
        let (value, limit) = (self.value.as_ref()?, self.limit.as_ref()?);
        let ratio = value.amount.si / limit.amount.si;
        (limit.amount.si != 0.0).then_some(if self.floor { ratio - 1.0 } else { 1.0 - ratio })
    }
}
