//! Rated currents of overcurrent devices.
//!
//! ## Clause and edition
//! IEC 60898-1, 60947-2, 60269-1; preferred values of rated current (60898-1 5.3).
//! ## Applies when
//! A device is chosen for a design current.
//! ## Why
//! Only listed ratings can be bought and are tested.
//! ## Formula
//! `I_n = min(rated current, rated current >= I_b)`.
//! ## Example
//! Passing: a design current of 33 A asks for a 40 A miniature circuit breaker. Failing: 126 A is more than any
//! miniature circuit breaker has.
//! ## Limits of our reading
//! Miniature circuit breakers below 6 A are no preferred ratings and are left out. Ratings of circuit breakers to
//! 60947-2 are usual frames taken at their full rating; the standard fixes none, and releases that can be set are not
//! read.
//! ## Source
//! Miniature circuit breakers: two sources agree, 8 A from memory; 60947-2 frames: one source; gG fuses: one source,
//! the smallest and largest from memory.

use derivation::Known;
use quantity::{Current, Quantity};
use saying::say;
use tables::iec::device::{self, Device};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60898-1, 60947-2, 60269-1, rated currents";

/// The smallest rated current of a kind of device that is not below a current, in A.
///
/// # Errors
/// The current is above the largest rating, negative, or no number.
pub fn next_rated(kind: Device, current: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, current)?;
    Ok(device::next_rated(kind, current)?)
}

/// Refuses a rated current that devices of a kind do not have. Circuit breakers to 60947-2 can be set, so any value up to
/// the largest frame is one.
///
/// # Errors
/// No such rating, or no number.
pub fn standard_rating(kind: Device, rated: &Known<Current>) -> Result<(), NotCovered> {
    let next = next_rated(kind, rated)?;
    let (is, near) = (rated.value().si(), next.value().si());
    if kind == Device::Breaker || (is - near).abs() <= 1e-9 * near {
        return Ok(());
    }
    let (word, is, next) = (kind.word(), rated.value(), next.value());
    Err(NotCovered::new(
        CLAUSE,
        say!("{is} is not a standard rating of {word}; the next is {next}", is, word, next),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    /// A breaker B33 and a miniature circuit breaker of 200 A are not sold; a setting of 33 A is possible.
    #[test]
    fn ratings_that_do_not_exist_are_refused() {
        let of = |kind, a: f64| standard_rating(kind, &given(Current::of(a)));
        assert!(of(Device::Mcb, 32.0).is_ok() && of(Device::FuseGg, 63.0).is_ok());
        assert!(of(Device::Mcb, 33.0).unwrap_err().reason.contains("the next is 40"));
        assert!(of(Device::Mcb, 200.0).is_err() && of(Device::FuseGg, 33.0).is_err());
        assert!(of(Device::Breaker, 33.0).is_ok());
        assert!(of(Device::Breaker, f64::NAN).is_err());
    }

    #[test]
    fn the_next_rating_is_never_below() {
        near(&next_rated(Device::Mcb, &given(Current::of(33.0))).unwrap(), 40.0);
        near(&next_rated(Device::Mcb, &given(Current::of(40.0))).unwrap(), 40.0);
        near(&next_rated(Device::Breaker, &given(Current::of(126.0))).unwrap(), 160.0);
        for bad in [126.0, -1.0, f64::NAN] {
            assert!(next_rated(Device::Mcb, &given(Current::of(bad))).is_err(), "{bad}");
        }
    }
}
