//! Names of states and steps, in an electrician's words.

use plant::{Plant, SourceKind};

use crate::{Coming, Reached, State};

/// A state in words: sources, then how the panel is fed, then every device that is not where it rests.
pub fn situation(state: &State, plant: &Plant) -> String {
    let mut words = Vec::new();
    if plant.source(SourceKind::Utility).is_some() {
        words.push(if state.utility { "utility there" } else { "utility lost" }.to_owned());
    }
    if state.generator {
        words.push("generator running".to_owned());
    }
    if !state.battery {
        words.push("battery empty or units off".to_owned());
    }
    for (k, device) in plant.devices.iter().enumerate() {
        let Some(&at) = state.positions.get(k) else { continue };
        if device.members > 1 {
            let all = device.members;
            words.push(match at {
                0 => format!("{} open", device.name),
                at if at == all => format!("{} closed", device.name),
                at => format!("{at} of {all} {} closed", device.name),
            });
        } else if let Some(position) = device.positions.get(usize::from(at)) {
            words.push(match *position {
                "open" | "closed" => format!("{} {position}", device.name.trim_end_matches('s')),
                position => format!("{} {position}", device.name),
            });
        }
    }
    words.join(", ")
}

/// A step in words.
pub fn describe(reached: &Reached, plant: &Plant) -> String {
    match &reached.by {
        Coming::Start => format!("normal operation: {}", situation(&reached.state, plant)),
        Coming::Source(kind, there) => match (kind, there) {
            (SourceKind::Utility, true) => "the utility returns".to_owned(),
            (SourceKind::Utility, false) => "the utility fails".to_owned(),
            (SourceKind::Generator, true) => "the generator starts".to_owned(),
            (SourceKind::Generator, false) => "the generator stops".to_owned(),
            (SourceKind::Group, true) => "the units are on and the battery holds".to_owned(),
            (SourceKind::Group, false) => "the battery is empty, or the units are switched off".to_owned(),
        },
        Coming::Moved(device, at) => match plant.devices.get(device.0) {
            Some(device) if device.members > 1 => {
                format!("{} move: {at} of {} closed", device.name, device.members)
            }
            Some(device) => {
                let position = device.positions.get(usize::from(*at)).copied().unwrap_or("?");
                format!("{} goes to: {position}", device.name)
            }
            None => String::new(),
        },
    }
}
