//! Ways to break a plant.

use plant::full::{Bond, BondPlace, FullPlant, Gear, NeutralPath, Node, NodeKind, Part, PartKind};
use plant::{Condition, Control, DeviceIx, NodeIx, Rule};

use crate::plants::{Shape, build};

pub fn with(shape: &Shape, edit: impl Fn(&mut FullPlant)) -> FullPlant {
    let mut plant = build(shape);
    edit(&mut plant);
    plant
}

pub fn part<'p>(plant: &'p mut FullPlant, id: &str) -> &'p mut Part {
    plant.parts.iter_mut().find(|p| p.id == id).unwrap_or_else(|| panic!("no part {id}"))
}

pub fn gear<'p>(plant: &'p mut FullPlant, id: &str) -> &'p mut Gear {
    plant.gear.iter_mut().find(|g| g.id == id).unwrap_or_else(|| panic!("no device {id}"))
}

pub fn node(plant: &FullPlant, id: &str) -> NodeIx {
    plant.node_ix(id).unwrap_or_else(|| panic!("no node {id}"))
}

pub fn device(plant: &FullPlant, id: &str) -> DeviceIx {
    plant.gear_ix(id).unwrap_or_else(|| panic!("no device {id}"))
}

/// A device of its own for a part.
pub fn own_device(plant: &mut FullPlant, id: &str, normal: u8, control: Control) -> DeviceIx {
    plant.gear.push(Gear {
        id: id.to_owned(),
        name: id.to_owned(),
        class: 'Q',
        positions: vec!["open", "closed"],
        normal,
        control,
        lockable: true,
        unit: None,
    });
    DeviceIx(plant.gear.len() - 1)
}

/// A second way between two nodes, as a breaker of 20 A that is closed.
pub fn breaker_between(plant: &mut FullPlant, from: &str, to: &str) {
    let ends = (node(plant, from), node(plant, to));
    let device = own_device(plant, "stray breaker", 1, Control::Manual);
    let model = plant.parts.iter().find(|p| p.kind == PartKind::Breaker && p.rating.is_some()).expect("one");
    let stray = Part {
        id: "stray".to_owned(),
        name: "stray breaker".to_owned(),
        from: ends.0,
        to: ends.1,
        neutral: NeutralPath::Solid,
        moved_by: Some((device, 1)),
        ..model.clone()
    };
    plant.parts.push(stray);
}

pub fn bond(plant: &mut FullPlant, at: &str, place: BondPlace, while_: Condition) {
    let node = node(plant, at);
    plant.bonds.push(Bond {
        id: "stray bond".to_owned(),
        name: "stray bond".to_owned(),
        node,
        place,
        while_,
    });
}

pub fn always() -> Condition {
    Condition::All(Vec::new())
}

pub fn rules(plant: &mut FullPlant, id: &str) -> Vec<Rule> {
    match &gear(plant, id).control {
        Control::Automatic(rules) => rules.clone(),
        Control::Manual => panic!("{id} is automatic"),
    }
}

/// A conductor of 20 A from a node.
pub fn tap(plant: &mut FullPlant, from: &str) {
    let from = node(plant, from);
    let known = derivation::Known::assumed("I_w", "tap", quantity::Current::of(20.0), "test");
    plant.nodes.push(Node {
        id: "tap".to_owned(),
        name: "end of the tap".to_owned(),
        kind: NodeKind::Terminal,
        neutral: true,
        needs_neutral: false,
        unit: None,
    });
    let to = NodeIx(plant.nodes.len() - 1);
    plant.parts.push(Part {
        id: "tap.conductor".to_owned(),
        name: "tap".to_owned(),
        class: 'W',
        kind: PartKind::Conductor,
        from,
        to,
        lines: true,
        neutral: NeutralPath::Solid,
        moved_by: None,
        rating: Some(known),
        ahead: None,
        direct: None,
        length: None,
        resistance: None,
        exempt: Vec::new(),
    });
}
