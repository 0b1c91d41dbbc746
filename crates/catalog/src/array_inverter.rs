//! Inverters between an array and a panel.

use derivation::Place;
use quantity::{Apparent, Current, DcVoltage, Frequency, Power, Ratio, VoltageSystem};

use crate::DelayRange;

/// Power falls in proportion from the one frequency to the other, and is nothing above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrequencyWatt {
    /// Full power up to here.
    pub start: Frequency,
    /// No power from here on.
    pub stop: Frequency,
}

/// An array inverter. It follows the voltage that it finds and never forms one: without a live source at its output it
/// gives nothing. That this holds within the time of its own standard is its certified function, and not looked at here.
#[derive(Debug, Clone, PartialEq)]
pub struct ArrayInverter {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Continuous active power.
    pub power: Power,
    /// Continuous apparent power.
    pub apparent: Apparent,
    /// Highest continuous current of one line conductor.
    pub current: Current,
    /// Systems that it feeds, alike on all their live conductors.
    pub systems: Vec<VoltageSystem>,
    /// Frequency that it follows.
    pub frequency: Frequency,
    /// Lowest array voltage at which it finds the maximum power.
    pub tracks_from: DcVoltage,
    /// Highest array voltage at which it finds the maximum power.
    pub tracks_to: DcVoltage,
    /// Highest array voltage that it withstands.
    pub array_highest: DcVoltage,
    /// Highest direct current of the array that it uses.
    pub array_current: quantity::DcCurrent,
    /// Current that it can feed back into a fault of the array, where published.
    pub back_feed: Option<quantity::DcCurrent>,
    /// From the return of a right voltage to the first power.
    pub reconnect: DelayRange,
    /// How it falls off with rising frequency; `None` = it does not.
    pub frequency_watt: Option<FrequencyWatt>,
    /// Efficiency at full power.
    pub efficiency: Ratio,
    /// Largest breaker ahead of its output.
    pub breaker: Current,
    /// Price in the catalogue's currency.
    pub price: u32,
}
