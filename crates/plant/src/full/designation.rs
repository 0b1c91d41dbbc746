//! Reference designations: what a part is called on every sheet and in every list, and which parts share one name.

use std::collections::BTreeMap;

use super::{FullPlant, Part, PartKind};

/// Nodes of the group's own distribution: role paths, and names for people.
const BUSES: [(&str, &str); 3] =
    [("input", "group input bus"), ("generator.feed", "generator input bus"), ("output", "group output bus")];

/// A bus of the group's own distribution with the breakers that sit on it.
#[derive(Debug, Clone)]
pub struct Bus<'p> {
    /// Role path of its node.
    pub role: &'static str,
    /// Name for people.
    pub name: &'static str,
    /// Designation of its housing: class A by IEC 81346-2, several purposes in one, as no part of the plant has it.
    pub designation: String,
    /// Breakers on it, in the order of the plant.
    pub breakers: Vec<&'p Part>,
}

/// The buses of a plant that have breakers on them.
#[must_use]
pub fn buses(plant: &FullPlant) -> Vec<Bus<'_>> {
    let there = BUSES.iter().filter_map(|(role, name)| {
        let at = plant.node_ix(role)?;
        let on = |p: &&Part| p.direct.is_none() && (p.from == at || p.to == at);
        let breakers: Vec<&Part> =
            plant.parts.iter().filter(on).filter(|p| p.kind == PartKind::Breaker).collect();
        (!breakers.is_empty()).then_some((*role, *name, breakers))
    });
    (1..)
        .zip(there)
        .map(|(k, (role, name, breakers)): (u32, _)| Bus {
            role,
            name,
            designation: format!("-A{k}"),
            breakers,
        })
        .collect()
}

/// Role path without numbers of units, and of an array without those of its like parts; its own name stays whole.
#[must_use]
pub fn gathered(id: &str) -> String {
    let digits = |piece: &str| !piece.is_empty() && piece.chars().all(|c| c.is_ascii_digit());
    let Some(array) = array_of(id) else {
        return id.split('.').filter(|piece| !digits(piece)).collect::<Vec<_>>().join(".");
    };
    let rest = id.strip_prefix(array).unwrap_or_default();
    let pieces = rest.split('.').map(|piece| match piece.rsplit_once(' ') {
        Some((word, number)) if digits(number) => word,
        _ => piece,
    });
    let mut all = vec![array];
    all.extend(pieces.filter(|piece| !digits(piece) && !piece.is_empty()));
    all.join(".")
}

/// The array that a part, node or inverter belongs to: the beginning of its role path.
pub fn array_of(id: &str) -> Option<&str> {
    let rest = id.strip_prefix("array ").or(id.strip_prefix("array."))?;
    let own = rest.split('.').next().unwrap_or(rest);
    id.get(..id.len() - rest.len() + own.len())
}

/// Role path of a part, like parts gathered.
pub fn role_of(part: &Part) -> String {
    gathered(&part.id)
}

/// Designation of each role: class letter and running number, in the order of the plant. Contacts of one device have
/// that device's.
pub fn designations(plant: &FullPlant) -> BTreeMap<String, String> {
    let mut next: BTreeMap<char, usize> = BTreeMap::new();
    let mut devices: BTreeMap<String, String> = BTreeMap::new();
    let mut all = BTreeMap::new();
    let mut number = |class: char| {
        let number = next.entry(class).or_default();
        *number += 1;
        format!("-{class}{number}")
    };
    for part in &plant.parts {
        let role = role_of(part);
        if all.contains_key(&role) {
            continue;
        }
        let device = part.moved_by.and_then(|(d, _)| plant.gear.get(d.0)).filter(|g| g.unit.is_none());
        let name = match device {
            Some(gear) => devices.entry(gear.id.clone()).or_insert_with(|| number(part.class)).clone(),
            None => number(part.class),
        };
        all.insert(role, name);
    }
    for former in &plant.formers {
        let gear = former.moved_by.and_then(|(device, _)| plant.gear.get(device.0));
        if let Some(gear) = gear.filter(|g| !devices.contains_key(&g.id)) {
            all.insert(format!("{}.breaker", gear.id), number('Q'));
        }
        all.insert(former.id.clone(), number('T'));
    }
    all
}

/// The numbers that a role path loses when like parts are gathered: "3" of "unit.3.input", "1.2" of string 2 of
/// controller 1. None where it has none.
fn own_number(id: &str) -> Option<String> {
    let digits = |piece: &&str| !piece.is_empty() && piece.chars().all(|c| c.is_ascii_digit());
    let numbers: Vec<&str> = match array_of(id) {
        None => id.split('.').filter(digits).collect(),
        Some(array) => {
            let rest = id.strip_prefix(array).unwrap_or_default();
            let last =
                rest.split('.').map(|piece| piece.rsplit_once(' ').map_or(piece, |(_, number)| number));
            last.filter(digits).collect()
        }
    };
    (!numbers.is_empty()).then(|| numbers.join("."))
}

/// Whether locks and tags hang on it: each of several like it has a designation of its own.
fn numbered(part: &Part) -> bool {
    part.kind == PartKind::Breaker
}

/// What one part is called: the designation of its role, and its own number behind a point where several share the role.
#[must_use]
pub fn designation_of(plant: &FullPlant, names: &BTreeMap<String, String>, id: &str) -> Option<String> {
    let role = gathered(id);
    let name = names.get(&role)?;
    let several = plant.parts.iter().filter(|p| numbered(p) && role_of(p) == role).count() > 1;
    let number = own_number(id).filter(|_| several);
    Some(number.map_or_else(|| name.clone(), |number| format!("{name}.{number}")))
}

/// What the parts of a role are called together: "-Q10.1 to .6" where each has a designation of its own.
#[must_use]
pub fn together(plant: &FullPlant, names: &BTreeMap<String, String>, role: &str) -> Option<String> {
    let name = names.get(role)?;
    let all = plant.parts.iter().filter(|p| numbered(p) && role_of(p) == role);
    let numbers: Vec<String> = all.filter_map(|p| own_number(&p.id)).collect();
    Some(match numbers.as_slice() {
        [first, .., last] => format!("{name}.{first} to .{last}"),
        _ => name.clone(),
    })
}

/// Designations of all roles as [`together`] gives them.
#[must_use]
pub fn all_together(plant: &FullPlant) -> BTreeMap<String, String> {
    let names = designations(plant);
    let one = |role: &String| Some((role.clone(), together(plant, &names, role)?));
    names.keys().filter_map(one).collect()
}

/// Designation of the residual current device of a number from 1: class F by IEC 81346-2, protecting, as no part of the
/// plant has it.
#[must_use]
pub fn residual_designation(number: usize) -> String {
    format!("-F{number}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_of_several_has_a_number_of_its_own() {
        assert_eq!(own_number("unit.12.output").as_deref(), Some("12"));
        assert_eq!(own_number("array roof 2.controller 1.string 3.device").as_deref(), Some("1.3"));
        assert_eq!(own_number("battery.string.2.device").as_deref(), Some("2"));
        assert_eq!(own_number("backup.feeder"), None);
        assert_eq!(own_number("array roof 2.disconnect"), None);
    }

    #[test]
    fn like_parts_share_a_role_and_the_name_of_an_array_stays_whole() {
        assert_eq!(gathered("unit.3.output.run.conductor"), "unit.output.run.conductor");
        assert_eq!(
            gathered("array roof 2.controller 1.string 3.device"),
            "array roof 2.controller.string.device"
        );
        assert_eq!(array_of("array roof 2.controller 1"), Some("array roof 2"));
        assert_eq!(array_of("battery.string.1"), None);
    }
}
