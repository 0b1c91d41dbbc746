//! Fault current of inverters on an island.
//!
//! At its limit a bridge is a current, not an impedance: N units give the sum of what each is stated to give on the
//! faulted leg, for the shortest of the stated times, and never more than the voltage drives round the loop, U / |Z|
//! (saturated source: Ohm's law; the sum rests on units that limit alike and stay in step, an assumption). For the
//! least current leave out the units that may be off. Units of which nothing is stated are not covered.

use derivation::{Known, formula};
use quantity::{Current, Duration, LineVoltage, PhaseVoltage, Quantity};

use super::{FaultLevel, Lasts, size};
use crate::error::above_zero;
use crate::{Impedance, NetworkError};

/// What one unit gives into a fault on a leg.
#[derive(Debug, Clone)]
pub struct UnitFault {
    /// Current, RMS.
    pub current: Known<Current>,
    /// For how long.
    pub time: Known<Duration>,
}

/// The voltage that drives the loop.
#[derive(Debug, Clone)]
pub enum LoopVoltage {
    /// A fault to neutral or earth.
    Phase(Known<PhaseVoltage>),
    /// A fault between lines.
    Line(Known<LineVoltage>),
}

/// The island's fault current at the end of a run with the loop impedance `run`.
///
/// # Errors
/// No unit, a current, time or voltage that is not above zero, a negative resistance.
pub fn island_fault(
    units: &[UnitFault],
    voltage: &LoopVoltage,
    run: &Impedance,
) -> Result<FaultLevel, NetworkError> {
    for unit in units {
        above_zero(&unit.current)?;
        above_zero(&unit.time)?;
    }
    let none = NetworkError::Count { what: "units", count: 0, needed: "at least one is needed" };
    let times: Vec<Known<Duration>> = units.iter().map(|u| u.time.clone()).collect();
    let lasts = Known::smallest("t", "shortest time for which the units give it", &times).ok_or(none)?;
    let currents: Vec<Known<Current>> = units.iter().map(|u| u.current.clone()).collect();
    let sum = Known::sum("I_sum", "stated fault current of all units on the leg", &currents);
    let volts = match voltage {
        LoopVoltage::Phase(voltage) => (above_zero(voltage)?, voltage.node().clone()),
        LoopVoltage::Line(voltage) => (above_zero(voltage)?, voltage.node().clone()),
    };
    let Z = size(run, "impedance of the loop")?;
    let current = if Z.value().si() > 0.0 {
        let args = vec![("U".to_owned(), volts.1), ("Z".to_owned(), Z.node().clone())];
        let driven = Current::of(volts.0 / Z.value().si());
        let I_Z = Known::formula("I_Z", "most that the voltage drives", driven, "U / Z", args, None);
        let I_sum = &sum;
        formula!("I_f", "fault current of the island", [I_sum, I_Z] => I_sum.min(I_Z))
    } else {
        sum
    };
    Ok(FaultLevel { largest: current.clone(), least: current, lasts: Lasts::For(lasts) })
}
