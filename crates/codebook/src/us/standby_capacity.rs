//! Capacity of an optional standby source.
//!
//! ## Clause and edition
//! NEC 2023; 702.4(A).
//! ## Applies when
//! A source takes over loads by choice, not because law or code makes them someone's lifeline.
//! ## Why
//! A source that takes over more than it can carry fails when it is needed.
//! ## Formula
//! `S_source >= S_required`: manual connection, what the user runs at one time; automatic connection, the full load
//! transferred; automatic with energy management, the most that the management lets on.
//! ## Example
//! Passing: 15 kVA for 11 kVA transferred automatically. Failing: 10 kVA for the same.
//! ## Limits of our reading
//! VA only; watts, overload time and the worst leg are judged elsewhere. A legally required or emergency load is not
//! an optional standby load and must not be brought here.
//! ## Source
//! 702.4(A)(1) and (2) (2017: 702.4(B)): two sources agree.

use derivation::Known;
use quantity::Apparent;

use crate::not_covered::sane;
use crate::{Capacity, NotCovered};

const CLAUSE: &str = "NEC 2023 702.4(A)";

/// How the loads come onto the source.
#[derive(Debug, Clone)]
pub enum Takeover {
    /// By hand: the user selects; what runs at one time.
    Manual(Known<Apparent>),
    /// By itself: the full load that is transferred.
    Automatic(Known<Apparent>),
    /// By itself under energy management (750.30): the most that it lets on.
    Managed(Known<Apparent>),
}

/// Whether a source is large enough for what it takes over.
///
/// # Errors
/// A load or a capacity is no number or negative.
pub fn standby_capacity(source: &Known<Apparent>, takeover: &Takeover) -> Result<Capacity, NotCovered> {
    let (Takeover::Manual(required) | Takeover::Automatic(required) | Takeover::Managed(required)) = takeover;
    sane(CLAUSE, source)?;
    sane(CLAUSE, required)?;
    let (why, clause) = match takeover {
        Takeover::Manual(_) => ("what the user runs at one time", "702.4(A)(1)"),
        Takeover::Automatic(_) => ("the full load transferred", "702.4(A)(2)(a)"),
        Takeover::Managed(_) => ("the most that energy management lets on", "702.4(A)(2)(b)"),
    };
    let why = format!("{why} (NEC 2023 {clause})");
    let from = vec![required.node().clone()];
    let required = Known::chosen("S_req", "capacity that the source must have", required.value(), why, from);
    Ok(Capacity::of(required, source.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn the_source_must_carry_all_that_is_transferred() {
        let va = |x| given(Apparent::of(x));
        let automatic = Takeover::Automatic(va(11_000.0));
        assert!(standby_capacity(&va(15_000.0), &automatic).unwrap().enough);
        assert!(standby_capacity(&va(11_000.0), &automatic).unwrap().enough);
        assert!(!standby_capacity(&va(10_000.0), &automatic).unwrap().enough);
        assert!(standby_capacity(&va(f64::NAN), &automatic).is_err());
        assert!(standby_capacity(&va(15_000.0), &Takeover::Manual(va(-1.0))).is_err(), "a load below zero");
        let managed = standby_capacity(&va(10_000.0), &Takeover::Managed(va(9_000.0))).unwrap();
        assert!(managed.required.node().source().contains("702.4(A)(2)(b)"));
    }
}
