//! Which rules of the site's book were held, on which part, and how it ended.

use codebook::{Book, rules};
use saying::Text;
use site::Earthing;

/// How a rule ended on a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It does not hold.
    Failed,
    /// Our reading does not reach the case.
    NotCovered,
    /// It holds.
    Passed,
    /// The check does not look at it: named, never called checked.
    OutsideScope,
    /// Nothing of the plant asks for it.
    DoesNotApply,
}

impl Verdict {
    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Failed => "failed",
            Verdict::NotCovered => "not covered",
            Verdict::Passed => "passed",
            Verdict::OutsideScope => "outside scope",
            Verdict::DoesNotApply => "does not apply",
        }
    }

    /// Whether it says that the rule was held, and how that ended.
    pub fn is_held(self) -> bool {
        matches!(self, Verdict::Failed | Verdict::NotCovered | Verdict::Passed)
    }
}

/// One rule on one part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// Id of the rule in the code book.
    pub rule: &'static str,
    /// Role path of the part.
    pub part: String,
    /// How it ended.
    pub verdict: Verdict,
    /// Why, where that is not plain.
    pub why: Option<Text>,
}

impl Held {
    /// A rule that holds or not.
    pub(crate) fn new(rule: &'static str, part: &str, holds: bool) -> Self {
        let verdict = if holds { Verdict::Passed } else { Verdict::Failed };
        Self { rule, part: part.to_owned(), verdict, why: None }
    }

    /// A rule that does not reach the case.
    pub(crate) fn not_covered(rule: &'static str, part: &str) -> Self {
        Self { rule, part: part.to_owned(), verdict: Verdict::NotCovered, why: None }
    }

    /// A part that the rule concerns and that is not looked at.
    pub(crate) fn outside(rule: &'static str, part: &str) -> Self {
        Self { rule, part: part.to_owned(), verdict: Verdict::OutsideScope, why: None }
    }

    /// A rule that nothing asks for.
    pub(crate) fn does_not_apply(rule: &'static str) -> Self {
        Self { rule, part: "site".to_owned(), verdict: Verdict::DoesNotApply, why: None }
    }

    /// With its reason.
    pub(crate) fn because(mut self, why: impl Into<Text>) -> Self {
        self.why = Some(why.into());
        self
    }
}

/// A rule with what became of it.
#[derive(Debug, Clone)]
pub struct Clause {
    /// Id of the rule.
    pub rule: &'static str,
    /// Edition and clause.
    pub clause: String,
    /// One line.
    pub title: &'static str,
    /// The worst verdict over its parts.
    pub verdict: Verdict,
    /// The parts with that verdict.
    pub parts: Vec<String>,
    /// Why, each reason once.
    pub why: Vec<Text>,
}

/// The books that bind a site.
pub(crate) fn books(earthing: Earthing) -> &'static [Book] {
    if earthing == Earthing::Us { &[Book::Us, Book::Fire] } else { &[Book::Iec] }
}

/// Every rule of the site's books with its worst verdict, in the order of verdicts and then of the book.
pub fn compliance(earthing: Earthing, held: &[Held]) -> Vec<Clause> {
    let mut all: Vec<Clause> = rules()
        .iter()
        .filter(|rule| books(earthing).contains(&rule.book))
        .map(|rule| {
            let mine: Vec<&Held> = held.iter().filter(|h| h.rule == rule.id).collect();
            let verdict = mine.iter().map(|h| h.verdict).min().unwrap_or(Verdict::DoesNotApply);
            let mut why: Vec<Text> =
                mine.iter().filter(|h| h.verdict == verdict).filter_map(|h| h.why.clone()).collect();
            why.sort();
            why.dedup();
            let parts = mine.iter().filter(|h| h.verdict == verdict).map(|h| h.part.clone()).collect();
            Clause {
                rule: &rule.id,
                clause: format!("{} {}", rule.edition, rule.clause),
                title: &rule.title,
                verdict,
                parts,
                why,
            }
        })
        .collect();
    all.sort_by_key(|clause| clause.verdict);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_verdict_of_a_rule_counts_and_what_was_not_held_is_not_called_passed() {
        let held = [
            Held::new("conductor-size", "a", true),
            Held::new("conductor-size", "b", false),
            Held::not_covered("equipment-ground", "a"),
        ];
        let all = compliance(Earthing::Us, &held);
        let of = |id: &str| all.iter().find(|c| c.rule == id);
        assert!(of("conductor-size").is_some_and(|c| c.verdict == Verdict::Failed && c.parts == ["b"]));
        assert!(of("equipment-ground").is_some_and(|c| c.verdict == Verdict::NotCovered));
        assert!(of("raceway-fill").is_some_and(|c| c.verdict == Verdict::DoesNotApply && c.parts.is_empty()));
        assert_eq!(all.first().map(|c| c.verdict), Some(Verdict::Failed));
        assert!(of("cable-ampacity").is_none(), "the other book");
    }
}
