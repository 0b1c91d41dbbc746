//! Names of states and steps, in an electrician's words.

use plant::{Device, Plant, SourceKind};

use crate::{Coming, Reached, State};

/// A state in words: its sources, then every device.
pub fn situation(state: &State, plant: &Plant) -> String {
    let mut words = Vec::new();
    if plant.source(SourceKind::Utility).is_some() {
        words.push(if state.utility { "utility live" } else { "utility lost" }.to_owned());
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
                at => format!("{at} of {all} {}{} closed", device.name, where_(device, plant)),
            });
        } else {
            let position = device.positions.get(usize::from(at)).copied().unwrap_or("in no known position");
            words.push(match position {
                "open" | "closed" if in_all(device, plant) > 1 => format!("{} {position}", device.name),
                "open" | "closed" => format!("{} {position}", one(device)),
                position => format!("{} {position}", device.name),
            });
        }
    }
    words.join(", ")
}

/// A step in words. [`tell`] puts the steps of a whole way in fewer words.
pub fn describe(reached: &Reached, plant: &Plant) -> String {
    match &reached.by {
        Coming::Start => format!("normal operation: {}", situation(&reached.state, plant)),
        Coming::Source(kind, there) => source(*kind, *there).to_owned(),
        Coming::Moved(device, at) => {
            let wants = reached.due.iter().find(|(due, _)| due == device).map(|(_, position)| *position);
            plant.devices.get(device.0).map_or_else(String::new, |device| moved(device, plant, *at, wants))
        }
    }
}

/// A whole way in words: as [`describe`], with what the relays of a set do one after the other in one phrase.
pub fn tell(way: &[&Reached], plant: &Plant) -> Vec<String> {
    let mut told = Vec::new();
    let mut k = 0;
    while let Some(reached) = way.get(k) {
        let last = run_from(way, k, plant);
        match (&reached.by, way.get(last)) {
            (Coming::Moved(device, first), Some(end)) if last > k => {
                let at = end.state.positions.get(device.0).copied().unwrap_or_default();
                if let Some(device) = plant.devices.get(device.0) {
                    told.push(several(device, plant, at, at > *first, last - k + 1));
                }
            }
            _ => told.push(describe(reached, plant)),
        }
        k = last + 1;
    }
    told
}

/// The last step of a run of the same set moving the same way.
fn run_from(way: &[&Reached], first: usize, plant: &Plant) -> usize {
    let step = |k: usize| match way.get(k).map(|r| &r.by) {
        Some(Coming::Moved(device, at)) if plant.devices.get(device.0).is_some_and(|d| d.members > 1) => {
            Some((*device, *at))
        }
        _ => None,
    };
    let before = |k: usize, device: plant::DeviceIx| {
        k.checked_sub(1).and_then(|k| way.get(k)).and_then(|r| r.state.positions.get(device.0)).copied()
    };
    let closes = |k: usize| step(k).and_then(|(device, at)| before(k, device).map(|was| at > was));
    let mut last = first;
    while let (Some((device, _)), Some((next, _))) = (step(last), step(last + 1))
        && device == next
        && closes(last + 1) == closes(first)
    {
        last += 1;
    }
    last
}

/// How many there are of a device: of relays one a unit, while the graph gathers those of one leg.
fn in_all(device: &Device, plant: &Plant) -> u8 {
    if device.name.ends_with("relays") { plant.units.max(device.members) } else { device.members }
}

/// Where a set of relays is counted, if not over all units.
fn where_(device: &Device, plant: &Plant) -> &'static str {
    let all = usize::from(in_all(device, plant));
    match usize::from(device.members) {
        members if members == all => "",
        members if members * plant.system.legs().len() == all => " on each leg",
        _ => " on the leg with the fewest",
    }
}

/// All of a device.
fn every(device: &Device, plant: &Plant) -> String {
    match in_all(device, plant) {
        2 => format!("both {}", device.name),
        all => format!("all {all} {}", device.name),
    }
}

fn several(device: &Device, plant: &Plant, at: u8, closes: bool, how_many: usize) -> String {
    let all = device.members;
    let (verb, end) = if closes { ("close", all) } else { ("open", 0) };
    if how_many == usize::from(all) {
        return format!("{} {verb}", every(device, plant));
    }
    let on = where_(device, plant);
    if at == end {
        return format!("the other {how_many} {}{on} {verb}", device.name);
    }
    format!("{how_many} {}{on} {verb}: {at} of {all} closed", device.name)
}

fn source(kind: SourceKind, there: bool) -> &'static str {
    match (kind, there) {
        (SourceKind::Utility, true) => "the utility returns",
        (SourceKind::Utility, false) => "the utility fails",
        (SourceKind::Generator, true) => "the generator starts",
        (SourceKind::Generator, false) => "the generator stops",
        (SourceKind::Group, true) => "the units are on and the battery holds",
        (SourceKind::Group, false) => "the battery is empty, or the units are switched off",
    }
}

/// `wants`: where the rest of a set still goes.
fn moved(device: &Device, plant: &Plant, at: u8, wants: Option<u8>) -> String {
    let (all, one, on) = (device.members, one(device), where_(device, plant));
    if all > 1 {
        return match (at, wants) {
            (0, _) => format!("the last {one}{on} opens"),
            (at, _) if at == all => format!("the last {one}{on} closes"),
            (at, Some(1)) => format!("a {one}{on} closes: {at} of {all} closed"),
            (at, Some(_)) => format!("a {one}{on} opens: {at} of {all} still closed"),
            (at, None) => format!("a {one}{on} moves: {at} of {all} closed"),
        };
    }
    match device.positions.get(usize::from(at)).copied() {
        Some("open") if in_all(device, plant) > 1 => format!("{} open", every(device, plant)),
        Some("closed") if in_all(device, plant) > 1 => format!("{} close", every(device, plant)),
        Some("open") => format!("the {one} opens"),
        Some("closed") => format!("the {one} closes"),
        Some("off") => format!("the {} is turned off", device.name),
        Some(position) => {
            format!("the {} goes to {}", device.name, position.strip_prefix("on ").unwrap_or(position))
        }
        None => format!("the {} goes to a position that it does not have", device.name),
    }
}

/// The name of one member of a set.
fn one(device: &Device) -> &str {
    device.name.strip_suffix('s').filter(|_| device.name.ends_with("relays")).unwrap_or(&device.name)
}

#[cfg(test)]
mod tests {
    use plant::{Control, DeviceIx, NodeIx, Source};
    use quantity::VoltageSystem;

    use super::*;

    fn plant(members: u8) -> Plant {
        let device = |name: &str, positions: &[&'static str], members| Device {
            id: name.to_owned(),
            name: name.to_owned(),
            positions: positions.to_vec(),
            members,
            normal: 0,
            control: Control::Manual,
        };
        Plant {
            system: VoltageSystem::Split120_240,
            nodes: vec!["main panel".to_owned()],
            elements: Vec::new(),
            devices: vec![
                device("transfer relays", &["open", "closed"], members),
                device("transfer switch", &["on the utility", "on the group"], 1),
                device("bypass gear", &["on the units", "on bypass", "off"], 1),
            ],
            sources: vec![Source { id: "utility".to_owned(), kind: SourceKind::Utility, node: NodeIx(0) }],
            group_output: NodeIx(0),
            backup_panel: NodeIx(0),
            units: members,
        }
    }

    fn step(by: Coming, positions: [u8; 3], due: Vec<(DeviceIx, u8)>) -> Reached {
        let state = State { utility: true, generator: false, battery: true, positions: positions.to_vec() };
        Reached { state, due, by, before: None }
    }

    #[test]
    fn situations_read_as_one_would_say_them() {
        let told = |members, positions| {
            situation(&step(Coming::Start, positions, Vec::new()).state, &plant(members))
        };
        assert_eq!(
            told(6, [5, 1, 0]),
            "utility live, 5 of 6 transfer relays closed, transfer switch on the group, bypass gear on the units"
        );
        assert_eq!(
            told(6, [0, 0, 2]),
            "utility live, transfer relays open, transfer switch on the utility, bypass gear off"
        );
        assert_eq!(
            told(1, [1, 0, 1]),
            "utility live, transfer relay closed, transfer switch on the utility, bypass gear on bypass"
        );
    }

    #[test]
    fn steps_say_which_way_a_relay_went() {
        let relays = DeviceIx(0);
        let told =
            |members, at, due| describe(&step(Coming::Moved(relays, at), [at, 0, 0], due), &plant(members));
        assert_eq!(told(6, 5, vec![(relays, 0)]), "a transfer relay opens: 5 of 6 still closed");
        assert_eq!(told(6, 5, vec![(relays, 1)]), "a transfer relay closes: 5 of 6 closed");
        assert_eq!(told(6, 0, Vec::new()), "the last transfer relay opens");
        assert_eq!(told(1, 1, Vec::new()), "the transfer relay closes");
        let other = |device, at| {
            describe(&step(Coming::Moved(DeviceIx(device), at), [0, 0, 0], Vec::new()), &plant(1))
        };
        assert_eq!(other(1, 1), "the transfer switch goes to the group");
        assert_eq!(other(2, 1), "the bypass gear goes to bypass");
        assert_eq!(other(2, 2), "the bypass gear is turned off");
    }

    #[test]
    fn a_run_of_relays_is_told_once() {
        let relay = |at| step(Coming::Moved(DeviceIx(0), at), [at, 0, 0], Vec::new());
        let fails = step(Coming::Source(SourceKind::Utility, false), [3, 0, 0], Vec::new());
        let way = [step(Coming::Start, [3, 0, 0], Vec::new()), fails, relay(2), relay(1), relay(0)];
        let told = |way: &[Reached]| tell(&way.iter().collect::<Vec<_>>(), &plant(3));
        assert_eq!(told(&way)[1..], ["the utility fails", "all 3 transfer relays open"]);
        assert_eq!(told(&way[..4])[2..], ["2 transfer relays open: 1 of 3 closed"]);
        let turns = [relay(3), relay(2), relay(1), relay(2), relay(3)];
        assert_eq!(
            told(&turns)[1..],
            ["2 transfer relays open: 1 of 3 closed", "the other 2 transfer relays close"]
        );
    }

    /// The graph gathers the relays of one leg; every unit has one.
    #[test]
    fn relays_are_counted_over_all_units_and_legs() {
        let of = |system, on_leg, units| Plant { system, units, ..plant(on_leg) };
        let relay = |at| step(Coming::Moved(DeviceIx(0), at), [at, 0, 0], Vec::new());
        let told = |plant: &Plant, steps: &[u8]| {
            let way: Vec<Reached> = steps.iter().map(|at| relay(*at)).collect();
            let all = tell(&way.iter().collect::<Vec<_>>(), plant);
            all.get(1..).unwrap_or_default().join("; ")
        };
        let (wye, split) = (VoltageSystem::Wye120_208, VoltageSystem::Split120_240);
        // nine one-leg units on three phases, six on two legs, one on each of three
        assert_eq!(told(&of(wye, 3, 9), &[3, 2, 1, 0]), "all 9 transfer relays open");
        assert_eq!(told(&of(split, 3, 6), &[0, 1, 2, 3]), "all 6 transfer relays close");
        assert_eq!(told(&of(wye, 1, 3), &[1, 0]), "all 3 transfer relays open");
        // two that span both legs, and one
        assert_eq!(told(&of(split, 2, 2), &[2, 1, 0]), "both transfer relays open");
        assert_eq!(told(&of(split, 1, 1), &[1, 0]), "the transfer relay opens");
        assert_eq!(told(&of(wye, 3, 9), &[3, 2, 1]), "2 transfer relays on each leg open: 1 of 3 closed");
        assert_eq!(told(&of(wye, 3, 9), &[3, 2]), "a transfer relay on each leg moves: 2 of 3 closed");
        // 3, 2 and 2 units: a leg has no more than its own
        assert_eq!(
            told(&of(wye, 2, 7), &[2, 1]),
            "a transfer relay on the leg with the fewest moves: 1 of 2 closed"
        );
        let at = |plant: &Plant, at| situation(&step(Coming::Start, [at, 0, 0], Vec::new()).state, plant);
        assert!(at(&of(wye, 3, 9), 1).contains("1 of 3 transfer relays on each leg closed"));
        assert!(at(&of(wye, 1, 3), 1).contains("transfer relays closed"));
        assert!(at(&of(wye, 3, 9), 3).contains("live, transfer relays closed"));
    }
}
