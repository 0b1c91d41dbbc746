//! What a bank gives into a bolted fault: the open-circuit voltages over the resistance of each string, and of the
//! bus on the way (Ohm's law; the steady current of IEC 61660-1 and the method of IEEE Std 946, from memory).
//!
//! For the largest fault current give the highest open-circuit voltages and the lowest resistances. Not in it: what
//! the converters' capacitors give in the first milliseconds, what a converter or a solar charge controller feeds
//! in from its other side, and inductance, which only delays the current. A management system that opens is not
//! relied on.

use derivation::Known;
use quantity::DcCurrent;

use super::bus::DcBus;
use super::ladder::Branch;
use super::solve::largest;
use crate::NetworkError;
use crate::impedance::solved;

/// Where the two poles touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaultPlace {
    /// At a landing of the bus, from 0.
    Landing(usize),
    /// At the terminals of a converter, from 0, past its cable.
    Unit(usize),
}

/// What the bank gives.
#[derive(Debug, Clone)]
pub struct BankFault {
    /// Current in the fault.
    pub current: Known<DcCurrent>,
    /// Current of each string.
    pub strings: Vec<Known<DcCurrent>>,
}

/// The bank's current into a bolted fault.
///
/// # Errors
/// As [`DcBus::solve`]; a place that the bus lacks; a bus whose resistances differ too much to be solved.
pub fn bank_fault(bus: &DcBus, place: FaultPlace) -> Result<BankFault, NetworkError> {
    let ladder = bus.ladder()?;
    let nodes = ladder.nodes();
    let (at, where_) = match place {
        FaultPlace::Landing(k) => (nodes.landing.get(k), format!("at landing {}", k + 1)),
        FaultPlace::Unit(k) => {
            let name = bus.units.get(k).map_or_else(|| (k + 1).to_string(), |u| u.name.clone());
            (nodes.terminal.get(k), format!("at the terminals of {name}"))
        }
    };
    let Some(at) = at.copied() else {
        return Err(NetworkError::OutOfRange {
            what: "place of the fault".to_owned(),
            value: where_,
            allowed: "a landing or a unit of the bus",
        });
    };
    let singular = NetworkError::NoSolution("the bus has no single solution with the fault");
    let v = ladder.faulted(&nodes, at).ok_or(singular)?;
    // the units' own power does nothing at the voltages of a fault
    let mut mismatch = ladder.mismatch_a(&nodes, &v, 0.0);
    let total_a = mismatch[at];
    mismatch[at] = 0.0;
    let residual = largest(&mismatch);
    if !total_a.is_finite() || residual > 1e-7 * total_a.abs().max(1.0) {
        return Err(NetworkError::NoSolution("the resistances of the bus differ too much to be solved"));
    }
    let from = bus.nodes();
    let string = |(k, s): (usize, &Branch)| -> Known<DcCurrent> {
        let amperes = (s.ocv_v - v[nodes.landing[s.landing]]) / s.loop_ohm;
        let what = format!("current of string {} into the fault", bus.strings[k].name);
        solved(&format!("I_{}", k + 1), what, amperes, "(OCV - V) / R", residual, from.clone())
    };
    let strings: Vec<Known<DcCurrent>> = ladder.strings.iter().enumerate().map(string).collect();
    let law =
        "Kirchhoff's current law at every landing, 0 V at the fault; at one common point sum of OCV / R";
    let parts = strings.iter().map(|s| s.node().clone()).collect();
    let current = solved("I_f", format!("bolted fault current {where_}"), total_a, law, residual, parts);
    Ok(BankFault { current, strings })
}

/// The fault current at every landing, then at the terminals of every converter.
///
/// # Errors
/// As [`bank_fault`].
pub fn all_bank_faults(bus: &DcBus) -> Result<Vec<(FaultPlace, BankFault)>, NetworkError> {
    let landings = (0..bus.landings()).map(FaultPlace::Landing);
    let units = (0..bus.units.len()).map(FaultPlace::Unit);
    landings.chain(units).map(|place| Ok((place, bank_fault(bus, place)?))).collect()
}
