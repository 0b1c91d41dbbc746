//! Discharge of lead-acid batteries at other than the rated current: Peukert's law in both of its forms, which give
//! different times for the same numbers. Which capacity is meant must be known. Peukert 1897; from memory.

use derivation::{Known, Refused, formula};
use quantity::{Charge, DcCurrent, Duration, Quantity, Ratio};

/// One ampere: the current that the older form is made for.
const ONE_A: f64 = 1.0;

/// The exponent of lead-acid batteries lies between an ideal battery's 1 and what worn ones show.
fn exponent_checked(k: &Known<Ratio>) -> Result<(), Refused> {
    k.within(1.0, 2.0, "an exponent from 1 to 2").map(|_| ())
}

/// Time at a current for a capacity that is rated at a time: `t = H · (C / (I · H))^k`. At the rated current it gives
/// the rated time.
///
/// # Errors
/// A value is not above zero, or the exponent is not from 1 to 2.
pub fn time_by_rating(
    capacity: &Known<Charge>,
    rated: &Known<Duration>,
    k: &Known<Ratio>,
    current: &Known<DcCurrent>,
) -> Result<Known<Duration>, Refused> {
    capacity.above_zero()?;
    rated.above_zero()?;
    current.above_zero()?;
    exponent_checked(k)?;
    Ok(formula!("t", "time of discharge", [rated, capacity, current, k]
        => rated * pow(capacity / (current * rated), k), source = "Peukert's law, capacity at a rated time"))
}

/// Time at a current for a Peukert capacity, which is that at one ampere: `t = C_P / I^k` in hours and amperes.
///
/// # Errors
/// A value is not above zero, or the exponent is not from 1 to 2.
pub fn time_by_one_ampere(
    capacity: &Known<Charge>,
    k: &Known<Ratio>,
    current: &Known<DcCurrent>,
) -> Result<Known<Duration>, Refused> {
    capacity.above_zero()?;
    current.above_zero()?;
    exponent_checked(k)?;
    let one =
        Known::constant("I_1", "one ampere", DcCurrent::of(ONE_A), "definition of the Peukert capacity");
    Ok(formula!("t", "time of discharge", [capacity, one, current, k]
        => (capacity / one) * pow(one / current, k), source = "Peukert's law, capacity at one ampere"))
}

/// What a battery gives at a current in a time.
#[must_use]
pub fn charge_given(current: &Known<DcCurrent>, time: &Known<Duration>) -> Known<Charge> {
    formula!("C_eff", "charge that it gives", [current, time] => current * time)
}

/// A rating: a charge given at a current.
#[derive(Debug, Clone)]
pub struct Rating {
    /// The charge.
    pub charge: Known<Charge>,
    /// The current.
    pub current: Known<DcCurrent>,
}

/// The exponent that two ratings of one battery show: `k = ln(t_1 / t_2) / ln(I_2 / I_1)`.
///
/// # Errors
/// A value is not above zero, the currents are equal, or the exponent is not from 1 to 2.
pub fn exponent(first: &Rating, second: &Rating) -> Result<Known<Ratio>, Refused> {
    for rating in [first, second] {
        rating.charge.above_zero()?;
        rating.current.above_zero()?;
    }
    let (i_1, i_2) = (&first.current, &second.current);
    if (i_1.value().si() - i_2.value().si()).abs() < 1e-9 * i_1.value().si() {
        return Err(Refused::NotReached("both ratings are at the same current".to_owned()));
    }
    let (c_1, c_2) = (&first.charge, &second.charge);
    let t_1 = formula!("t_1", "time of the first rating", [c_1, i_1] => c_1 / i_1);
    let t_2 = formula!("t_2", "time of the second rating", [c_2, i_2] => c_2 / i_2);
    let k = formula!("k", "exponent", [t_1, t_2, i_1, i_2] => ln(t_1 / t_2) / ln(i_2 / i_1),
        source = "Peukert's law through two ratings");
    exponent_checked(&k)?;
    Ok(k)
}

/// Time at a current by a rating and the exponent: `t = t_1 · (I_1 / I)^k`.
///
/// # Errors
/// A value is not above zero, or the exponent is not from 1 to 2.
pub fn time_from(
    rating: &Rating,
    k: &Known<Ratio>,
    current: &Known<DcCurrent>,
) -> Result<Known<Duration>, Refused> {
    let (charge, rated) = (&rating.charge, &rating.current);
    charge.above_zero()?;
    rated.above_zero()?;
    current.above_zero()?;
    exponent_checked(k)?;
    Ok(formula!("t", "time of discharge", [charge, rated, current, k]
        => (charge / rated) * pow(rated / current, k), source = "Peukert's law from a rating"))
}

fn pow(base: Ratio, exponent: Ratio) -> Ratio {
    Ratio::of(libm::pow(base.si(), exponent.si()))
}

fn ln(number: Ratio) -> Ratio {
    Ratio::of(libm::log(number.si()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::given;

    fn hours(found: &Known<Duration>) -> f64 {
        found.value().si() / 3600.0
    }

    fn ah(x: f64) -> Known<Charge> {
        given(Charge::of(x))
    }

    fn a(x: f64) -> Known<DcCurrent> {
        given(DcCurrent::of(x))
    }

    /// BAT-01 and BAT-02: the same numbers, 20 h and 14.5 h.
    #[test]
    fn two_forms_for_two_capacities() {
        let (rated, k) = (given(Duration::of(20.0 * 3600.0)), given(Ratio::of(1.2)));
        assert!((hours(&time_by_rating(&ah(100.0), &rated, &k, &a(5.0)).unwrap()) - 20.0).abs() < 1e-9);
        assert!(
            (hours(&time_by_rating(&ah(100.0), &rated, &k, &a(10.0)).unwrap()) - 8.705_505_63).abs() < 1e-7
        );
        assert!((hours(&time_by_one_ampere(&ah(100.0), &k, &a(5.0)).unwrap()) - 14.495_593_3).abs() < 1e-6);
        assert!(time_by_one_ampere(&ah(100.0), &given(Ratio::of(0.9)), &a(5.0)).is_err());
        assert!(time_by_rating(&ah(100.0), &rated, &k, &a(0.0)).is_err());
    }

    /// BAT-10: 100 Ah at 5 A and 60 Ah at 20 A.
    #[test]
    fn the_exponent_returns_both_ratings() {
        let first = Rating { charge: ah(100.0), current: a(5.0) };
        let second = Rating { charge: ah(60.0), current: a(20.0) };
        let k = exponent(&first, &second).unwrap();
        assert!((k.value().si() - 1.368_482_8).abs() < 1e-6);
        assert!((hours(&time_from(&first, &k, &a(20.0)).unwrap()) - 3.0).abs() < 1e-9);
        assert!((hours(&time_from(&first, &k, &a(10.0)).unwrap()) - 7.745_966_69).abs() < 1e-7);
        assert!(exponent(&first, &first).is_err());
        // more charge at more current: no battery does that
        assert!(exponent(&first, &Rating { charge: ah(120.0), current: a(20.0) }).is_err());
    }
}
