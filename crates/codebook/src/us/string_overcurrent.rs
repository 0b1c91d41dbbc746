//! Whether strings need overcurrent devices, and of what rating.
//!
//! ## Clause and edition
//! NEC 2023; 690.9(A)(1), 690.9(B), 690.8(D).
//! ## Applies when
//! Strings of modules stand in parallel.
//! ## Why
//! A fault in one string is fed by all the others; a module is tested with the fuse that stands on its label, and no more.
//! ## Formula
//! None is asked for where `I_z >= I_max` of the string and `(n - 1) · I_max + I_back <= I_fuse`, the largest series
//! fuse of the module. Else the next standard rating from `1.25 · I_max` that is not above `I_fuse`.
//! Strings together on one device of a rating `I_n`: each conductor carries `I_n + (n - 1) · I_max`.
//! ## Example
//! Passing: two strings of 10 A and a module for 20 A, nothing fed back: no fuse. Failing: three of them without fuses.
//! ## Limits of our reading
//! Strings are equal. What a converter feeds back must be known, 0 only where its maker says so. Ratings of 240.6(A)
//! only: makers have fuses between them. Devices listed for PV at the array's voltage are asked for, which is not
//! checked here.
//! ## Source
//! 690.9(A)(1) and (B), 690.8(D): two sources agree.

use derivation::{Known, formula};
use quantity::{DcCurrent, Ratio};
use saying::{Text, say};
use tables::us::dc_rule;
use tables::us::overcurrent::next_standard_dc;

use super::array_current::maximum_current;
use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 690.9(A)(1)";
const TOGETHER: &str = "NEC 2023 690.8(D)";
const DEVICE: &str = "NEC 2023 690.9(B)";

/// What is known of the strings.
#[derive(Debug, Clone)]
pub struct StringFacts {
    /// Short-circuit current of a module.
    pub isc: Known<DcCurrent>,
    /// How many strings stand in parallel.
    pub strings: Known<Ratio>,
    /// Largest series fuse on the module's label.
    pub series_fuse: Known<DcCurrent>,
    /// What the converter can feed back into a faulted string.
    pub feed_back: Known<DcCurrent>,
    /// Ampacity of the string's conductor with all conditions of use.
    pub ampacity: Known<DcCurrent>,
}

/// What follows.
#[derive(Debug, Clone)]
pub struct StringOvercurrent {
    /// Largest current of one string.
    pub maximum: Known<DcCurrent>,
    /// What the others and the converter can feed into a fault in one.
    pub into_fault: Known<DcCurrent>,
    /// Whether every string needs a device.
    pub needed: bool,
    /// Least rating of a device.
    pub least: Known<DcCurrent>,
    /// A standard rating between the least and the module's; `None` where there is none: then such strings cannot be
    /// protected by a standard rating.
    pub device: Option<Known<DcCurrent>>,
    /// Why the strings do not hold as they are, in words; empty where they do.
    pub failures: Vec<Text>,
}

/// Whether strings need overcurrent devices.
///
/// # Errors
/// A value is outside what arrays have.
pub fn string_overcurrent(facts: &StringFacts) -> Result<StringOvercurrent, NotCovered> {
    let StringFacts { isc, strings, series_fuse, feed_back, ampacity } = facts;
    series_fuse.above_zero().map_err(under(CLAUSE))?;
    feed_back.not_negative().map_err(under(CLAUSE))?;
    ampacity.above_zero().map_err(under(CLAUSE))?;
    strings.whole().map_err(under(CLAUSE))?;
    let one = Known::factor("one", "one string", 1.0, CLAUSE);
    let maximum = maximum_current(isc, &one)?;
    let into_fault = formula!("I_f", "current into a fault in one string", [strings, one, maximum, feed_back]
        => (strings - one) * maximum + feed_back, source = CLAUSE);
    let needed = into_fault.value() > series_fuse.value() || ampacity.value() < maximum.value();
    let factor = dc_rule::ratio("factor", "array-overcurrent")?;
    let least = formula!("I_dev", "least rating of a string's device", [factor, maximum] => factor * maximum, source = DEVICE);
    let standard = next_standard_dc(&least)?;
    let device = (standard.value() <= series_fuse.value()).then_some(standard);
    let failures = failures(facts, &maximum, device.as_ref().filter(|_| needed), needed);
    Ok(StringOvercurrent { maximum, into_fault, needed, least, device, failures })
}

/// A conductor below the string's own current is helped by no device; one with a device must be protected by it (240.4).
fn failures(
    facts: &StringFacts,
    maximum: &Known<DcCurrent>,
    device: Option<&Known<DcCurrent>>,
    needed: bool,
) -> Vec<Text> {
    let (carries, fuse) = (facts.ampacity.value(), facts.series_fuse.value());
    let mut failures = Vec::new();
    if carries < maximum.value() {
        failures.push(say!(
            "a conductor of {carries} does not carry the string's {maximum} (690.8(B))",
            carries,
            maximum = maximum.value()
        ));
    }
    match device {
        Some(device) => {
            let most = next_standard_dc(&facts.ampacity);
            if most.is_ok_and(|most| most.value() < device.value()) {
                let text = say!(
                    "a device of {device} does not protect a conductor of {carries} (240.4)",
                    device = device.value(),
                    carries
                );
                failures.push(text);
            }
        }
        None if needed => {
            failures.push(say!("no standard rating is as small as the module's {fuse}", fuse));
        }
        None => {}
    }
    failures
}

/// Ampacity of each string's conductor where `strings` of them stand together behind one device (690.8(D)).
///
/// # Errors
/// A value is outside what arrays have.
pub fn behind_one_device(
    device: &Known<DcCurrent>,
    isc: &Known<DcCurrent>,
    strings: &Known<Ratio>,
) -> Result<Known<DcCurrent>, NotCovered> {
    device.above_zero().map_err(under(TOGETHER))?;
    strings.whole().map_err(under(TOGETHER))?;
    let one = Known::factor("one", "one string", 1.0, TOGETHER);
    let maximum = maximum_current(isc, &one)?;
    Ok(formula!("I_z", "ampacity of each string's conductor", [device, strings, one, maximum]
        => device + (strings - one) * maximum, source = TOGETHER))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn strings(
        n: f64,
        isc: f64,
        fuse: f64,
        back: f64,
        ampacity: f64,
    ) -> Result<StringOvercurrent, NotCovered> {
        let a = |x| given(DcCurrent::of(x));
        string_overcurrent(&StringFacts {
            isc: a(isc),
            strings: given(Ratio::of(n)),
            series_fuse: a(fuse),
            feed_back: a(back),
            ampacity: a(ampacity),
        })
    }

    #[test]
    fn two_strings_without_and_three_with_fuses() {
        let two = strings(2.0, 10.0, 20.0, 0.0, 30.0).unwrap();
        near(&two.into_fault, 12.5);
        assert!(!two.needed);
        let three = strings(3.0, 10.0, 20.0, 0.0, 30.0).unwrap();
        near(&three.into_fault, 25.0);
        assert!(three.needed);
        near(three.device.as_ref().unwrap(), 20.0);
        assert!(
            !strings(3.0, 8.0, 20.0, 0.0, 30.0).unwrap().needed,
            "20 A do not exceed the 20 A of the module"
        );
        assert!(strings(2.0, 10.0, 20.0, 10.0, 30.0).unwrap().needed, "the converter feeds back");
        assert!(strings(2.0, 10.0, 20.0, 0.0, 12.0).unwrap().needed, "the conductor is too small");
        assert!(!strings(1.0, 10.0, 20.0, 0.0, 12.5).unwrap().needed);
    }

    /// 9 A of short-circuit current: 1.5625 · 9 = 14.06 A ask for 15 A, which protect no conductor of 10 A; and 10 A are
    /// below the string's 11.25 A. One of 14 A has 15 A as the next standard rating.
    #[test]
    fn a_conductor_that_its_device_does_not_protect_fails() {
        let of = |ampacity| strings(3.0, 9.0, 15.0, 0.0, ampacity).unwrap();
        near(of(10.0).device.as_ref().unwrap(), 15.0);
        assert!(of(10.0).failures[0].contains("690.8(B)"), "{:?}", of(10.0).failures);
        assert!(of(14.0).needed && of(14.0).failures.is_empty());
        // 12.5 A carry 10 A of short circuit, yet the device of 20 A is two ratings above
        assert_eq!(strings(4.0, 10.0, 20.0, 0.0, 12.5).unwrap().failures.len(), 1);
        assert!(strings(2.0, 10.0, 20.0, 0.0, 12.5).unwrap().failures.is_empty());
        assert!(!strings(1.0, 9.0, 15.0, 0.0, 10.0).unwrap().failures.is_empty());
        assert!(!strings(3.0, 13.0, 20.0, 0.0, 30.0).unwrap().failures.is_empty());
    }

    /// Two strings of 10 A behind 30 A: 30 + 12.5 A.
    #[test]
    fn the_other_strings_come_on_top_of_the_device() {
        let a = |x| given(DcCurrent::of(x));
        near(&behind_one_device(&a(30.0), &a(10.0), &given(Ratio::of(2.0))).unwrap(), 42.5);
        near(&behind_one_device(&a(30.0), &a(10.0), &given(Ratio::of(1.0))).unwrap(), 30.0);
        assert!(behind_one_device(&a(30.0), &a(10.0), &given(Ratio::of(0.0))).is_err());
    }

    /// 1.5625 · 13 A = 20.3 A asks for 25 A, which a module for 20 A forbids.
    #[test]
    fn no_rating_is_made_up_above_the_label() {
        assert!(strings(3.0, 13.0, 20.0, 0.0, 30.0).unwrap().device.is_none());
        assert!(strings(3.0, 13.0, f64::NAN, 0.0, 30.0).is_err());
        assert!(strings(0.0, 13.0, 25.0, 0.0, 30.0).is_err());
    }
}
