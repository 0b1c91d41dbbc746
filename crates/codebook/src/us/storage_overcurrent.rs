//! Overcurrent devices of energy storage circuits.
//!
//! ## Clause and edition
//! NEC 2023; 706.31(B), (C), (D), (F).
//! ## Applies when
//! Conductors are fed by a battery.
//! ## Why
//! A battery gives thousands of amperes into a fault, and DC arcs do not go out by themselves.
//! ## Formula
//! Next standard rating from `1.25 · I`; DC voltage and interrupting rating of the device not below the bank's; a device
//! at the storage where its conductors run over 5 ft or through a wall or partition.
//! ## Example
//! Passing: 244 A ask for 350 A with 20 kA of interrupting rating at a bank of 8.8 kA. Failing: the same device at 24 kA.
//! ## Limits of our reading
//! Current-limiting devices next to the storage (D) are asked for unless its listing has them: named, not checked. What a
//! bank gives into a fault is an input; its internal resistance must come from the maker.
//! ## Source
//! 706.31(C): two sources agree; (B), (D), (F): one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{DcCurrent, DcVoltage, Length};
use tables::us::dc_rule;
use tables::us::overcurrent::next_standard_dc;

use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 706.31";
const RATING: &str = "NEC 2023 706.31(B) (confirm in the adopted code)";

/// Least and standard rating of a device.
#[derive(Debug, Clone)]
pub struct StorageDevice {
    /// Least rating.
    pub least: Known<DcCurrent>,
    /// The next standard rating.
    pub standard: Known<DcCurrent>,
}

/// Rating of the device for a circuit current by 706.30(A).
///
/// # Errors
/// The current is negative, no number, or above what standard devices reach.
pub fn device(current: &Known<DcCurrent>) -> Result<StorageDevice, NotCovered> {
    current.not_negative().map_err(under(RATING))?;
    let factor = dc_rule::ratio("factor", "storage-overcurrent")?;
    let what = "least rating of an overcurrent device";
    let least = formula!("I_dev", what, [factor, current] => factor * current, source = RATING);
    let standard = next_standard_dc(&least)?;
    Ok(StorageDevice { least, standard })
}

/// Whether a device breaks what the bank gives: volts and amperes.
///
/// # Errors
/// A value is not above zero.
pub fn breaks(
    (bank_v, bank_fault): (&Known<DcVoltage>, &Known<DcCurrent>),
    (rated_v, interrupting): (&Known<DcVoltage>, &Known<DcCurrent>),
) -> Result<bool, NotCovered> {
    bank_v.above_zero().map_err(under(CLAUSE))?;
    bank_fault.above_zero().map_err(under(CLAUSE))?;
    rated_v.above_zero().map_err(under(CLAUSE))?;
    interrupting.above_zero().map_err(under(CLAUSE))?;
    Ok(rated_v.value() >= bank_v.value() && interrupting.value() >= bank_fault.value())
}

/// Whether a device is asked for at the storage itself, by the run of its conductors.
///
/// # Errors
/// The run is negative or no number.
pub fn device_at_storage(run: &Known<Length>, through_wall: bool) -> Result<bool, NotCovered> {
    run.not_negative().map_err(under(CLAUSE))?;
    let longest = dc_rule::length("L", "storage-run-device")?;
    Ok(through_wall || run.value() > longest.value())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn rating_volts_and_breaking() {
        let a = |x| given(DcCurrent::of(x));
        let v = |x| given(DcVoltage::of(x));
        let found = device(&a(244.379_277)).unwrap();
        near(&found.least, 305.474_096_25);
        near(&found.standard, 350.0);
        assert!(breaks((&v(58.0), &a(8800.0)), (&v(80.0), &a(20_000.0))).unwrap());
        assert!(!breaks((&v(58.0), &a(24_185.0)), (&v(80.0), &a(20_000.0))).unwrap());
        assert!(!breaks((&v(96.0), &a(8800.0)), (&v(80.0), &a(20_000.0))).unwrap());
        assert!(breaks((&v(58.0), &a(f64::NAN)), (&v(80.0), &a(20_000.0))).is_err());
        assert!(breaks((&v(58.0), &a(8800.0)), (&v(80.0), &a(0.0))).is_err());
    }

    #[test]
    fn a_long_run_or_a_wall_asks_for_a_device_at_the_storage() {
        let run = |m| given(Length::of(m));
        assert!(!device_at_storage(&run(1.5), false).unwrap());
        assert!(!device_at_storage(&run(1.524), false).unwrap(), "5 ft are not exceeded");
        assert!(device_at_storage(&run(1.525), false).unwrap());
        assert!(device_at_storage(&run(0.5), true).unwrap());
        assert!(device_at_storage(&run(f64::NAN), true).is_err());
    }
}
