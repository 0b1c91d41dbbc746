//! What hangs on the wall or stands before it.

use catalog::Footprint;
use derivation::{Known, Place};
use quantity::{Length, Quantity};

/// What an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum GearKind {
    /// An inverter-charger.
    Unit,
    /// A distribution panel.
    Panel,
    /// The transfer switch round the group.
    TransferSwitch,
    /// The switch between utility and generator.
    SourceSwitch,
    /// A bus of the group with the breakers of the units.
    Distribution,
    /// Maintenance bypass.
    Bypass,
    /// Neutral former.
    NeutralFormer,
    /// A battery module or block.
    Battery,
    /// Gear of the DC bus: charge controllers, devices of units and strings, the busbar.
    DcGear,
}

impl GearKind {
    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            GearKind::Unit => "unit",
            GearKind::Panel => "panel",
            GearKind::TransferSwitch => "transfer switch",
            GearKind::SourceSwitch => "source switch",
            GearKind::Distribution => "group distribution",
            GearKind::Bypass => "bypass",
            GearKind::NeutralFormer => "neutral former",
            GearKind::Battery => "battery",
            GearKind::DcGear => "DC gear",
        }
    }

    /// It has switch or breaker handles that people must reach, and live parts that are worked on.
    pub fn has_handles(self) -> bool {
        !matches!(self, GearKind::NeutralFormer | GearKind::Battery)
    }

    /// It stands on the floor, where it does not hang on the wall.
    pub fn stands(self) -> bool {
        self == GearKind::Battery
    }
}

/// One piece of gear to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Role path: `unit 2`, `transfer`, `backup panel`.
    pub part: String,
    /// Id of its catalogue record; empty where the site describes it.
    pub record: String,
    /// Name for people.
    pub name: String,
    /// What it is.
    pub kind: GearKind,
    /// Size, free spaces, air outlet, mass.
    pub footprint: Footprint,
    /// Where the site describes it, where it has no record.
    pub place: Option<Place>,
}

impl Item {
    /// A figure of its footprint, from its record or from the site.
    pub(crate) fn known<Q: Quantity>(&self, symbol: &str, what: String, value: Q, field: &str) -> Known<Q> {
        match &self.place {
            Some(place) => Known::input(symbol, what, value, place),
            None => Known::catalog(symbol, what, value, &self.record, field),
        }
    }
}

/// A rectangle on the wall, from its lower left corner on the floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// From the left end of the wall.
    pub left: Length,
    /// Above the floor.
    pub bottom: Length,
    /// Width.
    pub width: Length,
    /// Height.
    pub height: Length,
}
