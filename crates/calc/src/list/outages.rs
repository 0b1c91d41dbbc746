//! Supply: indices of interruptions, availability of units.

use derivation::Known;
use quantity::Duration;
use reliability::indices::{
    Interruption, Totals, indices, momentary, of_affected, of_each, time_of_affected, totals,
};
use reliability::redundancy::{availability, of_several};

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![interruptions(), from_totals(), each(), repair(), group()]
}

fn index_outputs() -> Vec<Out> {
    vec![
        Out::new("saifi", M::NUMBER, "interruptions of a customer"),
        Out::new("saidi_min", M::MINUTE, "time without supply of a customer"),
        Out::new("caidi_min", M::MINUTE, "time of an interruption"),
        Out::new("asai", M::NUMBER, "share of the time with supply"),
        Out::new("caifi", M::NUMBER, "interruptions of a customer that was interrupted at all"),
        Out::new("ctaidi_min", M::MINUTE, "time without supply of a customer that was interrupted at all"),
        Out::new("maifi", M::NUMBER, "momentary interruptions of a customer"),
    ]
}

fn more_inputs() -> [In; 2] {
    [
        In::number(
            "customers_affected",
            M::NUMBER,
            "customers interrupted once or more, each counted once; for CAIFI and CTAIDI",
        )
        .if_given(),
        In::number(
            "momentary_interruptions",
            M::NUMBER,
            "customers interrupted for a moment, each as often as it was; for MAIFI, and not in the other numbers",
        )
        .within(0.0, 1e12)
        .if_given(),
    ]
}

fn with_more(mut inputs: Vec<In>) -> Vec<In> {
    inputs.extend(more_inputs());
    inputs
}

fn index_results(of: &Totals, given: &Given) -> Result<Results, CalcError> {
    let looked_at: Option<Known<Duration>> = given.one_if("looked_at_h", "T_all")?;
    let found = indices(of, looked_at.as_ref())?;
    let affected = given.one_if("customers_affected", "CN")?;
    let (often, time) = match &affected {
        Some(affected) => (Some(of_affected(of, affected)?), Some(time_of_affected(of, affected)?)),
        None => (None, None),
    };
    let moments = match given.one_if("momentary_interruptions", "N_m")? {
        Some(count) => Some(momentary(&of.served, &count)?),
        None => None,
    };
    Ok(Results::default()
        .known_if("caifi", often.as_ref())
        .known_if("ctaidi_min", time.as_ref())
        .known_if("maifi", moments.as_ref())
        .known("saifi", &found.frequency)
        .known("saidi_min", &found.duration)
        .known_if("caidi_min", found.each.as_ref())
        .known_if("asai", found.availability.as_ref()))
}

fn interruptions() -> Calculation {
    Calculation {
        id: "supply-indices",
        purpose: "SAIFI, SAIDI, CAIDI, ASAI, CAIFI, CTAIDI and MAIFI from a list of interruptions (IEEE 1366)",
        inputs: with_more(vec![
            In::number("customers_served", M::NUMBER, "customers that are served"),
            In::numbers("lasts_min", M::MINUTE, "length of interruption").within(0.0, 1e8),
            In::numbers("customers_interrupted", M::NUMBER, "customers without supply in interruption")
                .within(0.0, 1e9),
            In::number("looked_at_h", M::HOUR_SPAN, "time that the list covers").or("8760"),
        ]),
        outputs: index_outputs(),
        run: |given| {
            let lasts: Vec<Known<Duration>> = given.list("lasts_min", "t")?;
            let customers = given.list("customers_interrupted", "N")?;
            let customers = exactly("customers_interrupted", customers, lasts.len())?;
            let list: Vec<Interruption> = lasts
                .into_iter()
                .zip(customers)
                .map(|(lasts, customers)| Interruption { lasts, customers })
                .collect();
            index_results(&totals(&given.one("customers_served", "N_T")?, &list)?, given)
        },
    }
}

fn from_totals() -> Calculation {
    Calculation {
        id: "supply-indices-from-totals",
        purpose: "The same from customer-minutes and customer interruptions",
        inputs: with_more(vec![
            In::number("customers_served", M::NUMBER, "customers that are served"),
            In::number("customer_interruptions", M::NUMBER, "customers interrupted, each as often as it was")
                .within(0.0, 1e12),
            In::number("customer_min", M::MINUTE, "customer time without supply").within(0.0, 1e12),
            In::number("looked_at_h", M::HOUR_SPAN, "time that the totals cover").if_given(),
        ]),
        outputs: index_outputs(),
        run: |given| {
            let of = Totals {
                served: given.one("customers_served", "N_T")?,
                interruptions: given.one("customer_interruptions", "N_i")?,
                customer_time: given.one("customer_min", "T")?,
            };
            index_results(&of, given)
        },
    }
}

fn each() -> Calculation {
    Calculation {
        id: "supply-caidi",
        purpose: "CAIDI from SAIDI and SAIFI",
        inputs: vec![
            In::number("saidi_min", M::MINUTE, "time without supply of a customer").within(0.0, 1e8),
            In::number("saifi", M::NUMBER, "interruptions of a customer"),
        ],
        outputs: vec![Out::new("caidi_min", M::MINUTE, "time of an interruption")],
        run: |given| {
            let each = of_each(&given.one("saidi_min", "SAIDI")?, &given.one("saifi", "SAIFI")?)?;
            Ok(Results::default().known("caidi_min", &each))
        },
    }
}

fn repair() -> Calculation {
    Calculation {
        id: "unit-availability",
        purpose: "Availability of a unit from time between failures and time to repair",
        inputs: vec![
            In::number("mtbf_h", M::HOUR_SPAN, "mean time between failures"),
            In::number("mttr_h", M::HOUR_SPAN, "mean time to repair, spare part and way included")
                .within(0.0, 1e6),
        ],
        outputs: vec![Out::new("availability", M::NUMBER, "availability")],
        run: |given| {
            let found = availability(&given.one("mtbf_h", "MTBF")?, &given.one("mttr_h", "MTTR")?)?;
            Ok(Results::default().known("availability", &found))
        },
    }
}

fn group() -> Calculation {
    Calculation {
        id: "group-availability",
        purpose: "Availability of paralleled units of which so many must work, failing independently",
        inputs: vec![
            In::number("unit_availability", M::NUMBER, "availability of a unit").within(0.0, 1.0),
            In::number("needed", M::NUMBER, "units that must work").within(1.0, 1000.0),
            In::number("units", M::NUMBER, "units that there are").within(1.0, 1000.0),
        ],
        outputs: vec![Out::new(
            "availability",
            M::NUMBER,
            "availability of the group; common causes are not in it",
        )],
        run: |given| {
            let unit = given.one("unit_availability", "A")?;
            let found = of_several(&unit, &given.one("needed", "k")?, &given.one("units", "n")?)?;
            Ok(Results::default().known("availability", &found))
        },
    }
}
