//! Existing load from measured demand.
//!
//! ## Clause and edition
//! NEC 2023; 220.87.
//! ## Applies when
//! Load is added to an existing service or feeder whose maximum demand was measured.
//! ## Why
//! What a building has drawn in a year tells more than a count of its appliances; a quarter more covers the year that
//! was milder than the next.
//! ## Formula
//! `I = 1.25 · I_peak + I_new`, fits if `I <= I_rating`.
//! ## Example
//! Passing: 480 A measured over a year, 180 A new, on 800 A: 780 A. Failing: a 30-day record where an array feeds the
//! same service is refused.
//! ## Limits of our reading
//! Needs one year of maximum demand, or at least 30 days recorded as means over 15 minutes or less on the most loaded
//! phase, with seasonal loads added by the caller. The exception is refused with generation or peak shaving. Stricter
//! than the clause: a year's record that a source hides part of, and means over more than 15 minutes, are refused too,
//! since either shows less than was drawn. Interval data show no motor starts.
//! ## Source
//! 220.87 and its exception: two sources agree.

use derivation::{Known, formula};
use quantity::{Current, Duration, Quantity, Ratio};
use saying::{Text, say};
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 220.87";
const MINUTE_S: f64 = 60.0;
const DAY_S: f64 = 86_400.0;

/// How demand was recorded.
#[derive(Debug, Clone)]
pub enum Record {
    /// Maximum demand over one year; the averaging interval where it is known.
    Year {
        /// Averaging interval.
        interval: Option<Known<Duration>>,
    },
    /// A recording by the exception.
    Recorded {
        /// How long.
        span: Known<Duration>,
        /// Averaging interval.
        interval: Known<Duration>,
        /// Whether it was taken on the most loaded phase.
        on_highest_phase: bool,
        /// Whether loads of other seasons were added to the peak.
        seasons_included: bool,
    },
}

/// Sources or peak shaving on the measured service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OnSiteSources {
    /// None.
    None,
    /// There are some, and the record is of the loads alone.
    LoadMeasuredApart,
    /// There are some, and what they gave is missing from the record.
    HiddenInRecord,
}

/// What the rule takes in.
#[derive(Debug, Clone)]
pub struct MeasuredFacts {
    /// How demand was recorded.
    pub record: Record,
    /// Sources on the measured service.
    pub sources: OnSiteSources,
    /// Whether the feeder has overcurrent protection by 240.4 and the service overload protection by 230.90.
    pub protected: bool,
    /// Highest demand in the record, on the most loaded leg.
    pub peak: Known<Current>,
    /// Load to be added, calculated by Article 220.
    pub new_load: Known<Current>,
    /// Rating of the service or ampacity of the feeder.
    pub rating: Known<Current>,
}

/// What follows from measured demand.
#[derive(Debug, Clone)]
pub struct MeasuredDemand {
    /// Existing load, in A.
    pub existing_a: Known<Current>,
    /// Existing and new load, in A.
    pub total_a: Known<Current>,
    /// What the rating leaves before the new load, in A; negative where it is exceeded already.
    pub spare_before_new_a: Known<Current>,
    /// Whether the total is within the rating.
    pub fits: bool,
}

/// Whether new load fits on a service or feeder of measured demand.
///
/// # Errors
/// A condition of the clause is not met, or a number is none.
pub fn measured_demand(facts: &MeasuredFacts) -> Result<MeasuredDemand, NotCovered> {
    [&facts.peak, &facts.new_load, &facts.rating].into_iter().try_for_each(|value| sane(CLAUSE, value))?;
    conditions(facts)?;
    let (peak, new_load, rating) = (&facts.peak, &facts.new_load, &facts.rating);
    let factor = load_rule::ratio("factor", "measured-factor")?;
    let existing = formula!("existing", "existing load", [factor, peak] => factor * peak, source = CLAUSE);
    let total = formula!("total", "existing and new load", [existing, new_load] => existing + new_load);
    let spare = formula!("spare", "spare before the new load", [rating, existing] => rating - existing);
    let fits = total.value() <= rating.value();
    Ok(MeasuredDemand { existing_a: existing, total_a: total, spare_before_new_a: spare, fits })
}

fn conditions(facts: &MeasuredFacts) -> Result<(), NotCovered> {
    let refuse = |reason: Text| Err(NotCovered::new(CLAUSE, reason));
    if !facts.protected {
        return refuse(say!(
            "the feeder or service lacks the overcurrent or overload protection that the clause asks for"
        ));
    }
    if facts.sources == OnSiteSources::HiddenInRecord {
        return refuse(say!("what sources or peak shaving on this service gave is missing from the record"));
    }
    match &facts.record {
        Record::Year { interval: None } => Ok(()),
        Record::Year { interval: Some(interval) } => short_enough(interval),
        Record::Recorded { .. } if facts.sources != OnSiteSources::None => refuse(say!(
            "with generation or peak shaving on this service only a full year's record may be used"
        )),
        Record::Recorded { on_highest_phase: false, .. } => {
            refuse(say!("the recording was not taken on the most loaded phase"))
        }
        Record::Recorded { seasons_included: false, .. } => {
            refuse(say!("loads of other seasons were not added to the recorded peak"))
        }
        Record::Recorded { span, interval, .. } => {
            sane(CLAUSE, span)?;
            let days: Known<Ratio> = load_rule::ratio("days", "measured-days")?;
            if span.value().si() < days.value().si() * DAY_S {
                return refuse(say!("the recording is shorter than 30 days"));
            }
            short_enough(interval)
        }
    }
}

fn short_enough(interval: &Known<Duration>) -> Result<(), NotCovered> {
    sane(CLAUSE, interval)?;
    let most: Known<Ratio> = load_rule::ratio("most", "measured-interval")?;
    if interval.value().si() <= most.value().si() * MINUTE_S {
        return Ok(());
    }
    Err(NotCovered::new(CLAUSE, say!("means over more than 15 minutes hide the maximum demand")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn facts(record: Record) -> MeasuredFacts {
        let a = |x| given(Current::of(x));
        let (peak, new_load, rating) = (a(480.0), a(180.0), a(800.0));
        MeasuredFacts { record, sources: OnSiteSources::None, protected: true, peak, new_load, rating }
    }

    fn recorded(days: f64, minutes: f64) -> Record {
        Record::Recorded {
            span: given(Duration::of(days * DAY_S)),
            interval: given(Duration::of(minutes * MINUTE_S)),
            on_highest_phase: true,
            seasons_included: true,
        }
    }

    /// LOD-05: 480 A peak on 800 A, 180 A new: 600 A existing, 780 A in all, 200 A spare.
    #[test]
    fn a_year_of_demand() {
        let found = measured_demand(&facts(Record::Year { interval: None })).unwrap();
        near(&found.existing_a, 600.0);
        near(&found.total_a, 780.0);
        near(&found.spare_before_new_a, 200.0);
        assert!(found.fits);
        let all = MeasuredFacts { new_load: given(Current::of(200.0)), ..facts(recorded(30.0, 15.0)) };
        assert!(measured_demand(&all).unwrap().fits);
        let more = MeasuredFacts { new_load: given(Current::of(201.0)), ..facts(recorded(30.0, 15.0)) };
        assert!(!measured_demand(&more).unwrap().fits);
    }

    #[test]
    fn the_exception_has_conditions() {
        assert!(measured_demand(&facts(recorded(30.0, 15.0))).is_ok());
        assert!(measured_demand(&facts(recorded(29.0, 15.0))).is_err());
        assert!(measured_demand(&facts(recorded(30.0, 60.0))).is_err());
        let array = |sources, record| MeasuredFacts { sources, ..facts(record) };
        let year = || Record::Year { interval: None };
        assert!(measured_demand(&array(OnSiteSources::LoadMeasuredApart, recorded(30.0, 15.0))).is_err());
        assert!(measured_demand(&array(OnSiteSources::LoadMeasuredApart, year())).is_ok());
        assert!(measured_demand(&array(OnSiteSources::HiddenInRecord, year())).is_err());
        assert!(measured_demand(&MeasuredFacts { protected: false, ..facts(year()) }).is_err());
        let nan = MeasuredFacts { peak: given(Current::of(f64::NAN)), ..facts(year()) };
        assert!(measured_demand(&nan).is_err());
    }
}
