//! Room, wall and links in `check`.

use std::fmt::Write as _;

use design::Placed;
use dossier::Dossier;
use place::link::LinkPlan;
use place::room::RoomPlan;
use place::wall::WallPlan;

use crate::output;

/// What stands in its place.
pub(super) fn write(out: &mut String, dossier: &Dossier<'_>, width: usize) {
    let Some(Placed { room, wall, links }) = dossier.design.and_then(|d| d.placed.as_ref()) else { return };
    let _ = writeln!(out, "in its place");
    let mut say = |text: &str| {
        for (k, line) in output::wrapped(text, width - 4).iter().enumerate() {
            let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
        }
    };
    if let Some(room) = room {
        say(&in_room(room));
    }
    if let Some(wall) = wall {
        on_wall(wall).iter().for_each(|line| say(line));
    }
    linked(links).iter().for_each(|line| say(line));
    out.push('\n');
}

fn in_room(room: &RoomPlan) -> String {
    let state = room.states.first().map_or("", |s| s.state.as_str());
    let mut text = format!("room: {} of heat ({state}), outside {}", room.heat.value(), room.outside.value());
    if let Some(carried) = &room.carried {
        let _ = write!(text, "; {} leave at {}", carried.value(), room.stated.value());
    }
    match &room.settled {
        Some(settled) => {
            let _ = write!(text, "; it settles at {}", settled.value());
        }
        None => {
            let _ = write!(text, "; counted on: {}", room.stated.value());
        }
    }
    text
}

fn on_wall(wall: &WallPlan) -> Vec<String> {
    let head = if wall.stated { "wall" } else { "smallest wall found" };
    let mut all = vec![format!(
        "{head}: {} wide, {} high, {} on it; left edge and height above the floor of each:",
        wall.width.value(),
        wall.height.value(),
        wall.mass.value()
    )];
    let items = wall.items.iter().map(|i| {
        let floor = if i.on_floor { ", on the floor" } else { "" };
        format!("{} {} / {}{floor}", i.item.part, i.body.left, i.body.bottom)
    });
    all.push(format!("  {}", items.collect::<Vec<_>>().join("; ")));
    all
}

fn linked(plan: &LinkPlan) -> Vec<String> {
    let link = |l: &place::link::Link| {
        let devices: Vec<String> = l
            .devices
            .iter()
            .map(|d| {
                let address = d.address.map_or(String::new(), |a| format!(" [{a}]"));
                format!("{}{address}", d.part)
            })
            .collect();
        let ends: Vec<&str> = l.devices.iter().filter(|d| d.terminated).map(|d| d.part.as_str()).collect();
        let ends =
            if ends.is_empty() { String::new() } else { format!(", terminated at {}", ends.join(" and ")) };
        format!(
            "link {} ({}): {}; {} of cable{ends}",
            l.name,
            l.shape.word(),
            devices.join(", "),
            l.total.value()
        )
    };
    let lead = (!plan.links.is_empty()).then(|| format!("lead unit: {}", plan.lead));
    plan.links.iter().map(link).chain(lead).collect()
}
