//! Time within which a fault to an exposed part must be cut off.
//!
//! ## Clause and edition
//! IEC 60364-4-41:2005; Table 41.1, 411.3.2.3, 411.3.2.4 (with Amendment 1 of 2017).
//! ## Applies when
//! Protection against shock rests on automatic disconnection in a TN or TT system.
//! ## Why
//! The higher the voltage on a part that is touched, the shorter the heart stands it.
//! ## Formula
//! `t <= t_max(system, kind of current, voltage to earth)` for final circuits; 5 s (TN) and 1 s (TT) for distribution
//! circuits.
//! ## Example
//! Passing: 0.4 s at 230 V in a TN system. Failing: 0.5 s in the same.
//! ## Limits of our reading
//! The final-circuit times are for socket-outlets up to 63 A and fixed equipment up to 32 A; a circuit beyond counts
//! as distribution, which the caller must know. TT systems whose overcurrent devices disconnect and that bond all
//! metal may use the times of TN, which is not read here. IT systems: after the first fault, see
//! `automatic-disconnection`. Above 1000 V alternating and 1500 V direct current the standard ends.
//! ## Source
//! 230 V with alternating current and the 5 s: two sources agree; others: one source; TN 120 to 230 V direct current:
//! from memory.

use derivation::Known;
use quantity::{Duration, PhaseVoltage};
use saying::say;
use tables::iec::shock::{self, Circuit, Earthing, Kind};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60364-4-41:2005 411.3.2";
/// End of the voltages for which IEC 60364 is made (60364-1:2005 11.2, from memory).
const LOW_VOLTAGE_AC: PhaseVoltage = PhaseVoltage::of(1000.0);
const LOW_VOLTAGE_DC: PhaseVoltage = PhaseVoltage::of(1500.0);

/// Longest disconnection time; `None` where none is required against shock.
///
/// # Errors
/// The voltage to earth is 50 V or less, or no number.
pub fn disconnection_time(
    earthing: Earthing,
    kind: Kind,
    circuit: Circuit,
    to_earth: &Known<PhaseVoltage>,
) -> Result<Option<Known<Duration>>, NotCovered> {
    sane(CLAUSE, to_earth)?;
    let most = match kind {
        Kind::Ac => LOW_VOLTAGE_AC,
        Kind::Dc => LOW_VOLTAGE_DC,
    };
    if to_earth.value() > most {
        let reason = say!(
            "{to_earth} to earth is no low voltage, which ends at {most}",
            to_earth = to_earth.value(),
            most
        );
        return Err(NotCovered::new("IEC 60364-1:2005 11.2 (from memory)", reason));
    }
    Ok(shock::disconnection_time(earthing, kind, circuit, to_earth)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn by_voltage_and_system() {
        let t = |earthing, v| {
            let u0 = given(PhaseVoltage::of(v));
            disconnection_time(earthing, Kind::Ac, Circuit::Final, &u0)
        };
        near(&t(Earthing::Tn, 230.0).unwrap().unwrap(), 0.4);
        near(&t(Earthing::Tt, 230.0).unwrap().unwrap(), 0.2);
        near(&t(Earthing::Tn, 277.0).unwrap().unwrap(), 0.2);
        assert!(t(Earthing::Tn, 48.0).is_err() && t(Earthing::Tn, f64::NAN).is_err());
        assert!(t(Earthing::Tn, 1000.0).is_ok() && t(Earthing::Tn, 1001.0).is_err());
        assert!(t(Earthing::Tn, f64::INFINITY).is_err(), "the last row has no upper end");
    }
}
