//! Overload protection of a cable by its device.
//!
//! ## Clause and edition
//! IEC 60364-4-43:2008; 433.1.
//! ## Applies when
//! A device protects a cable against overload.
//! ## Why
//! A cable that carries more than it may for hours chars long before a device sized for something else opens.
//! ## Formula
//! `I_b <= I_n <= I_z` and `I_2 = m · I_n <= 1.45 · I_z`; m is 1.45 for miniature circuit breakers, 1.3 for circuit
//! breakers of IEC 60947-2, and 1.6, 1.9 or 2.1 for gG fuses from 16 A, over 4 A and up to 4 A.
//! ## Example
//! Passing: 28 A by a 32 A miniature circuit breaker on a cable for 36 A. Failing: a 32 A gG fuse on a cable for 32 A,
//! since 51.2 A is more than 46.4 A.
//! ## Limits of our reading
//! Circuits that need no overload protection (433.2, 433.3) are not read: they are held to the same. A breaker that
//! can be set counts with its full rating.
//! ## Source
//! Both conditions and the 1.45 of miniature circuit breakers: two sources agree; fuses from 16 A: one source; the
//! others from memory.

use derivation::{Known, formula};
use quantity::{Current, Quantity, Ratio};
use saying::say;
use tables::iec::clause;
use tables::iec::device::Device;

use crate::not_covered::sane;
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-4-43:2008 433.1";

/// The three conditions.
#[derive(Debug, Clone)]
pub struct Overload {
    /// The device carries the design current.
    pub carries: Check<Current>,
    /// The cable carries the device's rated current.
    pub rated: Check<Current>,
    /// The cable bears the device's conventional operating current.
    pub operating: Check<Current>,
}

impl Overload {
    /// Whether all hold.
    pub fn holds(&self) -> bool {
        self.carries.holds && self.rated.holds && self.operating.holds
    }
}

/// Holds a device of a rated current against what the circuit draws and what the cable may carry, in A.
///
/// # Errors
/// A current is no number or negative, or the rated current is none.
pub fn overload_coordination(
    device: Device,
    design: &Known<Current>,
    rated: &Known<Current>,
    capacity: &Known<Current>,
) -> Result<Overload, NotCovered> {
    for current in [design, rated, capacity] {
        sane(CLAUSE, current)?;
    }
    if rated.value() <= Current::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("the device has no rated current")));
    }
    let multiple: Known<Ratio> = clause::number("m", multiple_key(device, rated.value()))?;
    let what = "conventional operating current";
    let operating = formula!("I_2", what, [multiple, rated] => multiple * rated, source = CLAUSE);
    let share: Known<Ratio> = clause::number("share", "overload-1.45")?;
    let what = "current that the cable bears for the conventional time";
    let bears = formula!("I_max", what, [share, capacity] => share * capacity, source = CLAUSE);
    Ok(Overload {
        carries: Check::at_most(design.clone(), rated.clone()),
        rated: Check::at_most(rated.clone(), capacity.clone()),
        operating: Check::at_most(operating, bears),
    })
}

fn multiple_key(device: Device, rated: Current) -> &'static str {
    match device {
        Device::Mcb => "i2-mcb",
        Device::Breaker => "i2-breaker",
        Device::FuseGg if rated.si() >= 16.0 => "i2-fuse-16",
        Device::FuseGg if rated.si() > 4.0 => "i2-fuse-over-4",
        Device::FuseGg => "i2-fuse-4",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn held(device: Device, b: f64, n: f64, z: f64) -> Option<[bool; 3]> {
        let a = |x| given(Current::of(x));
        let found = overload_coordination(device, &a(b), &a(n), &a(z)).ok()?;
        Some([found.carries.holds, found.rated.holds, found.operating.holds])
    }

    #[test]
    fn each_condition_can_fail_alone() {
        assert_eq!(held(Device::Mcb, 28.0, 32.0, 36.0), Some([true; 3]));
        assert_eq!(held(Device::Mcb, 33.0, 32.0, 36.0), Some([false, true, true]));
        assert_eq!(held(Device::Mcb, 28.0, 32.0, 31.9), Some([true, false, false]));
        assert_eq!(held(Device::Breaker, 28.0, 32.0, 31.0), Some([true, false, true]));
        assert_eq!(held(Device::FuseGg, 28.0, 32.0, 32.0), Some([true, true, false]));
        // fuses: the cable must carry 1.10, 1.31 and 1.45 times the rated current
        assert_eq!(held(Device::FuseGg, 1.0, 16.0, 17.6), Some([true, true, false]));
        assert_eq!(held(Device::FuseGg, 1.0, 16.0, 17.7), Some([true; 3]));
        assert_eq!(held(Device::FuseGg, 1.0, 10.0, 13.1), Some([true, true, false]));
        assert_eq!(held(Device::FuseGg, 1.0, 4.0, 5.8), Some([true; 3]));
        assert_eq!(held(Device::FuseGg, 1.0, 4.0, 5.7), Some([true, true, false]));
        assert_eq!(held(Device::FuseGg, 1.0, 10.0, 13.2), Some([true; 3]));
        assert_eq!(held(Device::Mcb, f64::NAN, 32.0, 36.0), None);
        assert_eq!(held(Device::Mcb, 1.0, 0.0, 36.0), None);
        let a = |x| given(Current::of(x));
        near(
            &overload_coordination(Device::FuseGg, &a(28.0), &a(32.0), &a(32.0)).unwrap().operating.value,
            51.2,
        );
    }
}
