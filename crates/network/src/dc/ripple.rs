//! The alternating current on the direct-current side of a group at twice the line frequency.
//!
//! A load of power P + jQ on a voltage at angle a takes p(t) = P + |S| · cos(2wt + 2a - f). A bridge without storage
//! of its own passes that on, so on a stiff bus the direct current has an alternating part of |sum of conj(S_k)∠2a_k| / V
//! as its peak, and 1/sqrt(2) of it as RMS (circuit theory). At unity power factor on one phase it is the direct
//! current over sqrt(2). Legs 180 degrees apart add, a balanced three-phase group gives nothing, two legs of a wye
//! give as much as one.
//!
//! Capacitors in the converters take some of it. Where cables and capacitors resonate near twice the line frequency
//! it can be more than this: not covered.

use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{
    Apparent, Connection, Current, DcCurrent, DcVoltage, Power, Quantity, Ratio, VoltageSystem, as_w, root,
};

use crate::error::{above_zero, within};
use crate::impedance::{angle_deg, magnitude, polar_deg};
use crate::neutral::within_a_turn;
use crate::{LoadPower, NetworkError};

/// A group and its direct-current side.
#[derive(Debug, Clone)]
pub struct RippleCase {
    /// Voltage system of the group.
    pub system: VoltageSystem,
    /// What the group gives, each load or sum of loads with its connection; three-phase loads are balanced.
    pub loads: Vec<(Connection, LoadPower)>,
    /// Efficiency from the bus to the loads.
    pub efficiency: Known<Ratio>,
    /// Voltage of the bus under this load, the lowest.
    pub bus: Known<DcVoltage>,
}

/// The alternating current at twice the line frequency.
#[derive(Debug, Clone)]
pub struct Ripple {
    /// Mean power from the bus.
    pub power: Known<Power>,
    /// Peak of the alternating power that the loads take together, in VA.
    pub pulsating: Known<Apparent>,
    /// Mean current.
    pub mean: Known<DcCurrent>,
    /// RMS of the alternating current.
    pub ripple: Known<Current>,
    /// RMS of both together: what heats cables and fuses.
    pub total: Known<Current>,
}

/// The ripple of a group.
///
/// # Errors
/// No load, a connection that the system lacks, a negative power, a power factor outside 0 to 1, an efficiency outside
/// 0.01 to 1, a bus voltage that is not above zero.
pub fn ripple(case: &RippleCase) -> Result<Ripple, NetworkError> {
    above_zero(&case.bus)?;
    within(&case.efficiency, 0.01, 1.0, "from 0.01 to 1")?;
    if case.loads.is_empty() {
        return Err(NetworkError::Count { what: "loads", count: 0, needed: "at least one is needed" });
    }
    let mut pulsating = Complex64::new(0.0, 0.0);
    let mut active_w = 0.0;
    let (mut terms, mut sums) = (Vec::new(), Vec::new());
    let mut args: Vec<(String, Arc<Node>)> = Vec::new();
    for (k, (connection, load)) in case.loads.iter().enumerate() {
        let (s, k) = (load.s_va()?, k + 1);
        active_w += s.re;
        sums.push(format!("S_{k} · pf_{k}"));
        match angle_of(case.system, *connection)? {
            Some(angle) => {
                let turned = within_a_turn(2.0 * angle);
                pulsating += s.conj() * polar_deg(1.0, turned);
                terms.push(format!("conj(S_{k})∠{turned:.0}°"));
            }
            None => terms.push(format!("0 · S_{k}")),
        }
        args.push((format!("S_{k}"), load.apparent.node().clone()));
        args.push((format!("pf_{k}"), load.power_factor.node().clone()));
    }
    let P_out: Known<Power> = Known::formula(
        "P_out",
        "active power given",
        Power::of(active_w),
        &sums.join(" + "),
        args.clone(),
        None,
    );
    let S_2w: Known<Apparent> = Known::formula(
        "S_2w",
        "peak of the power that alternates at twice the line frequency",
        Apparent::of(magnitude(pulsating)),
        &format!("|{}|", terms.join(" + ")),
        args,
        Some("instantaneous power of sine waves"),
    );
    let (eta, V) = (&case.efficiency, &case.bus);
    let P = formula!("P", "mean power from the bus", [P_out, eta] => P_out / eta);
    let I_mean = formula!("I_dc", "mean current", [P, V] => P / V);
    let I_peak = formula!("I_2w", "peak of the alternating current", [S_2w, V, eta] => as_w(S_2w) / eta / V);
    let two = Known::factor("two", "peak over RMS of a sine, squared", 2.0, "sine wave");
    let I_ripple =
        formula!("I_ripple", "RMS of the alternating current", [I_peak, two] => rms_of(I_peak / root(two)));
    let total = formula!("I_rms", "RMS of mean and alternating current", [I_mean, I_ripple] => together(I_mean, I_ripple));
    Ok(Ripple { power: P, pulsating: S_2w, mean: I_mean, ripple: I_ripple, total })
}

/// Loads of which every subset is looked at.
const SUBSETS: usize = 12;

/// The ripple when each load may be anything from nothing to its stated power, the mean current kept at that of all of
/// them. The magnitude of a phasor sum is convex in the loads' magnitudes, so the largest stands at a corner: each load
/// full or off. Equal loads on three legs thus show one leg's ripple, not 0.
///
/// # Errors
/// As [`ripple`]; more than 12 loads (add up those of like connection and power factor).
pub fn largest_ripple(case: &RippleCase) -> Result<Ripple, NetworkError> {
    let all = ripple(case)?;
    let count = case.loads.len();
    if count > SUBSETS {
        let needed = "12 at most: add up those of like connection and power factor";
        return Err(NetworkError::Count { what: "loads", count, needed });
    }
    let mut corners = Vec::new();
    for mask in 1_u32..(1 << count) {
        let on = case.loads.iter().enumerate().filter(|(k, _)| mask & (1 << k) != 0);
        let loads = on.map(|(_, load)| load.clone()).collect();
        corners.push(ripple(&RippleCase { loads, ..case.clone() })?);
    }
    let currents: Vec<Known<Current>> = corners.iter().map(|c| c.ripple.clone()).collect();
    let powers: Vec<Known<Apparent>> = corners.iter().map(|c| c.pulsating.clone()).collect();
    let what = "largest RMS of the alternating current, each load full or off";
    let none = NetworkError::Count { what: "loads", count: 0, needed: "at least one is needed" };
    let I_ripple = Known::largest("I_ripple", what, &currents).ok_or(none.clone())?;
    let pulsating = Known::largest("S_2w", "largest alternating power", &powers).ok_or(none)?;
    let I_mean = &all.mean;
    let total = formula!("I_rms", "RMS of mean and alternating current", [I_mean, I_ripple] => together(I_mean, I_ripple));
    Ok(Ripple { power: all.power, pulsating, mean: all.mean, ripple: I_ripple, total })
}

/// Angle of a load's voltage in degrees; none for a balanced three-phase load.
fn angle_of(system: VoltageSystem, connection: Connection) -> Result<Option<f64>, NetworkError> {
    if !system.has(connection) {
        return Err(NetworkError::Leg(format!("{system} has no {connection}")));
    }
    Ok(match connection {
        Connection::LineToNeutral(leg) => Some(system.angle_deg(leg)),
        Connection::LineToLine(a, b) => {
            let phasor = |leg| polar_deg(1.0, system.angle_deg(leg));
            Some(angle_deg(phasor(a) - phasor(b)))
        }
        Connection::ThreePhase => None,
    })
}

/// The alternating part of a direct current counts as an alternating current.
fn rms_of(part: DcCurrent) -> Current {
    Current::of(part.si())
}

/// sqrt(a^2 + b^2).
fn together(mean: DcCurrent, ripple: Current) -> Current {
    Current::of(libm::hypot(mean.si(), ripple.si()))
}
