//! Width and height of working space, height of handles.
//!
//! ## Clause and edition
//! NEC 2023; 110.26(A)(2), 110.26(A)(3), 240.24(A), 404.8(A).
//! ## Applies when
//! Equipment up to 1000 V is likely to be worked on while live, or has handles of breakers or switches.
//! ## Why
//! Who works at live parts needs room to stand and to step aside, and must reach the handle without climbing.
//! ## Formula
//! `width >= max(30 in, width of the equipment)`; `height >= max(6 ft 6 in, top of the equipment)`; other equipment stands
//! out by at most 6 in beyond the front; the middle of a grip at most 6 ft 7 in above the floor.
//! ## Example
//! Passing: a panel 20 in wide with 30 in of floor before it. Failing: a handle 7 ft above the floor.
//! ## Limits of our reading
//! Exceptions for existing dwellings, busways and handles above reach with other means are not taken. Access to the
//! space, its lighting and dedicated equipment space are not read.
//! ## Source
//! All figures from memory; confirm in the adopted code.

use derivation::Known;
use quantity::Length;
use tables::us::place_rule;

use crate::NotCovered;
use crate::not_covered::{largest_of, sane};

const CLAUSE: &str = "NEC 2023 110.26(A)(2)";

/// What the clauses ask of the space before one piece of equipment.
#[derive(Debug, Clone)]
pub struct WorkingArea {
    /// Least width of the space.
    pub width: Known<Length>,
    /// Least height of the space.
    pub height: Known<Length>,
    /// Most that other equipment may stand out beyond the front.
    pub protrusion: Known<Length>,
    /// Highest middle of a grip.
    pub handle: Known<Length>,
}

/// The space before equipment of a width whose top is so high above the floor.
///
/// # Errors
/// A length is negative or no number.
pub fn area(width: &Known<Length>, top: &Known<Length>) -> Result<WorkingArea, NotCovered> {
    sane(CLAUSE, width)?;
    sane(CLAUSE, top)?;
    let least = place_rule::length("w_min", "working-width")?;
    let head = place_rule::length("h_min", "working-height")?;
    Ok(WorkingArea {
        width: largest_of(CLAUSE, ("w", "width of working space"), &[least, width.clone()])?,
        height: largest_of(CLAUSE, ("h", "height of working space"), &[head, top.clone()])?,
        protrusion: place_rule::length("d_out", "working-protrusion")?,
        handle: place_rule::length("h_grip", "handle-height")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn the_wider_of_30_inches_and_the_equipment() {
        let of = |w, t| area(&given(Length::of(w)), &given(Length::of(t)));
        let narrow = of(0.5, 1.8).unwrap();
        near(&narrow.width, 0.762);
        near(&narrow.height, 1.9812);
        near(&narrow.handle, 2.0066);
        near(&narrow.protrusion, 0.1524);
        let wide = of(0.9, 2.1).unwrap();
        near(&wide.width, 0.9);
        near(&wide.height, 2.1);
        assert!(of(f64::NAN, 1.0).is_err() && of(0.5, -1.0).is_err());
    }
}
