//! The direct-current side: strings with their devices and cables, the busbar, the devices and cables of the units.
//!
//! ```text
//! battery.string.k ──Q── W ── strings' end of the bar ══ W bar ══ DC bus ──Q── W ── unit k
//! ```

use derivation::Known;
use quantity::DcCurrent;

use super::build::{Builder, FullGear};
use super::{NeutralPath, NodeKind, PartKind, resistance};
use crate::{DeviceIx, NodeIx};

/// What is chosen of the direct-current side. A device that is not found is left out of the ratings, not of the
/// graph.
#[derive(Debug, Clone)]
pub struct DcGear {
    /// Strings in parallel.
    pub strings: u32,
    /// Rating of the device of each string.
    pub string_rating: Option<Known<DcCurrent>>,
    /// Rating of the device of each unit.
    pub unit_rating: Option<Known<DcCurrent>>,
    /// It can be locked open.
    pub unit_lockable: bool,
    /// Rating of the busbar.
    pub bus_rating: Option<Known<DcCurrent>>,
}

/// Strings and bar, up to the DC bus.
pub(super) fn strings(b: &mut Builder, gear: &FullGear<'_>) {
    let Some(bank) = &gear.bank else { return };
    let end = b.node("dc.strings", "strings' end of the DC bus", NodeKind::Dc, None);
    let bus = b.plant.dc_bus;
    direct(b, ("dc.bus", "DC busbar"), (PartKind::Conductor, None), (end, bus), bank.bus_rating.clone());
    without_length(b);
    for k in 1..=bank.strings {
        let id = format!("battery.string.{k}");
        let name = format!("battery string {k}");
        let cells = b.node(&id, &name, NodeKind::Dc, None);
        // the device stands at the string, so that its own cable is behind it
        let behind = b.node(&format!("{id}.run"), &format!("{name}, behind its device"), NodeKind::Dc, None);
        let rating = bank.string_rating.clone();
        let device = (format!("{id}.device"), format!("device of {name}"));
        direct(b, (&device.0, &device.1), (PartKind::Breaker, None), (cells, behind), rating.clone());
        let cable = (format!("{id}.conductor"), format!("cable of {name}"));
        direct(b, (&cable.0, &cable.1), (PartKind::Conductor, None), (behind, end), rating);
    }
}

/// Device and cable of a unit, from the bus to its terminals.
pub(super) fn unit(b: &mut Builder, gear: &FullGear<'_>, k: u8, (dc, device): (NodeIx, DeviceIx)) {
    let bus = b.plant.dc_bus;
    let (id, name) = (format!("unit.{k}.dc"), format!("unit {k} DC"));
    let breaker = (id.clone(), format!("{name} breaker"));
    let moved = Some((device, 1));
    let Some(bank) = &gear.bank else {
        return direct(b, (&breaker.0, &breaker.1), (PartKind::Breaker, moved), (bus, dc), None);
    };
    if let Some(gear) = b.plant.gear.get_mut(device.0) {
        gear.lockable = bank.unit_rating.is_none() || bank.unit_lockable;
    }
    let behind = b.node(&format!("{id}.run"), &format!("{name} breaker, unit side"), NodeKind::Dc, Some(k));
    let rating = bank.unit_rating.clone();
    direct(b, (&breaker.0, &breaker.1), (PartKind::Breaker, moved), (bus, behind), rating.clone());
    let cable = (format!("{id}.conductor"), format!("{name} cable"));
    direct(b, (&cable.0, &cable.1), (PartKind::Conductor, None), (behind, dc), rating);
}

pub(super) fn direct(
    b: &mut Builder,
    names: (&str, &str),
    (kind, moved): (PartKind, Option<(DeviceIx, u8)>),
    ends: (NodeIx, NodeIx),
    rating: Option<Known<DcCurrent>>,
) {
    b.part(names, kind, ends, NeutralPath::Absent, moved, None);
    if let Some(part) = b.plant.parts.last_mut() {
        part.direct = rating;
    }
}

/// A busbar has no length of its own.
fn without_length(b: &mut Builder) {
    if let Some(part) = b.plant.parts.last_mut() {
        part.length = None;
    }
}

/// Length of a run within the equipment room that nobody states.
pub fn assumed_length() -> Known<quantity::Length> {
    resistance::room()
}
