//! A case that our reading of a clause does not reach.

use derivation::{Known, Refused};
use quantity::{Quantity, Ratio};
use saying::{Says, Text, say};
use tables::TableError;

/// A case that our reading of a clause does not reach. It fails the check; it is never "fine".
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not covered by {clause}: {reason}")]
pub struct NotCovered {
    /// Standard, clause and edition.
    pub clause: String,
    /// What is not reached, and where it can be mended, how.
    pub reason: Text,
}

impl NotCovered {
    /// Not reached, with the reason.
    pub fn new(clause: &str, reason: impl Into<Text>) -> Self {
        Self { clause: clause.to_owned(), reason: reason.into() }
    }
}

impl Says for NotCovered {
    fn say(&self) -> Text {
        say!("not covered by {clause}: {reason}", clause = self.clause, reason = self.reason)
    }
}

impl From<NotCovered> for Text {
    fn from(refused: NotCovered) -> Self {
        refused.say()
    }
}

impl From<TableError> for NotCovered {
    fn from(error: TableError) -> Self {
        Self { clause: error.table().to_owned(), reason: error.to_string().into() }
    }
}

/// A refused value as a case that a clause's reading does not reach.
pub(crate) fn under(clause: &str) -> impl Fn(Refused) -> NotCovered + '_ {
    move |refused| NotCovered::new(clause, refused.to_string())
}

/// Refuses what is no number or negative.
pub(crate) fn sane<Q: Quantity>(clause: &str, value: &Known<Q>) -> Result<(), NotCovered> {
    let si = value.value().si();
    if si.is_finite() && si >= 0.0 {
        return Ok(());
    }
    let node = value.node();
    Err(NotCovered::new(
        clause,
        say!("{what} is {node}, which is no load", what = node.what, node = node.amount.text),
    ))
}

/// The largest of several ways to the same figure; the only one as it is.
pub(crate) fn largest_of<Q: Quantity>(
    clause: &str,
    (symbol, what): (&str, &str),
    ways: &[Known<Q>],
) -> Result<Known<Q>, NotCovered> {
    match ways {
        [only] => Ok(only.clone()),
        _ => {
            Known::largest(symbol, what, ways).ok_or_else(|| NotCovered::new(clause, say!("no {what}", what)))
        }
    }
}

/// Refuses a list with a member that is no number or negative.
pub(crate) fn all_sane<Q: Quantity>(clause: &str, values: &[Known<Q>]) -> Result<(), NotCovered> {
    values.iter().try_for_each(|value| sane(clause, value))
}

/// Refuses a count that is no whole number or below the smallest allowed.
pub(crate) fn counted(clause: &str, n: &Known<Ratio>, least: &Known<Ratio>) -> Result<(), NotCovered> {
    sane(clause, n)?;
    if n.value().si().fract() == 0.0 && n.value() >= least.value() {
        return Ok(());
    }
    let (what, text, least) = (&n.node().what, &n.node().amount.text, least.value());
    Err(NotCovered::new(
        clause,
        say!("{what} is {text}; a whole number from {least} is asked for", what, text, least),
    ))
}

/// How many there are, derived from them.
pub(crate) fn number_of<Q: Quantity>(what: &str, items: &[Known<Q>]) -> Known<Ratio> {
    let from = items.iter().map(|item| item.node().clone()).collect();
    Known::chosen("n", what, Ratio::of(items.len() as f64), "counted", from)
}
