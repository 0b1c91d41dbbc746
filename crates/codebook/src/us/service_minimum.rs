//! One-family dwelling: service disconnect of 100 A at least.
//!
//! ## Clause and edition
//! NEC 2023; 230.79(C), 240.6(A).
//! ## Applies when
//! A one-family dwelling has a three-wire service.
//! ## Why
//! A house outgrows the load it was built with.
//! ## Formula
//! `I_service = next standard rating(max(I_line, 100 A))`.
//! ## Example
//! Passing: 77.5 A asks for 100 A, 144.96 A for 150 A. Failing: a current over 6000 A has no standard rating.
//! ## Limits of our reading
//! No rounding down of fractions before the standard rating is taken.
//! ## Source
//! 230.79(C) and 240.6(A): two sources agree.

use derivation::Known;
use quantity::Current;
use saying::say;
use tables::us::load_rule;
use tables::us::overcurrent::next_standard;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 230.79(C)";

/// Smallest standard rating of the service disconnect of a one-family dwelling, in A.
///
/// # Errors
/// The current is no number or above the standard ratings.
pub fn rating(line: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, line)?;
    let least = load_rule::current("least", "service-minimum")?;
    let needed = Known::largest("needed", "current that the service must carry", &[line.clone(), least]);
    let needed = needed.ok_or_else(|| NotCovered::new(CLAUSE, say!("no current")))?;
    Ok(next_standard(&needed)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn at_least_100_a_then_the_next_rating() {
        near(&rating(&given(Current::of(77.5))).unwrap(), 100.0);
        near(&rating(&given(Current::of(144.96))).unwrap(), 150.0);
        // other clauses have a least of 100 A too
        let story = derivation::explain(rating(&given(Current::of(77.5))).unwrap().node());
        assert!(story.contains("smallest service disconnect of a one-family dwelling"), "{story}");
        assert!(rating(&given(Current::of(6001.0))).is_err());
        assert!(rating(&given(Current::of(f64::NAN))).is_err());
    }
}
