//! A way and its end in an electrician's words.

use plant::full::FullPlant;
use plant::{Control, DeviceIx, SourceKind};

use super::Step;
use crate::{Coming, State};

/// Every step in words; what the same devices of several units do one after the other is told once.
pub(super) fn tell(way: &[Step], plant: &FullPlant) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    let mut steps = way.iter().peekable();
    while let Some(step) = steps.next() {
        told.push(match &step.by {
            Coming::Start => format!("normal operation: {}", sources(&step.state, plant)),
            Coming::Source(kind, there) => source(*kind, *there).to_owned(),
            Coming::Moved(device, at) => {
                let mut units: Vec<u8> = Vec::new();
                let alike = kind_of(plant, *device);
                while let Some(next) = steps.next_if(|next| match next.by {
                    Coming::Moved(other, to) => {
                        alike.is_some() && kind_of(plant, other) == alike && to == *at
                    }
                    _ => false,
                }) {
                    if let Coming::Moved(other, _) = next.by {
                        units.extend(plant.gear.get(other.0).and_then(|g| g.unit));
                    }
                }
                match (alike, units.is_empty()) {
                    (Some((kind, hand)), false) => {
                        units.extend(plant.gear.get(device.0).and_then(|g| g.unit));
                        units.sort_unstable();
                        several(kind, hand, &units, *at)
                    }
                    _ => moved(plant, *device, *at),
                }
            }
        });
    }
    told
}

/// What a unit's device is, without the unit, and whether a hand moves it.
fn kind_of(plant: &FullPlant, device: DeviceIx) -> Option<(&str, bool)> {
    let gear = plant.gear.get(device.0)?;
    let name = gear.name.strip_prefix(&format!("unit {} ", gear.unit?))?;
    Some((name, gear.control == Control::Manual))
}

fn several(kind: &str, hand: bool, units: &[u8], at: u8) -> String {
    let list = match units {
        [first, .., last] if usize::from(last - first) + 1 == units.len() && units.len() > 2 => {
            format!("{first} to {last}")
        }
        _ => units.iter().map(u8::to_string).collect::<Vec<_>>().join(" and "),
    };
    match (hand, at) {
        (true, 0) => format!("someone opens the {kind}s of units {list}"),
        (true, _) => format!("someone closes the {kind}s of units {list}"),
        (false, 0) => format!("the {kind}s of units {list} open"),
        (false, _) => format!("the {kind}s of units {list} close"),
    }
}

fn source(kind: SourceKind, there: bool) -> &'static str {
    match (kind, there) {
        (SourceKind::Utility, true) => "the utility returns",
        (SourceKind::Utility, false) => "the utility fails",
        (SourceKind::Generator, true) => "the generator starts",
        (SourceKind::Generator, false) => "the generator stops",
        (SourceKind::Group, true) => "the battery holds again",
        (SourceKind::Group, false) => "the battery is empty",
    }
}

fn moved(plant: &FullPlant, device: DeviceIx, at: u8) -> String {
    let Some(gear) = plant.gear.get(device.0) else { return String::new() };
    let hand = gear.control == Control::Manual;
    match (gear.positions.get(usize::from(at)).copied(), hand) {
        (Some("open"), true) => format!("someone opens {}", gear.name),
        (Some("closed"), true) => format!("someone closes {}", gear.name),
        (Some("off"), _) => format!("someone turns {} off", gear.name),
        (Some("open"), false) => format!("{} opens", gear.name),
        (Some("closed"), false) => format!("{} closes", gear.name),
        (Some(position), true) => {
            format!("someone turns {} to {}", gear.name, position.trim_start_matches("on "))
        }
        (Some(position), false) => format!("{} goes to {}", gear.name, position.trim_start_matches("on ")),
        (None, _) => format!("{} goes to a position that it does not have", gear.name),
    }
}

fn sources(state: &State, plant: &FullPlant) -> String {
    let mut words = Vec::new();
    if plant.supply(SourceKind::Utility).is_some() {
        words.push(if state.utility { "utility live" } else { "utility dead" });
    }
    if plant.supply(SourceKind::Generator).is_some() {
        words.push(if state.generator { "generator running" } else { "generator at rest" });
    }
    words.push(if state.battery { "battery holds" } else { "battery empty" });
    words.join(", ")
}

/// A state: its sources, then whatever stands otherwise than in normal operation.
pub(super) fn situation(state: &State, plant: &FullPlant) -> String {
    let mut words = vec![sources(state, plant)];
    for (gear, at) in plant.gear.iter().zip(&state.positions) {
        if *at != gear.normal
            && let Some(position) = gear.positions.get(usize::from(*at))
        {
            words.push(format!("{} {position}", gear.name));
        }
    }
    if words.len() == 1 {
        words.push("all gear as in normal operation".to_owned());
    }
    words.join(", ")
}
