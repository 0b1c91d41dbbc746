//! Stand-alone supply: at least the largest single load.
//!
//! ## Clause and edition
//! NEC 2023; 710.15(A).
//! ## Applies when
//! A building is supplied by its own sources without a utility.
//! ## Why
//! Nobody is forced to buy for the calculated load, but a supply that cannot run its largest appliance is none.
//! ## Formula
//! `sum(S_sources) >= max(S_load)`.
//! ## Example
//! Passing: two sources of 5 kVA and a largest load of 8 kVA. Failing: the same with a load of 12 kVA.
//! ## Limits of our reading
//! A floor only: it says nothing of what the loads take together. Sources add up here in VA; whether units share a load
//! is judged elsewhere. General lighting is no single load.
//! ## Source
//! 710.15(A): two sources agree.

use derivation::Known;
use quantity::Apparent;
use saying::say;

use crate::not_covered::all_sane;
use crate::{Capacity, NotCovered};

const CLAUSE: &str = "NEC 2023 710.15(A)";

/// Whether stand-alone sources carry the largest single load.
///
/// # Errors
/// No source, no load, or one that is no number or negative.
pub fn stand_alone(sources: &[Known<Apparent>], loads: &[Known<Apparent>]) -> Result<Capacity, NotCovered> {
    all_sane(CLAUSE, sources)?;
    all_sane(CLAUSE, loads)?;
    if sources.is_empty() {
        return Err(NotCovered::new(CLAUSE, say!("no source")));
    }
    let required = Known::largest("required", "largest single load", loads);
    let required = required.ok_or_else(|| NotCovered::new(CLAUSE, say!("no load")))?;
    Ok(Capacity::of(required, Known::sum("S_src", "stand-alone sources", sources)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::all;

    #[test]
    fn sources_together_against_the_largest_load() {
        let sources = all(&[5000.0, 5000.0]);
        assert!(stand_alone(&sources, &all(&[8000.0, 3000.0])).unwrap().enough);
        assert!(!stand_alone(&sources, &all(&[12_000.0])).unwrap().enough);
        assert!(stand_alone(&sources, &[]).is_err());
        assert!(stand_alone(&[], &all(&[1.0])).is_err());
        assert!(stand_alone(&sources, &all(&[f64::NAN])).is_err());
    }
}
