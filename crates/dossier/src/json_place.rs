//! JSON of room, wall and links.

use derivation::{Graph, number};
use design::Placed;
use place::Rect;
use place::link::LinkPlan;
use place::room::RoomPlan;
use place::wall::WallPlan;
use quantity::{Length, Quantity};
use serde_json::{Value, json};

use crate::json::amount;

fn metres(length: Length) -> Value {
    number(length.si())
}

fn rect(r: &Rect) -> Value {
    json!({ "left_m": metres(r.left), "bottom_m": metres(r.bottom), "width_m": metres(r.width), "height_m": metres(r.height) })
}

pub(crate) fn placed(g: &mut Graph, placed: &Placed) -> Value {
    said(json!({
        "room": placed.room.as_ref().map(|r| room(g, r)),
        "wall": placed.wall.as_ref().map(|w| wall(g, w)),
        "links": links(g, &placed.links),
    }))
}

/// What is not known has no key.
fn said(value: Value) -> Value {
    match value {
        Value::Object(map) => {
            map.into_iter().filter(|(_, v)| !v.is_null()).map(|(k, v)| (k, said(v))).collect()
        }
        Value::Array(all) => all.into_iter().map(said).collect(),
        other => other,
    }
}

fn room(g: &mut Graph, r: &RoomPlan) -> Value {
    let states: Vec<Value> =
        r.states.iter().map(|s| json!({ "state": s.state, "heat": amount(g, s.heat.node()) })).collect();
    json!({
        "states": states,
        "heat": amount(g, r.heat.node()),
        "outside": amount(g, r.outside.node()),
        "stated": amount(g, r.stated.node()),
        "density": amount(g, r.density.node()),
        "air_flow": r.flow.as_ref().map(|k| amount(g, k.node())),
        "carried": r.carried.as_ref().map(|k| amount(g, k.node())),
        "settles_at": r.settled.as_ref().map(|k| amount(g, k.node())),
        "rating_left": r.factor.as_ref().map(|k| amount(g, k.node())),
        "needed_air_flow": r.needed_flow.as_ref().map(|k| amount(g, k.node())),
        "needed_cooling": amount(g, r.needed_cooling.node()),
        "battery_gas": r.gas.as_ref().map(|gas| json!({
            "air_flow": amount(g, gas.flow.node()),
            "opening": amount(g, gas.opening.node()),
            "distance": amount(g, gas.distance.node()),
        })),
    })
}

fn wall(g: &mut Graph, w: &WallPlan) -> Value {
    let items: Vec<Value> = w
        .items
        .iter()
        .map(|i| {
            json!({
                "part": i.item.part,
                "record": i.item.record,
                "kind": i.item.kind.word(),
                "body": rect(&i.body),
                "depth_m": metres(i.item.footprint.depth),
                "keep_clear": rect(&i.keep_clear),
                "working": i.working.as_ref().map(rect),
                "studs_m": i.studs.iter().map(|s| metres(*s)).collect::<Vec<_>>(),
                "on_floor": i.on_floor,
                "mass_on_fixing": amount(g, i.mass_per_fixing.node()),
            })
        })
        .collect();
    let obstacles: Vec<Value> = w
        .obstacles
        .iter()
        .map(|o| json!({ "name": o.name, "body": rect(&o.body), "depth_m": metres(o.depth) }))
        .collect();
    json!({
        "stated": w.stated,
        "width": amount(g, w.width.node()),
        "height": amount(g, w.height.node()),
        "studs_m": w.studs.iter().map(|s| metres(*s)).collect::<Vec<_>>(),
        "obstacles": obstacles,
        "items": items,
        "left_over": w.left_over.iter().map(|i| i.part.clone()).collect::<Vec<_>>(),
        "not_placed": w.not_placed.iter().map(|(what, why)| json!({ "what": what, "why": why })).collect::<Vec<_>>(),
        "needed_width": w.needed_width.as_ref().map(|k| amount(g, k.node())),
        "working_depth": w.working_depth.as_ref().map(|k| amount(g, k.node())),
        "highest_handle": amount(g, w.reach.node()),
        "mass": amount(g, w.mass.node()),
    })
}

fn links(g: &mut Graph, plan: &LinkPlan) -> Value {
    let links: Vec<Value> = plan
        .links
        .iter()
        .map(|l| {
            let devices: Vec<Value> = l
                .devices
                .iter()
                .map(|d| json!({ "part": d.part, "address": d.address, "lead": d.lead, "terminated": d.terminated }))
                .collect();
            let cables: Vec<Value> = l
                .cables
                .iter()
                .map(|c| json!({ "name": c.name, "from": c.from, "to": c.to, "length": amount(g, c.length.node()), "cuts_off": c.cuts_off }))
                .collect();
            json!({
                "name": l.name,
                "kind": l.kind,
                "shape": l.shape.word(),
                "devices": devices,
                "cables": cables,
                "total": amount(g, l.total.node()),
                "no_shorter_order": l.shortest,
                "if_lost": l.if_lost,
            })
        })
        .collect();
    json!({ "lead": plan.lead, "links": links })
}
