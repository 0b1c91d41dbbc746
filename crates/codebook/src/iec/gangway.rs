//! Free space before switchgear, height of handles.
//!
//! ## Clause and edition
//! IEC 60364-7-729:2007; 729.513, with IEC 61439-1:2011 8.5.5.
//! ## Applies when
//! Switchgear in housings is operated or maintained from a space before it.
//! ## Why
//! Who works at switchgear must be able to step back and get out, and must reach the handle without climbing.
//! ## Formula
//! `depth >= 0.7 m`, `height >= 2.0 m`, middle of a handle `<= 2.0 m` above the floor.
//! ## Example
//! Passing: 0.9 m before the housings. Failing: 0.6 m.
//! ## Limits of our reading
//! Housings that protect against touch only: bare live parts on a side ask for more and are not read. Escape ways, doors
//! and gangways over 10 m long are not read. National annexes ask for other figures.
//! ## Source
//! All figures from memory; confirm in the adopted standard.

use derivation::Known;
use quantity::Length;
use tables::iec::clause;

use crate::NotCovered;

/// What the clauses ask of the space before switchgear.
#[derive(Debug, Clone)]
pub struct Gangway {
    /// Least free depth.
    pub depth: Known<Length>,
    /// Least free height.
    pub height: Known<Length>,
    /// Highest middle of a handle.
    pub handle: Known<Length>,
}

/// The space before switchgear in housings.
///
/// # Errors
/// The table cannot be used.
pub fn gangway() -> Result<Gangway, NotCovered> {
    Ok(Gangway {
        depth: clause::number("d", "gangway-depth")?,
        height: clause::number("h", "gangway-height")?,
        handle: clause::number("h_grip", "handle-height")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Quantity;

    #[test]
    fn figures_say_that_they_are_to_be_confirmed() {
        let found = gangway().unwrap();
        for (known, metres) in [(&found.depth, 0.7), (&found.height, 2.0), (&found.handle, 2.0)] {
            assert!((known.value().si() - metres).abs() < 1e-12);
            assert!(known.node().source().ends_with("(confirm in the adopted code)"));
        }
    }
}
