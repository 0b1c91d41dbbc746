//! One string off, and stated orders of landing held beside each other.

use derivation::Known;
use quantity::{DcCurrent, Quantity};

use super::bus::{BusOutcome, DcBus};
use crate::NetworkError;

/// The bus with one string disconnected and the converters' power unchanged.
#[derive(Debug, Clone)]
pub struct OneOff {
    /// The string that is off, from 0.
    pub off: usize,
    /// What the survivors do.
    pub outcome: BusOutcome,
}

/// Every case of one string off: its management system opened, its fuse gone, out for service.
///
/// # Errors
/// Fewer than two strings: nothing would remain; otherwise as [`DcBus::solve`].
pub fn one_string_off(bus: &DcBus) -> Result<Vec<OneOff>, NetworkError> {
    let ladder = bus.ladder()?;
    if bus.strings.len() < 2 {
        let needed = "with one off nothing remains: at least two are needed";
        return Err(NetworkError::Count { what: "strings", count: bus.strings.len(), needed });
    }
    let case = |off: usize| {
        let mut rest = ladder.clone();
        rest.strings[off].on = false;
        OneOff { off, outcome: bus.outcome(&rest) }
    };
    Ok((0..bus.strings.len()).map(case).collect())
}

/// An order of landing: where each string and each converter is connected.
#[derive(Debug, Clone)]
pub struct LandingOrder {
    /// Its name.
    pub name: String,
    /// Landing of each string, from 0.
    pub strings: Vec<usize>,
    /// Landing of each converter, from 0.
    pub units: Vec<usize>,
}

/// Orders of landing beside each other.
#[derive(Debug, Clone)]
pub struct LandingComparison {
    /// How the bus settles with each, in the order given.
    pub outcomes: Vec<BusOutcome>,
    /// The order with the smallest worst current of a string, the first of equals; none where no order settles.
    pub best: Option<usize>,
    /// Its worst current.
    pub least_worst: Option<Known<DcCurrent>>,
}

/// Which of the stated orders of landing gives the smallest worst current of a string. Only these are looked at:
/// a better one may exist. Resistances stay with their string, converter and segment.
///
/// # Errors
/// No order, an order that does not name a landing for each string and converter, otherwise as [`DcBus::solve`].
pub fn compare_landings(bus: &DcBus, orders: &[LandingOrder]) -> Result<LandingComparison, NetworkError> {
    if orders.is_empty() {
        let needed = "at least one is needed";
        return Err(NetworkError::Count { what: "orders of landing", count: 0, needed });
    }
    let outcomes = orders.iter().map(|o| landed(bus, o)?.solve()).collect::<Result<Vec<_>, _>>()?;
    let settled: Vec<(usize, Known<DcCurrent>)> = outcomes
        .iter()
        .enumerate()
        .filter_map(|(k, o)| o.settled().map(|state| (k, state.worst_current.clone())))
        .collect();
    let currents: Vec<Known<DcCurrent>> = settled.iter().map(|(_, I)| I.clone()).collect();
    let least_worst = Known::smallest("I_least", "smallest worst current of a string", &currents);
    let best = least_worst.as_ref().and_then(|least| {
        settled.iter().find(|(_, I)| I.value().si() <= least.value().si()).map(|(k, _)| *k)
    });
    Ok(LandingComparison { outcomes, best, least_worst })
}

fn landed(bus: &DcBus, order: &LandingOrder) -> Result<DcBus, NetworkError> {
    let mut bus = bus.clone();
    let fits = |what, count: usize, needs: usize| {
        if count == needs {
            return Ok(());
        }
        let needed = "an order of landing needs one for each string and converter";
        Err(NetworkError::Count { what, count, needed })
    };
    fits("landings of strings", order.strings.len(), bus.strings.len())?;
    fits("landings of converters", order.units.len(), bus.units.len())?;
    for (string, landing) in bus.strings.iter_mut().zip(&order.strings) {
        string.landing = *landing;
    }
    for (unit, landing) in bus.units.iter_mut().zip(&order.units) {
        unit.landing = *landing;
    }
    Ok(bus)
}
