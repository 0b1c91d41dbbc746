//! Availability of a unit from its failures and repairs, and of several of which so many must work. Units fail
//! independently and are alike: a common cause (one firmware, one room, one lightning stroke) is not in it, and often
//! decides.

use derivation::{Known, Refused, formula};
use quantity::{Duration, Quantity, Ratio};

/// `A = MTBF / (MTBF + MTTR)`.
///
/// # Errors
/// A time is not above zero (repair may be zero).
pub fn availability(
    between_failures: &Known<Duration>,
    repair: &Known<Duration>,
) -> Result<Known<Ratio>, Refused> {
    between_failures.above_zero()?;
    repair.not_negative()?;
    Ok(formula!("A", "availability of a unit", [between_failures, repair]
        => between_failures / (between_failures + repair), source = "textbooks of reliability"))
}

/// Availability of `needed` out of `units` equal units: `sum over i from k to n of C(n, i) A^i (1 - A)^(n - i)`.
///
/// # Errors
/// Numbers that are not whole, more needed than there are, more than 1000 units, an availability outside 0 to 1.
pub fn of_several(
    unit: &Known<Ratio>,
    needed: &Known<Ratio>,
    units: &Known<Ratio>,
) -> Result<Known<Ratio>, Refused> {
    unit.within(0.0, 1.0, "from 0 to 1")?;
    needed.whole()?;
    units.whole()?;
    units.within(needed.value().si(), 1000.0, "not fewer than are needed, and at most 1000")?;
    Ok(formula!("A_sys", "availability of the group", [unit, needed, units] => binomial(unit, needed, units),
        source = "sum over i from k to n of C(n, i) A^i (1 - A)^(n - i)"))
}

fn binomial(unit: Ratio, needed: Ratio, units: Ratio) -> Ratio {
    let (a, k, n) = (unit.si(), needed.si() as u32, units.si() as u32);
    if a <= 0.0 || a >= 1.0 {
        return Ratio::of(if a >= 1.0 { 1.0 } else { 0.0 });
    }
    // logarithms of C(n, i), built up term by term, keep large groups finite
    let mut log_choose = 0.0;
    let mut total = 0.0;
    for i in 0..=n {
        if i > 0 {
            log_choose += libm::log(f64::from(n - i + 1)) - libm::log(f64::from(i));
        }
        if i >= k {
            let log_term = log_choose + f64::from(i) * libm::log(a) + f64::from(n - i) * libm::log1p(-a);
            total += libm::exp(log_term);
        }
    }
    Ratio::of(total.min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    fn n(x: f64) -> Known<Ratio> {
        given(Ratio::of(x))
    }

    /// REL-02: two of three at 0.99: 3 · 0.99² · 0.01 + 0.99³ = 0.999702.
    #[test]
    fn two_of_three() {
        near(&of_several(&n(0.99), &n(2.0), &n(3.0)).unwrap(), 0.999_702);
        let h = |x: f64| given(Duration::of(x * 3600.0));
        near(&availability(&h(50_000.0), &h(72.0)).unwrap(), 50_000.0 / 50_072.0);
        assert!(of_several(&n(0.99), &n(4.0), &n(3.0)).is_err());
        assert!(of_several(&n(99.0), &n(2.0), &n(3.0)).is_err());
        near(&of_several(&n(1.0), &n(5.0), &n(5.0)).unwrap(), 1.0);
    }

    /// Every pattern of working and failed units, added up one by one.
    #[test]
    fn the_sum_is_that_over_all_patterns() {
        for units in 1..=9_u32 {
            for needed in 1..=units {
                for a in [0.3, 0.8, 0.97] {
                    let mut sum = 0.0;
                    for pattern in 0..1_u32 << units {
                        let up = pattern.count_ones();
                        if up >= needed {
                            sum += libm::pow(a, f64::from(up)) * libm::pow(1.0 - a, f64::from(units - up));
                        }
                    }
                    near(&of_several(&n(a), &n(f64::from(needed)), &n(f64::from(units))).unwrap(), sum);
                }
            }
        }
        // a large group stays a number
        assert!(of_several(&n(0.9), &n(450.0), &n(500.0)).unwrap().value().si() < 1.0);
    }
}
