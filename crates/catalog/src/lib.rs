//! Equipment records: what one device can do, never how it is used. The demo catalogue is invented; no record is
//! a real product.

mod array_inverter;
mod dc;
mod demo;
mod gear;
mod rating;
mod read;
mod storage;
mod unit;

pub use array_inverter::*;
pub use dc::*;
pub use demo::{demo, demo_sources};
pub use gear::*;
pub use rating::{OverloadRating, RatingRefusal, UnitRating};
pub use read::{read, schema};
pub use storage::*;
pub use unit::*;

use std::collections::BTreeMap;

/// All records that a project may use, by id.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Catalog {
    /// Currency of all prices; empty when no file states one.
    pub currency: String,
    /// Inverter-chargers.
    pub units: BTreeMap<String, UnitModel>,
    /// Batteries.
    pub batteries: BTreeMap<String, BatteryModel>,
    /// Array modules.
    pub modules: BTreeMap<String, ArrayModule>,
    /// Charge controllers.
    pub controllers: BTreeMap<String, ChargeController>,
    /// Array inverters.
    pub array_inverters: BTreeMap<String, ArrayInverter>,
    /// Transfer switches.
    pub transfer_switches: BTreeMap<String, TransferSwitch>,
    /// Bypass gear.
    pub bypasses: BTreeMap<String, BypassGear>,
    /// Devices that break direct current.
    pub dc_devices: BTreeMap<String, DcDevice>,
    /// Busbars of the direct-current side.
    pub dc_busbars: BTreeMap<String, DcBusbar>,
    /// Breakers.
    pub breakers: BTreeMap<String, Breaker>,
    /// Housings with a bus for the breakers of the units.
    pub distributions: BTreeMap<String, DistributionBoard>,
    /// Generators.
    pub generators: BTreeMap<String, Generator>,
    /// Neutral formers.
    pub neutral_formers: BTreeMap<String, NeutralFormer>,
    /// Conductors.
    pub conductors: BTreeMap<String, ConductorStock>,
}
