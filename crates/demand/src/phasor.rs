//! Power and current of a load on the legs that it touches.
//!
//! Complex power S = P + jQ, inductive above the axis; voltages at their nominal magnitude and angle (L1 at 0,
//! sequence ABC). From the definition S = V conj(I): between two legs I = conj(S / V_ab), so S_a = V_a conj(I) and
//! S_b = -V_b conj(I). On split-phase that is half each; on a wye 1/sqrt(3) of the magnitude each, turned by
//! +30 and -30 degrees.

use num_complex::Complex64;
use quantity::{Connection, Leg, Quantity, VoltageSystem};

/// One value for each leg.
pub(crate) type ByLeg = [Complex64; 3];

pub(crate) const NOTHING: Complex64 = Complex64::new(0.0, 0.0);

/// A phasor by magnitude and angle in degrees.
pub(crate) fn polar(magnitude: f64, angle_deg: f64) -> Complex64 {
    let (sin, cos) = libm::sincos(angle_deg.to_radians());
    Complex64::new(magnitude * cos, magnitude * sin)
}

/// Magnitude by the platform-independent square root.
pub(crate) fn magnitude(z: Complex64) -> f64 {
    libm::hypot(z.re, z.im)
}

/// Nominal voltage of a leg to neutral in V.
pub(crate) fn leg_voltage_v(system: VoltageSystem, leg: Leg) -> Complex64 {
    // exact where the angle is 0 or 180 degrees: balanced legs cancel without a remainder
    let angle = system.angle_deg(leg);
    let volts = system.phase_voltage().si();
    if angle == 0.0 {
        Complex64::new(volts, 0.0)
    } else if (angle - 180.0).abs() < 1e-9 {
        Complex64::new(-volts, 0.0)
    } else {
        polar(volts, angle)
    }
}

/// Power of one load on each leg in VA; `None` where the system has no such connection.
pub(crate) fn by_leg(system: VoltageSystem, connection: Connection, power_va: Complex64) -> Option<ByLeg> {
    if !system.has(connection) {
        return None;
    }
    let mut legs = [NOTHING; 3];
    match connection {
        Connection::LineToNeutral(leg) => legs[leg.index()] = power_va,
        Connection::LineToLine(a, b) => {
            let (va, vb) = (leg_voltage_v(system, a), leg_voltage_v(system, b));
            let conj_i = power_va / (va - vb);
            legs[a.index()] = va * conj_i;
            legs[b.index()] = -vb * conj_i;
        }
        Connection::ThreePhase => legs = [power_va / 3.0; 3],
    }
    Some(legs)
}

/// Line current of a leg in A from the power on it in VA: I = conj(S / V).
pub(crate) fn line_current_a(system: VoltageSystem, leg: Leg, power_va: Complex64) -> Complex64 {
    (power_va / leg_voltage_v(system, leg)).conj()
}

/// Current that a connection sends into the neutral in A. Only loads from one line to neutral do.
pub(crate) fn neutral_current_a(
    system: VoltageSystem,
    connection: Connection,
    power_va: Complex64,
) -> Complex64 {
    match connection {
        Connection::LineToNeutral(leg) => line_current_a(system, leg, power_va),
        Connection::LineToLine(..) | Connection::ThreePhase => NOTHING,
    }
}

/// Third-harmonic current that a connection sends into the neutral in A, as a phasor at three times the frequency.
/// All loads are taken to have the same harmonic phase against their own leg's voltage, so harmonics of legs 180
/// degrees apart oppose each other and those of legs 120 degrees apart add up.
pub(crate) fn neutral_third_a(
    system: VoltageSystem,
    connection: Connection,
    power_va: Complex64,
    third_share: f64,
) -> Complex64 {
    let third = |leg: Leg, va: f64| {
        let amps = va / system.phase_voltage().si() * third_share;
        let angle = libm::remainder(3.0 * system.angle_deg(leg), 360.0);
        if angle == 0.0 {
            Complex64::new(amps, 0.0)
        } else if (angle.abs() - 180.0).abs() < 1e-9 {
            Complex64::new(-amps, 0.0)
        } else {
            polar(amps, angle)
        }
    };
    match connection {
        Connection::LineToNeutral(leg) => third(leg, magnitude(power_va)),
        Connection::LineToLine(..) => NOTHING,
        Connection::ThreePhase => {
            Leg::ALL.iter().map(|leg| third(*leg, magnitude(power_va) / 3.0)).fold(NOTHING, |a, b| a + b)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_to_line_halves_on_split_phase_and_turns_by_30_degrees_on_a_wye() {
        let s = Complex64::new(2400.0, 0.0);
        let pair = Connection::LineToLine(Leg::L1, Leg::L2);
        let split = by_leg(VoltageSystem::Split120_240, pair, s).unwrap();
        assert!((split[0] - Complex64::new(1200.0, 0.0)).norm() < 1e-9);
        assert!((split[1] - Complex64::new(1200.0, 0.0)).norm() < 1e-9);
        let wye = by_leg(VoltageSystem::TwoLegs120_208, pair, s).unwrap();
        assert!((wye[0].norm() - 2400.0 / 3f64.sqrt()).abs() < 1e-9);
        // the two parts add up to the load, one leads and one lags
        assert!((wye[0] + wye[1] - s).norm() < 1e-9);
        assert!((wye[0].im + wye[1].im).abs() < 1e-9 && wye[0].im.abs() > 600.0);
    }
}
