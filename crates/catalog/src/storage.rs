//! Batteries, modules and charge controllers.

use derivation::Place;
use quantity::{Charge, Current, DcCurrent, DcVoltage, Mass, Power, Ratio, Resistance, Temperature};

use crate::DcShortTime;

use crate::Footprint;

/// Cell chemistry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chemistry {
    /// Lithium iron phosphate modules with a management system.
    Lfp,
    /// Flooded lead-acid.
    FloodedLeadAcid,
}

/// A battery module or block.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryModel {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Chemistry.
    pub chemistry: Chemistry,
    /// Nominal voltage of one module.
    pub nominal: DcVoltage,
    /// Rated charge.
    pub capacity: Charge,
    /// Share that may be used.
    pub usable: Ratio,
    /// Continuous discharge current of one module.
    pub discharge: DcCurrent,
    /// Continuous charge current of one module.
    pub charge: DcCurrent,
    /// Discharge currents of one module for a time, longest first, where published.
    pub pulse: Vec<DcShortTime>,
    /// Internal resistance of one module with its management system, the highest over life and temperature.
    pub resistance: Resistance,
    /// No charging below.
    pub charge_from: Temperature,
    /// Open-circuit voltage of one module against its charge, rising charge; empty where not published.
    pub open_circuit: Vec<(Ratio, DcVoltage)>,
    /// Highest voltage of one module in charging, where published.
    pub highest: Option<DcVoltage>,
    /// By how much open-circuit voltages of like modules that may be joined differ, where published.
    pub spread: Option<DcVoltage>,
    /// Highest current into a bolted fault at its terminals, where published.
    pub short_circuit: Option<DcCurrent>,
    /// Alternating current on top of the direct one that it bears, RMS, where published.
    pub ripple: Option<Current>,
    /// Share of the rated charge that is left when it counts as worn out, where published.
    pub end_of_life: Option<Ratio>,
    /// Share of the rated charge that it gives at a temperature, rising temperature; empty where not published.
    pub cold: Vec<(Temperature, Ratio)>,
    /// Lead-acid: constant currents that a new one gives for a time until its final voltage, longest first.
    pub rated_currents: Vec<DcShortTime>,
    /// Most modules in parallel.
    pub parallel: u32,
    /// Modules in series for the nominal voltage of a bank.
    pub series: u32,
    /// Mass of one module.
    pub mass: Mass,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// A photovoltaic module.
#[derive(Debug, Clone, PartialEq)]
pub struct ArrayModule {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Power at standard test conditions.
    pub power: Power,
    /// Open-circuit voltage at standard test conditions.
    pub open_circuit: DcVoltage,
    /// Short-circuit current at standard test conditions.
    pub short_circuit: DcCurrent,
    /// Voltage at the maximum power point.
    pub mpp_voltage: DcVoltage,
    /// Change of open-circuit voltage per kelvin, as a share (negative).
    pub voltage_coefficient_per_k: Ratio,
    /// Change of the voltage at the maximum power point per kelvin, as a share (negative), where published.
    pub mpp_voltage_coefficient_per_k: Option<Ratio>,
    /// Highest voltage of a string of them, where published.
    pub system_voltage: Option<DcVoltage>,
    /// Largest overcurrent device of a string, where published.
    pub series_fuse: Option<DcCurrent>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// A charge controller between array and DC bus.
#[derive(Debug, Clone, PartialEq)]
pub struct ChargeController {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Highest array voltage.
    pub array_highest: DcVoltage,
    /// Lowest array voltage at which it tracks.
    pub array_lowest: DcVoltage,
    /// Highest current into the battery.
    pub current: DcCurrent,
    /// Highest short-circuit current of the array that it bears, where published.
    pub array_current: Option<DcCurrent>,
    /// Current that it can feed back into a fault of the array, where published.
    pub back_feed: Option<DcCurrent>,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}
