//! Whether a service carries its load.
//!
//! ## Clause and edition
//! NEC 2023; 230.42(A), 230.79, 230.90(A) with Exception 5, 310.12.
//! ## Applies when
//! A service is there or planned, and its load is known.
//! ## Why
//! What is added to a building ends at its service, which nobody sees getting warm.
//! ## Formula
//! `I_req = 1.25 · I_continuous + I_other`; `I_req <= rating`, `I_req <= I_conductors`, and 240.4 lets the rating
//! protect the conductors; a one-family dwelling at least 100 A. Where its conductors are sized by 310.12 the rating
//! protects them if `I_conductors >= 0.83 · rating`.
//! ## Example
//! Passing: 120 A continuous and 30 A other on 200 A with conductors of 200 A: 180 A, 20 A left. Failing: 150 A
//! continuous and 30 A other.
//! ## Limits of our reading
//! One disconnect. The load comes from Article 220 or from measurement, where the additions are in it already: bring
//! such a load as other. Conductors at 83 % must carry the load as well, which is stricter than the clause. Capacity
//! for sources ahead of the disconnect follows 705.11.
//! ## Source
//! 230.79: two sources agree; 230.42(A), 230.90(A) and its Exception 5: from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::Current;
use saying::{Text, say};
use tables::us::{conductor_rule, load_rule};

use super::continuous_load::{self, Carrier};
use super::overcurrent_device;
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 230.42(A)";
const SHARE: &str = "NEC 2023 310.12";

/// A service with its load.
#[derive(Debug, Clone)]
pub struct Service {
    /// Rating of its disconnect and device.
    pub rating: Known<Current>,
    /// What its conductors may carry.
    pub conductors: Known<Current>,
    /// Load that runs for three hours or more.
    pub continuous: Known<Current>,
    /// Other load.
    pub other: Known<Current>,
    /// A one-family dwelling with a three-wire service.
    pub one_family: bool,
}

/// What becomes of it.
#[derive(Debug, Clone)]
pub struct ServiceCapacity {
    /// What rating and conductors must reach.
    pub required: Known<Current>,
    /// What the smaller of them has beyond that; negative where it has not.
    pub left: Known<Current>,
    /// What is not met, in words; empty where it holds.
    pub failures: Vec<Text>,
}

/// Whether a service carries its load.
///
/// # Errors
/// A current that is no number or negative.
pub fn service_capacity(service: &Service) -> Result<ServiceCapacity, NotCovered> {
    judged(service, None)
}

/// The same where the conductors are sized by 310.12: they are protected at its share of the rating.
///
/// # Errors
/// As [`service_capacity`]; no one-family dwelling, or a rating outside the clause.
pub fn dwelling_service_capacity(service: &Service) -> Result<ServiceCapacity, NotCovered> {
    if !service.one_family {
        let reason = say!(
            "conductors sized by 310.12 are those of one dwelling: say that it is a one-family dwelling"
        );
        return Err(NotCovered::new(SHARE, reason));
    }
    let (from, to) = (
        conductor_rule::current("I_from", "dwelling-from")?,
        conductor_rule::current("I_to", "dwelling-to")?,
    );
    let rating = service.rating.value();
    if !(rating >= from.value() && rating <= to.value()) {
        let reason = say!(
            "a rating of {rating}; the clause goes from {from} to {to}",
            rating,
            from = from.value(),
            to = to.value()
        );
        return Err(NotCovered::new(SHARE, reason));
    }
    let (share, rating) = (conductor_rule::ratio("f", "dwelling-share")?, &service.rating);
    let least = formula!("I_83", "share of the rating", [share, rating] => share * rating, source = SHARE);
    judged(service, Some(&least))
}

/// With what conductors of a dwelling must carry to be protected, else by 240.4.
fn judged(service: &Service, dwelling: Option<&Known<Current>>) -> Result<ServiceCapacity, NotCovered> {
    sane(CLAUSE, &service.rating)?;
    sane(CLAUSE, &service.conductors)?;
    let required = continuous_load::required(Carrier::Service, &service.continuous, &service.other, false)?;
    let least = Known::smallest(
        "I_least",
        "smaller of rating and conductors",
        &[service.rating.clone(), service.conductors.clone()],
    );
    let least = least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no service")))?;
    let left = formula!("I_left", "what is left", [least, required] => least - required);
    let mut failures = Vec::new();
    for (what, has) in [("the rating", &service.rating), ("what the conductors carry", &service.conductors)] {
        if has.value() < required.value() {
            failures.push(say!(
                "{what}, {has}, is below {required}",
                what,
                has = has.value(),
                required = required.value()
            ));
        }
    }
    let (rating, carried) = (service.rating.value(), service.conductors.value());
    match dwelling {
        Some(least) if carried < least.value() => {
            failures.push(say!(
                "conductors of {carried} are below {least}, 83 % of {rating} (310.12)",
                carried,
                least = least.value(),
                rating
            ));
        }
        Some(_) => {}
        None => {
            let device = overcurrent_device::largest(&service.conductors, false);
            if !device.is_ok_and(|device| rating <= device.value()) {
                failures.push(say!(
                    "a rating of {rating} does not protect conductors of {carried} (240.4)",
                    rating,
                    carried
                ));
            }
        }
    }
    if service.one_family {
        let floor = load_rule::current("I_min", "service-minimum")?;
        if service.rating.value() < floor.value() {
            failures.push(say!(
                "a one-family dwelling needs {floor} at least (230.79(C))",
                floor = floor.value()
            ));
        }
    }
    Ok(ServiceCapacity { required, left, failures })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn service(rating: f64, conductors: f64, continuous: f64, other: f64) -> Service {
        Service {
            rating: given(Current::of(rating)),
            conductors: given(Current::of(conductors)),
            continuous: given(Current::of(continuous)),
            other: given(Current::of(other)),
            one_family: true,
        }
    }

    #[test]
    fn by_hand() {
        let fine = service_capacity(&service(200.0, 200.0, 120.0, 30.0)).unwrap();
        assert!(fine.failures.is_empty());
        near(&fine.left, 20.0);
        let over = service_capacity(&service(200.0, 200.0, 150.0, 30.0)).unwrap();
        assert_eq!(over.failures.len(), 2);
        near(&over.left, -17.5);
        // 1.25 x 120 + 50 is all of 200 A
        let full = service_capacity(&service(200.0, 200.0, 120.0, 50.0)).unwrap();
        assert!(full.failures.is_empty());
        near(&full.left, 0.0);
        // 200 A before conductors of 150 A: the next rating above 150 A is 150 A itself
        assert_eq!(service_capacity(&service(200.0, 150.0, 0.0, 100.0)).unwrap().failures.len(), 1);
        // above 195 A it is 200 A
        assert!(service_capacity(&service(200.0, 195.0, 0.0, 100.0)).unwrap().failures.is_empty());
        // 1000 A before conductors of 950 A: above 800 A no next size up
        assert_eq!(service_capacity(&service(1000.0, 950.0, 0.0, 100.0)).unwrap().failures.len(), 1);
        assert_eq!(service_capacity(&service(60.0, 65.0, 0.0, 50.0)).unwrap().failures.len(), 1);
        assert!(service_capacity(&service(f64::NAN, 65.0, 0.0, 50.0)).is_err());
    }

    /// Table 310.12(A): 2/0 AWG copper (175 A) on 200 A; 240.4 alone refuses them, and 1/0 AWG (150 A) is below 166 A.
    #[test]
    fn conductors_of_a_dwelling_at_83_percent() {
        let by =
            |rating, conductors, load| dwelling_service_capacity(&service(rating, conductors, 0.0, load));
        assert_eq!(service_capacity(&service(200.0, 175.0, 0.0, 150.0)).unwrap().failures.len(), 1);
        let fine = by(200.0, 175.0, 150.0).unwrap();
        assert!(fine.failures.is_empty(), "{:?}", fine.failures);
        near(&fine.left, 25.0);
        assert!(by(200.0, 166.0, 150.0).unwrap().failures.is_empty());
        assert_eq!(by(200.0, 150.0, 140.0).unwrap().failures.len(), 1);
        // a load of 180 A is more than 2/0 carries
        assert_eq!(by(200.0, 175.0, 180.0).unwrap().failures.len(), 1);
        assert!(
            by(90.0, 90.0, 50.0).is_err()
                && by(401.0, 400.0, 50.0).is_err()
                && by(f64::NAN, 9.0, 5.0).is_err()
        );
        let many = Service { one_family: false, ..service(200.0, 175.0, 0.0, 150.0) };
        assert!(dwelling_service_capacity(&many).is_err());
    }
}
