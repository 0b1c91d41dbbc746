//! Largest current of array circuits and what conductors must carry.
//!
//! ## Clause and edition
//! NEC 2023; 690.8(A)(1), 690.8(B).
//! ## Applies when
//! Strings of modules, alone or in parallel, feed a circuit on the DC side of an array.
//! ## Why
//! Light can stand above standard test conditions for hours; and conductors on a roof are hot.
//! ## Formula
//! `I_max = 1.25 · sum(I_sc)`; conductors carry `1.25 · I_max` before conditions of use (B)(1), and `I_max / (f_T · f_n)`
//! at them (B)(2), whichever is more. An assembly listed for continuous use at its full rating needs no 1.25 in (B)(1).
//! ## Example
//! Passing: 10 A and a factor of 0.82 ask for 15.6 A by (B)(1). Failing: at 0.76 a table value of 15.6 A is too small,
//! (B)(2) asks for 16.4 A.
//! ## Limits of our reading
//! The short-circuit current of two-sided modules must include the light from behind. Simulated currents of systems
//! of 100 kW and more, dc-to-dc converters and converter inputs limited by listing are not reached. The terminals'
//! temperature limit is judged elsewhere.
//! ## Source
//! 690.8(A)(1)(a)(1), 690.8(B)(1) and (2): two sources agree.

use derivation::{Known, formula};
use quantity::{DcCurrent, Ratio};
use saying::say;
use tables::us::dc_rule;
use tables::us::overcurrent::next_standard_dc;

use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 690.8";
const MAXIMUM: &str = "NEC 2023 690.8(A)(1)(a)(1)";
const BEFORE: &str = "NEC 2023 690.8(B)(1)";
const AT: &str = "NEC 2023 690.8(B)(2)";
const DEVICE: &str = "NEC 2023 690.9(B)";

/// Which of the two tests asks for more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Governs {
    /// (B)(1): before conditions of use.
    Before,
    /// (B)(2): at the conditions of use.
    AtConditions,
}

/// Currents of a circuit.
#[derive(Debug, Clone)]
pub struct ArrayCurrent {
    /// Largest current, 690.8(A).
    pub maximum: Known<DcCurrent>,
    /// Ampacity before conditions of use that (B)(1) asks for.
    pub before: Known<DcCurrent>,
    /// The same that (B)(2) asks for.
    pub at_conditions: Known<DcCurrent>,
    /// The larger of both.
    pub ampacity: Known<DcCurrent>,
    /// Which it is.
    pub governs: Governs,
    /// Product of the factors below which (B)(2) governs.
    pub crossover: Known<Ratio>,
    /// Least rating of an overcurrent device, 690.9(B).
    pub device: Known<DcCurrent>,
    /// The next standard rating.
    pub standard: Known<DcCurrent>,
}

/// Largest current of parallel strings, 690.8(A)(1)(a)(1).
///
/// # Errors
/// A short-circuit current or the number of strings is outside what arrays have.
pub fn maximum_current(
    isc: &Known<DcCurrent>,
    strings: &Known<Ratio>,
) -> Result<Known<DcCurrent>, NotCovered> {
    isc.above_zero().map_err(under(MAXIMUM))?;
    strings.whole().map_err(under(MAXIMUM))?;
    let factor = dc_rule::ratio("factor", "array-current")?;
    let what = "largest current of the circuit";
    Ok(formula!("I_max", what, [factor, strings, isc] => factor * strings * isc, source = MAXIMUM))
}

/// Currents of a circuit of `strings` equal strings. `correction` and `adjustment` are the factors of ambient
/// temperature and of conductors together; `fully_rated` is an assembly listed for 100 % of its rating.
///
/// # Errors
/// A value is outside what arrays have, or no standard device is large enough.
pub fn array_current(
    isc: &Known<DcCurrent>,
    strings: &Known<Ratio>,
    (correction, adjustment): (&Known<Ratio>, &Known<Ratio>),
    fully_rated: bool,
) -> Result<ArrayCurrent, NotCovered> {
    let maximum = maximum_current(isc, strings)?;
    // correction factors above 1 stand in the table for cool places
    correction.within(0.01, 1.5, "above 0 and at most 1.5").map_err(under(CLAUSE))?;
    adjustment.share().map_err(under(CLAUSE))?;
    let (conductor, overcurrent) = if fully_rated {
        let full = |clause| Known::factor("factor", "assembly listed for its full rating", 1.0, clause);
        (full(BEFORE), full(DEVICE))
    } else {
        (dc_rule::ratio("factor", "array-conductor")?, dc_rule::ratio("factor", "array-overcurrent")?)
    };
    let what = "ampacity before conditions of use";
    let before = formula!("I_1", what, [conductor, maximum] => conductor * maximum, source = BEFORE);
    let what = "ampacity that is left at conditions of use";
    let at_conditions = formula!("I_2", what, [maximum, correction, adjustment] => maximum / (correction * adjustment), source = AT);
    let both = [before.clone(), at_conditions.clone()];
    let ampacity = Known::largest("I_z", "ampacity in the table's column", &both)
        .ok_or_else(|| NotCovered::new(CLAUSE, say!("no test")))?;
    let governs =
        if at_conditions.value() > before.value() { Governs::AtConditions } else { Governs::Before };
    let crossover = formula!("f_x", "factors below which (B)(2) governs", [conductor] => 1.0 / conductor);
    let what = "least rating of an overcurrent device";
    let device = formula!("I_dev", what, [overcurrent, maximum] => overcurrent * maximum, source = DEVICE);
    let standard = next_standard_dc(&device)?;
    Ok(ArrayCurrent { maximum, before, at_conditions, ampacity, governs, crossover, device, standard })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn at(isc: f64, strings: f64, correction: f64, full: bool) -> Result<ArrayCurrent, NotCovered> {
        let one = given(Ratio::of(1.0));
        let factors = (&given(Ratio::of(correction)), &one);
        array_current(&given(DcCurrent::of(isc)), &given(Ratio::of(strings)), factors, full)
    }

    /// PVS-04 and PVS-05.
    #[test]
    fn the_hotter_roof_lets_the_second_test_govern() {
        let cool = at(8.89, 1.0, 1.0, false).unwrap();
        near(&cool.maximum, 11.1125);
        near(&cool.before, 13.890_625);
        near(&cool.standard, 15.0);
        let (hot, mild) = (at(10.0, 1.0, 0.76, false).unwrap(), at(10.0, 1.0, 0.82, false).unwrap());
        near(&hot.at_conditions, 12.5 / 0.76);
        assert_eq!((hot.governs, mild.governs), (Governs::AtConditions, Governs::Before));
        near(&hot.ampacity, 12.5 / 0.76);
        near(&mild.ampacity, 15.625);
        near(&mild.crossover, 0.8);
        near(&at(10.0, 3.0, 1.0, false).unwrap().maximum, 37.5);
    }

    #[test]
    fn full_rating_drops_one_factor_only() {
        let full = at(10.0, 1.0, 1.0, true).unwrap();
        near(&full.maximum, 12.5);
        near(&full.before, 12.5);
        near(&full.device, 12.5);
        assert!(at(10.0, 1.0, 1.6, false).is_err());
        for bad in [at(-1.0, 1.0, 1.0, false), at(10.0, 1.5, 1.0, false), at(10.0, 1.0, f64::NAN, false)] {
            assert!(bad.is_err());
        }
    }
}
