//! Neutral and ground are joined once.
//!
//! ## Clause and edition
//! NEC 2023; 250.24, 250.30(A), 250.6.
//! ## Applies when
//! A solidly grounded system is energised: from the utility, from a source of its own, or through a switch.
//! ## Why
//! Without the bond no fault clears; with two the ground carries neutral current and parts become live.
//! ## Formula
//! `bonds = 1` in each energised island. Neutral not switched: the service's bond only. Neutral switched, so that the
//! source is a separately derived system: one bond at the source, none of the service.
//! ## Example
//! Passing: a source whose neutral is not switched, its own bond open, the service's closed. Failing: both closed.
//! ## Limits of our reading
//! Solidly grounded systems only. Where a bond stands between source and first disconnect is not judged, nor moments
//! of transfer. High-impedance grounding and floating sources are not covered.
//! ## Source
//! 250.24, 250.30(A): from memory; confirm in the adopted code.

use saying::{Text, say};

use crate::NotCovered;

const CLAUSE: &str = "NEC 2023 250.30(A)";

/// What feeds the island.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feed {
    /// The utility, or a source in parallel with it.
    Utility,
    /// A source of its own, its neutral tied to the service's all the time.
    OwnNeutralTied,
    /// A source of its own whose neutral is switched away from the service.
    OwnNeutralSwitched,
}

/// Bonds that are closed in an energised island.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bonds {
    /// At the service.
    pub service: u32,
    /// At the source, its units, or its first disconnect.
    pub source: u32,
    /// Downstream of both: panels, loads.
    pub downstream: u32,
}

/// Whether an island is bonded as it must be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BondVerdict {
    /// The system is a separately derived one.
    pub separately_derived: bool,
    /// What is wrong, in words; empty where nothing is.
    pub failures: Vec<Text>,
}

/// Whether neutral and ground of an island are joined once, and in the right place.
///
/// # Errors
/// A system that is not solidly grounded.
pub fn system_bond(solidly_grounded: bool, feed: Feed, bonds: Bonds) -> Result<BondVerdict, NotCovered> {
    if !solidly_grounded {
        return Err(NotCovered::new(CLAUSE, say!("only solidly grounded systems are read")));
    }
    let separately_derived = feed == Feed::OwnNeutralSwitched;
    // the service's bond is no bond of an island whose neutral is switched away from it
    let reached = if separately_derived { bonds.source } else { bonds.service.saturating_add(bonds.source) };
    let mut failures = Vec::new();
    let all = reached.saturating_add(bonds.downstream);
    if all == 0 {
        failures.push(say!("neutral and ground are not joined: faults do not clear"));
    }
    if all > 1 {
        failures
            .push(say!("neutral and ground are joined {all} times: the ground carries neutral current", all));
    }
    if bonds.downstream > 0 {
        failures.push(say!("a bond stands downstream of service and source"));
    }
    if !separately_derived && bonds.source > 0 && bonds.service == 0 {
        failures
            .push(say!("the bond stands at the source, but the neutral is tied to a service that has none"));
    }
    Ok(BondVerdict { separately_derived, failures })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Over every count up to two in each place and every feed: fine exactly where the one bond is at the service,
    /// or at the source of a separately derived system.
    #[test]
    fn one_bond_in_the_right_place() {
        for feed in [Feed::Utility, Feed::OwnNeutralTied, Feed::OwnNeutralSwitched] {
            for k in 0..27 {
                let bonds = Bonds { service: k % 3, source: k / 3 % 3, downstream: k / 9 };
                let fine = system_bond(true, feed, bonds).unwrap().failures.is_empty();
                let right = match feed {
                    Feed::OwnNeutralSwitched => bonds.source == 1 && bonds.downstream == 0,
                    _ => bonds.service == 1 && bonds.source == 0 && bonds.downstream == 0,
                };
                assert_eq!(fine, right, "{feed:?} {bonds:?}");
            }
        }
        assert!(system_bond(false, Feed::Utility, Bonds { service: 1, source: 0, downstream: 0 }).is_err());
    }

    /// Each fault is named, and no other one.
    #[test]
    fn what_is_wrong_is_said_exactly() {
        let said = |feed, service, source, downstream| {
            system_bond(true, feed, Bonds { service, source, downstream }).unwrap().failures
        };
        let (none, twice) = ("not joined: faults do not clear", "joined 2 times");
        let (below, tied) = ("a bond stands downstream", "tied to a service that has none");
        let is = |found: Vec<Text>, wanted: &[&str]| {
            assert_eq!(found.len(), wanted.len(), "{found:?}");
            assert!(found.iter().zip(wanted).all(|(f, w)| f.contains(w)), "{found:?} {wanted:?}");
        };
        is(said(Feed::Utility, 0, 0, 0), &[none]);
        is(said(Feed::Utility, 1, 1, 0), &[twice]);
        is(said(Feed::Utility, 0, 0, 1), &[below]);
        is(said(Feed::Utility, 1, 0, 1), &[twice, below]);
        is(said(Feed::OwnNeutralTied, 0, 1, 0), &[tied]);
        is(said(Feed::OwnNeutralSwitched, 0, 1, 0), &[]);
        is(said(Feed::OwnNeutralSwitched, 1, 0, 0), &[none]);
        is(said(Feed::OwnNeutralSwitched, 1, 1, 0), &[]);
    }
}
