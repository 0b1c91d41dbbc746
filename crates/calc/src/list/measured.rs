//! New load on a service whose demand was measured.

use codebook::us::{MeasuredFacts, OnSiteSources, Record, measured_demand};

use crate::error::{CalcError, InputError};
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

/// The conditions of the clause have no defaults: whoever does not know them has no answer.
pub(super) fn all() -> Vec<Calculation> {
    vec![Calculation {
        id: "dwelling-measured",
        purpose: "Whether new load fits on a service or feeder of measured demand (NEC 2023 220.87)",
        inputs: vec![
            In::number("peak_a", M::AMPERE, "highest measured demand, on the most loaded leg"),
            In::number("new_load_a", M::AMPERE, "load to be added, calculated by article 220")
                .within(0.0, 1e6),
            In::number("rating_a", M::AMPERE, "rating of the service or ampacity of the feeder"),
            In::word("record", "a year of demand, or a recording of 30 days", &["year", "recorded"]),
            In::word(
                "sources",
                "sources or peak shaving on the measured service, and what the record shows",
                &["none", "load-measured-apart", "hidden-in-record"],
            ),
            In::yes_no("protected", "overcurrent and overload protection as the clause asks"),
            In::number("interval_s", M::SECOND, "averaging interval of the record").if_given(),
            In::number("recorded_s", M::SECOND, "length of the recording").if_given(),
            In::yes_no("highest_phase", "the recording was taken on the most loaded phase").if_given(),
            In::yes_no("seasons", "loads of other seasons were added to the recorded peak").if_given(),
        ],
        outputs: vec![
            Out::new("fits", M::WORD, "the total is within the rating"),
            Out::new("total_a", M::AMPERE, "existing and new load"),
            Out::new("existing_a", M::AMPERE, "existing load"),
            Out::new("spare_before_new_a", M::AMPERE, "what the rating leaves before the new load"),
        ],
        run,
    }]
}

fn run(given: &Given) -> Result<Results, CalcError> {
    let facts = MeasuredFacts {
        record: record(given)?,
        sources: match given.word("sources")? {
            "none" => OnSiteSources::None,
            "load-measured-apart" => OnSiteSources::LoadMeasuredApart,
            _ => OnSiteSources::HiddenInRecord,
        },
        protected: given.word("protected")? == "yes",
        peak: given.one("peak_a", "I_pk")?,
        new_load: given.one("new_load_a", "I_new")?,
        rating: given.one("rating_a", "I_r")?,
    };
    let found = measured_demand(&facts)?;
    Ok(Results::default()
        .flag("fits", found.fits)
        .known("total_a", &found.total_a)
        .known("existing_a", &found.existing_a)
        .known("spare_before_new_a", &found.spare_before_new_a))
}

fn record(given: &Given) -> Result<Record, CalcError> {
    if given.word("record")? == "year" {
        let interval = if given.has("interval_s") { Some(given.one("interval_s", "t_i")?) } else { None };
        return Ok(Record::Year { interval });
    }
    let missing = |key: &'static str, what, unit| InputError::Missing { key, what, unit };
    let needed = [
        missing("recorded_s", "length of the recording, which record=recorded needs", "s"),
        missing("interval_s", "averaging interval, which record=recorded needs", "s"),
        missing("highest_phase", "whether it was taken on the most loaded phase", ""),
        missing("seasons", "whether loads of other seasons were added", ""),
    ];
    let lacking: Vec<InputError> = needed
        .into_iter()
        .filter(|error| matches!(error, InputError::Missing { key, .. } if !given.has(key)))
        .collect();
    if !lacking.is_empty() {
        return Err(CalcError::Inputs(lacking));
    }
    Ok(Record::Recorded {
        span: given.one("recorded_s", "t_rec")?,
        interval: given.one("interval_s", "t_i")?,
        on_highest_phase: given.word("highest_phase")? == "yes",
        seasons_included: given.word("seasons")? == "yes",
    })
}
