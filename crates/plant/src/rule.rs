//! How devices move: as data, so that states are found by search and not listed by hand.

use catalog::DelayRange;

use crate::{DeviceIx, NodeIx, SourceKind};

/// Something that a device senses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition {
    /// A node is live from the utility or a generator, without the group's help.
    LiveFromOutside(NodeIx),
    /// A node is live from any source: the utility or a generator, through closed relays too, or the group while
    /// it forms. This is what a voltage relay on a terminal sees.
    Live(NodeIx),
    /// The group forms a voltage of its own.
    GroupForms,
    /// A source is there.
    Present(SourceKind),
    /// Another device stands in a position (sets: this many members closed).
    At(DeviceIx, u8),
    /// All of several.
    All(Vec<Condition>),
    /// Any of several.
    Any(Vec<Condition>),
    /// Not.
    Not(Box<Condition>),
}

impl Condition {
    /// The opposite.
    #[must_use]
    pub fn negated(self) -> Self {
        Condition::Not(Box::new(self))
    }
}

/// While `when` holds (and no rule before it does), the device wants to be in `position` and goes there within
/// `delay`; each member of a set does so by itself. A rule that stops deciding, however shortly, starts anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Condition.
    pub when: Condition,
    /// Wanted position (sets: 0 open, 1 closed, each member by itself).
    pub position: u8,
    /// From the moment this rule began to decide.
    pub delay: DelayRange,
}

/// How a device moves.
#[derive(Debug, Clone, PartialEq)]
pub enum Control {
    /// By hand, to any of its positions at any time.
    Manual,
    /// By itself: the first rule whose condition holds decides; none = it stays.
    Automatic(Vec<Rule>),
}
