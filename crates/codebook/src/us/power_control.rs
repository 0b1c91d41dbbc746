//! Power control: the setpoint stands for the current.
//!
//! ## Clause and edition
//! NEC 2023; 705.13, 750.30.
//! ## Applies when
//! A listed power control system keeps the current of busbars or conductors at a setpoint.
//! ## Why
//! A current that is measured and limited cannot exceed its setpoint; sums of ratings then say too much.
//! ## Formula
//! `I_setpoint <= I_bus` and `I_setpoint <= I_conductor`; in the load calculation the setpoint counts as continuous.
//! ## Example
//! Passing: a setpoint of 160 A on a busbar of 200 A. Failing: a setpoint of 225 A on the same.
//! ## Limits of our reading
//! Only for a system listed for it, which monitors every busbar and conductor that it is to protect; a setting that a
//! user can change is none. What happens when a sensor fails is not judged. Devices ahead of the controlled part stay
//! as they are.
//! ## Source
//! 705.13 and 750.30: two sources agree; details of access: from memory; confirm in the adopted code.

use derivation::Known;
use quantity::Current;
use saying::say;

use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 705.13";

/// What is known of the control.
#[derive(Debug, Clone)]
pub struct PowerControl {
    /// Its setpoint.
    pub setpoint: Known<Current>,
    /// It is listed for this.
    pub listed: bool,
    /// The setpoint cannot be changed by users.
    pub locked: bool,
    /// It measures every busbar and conductor that it is to protect.
    pub monitors_all: bool,
}

/// Whether a control protects busbars and conductors of these ratings: the setpoint keeps the smallest.
///
/// # Errors
/// No rating, a current that is no number, or a control that the clause does not take: not listed, open to users,
/// or blind to a part.
pub fn power_control(
    control: &PowerControl,
    ratings: &[Known<Current>],
) -> Result<(bool, Known<Current>), NotCovered> {
    sane(CLAUSE, &control.setpoint)?;
    all_sane(CLAUSE, ratings)?;
    let wanting = [
        (control.listed, "the control is not listed for this"),
        (control.locked, "users can change the setpoint"),
        (control.monitors_all, "not every busbar and conductor is measured"),
    ];
    if let Some((_, why)) = wanting.into_iter().find(|(met, _)| !met) {
        return Err(NotCovered::new(CLAUSE, why));
    }
    let least = Known::smallest("I_least", "smallest rating under control", ratings);
    let least = least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no busbar and no conductor")))?;
    Ok((control.setpoint.value() <= least.value(), least))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given};

    #[test]
    fn the_setpoint_keeps_the_smallest_rating() {
        let control = |a| PowerControl {
            setpoint: given(Current::of(a)),
            listed: true,
            locked: true,
            monitors_all: true,
        };
        assert!(power_control(&control(160.0), &all(&[200.0, 175.0])).unwrap().0);
        assert!(!power_control(&control(180.0), &all(&[200.0, 175.0])).unwrap().0);
        // a setpoint at the rating keeps it; one ampere more does not
        assert!(power_control(&control(175.0), &all(&[200.0, 175.0])).unwrap().0);
        assert!(!power_control(&control(176.0), &all(&[200.0, 175.0])).unwrap().0);
        assert!(power_control(&control(160.0), &[]).is_err());
        let open = PowerControl { locked: false, ..control(1.0) };
        assert!(power_control(&open, &all(&[200.0])).is_err());
        let unlisted = PowerControl { listed: false, ..control(1.0) };
        assert!(power_control(&unlisted, &all(&[200.0])).is_err());
    }
}
