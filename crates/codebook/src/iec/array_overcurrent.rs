//! Overcurrent protection and conductors of strings and arrays.
//!
//! ## Clause and edition
//! IEC 62548:2016; 6.2, 6.5.3, 6.5.4, 6.5.5, Table 5.
//! ## Applies when
//! Strings of modules work in parallel, or a battery can feed an array.
//! ## Why
//! In a shaded or failed string the others drive their current backwards through modules that are not built for it.
//! ## Formula
//! Needed where `(N - 1) · I_sc + I_back > I_ocpr`, with what a converter feeds back. String: `1.5 · I_sc < I_n < 2.4 · I_sc` and `I_n <= I_ocpr`. Array: `1.25 ·
//! I_sc,array < I_n <= 2.4 · I_sc,array`. Conductors without device: string `1.25 · I_sc` and no less than the device
//! behind it with the other strings, array `1.25 · I_sc,array`; with device, its rated current.
//! ## Example
//! Passing: 4 strings of 10 A on modules for 20 A: fuses over 15 A up to 20 A. Failing: the same without fuses, and 2
//! strings with a converter that feeds back 15 A.
//! ## Limits of our reading
//! One string a device. Groups of strings on one device and bifacial gain are not read; IEC 60364-7-712 has other
//! figures (1.35, 1.1), which are not read. That a converter's limited current adds to that of the other strings, and asks
//! for no device of the array where its conductors carry it, is our reading.
//! ## Source
//! String rules: two sources agree; array device and its conductor, conductor of a string: from memory or one source.

use derivation::{Known, formula};
use quantity::{DcCurrent, Quantity, Ratio};
use saying::say;
use tables::iec::clause;

use crate::not_covered::{counted, sane};
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 62548:2016 6.5";

/// Strings in parallel.
#[derive(Debug, Clone)]
pub struct ArrayFacts {
    /// Strings in parallel.
    pub strings: Known<Ratio>,
    /// Short-circuit current of a module at standard conditions.
    pub short_circuit: Known<DcCurrent>,
    /// Largest overcurrent device that the module bears.
    pub module_most: Known<DcCurrent>,
    /// Rated current of the device of each string; `None` without.
    pub string_device: Option<Known<DcCurrent>>,
    /// Rated current of the device of the array; `None` without.
    pub array_device: Option<Known<DcCurrent>>,
    /// What stands behind the array.
    pub behind: Behind,
}

/// What can feed an array from behind.
#[derive(Debug, Clone)]
pub enum Behind {
    /// Nothing.
    Nothing,
    /// A converter that feeds back no more than its maker states.
    Limited(Known<DcCurrent>),
    /// A battery or another source whose current nothing limits.
    Unlimited,
}

/// What the strings and the array need.
#[derive(Debug, Clone)]
pub struct ArrayVerdict {
    /// Reverse current without devices against what a module bears.
    pub reverse: Check<DcCurrent>,
    /// The device of a string is above its lower bound, and below both upper ones.
    pub string_device: Option<[Check<DcCurrent>; 3]>,
    /// The device of the array is above its lower bound and not above its upper one.
    pub array_device: Option<[Check<DcCurrent>; 2]>,
    /// Least capacity of a string's conductors, in A.
    pub string_conductor: Known<DcCurrent>,
    /// Least capacity of the array's conductors, in A.
    pub array_conductor: Known<DcCurrent>,
    /// Whether all that is needed is there and fits.
    pub holds: bool,
}

/// Strict bounds of a clause: a device exactly on one is not within.
fn strictly(check: Check<DcCurrent>) -> Check<DcCurrent> {
    let equal = (check.value.value() - check.limit.value()).abs().si() <= 1e-9 * check.limit.value().si();
    Check { holds: check.holds && !equal, ..check }
}

/// Holds strings and array against their bounds.
///
/// # Errors
/// A value is no number or negative, the number of strings is no whole number, no module current.
pub fn array_overcurrent(facts: &ArrayFacts) -> Result<ArrayVerdict, NotCovered> {
    let one = Known::factor("1", "one string", 1.0, CLAUSE);
    counted(CLAUSE, &facts.strings, &one)?;
    let devices = facts.string_device.iter().chain(&facts.array_device);
    let all = [&facts.short_circuit, &facts.module_most].into_iter().chain(devices);
    for current in all {
        sane(CLAUSE, current)?;
        if current.value() <= DcCurrent::ZERO {
            return Err(NotCovered::new(CLAUSE, say!("{what} is nothing", what = current.node().what)));
        }
    }
    let (strings, module) = (&facts.strings, &facts.short_circuit);
    let what = "reverse current that the other strings drive";
    let source = "IEC 62548:2016 6.2";
    let reverse = formula!("I_rev", what, [strings, module] => (strings - 1.0) * module, source = source);
    let reverse = match &facts.behind {
        Behind::Limited(back) => {
            sane(CLAUSE, back)?;
            let what = "reverse current of the other strings and the converter";
            formula!("I_rev", what, [reverse, back] => reverse + back, source = source)
        }
        Behind::Nothing | Behind::Unlimited => reverse,
    };
    let reverse = Check::at_most(reverse, facts.module_most.clone());
    let string_device =
        facts.string_device.as_ref().map(|device| string_bounds(facts, device)).transpose()?;
    let total =
        formula!("I_arr", "short-circuit current of the array", [strings, module] => strings * module);
    let array_device = facts.array_device.as_ref().map(|device| array_bounds(&total, device)).transpose()?;
    let string_fits = match &string_device {
        Some(checks) => checks.iter().all(|check| check.holds),
        None => reverse.holds,
    };
    let array_fits = match &array_device {
        Some(checks) => checks.iter().all(|check| check.holds),
        None => !matches!(facts.behind, Behind::Unlimited),
    };
    Ok(ArrayVerdict {
        reverse,
        string_device,
        array_device,
        string_conductor: string_conductor(facts)?,
        array_conductor: array_conductor(facts, &total)?,
        holds: string_fits && array_fits,
    })
}

fn string_bounds(facts: &ArrayFacts, device: &Known<DcCurrent>) -> Result<[Check<DcCurrent>; 3], NotCovered> {
    let module = &facts.short_circuit;
    let (low, high) =
        (clause::number::<Ratio>("m", "string-low")?, clause::number::<Ratio>("m", "string-high")?);
    let low =
        formula!("I_low", "lower bound of a string's device", [low, module] => low * module, source = CLAUSE);
    let high = formula!("I_high", "upper bound of a string's device", [high, module] => high * module, source = CLAUSE);
    Ok([
        strictly(Check::at_least(device.clone(), low)),
        strictly(Check::at_most(device.clone(), high)),
        Check::at_most(device.clone(), facts.module_most.clone()),
    ])
}

fn array_bounds(
    total: &Known<DcCurrent>,
    device: &Known<DcCurrent>,
) -> Result<[Check<DcCurrent>; 2], NotCovered> {
    let (low, high) =
        (clause::number::<Ratio>("m", "array-low")?, clause::number::<Ratio>("m", "array-high")?);
    let low =
        formula!("I_low", "lower bound of the array's device", [low, total] => low * total, source = CLAUSE);
    let high = formula!("I_high", "upper bound of the array's device", [high, total] => high * total, source = CLAUSE);
    Ok([strictly(Check::at_least(device.clone(), low)), Check::at_most(device.clone(), high)])
}

/// With a device its rated current; without, what the device behind it and the other strings can drive, no less than
/// the string's own current with its factor.
fn string_conductor(facts: &ArrayFacts) -> Result<Known<DcCurrent>, NotCovered> {
    let what = "least capacity of a string's conductors";
    let source = "IEC 62548:2016 Table 5";
    let (strings, module) = (&facts.strings, &facts.short_circuit);
    let own: Known<Ratio> = clause::number("m", "string-conductor")?;
    let own_current =
        formula!("I_own", "own current with its factor", [own, module] => own * module, source = source);
    let driven = match (&facts.string_device, &facts.array_device) {
        (Some(device), _) => device.clone(),
        (None, Some(behind)) => formula!(
            "I_drv", "current that the array's device and the other strings let through",
            [behind, own, module, strings] => behind + own * module * (strings - 1.0), source = source
        ),
        (None, None) => {
            let others = formula!(
                "I_drv", "current of the other strings", [own, module, strings] => own * module * (strings - 1.0),
                source = source
            );
            match &facts.behind {
                Behind::Nothing => others,
                Behind::Limited(back) => formula!(
                    "I_drv", "current of the other strings and the converter", [others, back] => others + back,
                    source = source
                ),
                Behind::Unlimited => {
                    let reason =
                        say!("without any device nothing limits the current of the source behind the array");
                    return Err(NotCovered::new(source, reason));
                }
            }
        }
    };
    let least = Known::largest("I_z", what, &[own_current, driven]);
    least.ok_or_else(|| NotCovered::new(source, say!("no current")))
}

fn array_conductor(facts: &ArrayFacts, total: &Known<DcCurrent>) -> Result<Known<DcCurrent>, NotCovered> {
    let source = "IEC 62548:2016 Table 5";
    let what = "least capacity of the array's conductors";
    let m: Known<Ratio> = clause::number("m", "array-conductor")?;
    let by_current = formula!("I_z", what, [m, total] => m * total, source = source);
    match &facts.array_device {
        // a device that is not above the array's own current protects no conductor sized for it
        Some(device) => {
            let least = Known::largest("I_z", what, &[device.clone(), by_current]);
            least.ok_or_else(|| NotCovered::new(source, say!("no current")))
        }
        None => match &facts.behind {
            Behind::Limited(back) => {
                let least = Known::largest("I_z", what, &[by_current, back.clone()]);
                least.ok_or_else(|| NotCovered::new(source, say!("no current")))
            }
            Behind::Nothing | Behind::Unlimited => Ok(by_current),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn array(strings: f64, string: Option<f64>, whole: Option<f64>, fed: bool) -> ArrayFacts {
        let a = |x| given(DcCurrent::of(x));
        ArrayFacts {
            strings: given(Ratio::of(strings)),
            short_circuit: a(10.0),
            module_most: a(20.0),
            string_device: string.map(a),
            array_device: whole.map(a),
            behind: if fed { Behind::Unlimited } else { Behind::Nothing },
        }
    }

    fn holds(strings: f64, string: Option<f64>, whole: Option<f64>, fed: bool) -> bool {
        array_overcurrent(&array(strings, string, whole, fed)).unwrap().holds
    }

    #[test]
    fn three_strings_and_more_need_devices_within_bounds() {
        assert!(holds(3.0, None, None, false));
        assert!(!holds(4.0, None, None, false));
        assert!(holds(4.0, Some(16.0), None, false) && holds(4.0, Some(20.0), None, false));
        assert!(!holds(4.0, Some(15.0), None, false), "1.5 times must be exceeded");
        assert!(!holds(4.0, Some(21.0), None, false), "more than the module bears");
        let mut large = array(4.0, Some(24.0), None, false);
        large.module_most = given(DcCurrent::of(30.0));
        assert!(!array_overcurrent(&large).unwrap().holds, "2.4 times must not be reached");
    }

    #[test]
    fn a_battery_behind_asks_for_a_device_of_the_array() {
        assert!(!holds(4.0, Some(16.0), None, true));
        assert!(holds(4.0, Some(16.0), Some(63.0), true));
        assert!(!holds(4.0, Some(16.0), Some(50.0), true), "1.25 x 40 A must be exceeded");
        assert!(!holds(4.0, Some(16.0), Some(97.0), true));
        assert!(array_overcurrent(&array(4.0, None, None, true)).is_err());
    }

    /// Modules for 20 A, strings of 10 A: two of them drive 10 A into a fault, so 10 A fed back are borne and 15 A are not. The
    /// string's conductors carry 1.25 x 10 A and the 8 A fed back; those of the array no less than 60 A fed back.
    #[test]
    fn what_a_converter_feeds_back_adds_to_the_other_strings() {
        let fed = |strings: f64, device: Option<f64>, back: f64| {
            let facts = ArrayFacts {
                behind: Behind::Limited(given(DcCurrent::of(back))),
                ..array(strings, device, None, false)
            };
            array_overcurrent(&facts)
        };
        let found = fed(2.0, None, 10.0).unwrap();
        assert!(found.holds);
        near(&found.reverse.value, 20.0);
        assert!(!fed(2.0, None, 15.0).unwrap().holds);
        assert!(fed(2.0, Some(16.0), 15.0).unwrap().holds, "devices of strings break what comes back");
        near(&fed(2.0, None, 8.0).unwrap().string_conductor, 20.5);
        near(&fed(2.0, Some(16.0), 60.0).unwrap().array_conductor, 60.0);
        // one string alone bears what is fed back up to its module's device
        assert!(fed(1.0, None, 20.0).unwrap().holds && !fed(1.0, None, 21.0).unwrap().holds);
        for bad in [f64::NAN, -1.0] {
            assert!(fed(2.0, None, bad).is_err());
        }
    }

    #[test]
    fn conductors_by_hand() {
        let found = array_overcurrent(&array(2.0, None, None, false)).unwrap();
        near(&found.string_conductor, 12.5);
        near(&found.array_conductor, 25.0);
        let found = array_overcurrent(&array(3.0, None, Some(63.0), false)).unwrap();
        near(&found.string_conductor, 63.0 + 12.5 * 2.0);
        near(&found.array_conductor, 63.0);
        near(&array_overcurrent(&array(4.0, Some(16.0), None, false)).unwrap().string_conductor, 16.0);
        // no device at all: the other two of three strings drive 1.25 x 10 A each
        near(&array_overcurrent(&array(3.0, None, None, false)).unwrap().string_conductor, 25.0);
        assert!(array_overcurrent(&array(0.0, None, None, false)).is_err());
        assert!(array_overcurrent(&array(2.5, None, None, false)).is_err());
        near(&array_overcurrent(&array(1.0, None, None, false)).unwrap().reverse.value, 0.0);
        assert!(array_overcurrent(&array(4.0, Some(16.0), Some(0.0), false)).is_err());
        let dark = ArrayFacts { short_circuit: given(DcCurrent::ZERO), ..array(2.0, None, None, false) };
        assert!(array_overcurrent(&dark).is_err());
        assert!(array_overcurrent(&array(f64::NAN, None, None, false)).is_err());
    }
}
