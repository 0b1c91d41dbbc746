//! Currents of the circuit between a charge controller and the bus.
//!
//! ## Clause and edition
//! NEC 2023; 690.8(A)(1), 690.8(B)(1), 690.9(B).
//! ## Applies when
//! A converter between strings of modules and a battery feeds a direct-current bus.
//! ## Why
//! In full sun the converter gives its rated current for hours, whatever the modules could give.
//! ## Formula
//! `I_max = I_rated`, the continuous output current on the converter's label; conductors carry `1.25 · I_max` before
//! conditions of use and `I_max` at them; the device is rated `1.25 · I_max` or more.
//! ## Example
//! Passing: a controller of 100 A behind a device of 125 A. Failing: the same behind a device of 100 A.
//! ## Limits of our reading
//! Assemblies listed for continuous use at their full rating need no 1.25; that is not read. What the battery gives into
//! a fault of this circuit is held with its devices. Subdivisions of 690.8(A)(1) moved between editions.
//! ## Source
//! The rated output as the current of a converter's circuit: from memory; factors: two sources agree (690.8(B)(1),
//! 690.9(B)); confirm in the adopted code.

use derivation::{Known, formula};
use quantity::DcCurrent;
use tables::us::dc_rule;
use tables::us::overcurrent::next_standard_dc;

use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 690.8(A)(1) (from memory)";
const BEFORE: &str = "NEC 2023 690.8(B)(1)";
const DEVICE: &str = "NEC 2023 690.9(B)";

/// Currents of the circuit.
#[derive(Debug, Clone)]
pub struct ControllerOutput {
    /// Largest current.
    pub maximum: Known<DcCurrent>,
    /// Ampacity before conditions of use.
    pub before: Known<DcCurrent>,
    /// Least rating of the device.
    pub device: Known<DcCurrent>,
    /// The next standard rating.
    pub standard: Known<DcCurrent>,
}

/// Currents of the circuit behind a converter of a rated continuous output current.
///
/// # Errors
/// The current is nothing or no number, or above what standard devices reach.
pub fn controller_output(rated: &Known<DcCurrent>) -> Result<ControllerOutput, NotCovered> {
    rated.above_zero().map_err(under(CLAUSE))?;
    let maximum =
        formula!("I_max", "largest current of the circuit", [rated] => rated * 1.0, source = CLAUSE);
    let conductor = dc_rule::ratio("factor", "array-conductor")?;
    let what = "ampacity before conditions of use";
    let before = formula!("I_z", what, [conductor, maximum] => conductor * maximum, source = BEFORE);
    let overcurrent = dc_rule::ratio("factor", "array-overcurrent")?;
    let what = "least rating of an overcurrent device";
    let device = formula!("I_dev", what, [overcurrent, maximum] => overcurrent * maximum, source = DEVICE);
    let standard = next_standard_dc(&device)?;
    Ok(ControllerOutput { maximum, before, device, standard })
}

#[cfg(test)]
mod tests {
    use quantity::Quantity;

    use super::*;

    /// 100 A ask for 125 A of conductor and device; 101 A for 126.25 A, and the next standard device of 150 A.
    #[test]
    fn by_hand() {
        let of = |a: f64| {
            controller_output(&Known::assumed("I", "rated output", DcCurrent::of(a), "test")).unwrap()
        };
        let found = of(100.0);
        assert!((found.before.value().si() - 125.0).abs() < 1e-9);
        assert!((found.standard.value().si() - 125.0).abs() < 1e-9);
        assert!((of(101.0).standard.value().si() - 150.0).abs() < 1e-9);
        let none = Known::assumed("I", "rated output", DcCurrent::of(0.0), "test");
        assert!(controller_output(&none).is_err());
        let wrong = Known::assumed("I", "rated output", DcCurrent::of(f64::NAN), "test");
        assert!(controller_output(&wrong).is_err());
    }
}
