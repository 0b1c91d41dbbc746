//! Overcurrent protection of strings where an installation is judged by its own part of IEC 60364.
//!
//! ## Clause and edition
//! IEC 60364-7-712:2017; 712.430, 712.431.
//! ## Applies when
//! Strings of modules work in parallel in an installation to IEC 60364.
//! ## Why
//! In a shaded or failed string the others drive their current backwards through modules that are not built for it.
//! ## Formula
//! `I_sc,max = K_I · I_sc`, `K_I >= 1.25`. Devices are needed where there are more than two strings, or a converter feeds
//! back, and `1.35 · I_ocpr < (N - 1) · I_sc,max + I_back`; then `1.1 · I_sc,max <= I_n <= I_ocpr`.
//! ## Example
//! Passing: 3 strings of 10 A on modules for 20 A need none: 25 A against 27 A. Failing: 4 strings without devices.
//! ## Limits of our reading
//! `array-overcurrent` (IEC 62548) has other figures; where both are adopted both must hold. One string a device.
//! Modules that light from behind need a larger `K_I`, which the caller brings. What a converter feeds back is not named by
//! the clause: that it adds is our reading, on the safe side.
//! ## Source
//! Every figure from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{DcCurrent, Quantity, Ratio};
use saying::say;
use tables::iec::clause;

use crate::not_covered::{counted, sane};
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-7-712:2017 712.431";

/// Strings in parallel.
#[derive(Debug, Clone)]
pub struct StringFacts {
    /// Strings in parallel.
    pub strings: Known<Ratio>,
    /// Short-circuit current of a module at standard conditions.
    pub short_circuit: Known<DcCurrent>,
    /// Largest overcurrent device that the module bears.
    pub module_most: Known<DcCurrent>,
    /// Factor on the short-circuit current; `None` for the least of the clause.
    pub factor: Option<Known<Ratio>>,
    /// Rated current of the device of each string; `None` without.
    pub device: Option<Known<DcCurrent>>,
    /// What the converter behind them feeds back; `None` where nothing does.
    pub back_feed: Option<Known<DcCurrent>>,
}

/// What the strings need.
#[derive(Debug, Clone)]
pub struct StringVerdict {
    /// Largest current of a module, in A.
    pub largest: Known<DcCurrent>,
    /// Reverse current of the other strings against what a module bears.
    pub reverse: Check<DcCurrent>,
    /// Whether devices are needed.
    pub needed: bool,
    /// The device is not below its lower bound and not above what the module bears.
    pub device: Option<[Check<DcCurrent>; 2]>,
    /// Whether all that is needed is there and fits.
    pub holds: bool,
}

/// Holds the strings against the clause.
///
/// # Errors
/// A value is no number or negative, the number of strings is no whole number, a factor below that of the clause.
pub fn solar_supply_overcurrent(facts: &StringFacts) -> Result<StringVerdict, NotCovered> {
    counted(CLAUSE, &facts.strings, &Known::factor("1", "one string", 1.0, CLAUSE))?;
    for current in [&facts.short_circuit, &facts.module_most].into_iter().chain(&facts.device) {
        sane(CLAUSE, current)?;
        if current.value() <= DcCurrent::ZERO {
            return Err(NotCovered::new(CLAUSE, say!("{what} is nothing", what = current.node().what)));
        }
    }
    let least: Known<Ratio> = clause::number("K_I", "supply-current")?;
    let factor = facts.factor.clone().unwrap_or_else(|| least.clone());
    sane(CLAUSE, &factor)?;
    if factor.value() < least.value() {
        let reason =
            say!("a factor on the short-circuit current below {least} is not allowed", least = least.value());
        return Err(NotCovered::new("IEC 60364-7-712:2017 712.430", reason));
    }
    let (strings, module, most) = (&facts.strings, &facts.short_circuit, &facts.module_most);
    let largest = formula!(
        "I_sc_max", "largest current of a module", [factor, module] => factor * module,
        source = "IEC 60364-7-712:2017 712.430"
    );
    let what = "reverse current that the other strings drive";
    let reverse = formula!("I_rev", what, [strings, largest] => (strings - 1.0) * largest, source = CLAUSE);
    let back = facts.back_feed.as_ref();
    back.map(|back| sane(CLAUSE, back)).transpose()?;
    let reverse = match back {
        Some(back) => {
            let what = "reverse current of the other strings and the converter";
            formula!("I_rev", what, [reverse, back] => reverse + back, source = CLAUSE)
        }
        None => reverse,
    };
    let share: Known<Ratio> = clause::number("m", "supply-module")?;
    let what = "reverse current that a module bears";
    let bears = formula!("I_bear", what, [share, most] => share * most, source = CLAUSE);
    let reverse = Check::at_most(reverse, bears);
    let fed = back.is_some_and(|back| back.value() > DcCurrent::ZERO);
    let needed = (strings.value().si() > 2.0 || fed) && !reverse.holds;
    let device = facts.device.as_ref().map(|device| bounds(device, &largest, most)).transpose()?;
    let holds = device.as_ref().map_or(!needed, |checks| checks.iter().all(|check| check.holds));
    Ok(StringVerdict { largest, reverse, needed, device, holds })
}

fn bounds(
    device: &Known<DcCurrent>,
    largest: &Known<DcCurrent>,
    most: &Known<DcCurrent>,
) -> Result<[Check<DcCurrent>; 2], NotCovered> {
    let share: Known<Ratio> = clause::number("m", "supply-device")?;
    let what = "lower bound of a string's device";
    let low = formula!("I_low", what, [share, largest] => share * largest, source = CLAUSE);
    Ok([Check::at_least(device.clone(), low), Check::at_most(device.clone(), most.clone())])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn verdict(strings: f64, factor: Option<f64>, device: Option<f64>) -> Result<StringVerdict, NotCovered> {
        let a = |x| given(DcCurrent::of(x));
        solar_supply_overcurrent(&StringFacts {
            strings: given(Ratio::of(strings)),
            short_circuit: a(10.0),
            module_most: a(20.0),
            factor: factor.map(|k| given(Ratio::of(k))),
            device: device.map(a),
            back_feed: None,
        })
    }

    /// 12.5 A of the other string and 14 A fed back are under 1.35 x 20 A; 15 A are not.
    #[test]
    fn what_is_fed_back_adds() {
        let with = |back: f64| {
            let a = |x| given(DcCurrent::of(x));
            solar_supply_overcurrent(&StringFacts {
                strings: given(Ratio::of(2.0)),
                short_circuit: a(10.0),
                module_most: a(20.0),
                factor: None,
                device: None,
                back_feed: Some(a(back)),
            })
        };
        assert!(with(14.0).unwrap().holds && with(15.0).unwrap().needed && with(f64::NAN).is_err());
    }

    #[test]
    fn by_hand() {
        let three = verdict(3.0, None, None).unwrap();
        near(&three.reverse.value, 25.0);
        near(&three.reverse.limit, 27.0);
        assert!(three.holds && !three.needed);
        let four = verdict(4.0, None, None).unwrap();
        assert!(four.needed && !four.holds);
        // 1.1 x 12.5 A is 13.75 A; 20 A are the most of the module
        for (device, holds) in [(13.0, false), (13.75, true), (16.0, true), (20.0, true), (25.0, false)] {
            assert_eq!(verdict(4.0, None, Some(device)).unwrap().holds, holds, "{device}");
        }
        assert!(verdict(3.0, Some(1.4), None).unwrap().needed);
        assert!(verdict(3.0, Some(1.2), None).is_err() && verdict(2.5, None, None).is_err());
        assert!(verdict(f64::NAN, None, None).is_err() && verdict(3.0, None, Some(0.0)).is_err());
        assert!(verdict(3.0, Some(f64::NAN), None).is_err());
        near(&verdict(1.0, None, None).unwrap().reverse.value, 0.0);
    }
}
