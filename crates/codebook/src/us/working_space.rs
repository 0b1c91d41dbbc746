//! Depth of working space.
//!
//! ## Clause and edition
//! NEC 2023; 110.26(A)(1), Table 110.26(A)(1).
//! ## Applies when
//! Equipment up to 1000 V is likely to be worked on while live.
//! ## Why
//! Who works on live parts must be able to step back, and must not touch what is opposite.
//! ## Formula
//! `depth >= d(V to ground, condition)`; condition 1: nothing live or grounded opposite, 2: grounded parts opposite
//! (concrete, brick and tile count), 3: live parts opposite.
//! ## Example
//! Passing: 3 ft at 120 V to ground. Failing: 3 ft at 277 V to ground before a concrete wall (3.5 ft).
//! ## Limits of our reading
//! Width and height of the space, access and dedicated space are not read here. A voltage between two bands belongs to the
//! higher. Exceptions for low voltage and by permission are not taken.
//! ## Source
//! Table 110.26(A)(1): two sources agree.

use derivation::Known;
use quantity::{Length, PhaseVoltage, Quantity};
use tables::us::grounding::working_depth;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 110.26(A)(1)";

/// What stands opposite the live parts, in the order of what it asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Opposite {
    /// Nothing live or grounded: condition 1.
    Nothing,
    /// Grounded parts, concrete, brick or tile: condition 2.
    Grounded,
    /// Live parts: condition 3.
    Live,
}

/// Depth that the table asks for.
///
/// # Errors
/// A voltage above 1000 V, negative, or no number.
pub fn depth(to_ground: &Known<PhaseVoltage>, opposite: Opposite) -> Result<Known<Length>, NotCovered> {
    sane(CLAUSE, to_ground)?;
    let condition = match opposite {
        Opposite::Nothing => 1,
        Opposite::Grounded => 2,
        Opposite::Live => 3,
    };
    let row = working_depth(to_ground.value().si(), condition)?;
    let from = vec![to_ground.node().clone(), row.node().clone()];
    Ok(Known::chosen("d", "depth of working space", row.value(), "row that holds the voltage", from))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn by_voltage_and_what_is_opposite() {
        let asked = |v, opposite| depth(&given(PhaseVoltage::of(v)), opposite);
        near(&asked(120.0, Opposite::Live).unwrap(), 3.0 * 0.3048);
        near(&asked(277.0, Opposite::Grounded).unwrap(), 3.5 * 0.3048);
        near(&asked(1000.0, Opposite::Live).unwrap(), 5.0 * 0.3048);
        assert!(asked(1001.0, Opposite::Nothing).is_err());
        assert!(asked(f64::NAN, Opposite::Nothing).is_err());
        assert!(asked(-120.0, Opposite::Nothing).is_err());
    }
}
