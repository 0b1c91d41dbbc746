//! Links between the units: cables, addresses, ends, one lead unit.

mod checks;
mod plan;
mod route;

pub use plan::{LinkCase, in_steps, plan};
pub use route::shortest_order;

use derivation::Known;
use quantity::{Length, Ratio};

use crate::Held;

/// One device on a link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Role path: `unit 2`.
    pub part: String,
    /// Address on the link; none where the kind has none.
    pub address: Option<u32>,
    /// It leads; all others follow.
    pub lead: bool,
    /// A terminator belongs into its free port.
    pub terminated: bool,
}

/// One cable.
#[derive(Debug, Clone)]
pub struct Cable {
    /// Name on both ends: "data 1.2".
    pub name: String,
    /// Role path of the one end.
    pub from: String,
    /// Role path of the other end.
    pub to: String,
    /// Length to order, with slack.
    pub length: Known<Length>,
    /// Devices that lose the lead unit when this cable is lost.
    pub cuts_off: Vec<String>,
}

/// One link: devices on one chain, star or bus.
#[derive(Debug, Clone)]
pub struct Link {
    /// Name: "data 1".
    pub name: String,
    /// What it carries.
    pub kind: String,
    /// How it is wired.
    pub shape: catalog::LinkShape,
    /// Devices in the order of the cable.
    pub devices: Vec<Device>,
    /// Cables in order.
    pub cables: Vec<Cable>,
    /// Cable in all.
    pub total: Known<Length>,
    /// That was measured; else it is the sum of the cables.
    pub measured: bool,
    /// Devices that the kind takes.
    pub most_devices: Known<Ratio>,
    /// Cable that the kind takes, where stated.
    pub longest: Option<Known<Length>>,
    /// No shorter order exists; else the order is good, not proven best.
    pub shortest: bool,
    /// What happens when it is lost, in the catalogue's words; none where the record does not say.
    pub if_lost: Option<String>,
}

/// All links of the group.
#[derive(Debug, Clone, Default)]
pub struct LinkPlan {
    /// Links, by kind and number.
    pub links: Vec<Link>,
    /// Role path of the lead unit.
    pub lead: String,
    /// Margins and findings.
    pub held: Held,
}
