//! Section method of IEEE 485 (Hoxie): each period changes the load, and a battery that is asked for so many amperes
//! from the start of a period to the end of a section needs `K` ampere-hours for each of them. `K` comes from the
//! cell's maker. For lead-acid and nickel-cadmium. Method from memory, as in IEEE 485.

use derivation::{Known, Refused, formula, same_length};
use quantity::{Charge, DcCurrent, Duration, Quantity, Ratio};

const SOURCE: &str = "section method of IEEE 485, from memory";

/// One period of the duty.
#[derive(Debug, Clone)]
pub struct Period {
    /// Constant current.
    pub current: Known<DcCurrent>,
    /// How long it lasts.
    pub lasts: Known<Duration>,
}

/// Where `K`, rated ampere-hours for each ampere (hours), comes from.
#[derive(Debug, Clone)]
pub enum CapacityRating {
    /// For each section in turn, for each of its periods from the first: one for the first section, two for the
    /// second, and so on.
    Listed(Vec<Known<Duration>>),
    /// Pairs of a time and its `K`. A time that is not listed is refused: between two nothing is guessed.
    Table(Vec<(Known<Duration>, Known<Duration>)>),
    /// `K = a + b · t^c`, `t` in minutes.
    Function {
        /// Constant part.
        a: Known<Ratio>,
        /// Factor.
        b: Known<Ratio>,
        /// Exponent.
        c: Known<Ratio>,
    },
}

/// What comes on top of the largest section.
#[derive(Debug, Clone)]
pub struct Factors {
    /// For temperature.
    pub temperature: Known<Ratio>,
    /// Design margin, 1 and above.
    pub margin: Known<Ratio>,
    /// Ageing, 1 and above.
    pub ageing: Known<Ratio>,
}

/// Result of the section method.
#[derive(Debug, Clone)]
pub struct Sections {
    /// Size that each section asks for.
    pub sizes: Vec<Known<Charge>>,
    /// Which is largest, from 1.
    pub governing: usize,
    /// Rated capacity to install.
    pub required: Known<Charge>,
}

/// Size by the section method. Every section is looked at, also those that the standard lets skip: the largest
/// counts. A random load must be laid where it hurts most, as a period of its own.
///
/// # Errors
/// No period, values outside their range, or a `K` that is not given.
pub fn sections(periods: &[Period], rating: &CapacityRating, factors: &Factors) -> Result<Sections, Refused> {
    check(periods, factors)?;
    if let CapacityRating::Listed(listed) = rating {
        same_length("capacity-rating factors", listed.len(), periods.len() * (periods.len() + 1) / 2)?;
    }
    let mut sizes = Vec::new();
    for last in 0..periods.len() {
        sizes.push(section(periods, last, rating)?);
    }
    let largest = Known::largest("C_s", "largest section", &sizes);
    let largest = largest.ok_or_else(|| Refused::NotReached("a duty without periods".to_owned()))?;
    let governing = sizes.iter().position(|size| size.value() == largest.value()).map_or(0, |k| k + 1);
    let Factors { temperature, margin, ageing } = factors;
    let required = formula!("C", "rated capacity", [largest, temperature, margin, ageing]
        => largest * temperature * margin * ageing, source = SOURCE);
    Ok(Sections { sizes, governing, required })
}

fn check(periods: &[Period], factors: &Factors) -> Result<(), Refused> {
    for period in periods {
        period.current.not_negative()?;
        period.lasts.above_zero()?;
    }
    factors.temperature.within(0.5, 10.0, "a factor from 0.5 to 10")?;
    factors.margin.within(1.0, 10.0, "a factor from 1 to 10")?;
    factors.ageing.within(1.0, 10.0, "a factor from 1 to 10")?;
    Ok(())
}

/// `sum over p of (A_p - A_(p-1)) · K(time from the start of p to the end of the section)`.
fn section(periods: &[Period], last: usize, rating: &CapacityRating) -> Result<Known<Charge>, Refused> {
    let mut parts = Vec::new();
    let mut before = Known::constant("A_0", "current before the duty", DcCurrent::ZERO, SOURCE);
    let of_section = periods.iter().take(last + 1);
    for (k, period) in of_section.clone().enumerate() {
        let lasts: Vec<Known<Duration>> = of_section.clone().skip(k).map(|p| p.lasts.clone()).collect();
        let time = Known::sum("t", "time to the end of the section", &lasts);
        let factor = factor(rating, (last, k), &time)?;
        factor.above_zero()?;
        let current = &period.current;
        let what = format!("period {} in section {}", k + 1, last + 1);
        parts.push(formula!("C_p", what, [current, before, factor] => (current - before) * factor));
        before = current.clone();
    }
    Ok(Known::sum("C_s", format!("section {}", last + 1), &parts))
}

fn factor(
    rating: &CapacityRating,
    (section, period): (usize, usize),
    time: &Known<Duration>,
) -> Result<Known<Duration>, Refused> {
    match rating {
        CapacityRating::Listed(listed) => {
            let at = section * (section + 1) / 2 + period;
            listed.get(at).cloned().ok_or_else(|| Refused::NotReached("a factor is missing".to_owned()))
        }
        CapacityRating::Table(rows) => {
            let same = |listed: &Known<Duration>| {
                (listed.value().si() - time.value().si()).abs() <= 1e-6 * time.value().si()
            };
            let row = rows.iter().find(|(listed, _)| same(listed));
            row.map(|(_, k)| k.clone()).ok_or_else(|| {
                Refused::NotReached(format!("there is no capacity-rating factor for {}", time.value()))
            })
        }
        CapacityRating::Function { a, b, c } => {
            c.within(0.0, 3.0, "an exponent from 0 to 3")?;
            Ok(
                formula!("K", "rated Ah for each A", [a, b, time, c] => hours(a + b * power(minutes(time), c)),
                source = "given function"),
            )
        }
    }
}

fn minutes(time: Duration) -> Ratio {
    Ratio::of(time.si() / 60.0)
}

fn power(base: Ratio, exponent: Ratio) -> Ratio {
    Ratio::of(libm::pow(base.si(), exponent.si()))
}

fn hours(number: Ratio) -> Duration {
    Duration::of(number.si() * 3600.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::given;

    fn n(x: f64) -> Known<Ratio> {
        given(Ratio::of(x))
    }

    fn duty() -> Vec<Period> {
        [(180.0, 1.0), (60.0, 59.0), (110.0, 60.0)]
            .map(|(a, min)| Period {
                current: given(DcCurrent::of(a)),
                lasts: given(Duration::of(min * 60.0)),
            })
            .into()
    }

    fn k_of(minutes: f64) -> f64 {
        0.35 + 0.0725 * libm::pow(minutes, 0.75)
    }

    fn factors() -> Factors {
        Factors { temperature: n(1.11), margin: n(1.1), ageing: n(1.25) }
    }

    /// BAT-06, by the function, by a list and by a table: the same.
    #[test]
    fn three_ways_to_give_k() {
        let function = CapacityRating::Function { a: n(0.35), b: n(0.0725), c: n(0.75) };
        let hours = |x: f64| given(Duration::of(x * 3600.0));
        let listed = [1.0, 60.0, 59.0, 120.0, 119.0, 60.0].map(|t| hours(k_of(t))).to_vec();
        let row = |t: f64| (given(Duration::of(t * 60.0)), hours(k_of(t)));
        let table = [1.0, 59.0, 60.0, 119.0, 120.0].map(row).to_vec();
        for rating in [function, CapacityRating::Listed(listed), CapacityRating::Table(table.clone())] {
            let found = sections(&duty(), &rating, &factors()).unwrap();
            let sizes: Vec<f64> = found.sizes.iter().map(|s| s.value().si()).collect();
            for (size, expected) in sizes.iter().zip([76.05, 117.127_751, 276.337_948]) {
                assert!((size - expected).abs() < 1e-5, "{size} {expected}");
            }
            assert_eq!(found.governing, 3);
            assert!((found.required.value().si() - 421.760_794).abs() < 1e-5);
        }
        let short = CapacityRating::Table(table.into_iter().skip(1).collect());
        assert!(sections(&duty(), &short, &factors()).is_err(), "nothing is interpolated");
        assert!(sections(&[], &short, &factors()).is_err());
    }
}
