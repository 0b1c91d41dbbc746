//! From a position of the gathered plant to one of the full plant.

use super::FullPlant;
use crate::{DeviceIx, Plant};

impl FullPlant {
    /// Where every device stands while the gathered plant stands in `positions`: breakers closed, the relays of as
    /// many units on each leg as the set has closed (at least one where any is). None where a device of the
    /// gathered plant is not in this one.
    pub fn positions_like(&self, plant: &Plant, positions: &[u8]) -> Option<Vec<u8>> {
        let mut all: Vec<u8> = self.gear.iter().map(|g| g.normal).collect();
        for (device, &at) in plant.devices.iter().zip(positions) {
            match device.id.as_str() {
                "unit.relay" => self.relays(&mut all, "relay", (at, device.members)),
                "unit.generator relay" => self.relays(&mut all, "second relay", (at, device.members)),
                "bypass" if self.gear_ix("bypass").is_none() => {
                    put(&mut all, self.gear_ix("bypass.units")?, u8::from(at == 0));
                    put(&mut all, self.gear_ix("bypass.bypass")?, u8::from(at == 1));
                }
                id => put(&mut all, self.gear_ix(id)?, at),
            }
        }
        Some(all)
    }

    /// Closes so many relays of each leg, the first units' first.
    fn relays(&self, all: &mut [u8], which: &str, (closed, members): (u8, u8)) {
        for unit in &self.units {
            let place = self.units.iter().filter(|u| u.legs == unit.legs && u.number < unit.number).count();
            let on = closed >= members || place < usize::from(closed);
            if let Some(device) = self.gear_ix(&format!("unit.{}.{which}", unit.number)) {
                put(all, device, u8::from(on));
            }
        }
    }
}

fn put(all: &mut [u8], device: DeviceIx, at: u8) {
    if let Some(position) = all.get_mut(device.0) {
        *position = at;
    }
}
