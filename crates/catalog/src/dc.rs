//! Gear of the direct-current side: devices that break it, and busbars.

use derivation::Place;
use quantity::{DcCurrent, DcVoltage, Duration, Resistance};

use crate::Footprint;

/// A direct current for a time.
#[derive(Debug, Clone, PartialEq)]
pub struct DcShortTime {
    /// The current.
    pub current: DcCurrent,
    /// How long at most.
    pub lasts: Duration,
}

/// What kind of device it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DcDeviceKind {
    /// A circuit breaker.
    Breaker,
    /// A fuse in a holder that switches nothing.
    Fuse,
    /// A fuse in a switch-disconnector.
    FuseSwitch,
    /// A switch-disconnector that protects nothing.
    Switch,
}

/// A device that breaks direct current.
#[derive(Debug, Clone, PartialEq)]
pub struct DcDevice {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Kind.
    pub kind: DcDeviceKind,
    /// Rated current.
    pub rating: DcCurrent,
    /// Highest voltage that it breaks.
    pub voltage: DcVoltage,
    /// Highest current that it breaks at that voltage.
    pub interrupting: DcCurrent,
    /// Currents that it carries for a time without opening, longest first.
    pub short_time: Vec<DcShortTime>,
    /// Highest peak current onto which its contacts close without welding and without opening again, where stated.
    pub make: Option<DcCurrent>,
    /// It can be locked open.
    pub lockable: bool,
    /// It is listed, in its enclosure, to carry its whole rating for any time.
    pub full_rating: bool,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

impl DcDevice {
    /// It opens by itself on too much current.
    pub fn protects(&self) -> bool {
        self.kind != DcDeviceKind::Switch
    }
}

/// A busbar of two poles with landings in a row.
#[derive(Debug, Clone, PartialEq)]
pub struct DcBusbar {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Current that it carries for any time.
    pub rating: DcCurrent,
    /// Short-circuit current that it withstands.
    pub withstand: DcCurrent,
    /// Landings.
    pub landings: u32,
    /// Resistance from one landing to the next, both poles.
    pub step: Resistance,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}
