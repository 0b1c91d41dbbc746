//! Conductors of a dwelling's service or main feeder at 83 percent.
//!
//! ## Clause and edition
//! NEC 2023; 310.12, Table 310.12(A).
//! ## Applies when
//! A single-phase service or feeder of 100 to 400 A carries the whole load of one dwelling.
//! ## Why
//! The loads of one dwelling never come together for long.
//! ## Formula
//! `I >= 0.83 · rating`, after correction and adjustment; without any, Table 310.12(A) by the rating.
//! ## Example
//! Passing: 200 A take 2/0 AWG copper; 175 A ask for 145.25 A, 1/0 AWG copper. Failing: 500 A is beyond the clause.
//! ## Limits of our reading
//! That the conductors carry the whole dwelling's load is the caller's word. Terminals of 75 degC. Where a calculated
//! load is given the ampacity must reach it as well, which is stricter than the clause: that asks for 83 % of the rating
//! alone. No parallel sets.
//! ## Source
//! 310.12 and Table 310.12(A): two sources agree.

use derivation::{Known, formula};
use quantity::{Current, Quantity, Ratio};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Column, Laying, dwelling_conductor};
use tables::us::size::{KnownSize, Size};

use super::conductor_ampacity::{ampacity, factors};
use super::conductor_size::Kind;
use crate::NotCovered;
use crate::not_covered::{largest_of, sane};

const CLAUSE: &str = "NEC 2023 310.12";

/// Conductors of a dwelling's service.
#[derive(Debug, Clone)]
pub struct DwellingService {
    /// What they must carry.
    pub required: Known<Current>,
    /// Each ungrounded conductor.
    pub size: KnownSize,
    /// What it carries where it lies.
    pub usable: Known<Current>,
}

/// The smallest ungrounded conductors of a dwelling's service or main feeder, for its rating and calculated load.
///
/// # Errors
/// A rating outside the clause or not in the table, or no conductor that carries it.
pub fn dwelling_service(
    kind: &Kind,
    rating: &Known<Current>,
    load: &Known<Current>,
) -> Result<DwellingService, NotCovered> {
    dwelling_service_by(kind, rating, load, &conductor_rule::ratio("f", "dwelling-share")?)
}

/// The smallest that the clause asks for: its share of the rating, whatever the load, which the clause bounds by the
/// rating alone.
///
/// # Errors
/// A rating outside the clause or not in the table, or no conductor that carries its share.
pub fn dwelling_service_by_rating(
    kind: &Kind,
    rating: &Known<Current>,
) -> Result<DwellingService, NotCovered> {
    smallest(kind, rating, None, &conductor_rule::ratio("f", "dwelling-share")?)
}

/// As [`dwelling_service`], with the share that the place asks for. With another share than the code's the table does not settle the
/// size.
///
/// # Errors
/// As [`dwelling_service`]; a share that is no number, not above zero, or above one.
pub fn dwelling_service_by(
    kind: &Kind,
    rating: &Known<Current>,
    load: &Known<Current>,
    share: &Known<Ratio>,
) -> Result<DwellingService, NotCovered> {
    smallest(kind, rating, Some(load), share)
}

fn smallest(
    kind: &Kind,
    rating: &Known<Current>,
    load: Option<&Known<Current>>,
    share: &Known<Ratio>,
) -> Result<DwellingService, NotCovered> {
    let code = conductor_rule::ratio("f", "dwelling-share")?;
    if !(share.value() > Ratio::ZERO && share.value() <= Ratio::of(1.0)) {
        return Err(NotCovered::new(CLAUSE, say!("a share of {share}", share = share.value())));
    }
    sane(CLAUSE, rating)?;
    load.map_or(Ok(()), |load| sane(CLAUSE, load))?;
    let (from, to) = (
        conductor_rule::current("I_from", "dwelling-from")?,
        conductor_rule::current("I_to", "dwelling-to")?,
    );
    if rating.value() < from.value() || rating.value() > to.value() {
        let reason = say!(
            "a rating of {rating}; the clause goes from {from} to {to}",
            rating = rating.value(),
            from = from.value(),
            to = to.value()
        );
        return Err(NotCovered::new(CLAUSE, reason));
    }
    if let Some(load) = load.filter(|load| load.value() > rating.value()) {
        return Err(NotCovered::new(
            CLAUSE,
            say!("a load of {load} on {rating}", load = load.value(), rating = rating.value()),
        ));
    }
    let part = formula!("I_83", "share of the rating", [share, rating] => share * rating, source = CLAUSE);
    let factors = factors(kind.insulation, &kind.at)?;
    let none =
        kind.at.laying == Laying::Raceway && is_one(factors.ambient.value()) && is_one(factors.count.value());
    // without factors the table settles the size; it was made for insulation of 75 degC and more
    let table = if none && kind.insulation >= Column::C75 && share.value() == code.value() {
        Some(dwelling_conductor(rating, kind.material)?)
    } else {
        None
    };
    let floors: Vec<_> = [part].into_iter().chain(load.cloned()).collect();
    let required = largest_of(CLAUSE, ("I_req", "what they must carry"), &floors)?;
    for size in Size::all().filter(|size| table.is_none_or(|table| *size >= table) && *size <= kind.largest) {
        let Ok(one) = ampacity(size, kind.material, kind.insulation, &kind.at, Column::C75) else { continue };
        if one.usable.value() >= required.value() {
            let from = vec![rating.node().clone(), required.node().clone(), one.usable.node().clone()];
            let by = if table.is_some() { "Table 310.12(A)" } else { "the share of the rating" };
            let why = if load.is_some() { format!("{by} and the load") } else { by.to_owned() };
            let size = size.chosen("A", kind.material.name(), format!("{why} ({CLAUSE})"), from)?;
            return Ok(DwellingService { required, size, usable: one.usable });
        }
    }
    Err(NotCovered::new(CLAUSE, say!("no single conductor carries {required}", required = required.value())))
}

/// Whether a factor changes nothing.
fn is_one(factor: Ratio) -> bool {
    (factor.si() - 1.0).abs() < 1e-12
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::conductor_ampacity::Surroundings;
    use crate::us::terminal_temperature::Listing;
    use crate::us::testing::{given, near};
    use quantity::Temperature;
    use tables::us::conductors::Material;

    fn kind(ambient: f64) -> Kind {
        Kind {
            material: Material::Copper,
            insulation: Column::C75,
            listing: Listing::C75,
            at: Surroundings {
                laying: Laying::Raceway,
                ambient: given(Temperature::of(ambient)),
                on_roof: false,
                current_carrying: given(Ratio::of(2.0)),
                short_raceway: false,
            },
            largest: Size::LARGEST,
        }
    }

    /// Table 310.12(A): 200 A take 2/0 AWG. By hand at 45 degC: 166 A / 0.82 = 202.4 A, 4/0 AWG (230 · 0.82 = 188.6
    /// A).
    #[test]
    fn by_table_or_by_83_percent() {
        let (rating, load) = (given(Current::of(200.0)), given(Current::of(150.0)));
        assert_eq!(dwelling_service(&kind(30.0), &rating, &load).unwrap().size.size.figure(), "2/0");
        let hot = dwelling_service(&kind(45.0), &rating, &load).unwrap();
        assert_eq!(hot.size.size.figure(), "4/0");
        near(&hot.required, 166.0);
        let mut old = kind(30.0);
        old.insulation = Column::C60;
        assert_eq!(dwelling_service(&old, &rating, &load).unwrap().size.size.figure(), "4/0");
        // a load of 190 A is more than 2/0 carries
        let full = dwelling_service(&kind(30.0), &rating, &given(Current::of(190.0))).unwrap();
        assert_eq!(full.size.size.figure(), "3/0");
        // all of 200 A, which 3/0 of 75 degC carries
        let all = dwelling_service(&kind(30.0), &rating, &rating).unwrap();
        assert_eq!(all.size.size.figure(), "3/0");
        near(&all.usable, 200.0);
        // the table's own size may be the largest that is allowed
        let bound = Kind { largest: "2/0".parse().unwrap(), ..kind(30.0) };
        assert_eq!(dwelling_service(&bound, &rating, &load).unwrap().size.size.figure(), "2/0");
    }

    /// NEC Annex D, Example D7: a service of 175 A asks for 145.25 A, 1/0 AWG copper or 3/0 AWG aluminum; Table
    /// 310.12(A): 400 A take 400 kcmil copper. A load of all the rating asks for more than the clause does.
    #[test]
    fn example_d7_by_the_rating_alone() {
        let by = |a: f64, material| {
            let kind = Kind { material, ..kind(30.0) };
            dwelling_service_by_rating(&kind, &given(Current::of(a))).unwrap()
        };
        near(&by(175.0, Material::Copper).required, 145.25);
        assert_eq!(by(175.0, Material::Copper).size.size.figure(), "1/0");
        assert_eq!(by(175.0, Material::Aluminum).size.size.figure(), "3/0");
        assert_eq!(by(400.0, Material::Copper).size.size.figure(), "400");
        let full = given(Current::of(400.0));
        assert!(
            dwelling_service(&kind(30.0), &full, &full).unwrap().size.size
                > by(400.0, Material::Copper).size.size
        );
        assert!(dwelling_service_by_rating(&kind(30.0), &given(Current::of(401.0))).is_err());
        assert!(dwelling_service_by_rating(&kind(30.0), &given(Current::of(f64::NAN))).is_err());
    }

    /// The ends of the clause belong to it: Table 310.12(A) has 4 AWG for 100 A and 400 kcmil for 400 A; a load of all
    /// the rating is no more than the rating.
    #[test]
    fn the_ends_of_the_clause_belong_to_it() {
        let size = |rating: f64, load: f64| {
            let (rating, load) = (given(Current::of(rating)), given(Current::of(load)));
            dwelling_service(&kind(30.0), &rating, &load).map(|found| found.size.size.figure())
        };
        assert_eq!(size(100.0, 80.0), Ok("4"));
        assert_eq!(size(400.0, 300.0), Ok("400"));
        assert!(size(100.0, 100.0).is_ok());
        assert!(size(99.9, 80.0).is_err() && size(400.1, 300.0).is_err());
    }

    /// A place that asks for the whole rating: 200 A are 3/0 AWG at 75 degC.
    #[test]
    fn a_place_may_ask_for_another_share() {
        let (rating, load) = (given(Current::of(200.0)), given(Current::of(150.0)));
        let by = |share: f64| dwelling_service_by(&kind(30.0), &rating, &load, &given(Ratio::of(share)));
        assert_eq!(by(1.0).unwrap().size.size.figure(), "3/0");
        assert_eq!(by(0.83).unwrap().size.size.figure(), "2/0");
        assert!(by(0.0).is_err() && by(1.01).is_err() && by(f64::NAN).is_err());
    }

    #[test]
    fn outside_the_clause_is_refused() {
        let load = given(Current::of(50.0));
        for a in [90.0, 500.0, 120.0, f64::NAN] {
            assert!(dwelling_service(&kind(30.0), &given(Current::of(a)), &load).is_err(), "{a}");
        }
        for a in [90.0, 500.0] {
            let hot = dwelling_service(&kind(45.0), &given(Current::of(a)), &load);
            assert!(hot.is_err(), "{a} A in a hot place, where no table refuses");
        }
        let bound = Kind { largest: "1/0".parse().unwrap(), ..kind(30.0) };
        assert!(
            dwelling_service(&bound, &given(Current::of(200.0)), &load).is_err(),
            "none so large is allowed"
        );
        let over = dwelling_service(&kind(30.0), &given(Current::of(100.0)), &given(Current::of(101.0)));
        assert!(over.is_err());
    }
}
