//! Feeder taps of 10 ft and of 25 ft.
//!
//! ## Clause and edition
//! NEC 2023; 240.21(B)(1) and (B)(2), 705.12(A).
//! ## Applies when
//! A conductor branches off a feeder without a device of its own where it begins.
//! ## Why
//! A short conductor in a strong raceway may wait for its device until its end, if the feeder's still clears a short
//! circuit on it.
//! ## Formula
//! Up to 10 ft: `I_tap >= I_load` and the rating at its end, and `>= I_feeder / 10` where it leaves its enclosure. Up
//! to 25 ft: `I_tap >= I_feeder / 3`, ending in one device with `I_end <= I_tap`. With sources on the feeder I_feeder
//! is its device plus 125 % of their output.
//! ## Example
//! Passing: 15 ft of 1/0 AWG copper (150 A) off 400 A, ending in 150 A. Failing: the same in 3 AWG (100 A).
//! ## Limits of our reading
//! Protection from damage and the raceway are the caller's word. Taps of transformers, of motors, outdoors and in
//! high bays are not covered, nor tapping a tap. No next size up for the device at the end.
//! ## Source
//! 240.21(B)(1) and (2): two sources agree; with sources: one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Current, Length};
use saying::{Text, say};
use tables::us::conductor_rule;

use super::feeder_connection::supply;
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 240.21(B)";

/// A tap.
#[derive(Debug, Clone)]
pub struct Tap {
    /// Its length.
    pub length: Known<Length>,
    /// Its ampacity.
    pub ampacity: Known<Current>,
    /// The feeder's device.
    pub feeder: Known<Current>,
    /// Output of the sources on the feeder.
    pub sources: Vec<Known<Current>>,
    /// Load that it supplies.
    pub load: Known<Current>,
    /// Rating of the device in which it ends, or of the equipment where that is no device.
    pub end: Known<Current>,
    /// It ends in one device.
    pub one_device: bool,
    /// It leaves the enclosure in which it begins.
    pub leaves_enclosure: bool,
    /// It is protected from damage in a raceway or other approved way.
    pub protected: bool,
}

/// What becomes of a tap.
#[derive(Debug, Clone)]
pub struct TapVerdict {
    /// The clause that was applied.
    pub clause: &'static str,
    /// Smallest ampacity.
    pub required: Known<Current>,
    /// What is not met, in words; empty where it holds.
    pub failures: Vec<Text>,
}

/// Whether a tap keeps the clause that its length leads to.
///
/// # Errors
/// A tap longer than 25 ft, or a value that is no number.
pub fn conductor_tap(tap: &Tap) -> Result<TapVerdict, NotCovered> {
    sane(CLAUSE, &tap.length)?;
    for current in [&tap.ampacity, &tap.load, &tap.end] {
        sane(CLAUSE, current)?;
    }
    let (short, long) = (conductor_rule::length("L", "tap-short")?, conductor_rule::length("L", "tap-long")?);
    // feet that came in as metres
    let within = |end: &Known<Length>| tap.length.value() <= end.value() * (1.0 + 1e-9);
    if !within(&long) {
        return Err(NotCovered::new(
            CLAUSE,
            say!("a tap of {length}, longer than 25 ft", length = tap.length.value()),
        ));
    }
    let feeder = if tap.sources.is_empty() {
        sane(CLAUSE, &tap.feeder)?;
        tap.feeder.clone()
    } else {
        supply(&tap.feeder, &tap.sources)?
    };
    let short = within(&short);
    let share = conductor_rule::ratio("k", if short { "tap-short-share" } else { "tap-long-share" })?;
    let what = "share of the feeder's device";
    let part = formula!("I_part", what, [share, feeder] => share * feeder, source = CLAUSE);
    let mut parts = vec![tap.load.clone()];
    if short {
        parts.push(tap.end.clone());
    }
    if !short || tap.leaves_enclosure {
        parts.push(part);
    }
    let required = Known::largest("I_req", "smallest ampacity of the tap", &parts);
    let required = required.ok_or_else(|| NotCovered::new(CLAUSE, say!("no current")))?;
    let mut failures = Vec::new();
    if tap.ampacity.value() < required.value() {
        failures.push(say!(
            "carries {ampacity}, {required} needed",
            ampacity = tap.ampacity.value(),
            required = required.value()
        ));
    }
    if !short && !tap.one_device {
        failures.push(say!("a tap of more than 10 ft must end in one device"));
    }
    if !short && tap.end.value() > tap.ampacity.value() {
        failures.push(say!(
            "ends in {end}, carries {ampacity}",
            end = tap.end.value(),
            ampacity = tap.ampacity.value()
        ));
    }
    if !tap.protected {
        failures.push(say!("not protected from damage"));
    }
    let clause = if short { "NEC 2023 240.21(B)(1)" } else { "NEC 2023 240.21(B)(2)" };
    Ok(TapVerdict { clause, required, failures })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given};

    fn tap(feet: f64, ampacity: f64, end: f64) -> Tap {
        Tap {
            length: given(Length::of(feet * 0.3048)),
            ampacity: given(Current::of(ampacity)),
            feeder: given(Current::of(400.0)),
            sources: Vec::new(),
            load: given(Current::of(30.0)),
            end: given(Current::of(end)),
            one_device: true,
            leaves_enclosure: true,
            protected: true,
        }
    }

    fn failures(tap: &Tap) -> usize {
        conductor_tap(tap).unwrap().failures.len()
    }

    /// By hand: a third of 400 A is 133.3 A, a tenth 40 A.
    #[test]
    fn a_third_and_a_tenth() {
        assert_eq!(failures(&tap(15.0, 150.0, 150.0)), 0);
        assert_eq!(failures(&tap(15.0, 100.0, 100.0)), 1);
        assert_eq!(failures(&tap(15.0, 150.0, 175.0)), 1);
        assert_eq!(failures(&tap(10.0, 40.0, 40.0)), 0);
        assert_eq!(failures(&tap(10.0, 35.0, 30.0)), 1);
        assert_eq!(failures(&Tap { leaves_enclosure: false, ..tap(10.0, 35.0, 30.0) }), 0);
        assert_eq!(failures(&Tap { one_device: false, ..tap(25.0, 150.0, 150.0) }), 1);
        assert_eq!(failures(&Tap { protected: false, ..tap(5.0, 150.0, 150.0) }), 1);
        assert!(conductor_tap(&tap(25.1, 400.0, 400.0)).is_err());
        assert!(conductor_tap(&tap(5.0, f64::NAN, 10.0)).is_err());
    }

    /// By hand: 400 + 1.25 x 80 = 500 A, a third is 166.7 A.
    #[test]
    fn sources_on_the_feeder_count() {
        assert_eq!(failures(&Tap { sources: all(&[80.0]), ..tap(15.0, 150.0, 150.0) }), 1);
        assert_eq!(failures(&Tap { sources: all(&[80.0]), ..tap(15.0, 175.0, 150.0) }), 0);
    }
}
