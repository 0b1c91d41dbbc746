//! Indices of interruptions by IEEE 1366: how often, how long for each customer, how long for each interruption, and
//! the share of the time with supply. Every interruption that is given counts; which ones are sustained and which days
//! are exceptional is decided before.

use derivation::{Known, Refused, formula, same_length};
use quantity::{Duration, Quantity, Ratio};

const SOURCE: &str = "IEEE 1366";

/// One interruption.
#[derive(Debug, Clone)]
pub struct Interruption {
    /// How long.
    pub lasts: Known<Duration>,
    /// Customers without supply.
    pub customers: Known<Ratio>,
}

/// Totals of a time.
#[derive(Debug, Clone)]
pub struct Totals {
    /// Customers that are served.
    pub served: Known<Ratio>,
    /// Customers interrupted, each as often as it was.
    pub interruptions: Known<Ratio>,
    /// Their durations added up.
    pub customer_time: Known<Duration>,
}

/// Indices.
#[derive(Debug, Clone)]
pub struct Indices {
    /// SAIFI: interruptions of a customer.
    pub frequency: Known<Ratio>,
    /// SAIDI: time without supply of a customer.
    pub duration: Known<Duration>,
    /// CAIDI: time of an interruption; `None` where there was none.
    pub each: Option<Known<Duration>>,
    /// ASAI: share of the time with supply; `None` where the time looked at is not known.
    pub availability: Option<Known<Ratio>>,
}

/// Adds interruptions up.
///
/// # Errors
/// A value is negative or no number, or more customers were interrupted at once than are served.
pub fn totals(served: &Known<Ratio>, interruptions: &[Interruption]) -> Result<Totals, Refused> {
    served.above_zero()?;
    let mut times = Vec::new();
    let mut customers = Vec::new();
    for one in interruptions {
        let (lasts, count) = (&one.lasts, &one.customers);
        lasts.not_negative()?;
        count.within(0.0, served.value().si(), "not more than are served")?;
        times.push(formula!("t", "customer time of an interruption", [lasts, count] => lasts * count));
        customers.push(count.clone());
    }
    same_length("interruptions", times.len(), customers.len())?;
    Ok(Totals {
        served: served.clone(),
        interruptions: Known::sum("N_i", "customers interrupted", &customers),
        customer_time: Known::sum("T", "customer time without supply", &times),
    })
}

/// Indices of totals; `looked_at` is the time that they cover.
///
/// # Errors
/// A value is negative or no number, or customers were without supply longer than the time looked at.
pub fn indices(totals: &Totals, looked_at: Option<&Known<Duration>>) -> Result<Indices, Refused> {
    let Totals { served, interruptions, customer_time } = totals;
    served.above_zero()?;
    interruptions.not_negative()?;
    customer_time.not_negative()?;
    let frequency = formula!("SAIFI", "interruptions of a customer", [interruptions, served] => interruptions / served,
        source = SOURCE);
    let duration = formula!("SAIDI", "time without supply of a customer", [customer_time, served]
        => customer_time / served, source = SOURCE);
    let each = if interruptions.value().si() > 0.0 { Some(of_each(&duration, &frequency)?) } else { None };
    let availability = match looked_at {
        Some(time) => {
            time.within(
                duration.value().si().max(f64::MIN_POSITIVE),
                f64::MAX,
                "not shorter than the outages in it",
            )?;
            let down = &duration;
            Some(formula!("ASAI", "share of the time with supply", [time, down] => (time - down) / time,
                source = SOURCE))
        }
        None => None,
    };
    Ok(Indices { frequency, duration, each, availability })
}

/// CAIDI from the other two.
///
/// # Errors
/// There was no interruption, or a value is no number.
pub fn of_each(saidi: &Known<Duration>, saifi: &Known<Ratio>) -> Result<Known<Duration>, Refused> {
    saidi.not_negative()?;
    saifi.above_zero()?;
    Ok(formula!("CAIDI", "time of an interruption", [saidi, saifi] => saidi / saifi, source = SOURCE))
}

/// CAIFI: interruptions of a customer that was interrupted at all, from customers interrupted (each as often as it was)
/// and customers of whom each had one or more, counted once.
///
/// # Errors
/// No customer affected, more of them than are served or than interruptions, or a value that is no number.
pub fn of_affected(totals: &Totals, affected: &Known<Ratio>) -> Result<Known<Ratio>, Refused> {
    distinct(totals, affected)?;
    let all = &totals.interruptions;
    Ok(formula!("CAIFI", "interruptions of an interrupted customer", [all, affected] => all / affected,
        source = SOURCE))
}

/// CTAIDI: time without supply of a customer that was interrupted at all.
///
/// # Errors
/// As [`of_affected`].
pub fn time_of_affected(totals: &Totals, affected: &Known<Ratio>) -> Result<Known<Duration>, Refused> {
    distinct(totals, affected)?;
    let time = &totals.customer_time;
    Ok(
        formula!("CTAIDI", "time without supply of an interrupted customer", [time, affected] => time / affected,
        source = SOURCE),
    )
}

fn distinct(totals: &Totals, affected: &Known<Ratio>) -> Result<(), Refused> {
    totals.interruptions.not_negative()?;
    totals.customer_time.not_negative()?;
    affected.above_zero()?;
    let most = totals.served.value().si().min(totals.interruptions.value().si());
    affected.within(0.0, most, "not more than are served, nor than interruptions").map(|_| ())
}

/// MAIFI: momentary interruptions of a customer, from customers interrupted for a moment, each as often as it was.
///
/// # Errors
/// No customers are served, or a value is negative or no number.
pub fn momentary(served: &Known<Ratio>, interruptions: &Known<Ratio>) -> Result<Known<Ratio>, Refused> {
    served.above_zero()?;
    interruptions.not_negative()?;
    Ok(formula!("MAIFI", "momentary interruptions of a customer", [interruptions, served]
        => interruptions / served, source = SOURCE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    fn n(x: f64) -> Known<Ratio> {
        given(Ratio::of(x))
    }

    /// REL-01: seven interruptions of 2000 customers.
    #[test]
    fn a_year() {
        let list = [
            (8.17, 200.0),
            (71.3, 600.0),
            (30.3, 25.0),
            (267.2, 90.0),
            (120.0, 700.0),
            (10.0, 1500.0),
            (40.0, 100.0),
        ];
        let all: Vec<Interruption> = list
            .iter()
            .map(|&(min, count)| Interruption { lasts: given(Duration::of(min * 60.0)), customers: n(count) })
            .collect();
        let year = given(Duration::of(8760.0 * 3600.0));
        let found = indices(&totals(&n(2000.0), &all).unwrap(), Some(&year)).unwrap();
        near(&found.frequency, 1.6075);
        near(&found.duration, 86.109_75 * 60.0);
        near(found.each.as_ref().unwrap(), 86.109_75 * 60.0 / 1.6075);
        near(found.availability.as_ref().unwrap(), 1.0 - 86.109_75 / 525_600.0);
        // by hand: 3215 interruptions and 172,219.5 minutes over 1800 customers; 300 for a moment
        let sums = totals(&n(2000.0), &all).unwrap();
        near(&of_affected(&sums, &n(1800.0)).unwrap(), 3215.0 / 1800.0);
        near(&time_of_affected(&sums, &n(1800.0)).unwrap(), 172_219.5 * 60.0 / 1800.0);
        near(&momentary(&n(2000.0), &n(300.0)).unwrap(), 0.15);
        assert!(of_affected(&sums, &n(2001.0)).is_err() && of_affected(&sums, &n(0.0)).is_err());
        assert!(totals(&n(1000.0), &all).is_err(), "more interrupted than served");
        let none = indices(&totals(&n(2000.0), &[]).unwrap(), Some(&year)).unwrap();
        assert!(none.each.is_none());
        near(none.availability.as_ref().unwrap(), 1.0);
    }
}
