//! P4: every unit can be isolated from all sides behind breakers that are locked open, and in a bypass the panel is
//! served meanwhile.
//!
//! A unit is isolated when no way leads from any of its terminals to anything that is not the unit, other than
//! through a lockable device moved by hand that stands open. Its own relays count as closed. In TT and IT the neutral
//! must be parted too (IEC 60364-4-46, from memory). Where the site asks for a bypass, some position must serve the
//! panel from outside without any unit while that unit is isolated, and one while all are.

use biodivine_lib_bdd::Bdd;
use plant::full::{NeutralPath, Part};
use plant::{Control, DeviceIx};
use site::Earthing;

use super::model::{Layer, Model};
use super::{Context, Outcome};

/// What was found, and how many states show it.
pub(super) fn outcome(context: &Context<'_, '_>) -> Outcome {
    let (model, plant) = (context.model, context.model.plant);
    let served = model.outside.get(plant.panel.0).cloned().unwrap_or_else(|| model.space.no());
    let mut all = context.reachable.clone();
    for unit in &plant.units {
        let isolated = isolated(model, unit.number);
        if context.reachable.and(&isolated).is_false() {
            return Outcome::impossible(
                format!("unit.{}", unit.number),
                format!("unit {} cannot be isolated: {}", unit.number, open_side(model, unit.number)),
                "a breaker that can be locked open on every side of the unit",
            );
        }
        if context.input.bypass_asked && context.reachable.and(&isolated).and(&served).is_false() {
            return Outcome::impossible(
                format!("unit.{}", unit.number),
                format!("no position serves the panel while unit {} is isolated", unit.number),
                "a bypass that starts ahead of the units' own breakers",
            );
        }
        all = all.and(&isolated);
    }
    if context.input.bypass_asked {
        all = all.and(&served);
        if all.is_false() {
            return Outcome::impossible(
                "bypass",
                "no position serves the panel while all units are isolated",
                "a bypass round all units",
            );
        }
    }
    Outcome::Holds
}

/// States in which a unit is isolated.
fn isolated(model: &Model<'_>, unit: u8) -> Bdd {
    let mut free = escapes(model, unit, Layer::Lines);
    if matches!(model.plant.earthing, Earthing::Tt | Earthing::It) {
        free = free.or(&escapes(model, unit, Layer::Neutral));
    }
    free.not()
}

/// States in which a way leads out of the unit.
fn escapes(model: &Model<'_>, unit: u8, layer: Layer) -> Bdd {
    let own = |node: usize| model.plant.nodes.get(node).is_some_and(|n| n.unit == Some(unit));
    let seeds: Vec<(usize, Bdd)> =
        (0..model.plant.nodes.len()).filter(|n| own(*n)).map(|n| (n, model.space.yes())).collect();
    // what is beyond the first part outside the unit does not matter
    let reached = model.spread(&seeds, |_, part| {
        (own(part.from.0) || own(part.to.0)).then(|| passes(model, part, layer)).flatten()
    });
    reached.iter().enumerate().filter(|(n, _)| !own(*n)).fold(model.space.no(), |any, (_, out)| any.or(out))
}

/// States in which a part is no barrier that a person may rely on.
fn passes(model: &Model<'_>, part: &Part, layer: Layer) -> Option<Bdd> {
    match (layer, part.neutral) {
        (Layer::Lines, _) if !part.lines => return None,
        (Layer::Neutral, NeutralPath::Absent) => return None,
        (Layer::Neutral, NeutralPath::Solid) => return Some(model.space.yes()),
        _ => {}
    }
    Some(match part.moved_by {
        Some((device, closed)) if lockable(model, device) => model.space.at(device, closed),
        _ => model.space.yes(),
    })
}

fn lockable(model: &Model<'_>, device: DeviceIx) -> bool {
    model.plant.gear.get(device.0).is_some_and(|g| g.lockable && g.control == Control::Manual)
}

/// A part at the unit that no lockable device parts.
fn open_side(model: &Model<'_>, unit: u8) -> String {
    let own = |node: usize| model.plant.nodes.get(node).is_some_and(|n| n.unit == Some(unit));
    let side = model.plant.parts.iter().find(|p| {
        own(p.from.0) != own(p.to.0) && !p.moved_by.is_some_and(|(device, _)| lockable(model, device))
    });
    match side {
        Some(part) => format!("{} cannot be locked open", part.name),
        None => "its breakers are never open together".to_owned(),
    }
}
