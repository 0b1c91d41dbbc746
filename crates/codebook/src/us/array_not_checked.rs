//! Rules on arrays that are named but not checked.
//!
//! ## Clause and edition
//! NEC 2023; 690.11, 690.12, 690.31.
//! ## Applies when
//! A site has an array. Which of them apply depends on where it stands.
//! ## Why
//! What nobody looked at must not look as if it had been.
//! ## Formula
//! None: a list of items, each outside scope.
//! ## Example
//! Passing: an array on a roof gets three items, one on the ground two. Failing: none can fail, and none counts as held.
//! ## Limits of our reading
//! Nothing is checked. Labels of rapid shutdown are listed with the labels.
//! ## Source
//! Titles of clauses from memory; confirm in the adopted code.

/// A rule that is not checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotChecked {
    /// Standard, edition, clause.
    pub clause: &'static str,
    /// What it is about.
    pub what: &'static str,
}

/// What is not checked of an array.
#[must_use]
pub fn array_not_checked(on_or_in_building: bool) -> Vec<NotChecked> {
    let mut items = vec![
        NotChecked {
            clause: "NEC 2023 690.11",
            what: "arc-fault protection of array circuits (asked for from 80 V DC, with exceptions)",
        },
        NotChecked {
            clause: "NEC 2023 690.31",
            what: "wiring methods, separation, support and grouping of array circuits",
        },
    ];
    if on_or_in_building {
        items.push(NotChecked {
            clause: "NEC 2023 690.12",
            what: "rapid shutdown of array circuits on or in buildings: levels of volts and seconds, and who starts it",
        });
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rapid_shutdown_is_named_on_buildings() {
        let named = |on| array_not_checked(on).iter().any(|item| item.clause.ends_with("690.12"));
        assert!(named(true) && !named(false));
        assert_eq!(array_not_checked(false).len(), 2);
    }
}
