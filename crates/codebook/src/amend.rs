//! Which rules a place may change by local amendment, and in which figure.
//!
//! A code becomes law where a place adopts it, often with changes. Only figures that stand here can be changed: whoever
//! changes another one would get the unchanged result and not see it.

/// What a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A share of something, written as a percentage.
    Share,
    /// A length.
    Length,
    /// An energy.
    Energy,
    /// A time.
    Duration,
    /// A current.
    Current,
}

impl Measure {
    /// The key that holds such a figure in an amendment.
    pub fn key(self) -> &'static str {
        match self {
            Self::Share => "share",
            Self::Length => "length",
            Self::Energy => "energy",
            Self::Duration => "time",
            Self::Current => "current",
        }
    }
}

/// A figure of a rule that a place may change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The rule.
    pub rule: &'static str,
    /// What the figure is.
    pub measure: Measure,
    /// In words.
    pub what: &'static str,
    /// A larger figure is the stricter one.
    pub larger_is_stricter: bool,
    /// The least and the largest share that have a sense; of other measures nothing is said.
    pub shares: Option<(f64, f64)>,
}

const FIGURES: &[Figure] = &[
    Figure {
        rule: "continuous-load",
        measure: Measure::Share,
        what: "how often a continuous load counts",
        larger_is_stricter: true,
        shares: Some((1.0, 2.0)),
    },
    Figure {
        rule: "voltage-drop",
        measure: Measure::Share,
        what: "voltage drop that is not exceeded",
        larger_is_stricter: false,
        shares: Some((0.0, 1.0)),
    },
    Figure {
        rule: "dwelling-service",
        measure: Measure::Share,
        what: "share of the rating that a dwelling's service conductors carry",
        larger_is_stricter: true,
        shares: Some((0.0, 1.0)),
    },
    Figure {
        rule: "service-capacity",
        measure: Measure::Current,
        what: "least rating of a one-family dwelling's service",
        larger_is_stricter: true,
        shares: None,
    },
    Figure {
        rule: "working-space",
        measure: Measure::Length,
        what: "least depth of the space before live parts",
        larger_is_stricter: true,
        shares: None,
    },
    Figure {
        rule: "storage-places",
        measure: Measure::Energy,
        what: "most energy storage in a place",
        larger_is_stricter: false,
        shares: None,
    },
    Figure {
        rule: "island-shock-protection",
        measure: Measure::Duration,
        what: "longest time until a fault is cut off",
        larger_is_stricter: false,
        shares: None,
    },
];

/// Rules that a place may declare not to apply: what they hold is said in the list, and nothing is sized by them.
const MAY_FALL: &[&str] = &[
    "voltage-drop",
    "dwelling-service",
    "standby-capacity",
    "stand-alone",
    "service-capacity",
    "working-space",
    "storage-places",
];

/// The figure of a rule that may be changed.
pub fn figure(rule: &str) -> Option<&'static Figure> {
    FIGURES.iter().find(|figure| figure.rule == rule)
}

/// Whether a place may declare a rule not to apply.
pub fn may_fall(rule: &str) -> bool {
    MAY_FALL.contains(&rule)
}

/// What may be changed of a rule, in words.
pub fn amendable(rule: &str) -> String {
    let figure = figure(rule).map(|f| {
        let stricter = if f.larger_is_stricter { "larger" } else { "smaller" };
        format!("`{}`: {} (a {stricter} one is stricter)", f.measure.key(), f.what)
    });
    let fall = may_fall(rule).then(|| "`applies = false`".to_owned());
    let all: Vec<String> = figure.into_iter().chain(fall).collect();
    if all.is_empty() {
        return "nothing: this reading has no figure that a site file can change".to_owned();
    }
    format!("[[amendment]] with {}", all.join(", or "))
}

/// Rules of which something may be changed.
pub fn amendable_rules() -> Vec<&'static str> {
    let mut all: Vec<&str> = FIGURES.iter().map(|f| f.rule).chain(MAY_FALL.iter().copied()).collect();
    all.sort_unstable();
    all.dedup();
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_may_be_changed_is_a_rule_of_a_book() {
        for id in amendable_rules() {
            assert!(crate::rule(id).is_some(), "{id}");
            assert!(amendable(id).starts_with("[[amendment]] with "), "{id}");
        }
        assert!(amendable("conductor-size").starts_with("nothing"));
        let stricter = |id| figure(id).unwrap().larger_is_stricter;
        assert!(["dwelling-service", "service-capacity", "working-space"].into_iter().all(stricter));
        let limits = ["voltage-drop", "storage-places", "island-shock-protection"];
        assert!(!limits.into_iter().any(stricter));
        assert!(!may_fall("island-shock-protection"), "protection of people is not waived");
    }
}
