//! JSON of what flows in a state.

use assess::{CornerDetail, StateDetail};
use derivation::number;
use quantity::{Leg, Quantity};
use serde_json::{Value, json};

use crate::papers::by_leg;

fn ampere(a: f64) -> Value {
    json!({ "value": number(a), "unit": "A" })
}

fn volt(v: f64) -> Value {
    json!({ "value": number(v), "unit": "V" })
}

fn volts(legs: &[Leg], v: &[Option<f64>; 3]) -> Value {
    by_leg(legs, |k| {
        v.get(k).copied().flatten().map_or(Value::Null, |v| json!({ "value": number(v), "unit": "V" }))
    })
}

/// A state with what flows in all its corners.
pub fn state_json(legs: &[Leg], s: &StateDetail) -> Value {
    json!({
        "name": s.name,
        "situation": s.situation,
        "steps": s.steps,
        "more_like_it": s.more_like_it,
        "corners": s.corners.iter().map(|c| corner(legs, c)).collect::<Vec<_>>(),
    })
}

fn corner(legs: &[Leg], c: &CornerDetail) -> Value {
    let parts: Vec<Value> = c
        .parts
        .iter()
        .map(|p| {
            json!({
                "part": p.role,
                "name": p.name,
                "current": by_leg(legs, |k| p.legs_a.get(k).map_or(Value::Null, |a| ampere(*a))),
                "neutral": ampere(p.neutral_a),
                "neutral_most": ampere(p.neutral_most_a),
            })
        })
        .collect();
    let relays: Vec<Value> = c
        .relays
        .iter()
        .map(|r| {
            json!({
                "leg": r.leg.to_string(),
                "largest_possible": ampere(r.corner.value().si()),
                "draws": r.draws.as_ref().map(|d| json!({
                    "median": ampere(d.median.value().si()),
                    "not_exceeded_in_95_percent": ampere(d.p95.value().si()),
                    "not_exceeded_in_99_percent": ampere(d.p99.value().si()),
                    "largest": ampere(d.largest.value().si()),
                })),
            })
        })
        .collect();
    json!({
        "while": c.word,
        "problem": c.problem,
        "backup_panel": volts(legs, &c.panel_v),
        "main_panel": volts(legs, &c.main_v),
        "parts": parts,
        "unit_least": c.unit_a.map(|(least, _)| ampere(least)),
        "unit_most": c.unit_a.map(|(_, most)| ampere(most)),
        "battery_most": c.dc_a.map(ampere),
        "direct_current": c.dc.as_ref().map(|dc| json!({
            "unit_lowest": dc.unit_v.map(volt),
            "bus_lowest": dc.bus_v.map(|(v, _)| volt(v)),
            "bus_highest": dc.bus_v.map(|(_, v)| volt(v)),
            "strings": dc.strings_a.iter().map(|a| ampere(*a)).collect::<Vec<_>>(),
            "along_the_bar": ampere(dc.bar_a),
        })),
        "units_at_limit": c.at_limit,
        "relays": relays,
        "mismatch": if c.residual_a.is_finite() { ampere(c.residual_a) } else { Value::Null },
    })
}
