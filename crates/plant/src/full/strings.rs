//! Strings of an array on the direct-current side: up to the charge controllers on the DC bus, or up to the inputs of
//! array inverters.
//!
//! ```text
//! modules ── W ──[Q]── combiner ── W ──Q── controller ── W ──Q── DC bus
//! modules ── W ──[Q]── combiner ── W ──Q── array inverter
//! ```
//!
//! One string has no combiner: its own cable goes to the disconnect. Whole strings stand at devices as evenly as may be:
//! the last devices may have one less.

use derivation::Known;
use quantity::{DcCurrent, Length};

use super::battery::direct;
use super::build::{Builder, FullGear};
use super::{NodeKind, PartKind};

/// What stands behind the strings.
#[derive(Debug, Clone)]
pub enum Behind {
    /// Charge controllers, each with a device and a cable of its own to the DC bus.
    Controller {
        /// Rating of that device, where one is found.
        device: Option<Known<DcCurrent>>,
        /// What the cable to the bus carries for any time.
        carries: Known<DcCurrent>,
    },
    /// Array inverters on a panel.
    Inverter,
}

/// What is chosen of the strings of one array. A device that is not found is left out of the ratings, not of the graph.
#[derive(Debug, Clone)]
pub struct StringsIn {
    /// What its parts begin with; holds no point.
    pub id: String,
    /// Charge controllers or array inverters.
    pub devices: u32,
    /// Strings in parallel at each, or at the fullest.
    pub strings: u32,
    /// How many of the devices, the last ones, have one string less.
    pub short: u32,
    /// Every string has a device.
    pub guarded: bool,
    /// Its rating, where one is found.
    pub string_device: Option<Known<DcCurrent>>,
    /// What a string's cable is made for.
    pub string_carries: Known<DcCurrent>,
    /// Rating of the disconnect of the strings of one device, where one is found.
    pub disconnect: Option<Known<DcCurrent>>,
    /// What the cable behind the combiner is made for.
    pub array_carries: Known<DcCurrent>,
    /// Highest array current of a controller or inverter, where published.
    pub takes: Option<Known<DcCurrent>>,
    /// Length of each string's cable.
    pub run: Known<Length>,
    /// What stands behind them.
    pub behind: Behind,
}

impl StringsIn {
    /// Strings at a device, counted from 1.
    fn at(&self, device: u32) -> u32 {
        let full = self.devices.saturating_sub(self.short);
        self.strings.saturating_sub(u32::from(device > full))
    }

    /// "controller" or "inverter", as in the ids of its parts.
    pub fn word(&self) -> &'static str {
        match self.behind {
            Behind::Controller { .. } => "controller",
            Behind::Inverter => "inverter",
        }
    }
}

/// Builds the strings of every array.
pub(super) fn arrays(b: &mut Builder, gear: &FullGear<'_>) {
    for array in &gear.strings {
        for d in 1..=array.devices {
            one(b, array, d);
        }
    }
}

/// All that belongs to one controller or inverter.
fn one(b: &mut Builder, array: &StringsIn, d: u32) {
    let id = format!("{}.{}.{d}", array.id, array.word());
    let name = format!("{} {} {d}", array.id, array.word());
    let dc = |b: &mut Builder, id: &str, name: &str| b.node(id, name, NodeKind::Dc, None);
    let run = dc(b, &format!("{id}.run"), &format!("{name}, array side of its disconnect"));
    let strings = array.at(d);
    let several = strings > 1;
    let joined = if several { dc(b, &format!("{id}.combiner"), &format!("{name} combiner")) } else { run };
    let wire = PartKind::Conductor;
    for s in 1..=strings {
        let (own, words) = (format!("{id}.string.{s}"), format!("{name} string {s}"));
        let modules = dc(b, &own, &format!("modules of {words}"));
        let end = if array.guarded {
            let end = dc(b, &format!("{own}.run"), &format!("{words}, array side of its device"));
            let device = (format!("{own}.device"), format!("device of {words}"));
            let rating = array.string_device.clone();
            direct(b, (&device.0, &device.1), (PartKind::Breaker, None), (end, joined), rating);
            end
        } else {
            joined
        };
        let cable = (format!("{own}.conductor"), format!("cable of {words}"));
        let carries = Some(array.string_carries.clone());
        direct(b, (&cable.0, &cable.1), (wire, None), (modules, end), carries);
        length(b, &array.run);
    }
    if several {
        let cable = (format!("{id}.conductor"), format!("array cable of {name}"));
        direct(b, (&cable.0, &cable.1), (wire, None), (joined, run), Some(array.array_carries.clone()));
    }
    let terminals = dc(b, &format!("{id}.terminals"), &format!("{name}, array terminals"));
    let disconnect = (format!("{id}.disconnect"), format!("array disconnect of {name}"));
    let rating = array.disconnect.clone();
    direct(b, (&disconnect.0, &disconnect.1), (PartKind::Breaker, None), (run, terminals), rating);
    if let Behind::Controller { device, carries } = &array.behind {
        let output = dc(b, &format!("{id}.output"), &format!("{name}, battery terminals"));
        direct(b, (&id, &name), (PartKind::Converter, None), (terminals, output), array.takes.clone());
        let behind = dc(b, &format!("{id}.output.run"), &format!("{name}, behind its device at the bus"));
        let bus = b.plant.dc_bus;
        // the device stands at the bus: a fault on the cable is fed by the battery
        let breaker = (format!("{id}.output.device"), format!("output device of {name}"));
        direct(b, (&breaker.0, &breaker.1), (PartKind::Breaker, None), (bus, behind), device.clone());
        let cable = (format!("{id}.output.conductor"), format!("output cable of {name}"));
        direct(b, (&cable.0, &cable.1), (wire, None), (behind, output), Some(carries.clone()));
    }
}

fn length(b: &mut Builder, length: &Known<Length>) {
    if let Some(part) = b.plant.parts.last_mut() {
        part.length = Some(length.clone());
    }
}
