//! Which rules of the site's book were held, on which part, and how it ended.

use codebook::{Book, rules};
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
    /// Nothing asked for it here, or the check does not look at it: not called checked.
    NotUsed,
}

impl Verdict {
    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Failed => "failed",
            Verdict::NotCovered => "not covered",
            Verdict::Passed => "passed",
            Verdict::NotUsed => "not used",
        }
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
}

impl Held {
    /// A rule that holds or not.
    pub(crate) fn new(rule: &'static str, part: &str, holds: bool) -> Self {
        let verdict = if holds { Verdict::Passed } else { Verdict::Failed };
        Self { rule, part: part.to_owned(), verdict }
    }

    /// A rule that does not reach the case.
    pub(crate) fn not_covered(rule: &'static str, part: &str) -> Self {
        Self { rule, part: part.to_owned(), verdict: Verdict::NotCovered }
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
}

/// Every rule of the site's book with its worst verdict, in the order of verdicts and then of the book.
pub fn compliance(earthing: Earthing, held: &[Held]) -> Vec<Clause> {
    let book = if earthing == Earthing::Us { Book::Us } else { Book::Iec };
    let mut all: Vec<Clause> = rules()
        .iter()
        .filter(|rule| rule.book == book)
        .map(|rule| {
            let mine: Vec<&Held> = held.iter().filter(|h| h.rule == rule.id).collect();
            let verdict = mine.iter().map(|h| h.verdict).min().unwrap_or(Verdict::NotUsed);
            let parts = mine.iter().filter(|h| h.verdict == verdict).map(|h| h.part.clone()).collect();
            Clause {
                rule: &rule.id,
                clause: format!("{} {}", rule.edition, rule.clause),
                title: &rule.title,
                verdict,
                parts,
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
        assert!(of("raceway-fill").is_some_and(|c| c.verdict == Verdict::NotUsed && c.parts.is_empty()));
        assert_eq!(all.first().map(|c| c.verdict), Some(Verdict::Failed));
        assert!(of("cable-ampacity").is_none(), "the other book");
    }
}
