//! Discrimination of two miniature circuit breakers in a row.
//!
//! ## Clause and edition
//! IEC 60898-1; bands of Table 7, with IEC 60364-5-53:2019 536 (discrimination).
//! ## Applies when
//! A main and a branch are both miniature circuit breakers.
//! ## Why
//! A fault in one branch should not darken all the others.
//! ## Formula
//! Overload: `1.45 · I_branch <= 1.13 · I_main`. Short circuit: `I_k < m_low · I_main`, below which the main does not
//! trip at once.
//! ## Example
//! Passing: a type B branch of 16 A behind a type C main of 63 A up to 315 A. Failing: a branch of 40 A behind a main
//! of 50 A.
//! ## Limits of our reading
//! Above the lower end of the main's band both may trip: only the makers' tables tell, so that is not covered. Between
//! the conventional currents and the bands the curves of both lie in wide zones; main and branch are taken to be of
//! one family there. Fuses and circuit breakers of IEC 60947-2 have no curve in a standard and are not covered.
//! ## Source
//! Bands and 1.45: two sources agree; 1.13: one source.

use derivation::{Known, formula};
use quantity::{Current, Ratio};
use saying::say;
use tables::iec::clause;
use tables::iec::device::band;

use crate::not_covered::sane;
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-5-53:2019 536";

/// A miniature circuit breaker.
#[derive(Debug, Clone)]
pub struct Mcb {
    /// Type: B, C or D.
    pub letter: char,
    /// Rated current.
    pub rated: Known<Current>,
}

/// How main and branch discriminate.
#[derive(Debug, Clone)]
pub struct Discrimination {
    /// The branch opens at currents at which the main never does.
    pub overload: Check<Current>,
    /// Current from which on the main may trip at once, in A.
    pub limit: Known<Current>,
    /// The branch trips at once below it.
    pub at_once: Check<Current>,
}

impl Discrimination {
    /// Whether the branch alone opens, at every fault current that was given.
    pub fn holds(&self) -> bool {
        self.overload.holds && self.at_once.holds
    }
}

/// Whether the branch alone opens at fault currents up to a prospective one.
///
/// # Errors
/// No such type, no number, or a prospective current that reaches the main's band.
pub fn breaker_discrimination(
    main: &Mcb,
    branch: &Mcb,
    prospective: &Known<Current>,
) -> Result<Discrimination, NotCovered> {
    let (upper, lower) = (&main.rated, &branch.rated);
    for current in [upper, lower, prospective] {
        sane(CLAUSE, current)?;
    }
    let low: Known<Ratio> = band(main.letter, false)?.low;
    let what = "current from which on the main may trip at once";
    let limit = formula!("I_lim", what, [low, upper] => low * upper, source = "IEC 60898-1 Table 7");
    let trips: Known<Ratio> = clause::number("m_2", "i2-mcb")?;
    let holds_in: Known<Ratio> = clause::number("m_1", "i1-mcb")?;
    let what = "current at which the branch opens for certain";
    let opens = formula!("I_2", what, [trips, lower] => trips * lower);
    let what = "current at which the main stays closed for certain";
    let stays = formula!("I_1", what, [holds_in, upper] => holds_in * upper);
    let overload = Check::at_most(opens, stays);
    let high: Known<Ratio> = band(branch.letter, false)?.high;
    let what = "current from which on the branch trips at once";
    let at_once = formula!("I_5", what, [high, lower] => high * lower, source = "IEC 60898-1 Table 7");
    let at_once = Check::at_most(at_once, limit.clone());
    if overload.holds && at_once.holds && prospective.value() >= limit.value() {
        let reason = say!(
            "{prospective} reaches the band of the main from {limit}: the makers' tables must tell whether the branch alone opens",
            prospective = prospective.value(),
            limit = limit.value()
        );
        return Err(NotCovered::new(CLAUSE, reason));
    }
    Ok(Discrimination { overload, limit, at_once })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn held(main: (char, f64), branch: (char, f64), k: f64) -> Option<bool> {
        let mcb = |(letter, a)| Mcb { letter, rated: given(Current::of(a)) };
        breaker_discrimination(&mcb(main), &mcb(branch), &given(Current::of(k))).ok().map(|d| d.holds())
    }

    #[test]
    fn by_hand() {
        assert_eq!(held(('C', 63.0), ('B', 16.0), 300.0), Some(true));
        assert_eq!(held(('C', 63.0), ('B', 16.0), 315.0), None);
        assert_eq!(held(('C', 50.0), ('B', 40.0), 100.0), Some(false));
        // C branch 10 x 16 A trips at once from 160 A, the B main may from 3 x 50 A = 150 A
        assert_eq!(held(('B', 50.0), ('C', 16.0), 100.0), Some(false));
        // B branch 5 x 16 A trips at once from 80 A, the B main may from 3 x 30 A = 90 A or 3 x 25 A = 75 A
        assert_eq!(held(('B', 30.0), ('B', 16.0), 50.0), Some(true));
        assert_eq!(held(('B', 25.0), ('B', 16.0), 50.0), Some(false));
        assert_eq!(held(('K', 50.0), ('C', 16.0), 100.0), None);
        assert_eq!(held(('C', 63.0), ('B', 16.0), f64::NAN), None);
        let mcb = |letter, a| Mcb { letter, rated: given(Current::of(a)) };
        let found = breaker_discrimination(&mcb('C', 63.0), &mcb('B', 16.0), &given(Current::of(1.0)));
        near(&found.unwrap().limit, 315.0);
    }
}
