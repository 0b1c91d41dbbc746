//! Every kind of finding, with what `explain` says of it.

/// A kind of finding.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Stable id in words.
    pub id: &'static str,
    /// One line.
    pub title: &'static str,
    /// Why it matters and how it is found.
    pub why: &'static str,
    /// What usually mends it.
    pub remedies: &'static str,
}

/// The kind with an id.
pub fn kind(id: &str) -> Option<&'static Kind> {
    kinds().iter().find(|k| k.id == id)
}

/// All kinds, by id.
pub fn kinds() -> &'static [Kind] {
    KINDS
}

const KINDS: &[Kind] = &[];
