//! Raceway fill.
//!
//! ## Clause and edition
//! NEC 2023; 300.17, Chapter 9 Tables 1, 4 and 5.
//! ## Applies when
//! Insulated conductors are pulled into a raceway.
//! ## Why
//! A full raceway damages insulation when pulled and keeps heat in.
//! ## Formula
//! `sum(A_c) <= f · A_in`; f 53 % for one conductor, 31 % for two, 40 % for more, 60 % in a nipple up to 24 in. Three
//! and more that are all alike, by Note 7: `n <= whole(f · A_in / A_c + 0.2)`.
//! ## Example
//! Passing: 0.3641 in2 in flexible metal conduit of 1-1/4 (limit 0.511 in2). Failing: the same in 1 (limit 0.327
//! in2). By Note 7: six 8 AWG THHN in EMT of 3/4, 5.83 counting as 6.
//! ## Limits of our reading
//! The share is taken of the whole inside area, not rounded as the printed columns are. Equipment grounding
//! conductors count as all others. Cables, jam ratio and boxes are not read. Flexible metal conduit under 1/2 has
//! fill rules of its own: 3/8 is passed over. Note 7 is used only where it is asked for, and not for one or two
//! conductors.
//! ## Source
//! Tables 1, 4 and 5: two sources agree; the nipple and flexible metal conduit: one source; Note 7: from memory; confirm
//! in the adopted code.

use derivation::{Known, formula};
use quantity::{FillArea, Ratio};
use saying::say;
use tables::us::raceway::{Raceway, fill_share, insulated_area, raceways};
use tables::us::size::Size;

use crate::NotCovered;
use crate::not_covered::{counted, sane};

const CLAUSE: &str = "NEC 2023 Chapter 9";
const NOTE_7: &str = "NEC 2023 Chapter 9 Note 7 (from memory; confirm in the adopted code)";
/// Rounding of a quotient that must not lose a conductor.
const ROUNDING: f64 = 1e-9;
/// Its fill is in a table of Article 348.
const OWN_RULES: &str = "3/8";

/// Some conductors that are alike.
#[derive(Debug, Clone)]
pub struct Group {
    /// How many.
    pub count: Known<Ratio>,
    /// Area of each, insulation included.
    pub each: Known<FillArea>,
}

impl Group {
    /// Conductors of an insulation that the table has.
    ///
    /// # Errors
    /// No such insulation or size.
    pub fn insulated(count: Known<Ratio>, insulation: &str, size: Size) -> Result<Self, NotCovered> {
        Ok(Self { count, each: insulated_area(insulation, size)? })
    }
}

/// What a raceway holds.
#[derive(Debug, Clone)]
pub struct Fill {
    /// Area of all conductors.
    pub total: Known<FillArea>,
    /// How many there are.
    pub conductors: Known<Ratio>,
    /// Share that they may take.
    pub share: Known<Ratio>,
    /// Area of each of three and more that are all alike, for Note 7; only where [`fill_by_note_7`] was asked.
    alike: Option<Known<FillArea>>,
}

/// A raceway with its limit.
#[derive(Debug, Clone)]
pub struct Fits {
    /// The raceway.
    pub raceway: Raceway,
    /// Area that conductors may take in it.
    pub limit: Known<FillArea>,
    /// What they take of its inside.
    pub filled: Known<Ratio>,
    /// Where they do not fit by area: how many alike may lie in it by Note 7; none where the note was not asked for or
    /// does not reach.
    pub most: Option<Known<Ratio>>,
    /// Whether that is within the limit, or the number within Note 7.
    pub fits: bool,
}

/// Area and number of conductors, and the share that they may take.
///
/// # Errors
/// No conductors, or a number that is not whole.
pub fn fill(groups: &[Group], nipple: bool) -> Result<Fill, NotCovered> {
    let least = Known::factor("n_min", "at least one", 1.0, CLAUSE);
    let mut parts = Vec::new();
    for Group { count, each } in groups {
        counted(CLAUSE, count, &least)?;
        sane(CLAUSE, each)?;
        parts.push(formula!("A_g", "area of conductors alike", [count, each] => count * each));
    }
    let counts: Vec<_> = groups.iter().map(|group| group.count.clone()).collect();
    let conductors = Known::sum("n", "conductors", &counts);
    Ok(Fill {
        total: Known::sum("A_sum", "area of all conductors", &parts),
        share: fill_share(&conductors, nipple)?,
        conductors,
        alike: None,
    })
}

/// The same, and where three and more conductors are all alike, Note 7 to Chapter 9 may count one more of them.
///
/// # Errors
/// As [`fill`].
pub fn fill_by_note_7(groups: &[Group], nipple: bool) -> Result<Fill, NotCovered> {
    let found = fill(groups, nipple)?;
    let first = groups.first().map(|group| &group.each);
    let alike = first.filter(|first| groups.iter().all(|group| group.each.value() == first.value()));
    let many = found.conductors.value() > Ratio::of(2.0);
    Ok(Fill { alike: alike.filter(|each| many && each.value() > FillArea::ZERO).cloned(), ..found })
}

/// Whole conductors that an area holds; a decimal of 0.8 and more counts as one more.
fn by_note_7(value: Ratio) -> Ratio {
    use quantity::Quantity as _;
    Ratio::of((value.si() + 0.2 + ROUNDING).floor())
}

/// Whether conductors fit into one raceway.
///
/// # Errors
/// An inside area that is no number or not above zero.
pub fn fits(fill: &Fill, raceway: Raceway) -> Result<Fits, NotCovered> {
    let (share, inside, total) = (&fill.share, &raceway.area, &fill.total);
    sane(CLAUSE, inside)?;
    if inside.value() <= FillArea::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("a raceway without inside area")));
    }
    let limit = formula!("A_max", "area that conductors may take", [share, inside] => share * inside, source = CLAUSE);
    let filled = formula!("k", "share that is filled", [total, inside] => total / inside);
    let by_area = total.value() <= limit.value();
    let most = fill.alike.as_ref().filter(|_| !by_area).map(|each| {
        let what = "conductors alike that may lie in it, a decimal of 0.8 counting as one more";
        formula!("n_max", what, [limit, each] => by_note_7(limit / each), source = NOTE_7)
    });
    let fits = by_area || most.as_ref().is_some_and(|most| fill.conductors.value() <= most.value());
    Ok(Fits { fits, limit, filled, most, raceway })
}

/// The smallest trade size of a kind of raceway into which conductors fit.
///
/// # Errors
/// No such kind, or none large enough.
pub fn smallest(fill: &Fill, kind: &str) -> Result<Fits, NotCovered> {
    let mut last = None;
    for raceway in raceways(kind)?.into_iter().filter(|raceway| raceway.trade_size != OWN_RULES) {
        let found = fits(fill, raceway)?;
        if found.fits {
            return Ok(found);
        }
        last = Some(found);
    }
    let most = last.map(|found| found.limit.value().to_string()).unwrap_or_default();
    Err(NotCovered::new(
        CLAUSE,
        say!("{total} do not fit into the largest {kind} ({most})", total = fill.total.value(), kind, most),
    ))
}

/// One trade size of a kind of raceway.
///
/// # Errors
/// No such kind or size.
pub fn trade_size(kind: &str, size: &str) -> Result<Raceway, NotCovered> {
    let found = raceways(kind)?.into_iter().find(|raceway| raceway.trade_size == size && size != OWN_RULES);
    found.ok_or_else(|| NotCovered::new(CLAUSE, say!("no trade size {size} of {kind}", size, kind)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given};

    fn group(n: f64, insulation: &str, size: &str) -> Group {
        Group::insulated(given(Ratio::of(n)), insulation, size.parse().unwrap()).unwrap()
    }

    /// CON-06: mixed sizes in flexible metal conduit.
    #[test]
    fn published_mixed_sizes() {
        let groups = [group(4.0, "XHHW", "6"), group(1.0, "XHHW", "8"), group(4.0, "THHN", "10")];
        let fill = fill(&groups, false).unwrap();
        close(&fill.total, 0.3641, 2e-4);
        assert_eq!(smallest(&fill, "FMC").unwrap().raceway.trade_size, "1-1/4");
        let one = trade_size("FMC", "1").unwrap();
        assert_eq!(one.trade_size, "1");
        assert!(!fits(&fill, one).unwrap().fits);
    }

    /// Printed fill tables of the code's Annex C: 9 of 12 AWG THHN in EMT 1/2, 10 do not fit; 3 of 4/0 in EMT 2.
    #[test]
    fn annex_c() {
        let size = |n, conductor| {
            smallest(&fill(&[group(n, "THHN", conductor)], false).unwrap(), "EMT").unwrap().raceway.trade_size
        };
        assert_eq!(size(9.0, "12"), "1/2");
        assert_eq!(size(10.0, "12"), "3/4");
        assert_eq!(size(3.0, "4/0"), "2");
    }

    /// Annex C, Table C.1: six 8 AWG THHN in EMT 3/4, where 0.2132 / 0.0366 = 5.83 conductors; seven do not fit. 5.79
    /// stays 5. Conductors that differ, and two, get nothing by the note.
    #[test]
    fn a_decimal_of_0_8_counts_as_one_more_where_all_are_alike() {
        let emt = || trade_size("EMT", "3/4").unwrap();
        let by = |n: f64| fits(&fill_by_note_7(&[group(n, "THHN", "8")], false).unwrap(), emt()).unwrap();
        assert!(by(6.0).fits && !by(7.0).fits);
        assert_eq!(by(6.0).most.unwrap().value(), Ratio::of(6.0));
        assert!(!fits(&fill(&[group(6.0, "THHN", "8")], false).unwrap(), emt()).unwrap().fits);
        let inside = |in2: f64| Raceway { area: given(FillArea::of(in2)), ..emt() };
        let six = fill_by_note_7(&[group(6.0, "THHN", "8")], false).unwrap();
        assert!(!fits(&six, inside(0.0366 * 5.79 / 0.4)).unwrap().fits);
        assert!(fits(&six, inside(0.0366 * 5.80 / 0.4)).unwrap().fits);
        let mixed = fill_by_note_7(&[group(6.0, "THHN", "8"), group(1.0, "THHN", "10")], false).unwrap();
        let mixed = fits(&mixed, emt()).unwrap();
        assert!(mixed.most.is_none() && !mixed.fits);
        let two = fill_by_note_7(&[group(2.0, "THHN", "8")], false).unwrap();
        let two = fits(&two, inside(0.0366 * 1.9 / 0.31)).unwrap();
        assert!(two.most.is_none() && !two.fits);
    }

    #[test]
    fn what_does_not_fit_or_makes_no_sense_is_refused() {
        assert!(fill(&[], false).is_err());
        assert!(fill(&[group(1.5, "THHN", "12")], false).is_err());
        let many = fill(&[group(99.0, "THHN", "500")], false).unwrap();
        assert!(smallest(&many, "EMT").is_err());
        assert!(smallest(&many, "wood").is_err());
        assert!(trade_size("FMC", "3/8").is_err());
        let flat = Raceway { area: given(FillArea::ZERO), ..trade_size("EMT", "1/2").unwrap() };
        assert!(fits(&many, flat).is_err());
    }
}
