//! JSON of everything: `{value, unit}` amounts, derivations as a graph whose nodes are named by their content.

use std::sync::Arc;

use demand::{Lane, LaneDemand, PanelDemand};
use derivation::{Graph, Node, Place, number};
use design::{By, Decision, Dropped};
use finding::{Finding, Margin, Severity};
use options::{Row, StageRow};
use reading::Diagnostic;
use saying::{Text, Words};
use serde_json::{Map, Value, json};
use states::proof::{Outcome, Proof};

use crate::{CAUTIONS, Cell, Dossier};

/// The cautions.
pub fn cautions_json() -> Value {
    json!(CAUTIONS)
}

fn place(place: &Place) -> Value {
    json!({ "file": place.file.as_ref(), "line": place.line, "column": place.column })
}

/// Texts in the language of the words.
pub(crate) fn all_in(words: &Words, all: &[Text]) -> Vec<String> {
    all.iter().map(|text| text.in_words(words)).collect()
}

/// Mistakes in the input.
pub fn diagnostics_json(diagnostics: &[Diagnostic]) -> Value {
    let all: Vec<Value> = diagnostics
        .iter()
        .map(|d| {
            json!({
                "id": d.id,
                "message": d.message,
                "place": d.place.as_ref().map(place),
                "expected": d.label,
                "help": d.help,
            })
        })
        .collect();
    json!({ "schema": "wattwright-input/1", "mistakes": all })
}

/// A value with the name of its derivation.
pub(crate) fn amount(graph: &mut Graph, node: &Arc<Node>) -> Value {
    let name = graph.add(node);
    json!({ "value": number(node.amount.si), "unit": node.amount.unit, "derivation": name })
}

fn finding(graph: &mut Graph, words: &Words, f: &Finding) -> Value {
    json!({
        "id": f.id,
        "severity": f.severity.word(),
        "part": f.part,
        "state": f.state,
        "message": f.message.in_words(words),
        "value": f.value.as_ref().map(|n| amount(graph, n)),
        "limit": f.limit.as_ref().map(|n| amount(graph, n)),
        "margin": f.margin().map(number),
        "clause": f.clause,
        "place": f.place.as_ref().map(|(p, _)| place(p)),
        "fix": all_in(words, &f.fixes),
        "more_like_it": f.more_like_it,
    })
}

fn margin(graph: &mut Graph, words: &Words, m: &Margin) -> Value {
    json!({
        "part": m.part,
        "what": m.what.in_words(words),
        "state": m.state,
        "value": amount(graph, &m.value),
        "limit": amount(graph, &m.limit),
        "limit_is": if m.floor { "floor" } else { "ceiling" },
        "margin": m.share().map(number),
        "holds": m.holds(),
        "held_by": m.held_by,
    })
}

fn decision(graph: &mut Graph, words: &Words, d: &Decision) -> Value {
    let of = |d: &Dropped| json!({ "value": d.value.in_words(words), "reason": d.reason.in_words(words) });
    let dropped: Vec<Value> = d.dropped.iter().map(of).collect();
    json!({
        "what": d.what,
        "value": d.value.in_words(words),
        "by": match &d.by { By::Site(_) => "site", By::Tool => "tool" },
        "place": match &d.by { By::Site(p) => place(p), By::Tool => Value::Null },
        "reasons": all_in(words, &d.reasons),
        "dropped": dropped,
        "from": d.from.iter().map(|n| amount(graph, n)).collect::<Vec<_>>(),
    })
}

fn lane(graph: &mut Graph, lane: &LaneDemand) -> Value {
    let curve: Vec<Value> = lane
        .curve
        .iter()
        .map(|p| {
            json!({
                "lasts": { "value": number(quantity::Quantity::si(p.lasts)), "unit": "s", "text": p.lasts.to_string() },
                "power": amount(graph, p.power.node()),
                "apparent": amount(graph, p.apparent.node()),
            })
        })
        .collect();
    json!({
        "power": amount(graph, lane.steady_power.node()),
        "apparent": amount(graph, lane.steady_apparent.node()),
        "current": amount(graph, lane.steady_current.node()),
        "peak_current": amount(graph, lane.peak_current.node()),
        "duration": curve,
    })
}

fn panel(graph: &mut Graph, p: &PanelDemand) -> Value {
    let mut lanes = Map::new();
    for (key, it) in &p.lanes {
        let key = match key {
            Lane::Leg(leg) => leg.to_string(),
            Lane::Total => "total".to_owned(),
        };
        lanes.insert(key, lane(graph, it));
    }
    let starts: Vec<Value> = p
        .starts
        .iter()
        .map(|s| {
            let legs: Map<String, Value> = s
                .legs
                .iter()
                .map(|(leg, it)| {
                    let value = json!({
                        "start": amount(graph, it.start_known.node()),
                        "running": amount(graph, it.running_known.node()),
                    });
                    (leg.to_string(), value)
                })
                .collect();
            json!({ "name": s.name, "loads": s.loads, "legs": legs })
        })
        .collect();
    let placements: Vec<Value> = p
        .balance
        .placements
        .iter()
        .map(|b| json!({ "load": b.load, "connection": b.connection.to_string(), "count": b.count }))
        .collect();
    json!({
        "lanes": lanes,
        "neutral": amount(graph, p.neutral.node()),
        "connected": amount(graph, p.connected.node()),
        "continuous": amount(graph, p.continuous.node()),
        "unbalance": amount(graph, p.unbalance.node()),
        "daily_energy": amount(graph, p.daily_energy.node()),
        "monthly_energy": p.monthly.iter().map(|m| amount(graph, m.node())).collect::<Vec<_>>(),
        "starts": starts,
        "balance": { "placements": placements, "gap": number(p.balance.gap_share), "optimal": p.balance.proven_optimal },
    })
}

/// The whole check.
pub fn check_json(dossier: &Dossier<'_>) -> Value {
    let mut graph = Graph::new();
    let mut all = body(&mut graph, &Words::english(), dossier);
    all.insert("derivations".into(), graph.json());
    Value::Object(all)
}

/// A cell of a schedule: a text, a number in the unit of its heading, or nothing.
pub(crate) fn cell(words: &Words, cell: &Cell) -> Value {
    match cell {
        Cell::Text(text) => json!(text.in_words(words)),
        Cell::Count(n) => json!(n),
        Cell::Number(value) => number(*value),
        Cell::Empty => Value::Null,
    }
}

/// All of a check but the derivations, which `graph` takes.
pub(crate) fn body(g: &mut Graph, words: &Words, dossier: &Dossier<'_>) -> Map<String, Value> {
    let findings: Vec<Value> = dossier.findings.iter().map(|f| finding(g, words, f)).collect();
    let panels: Map<String, Value> =
        dossier.assessment.panels.iter().map(|(id, p)| (id.clone(), panel(g, p))).collect();
    let service = dossier.assessment.service.as_ref().map(|s| {
        json!({ "method": s.method, "current": amount(g, s.current.node()), "neutral": s.neutral.as_ref().map(|n| amount(g, n.node())) })
    });
    let (decisions, margins, states) = match dossier.design {
        None => (Vec::new(), Vec::new(), Vec::new()),
        Some(design) => (
            design.decisions.iter().map(|d| decision(g, words, d)).collect(),
            design.assessed.ledger.tightest().into_iter().map(|m| margin(g, words, m)).collect(),
            design.assessed.states.iter().map(|s| state(g, s)).collect(),
        ),
    };
    let wires: Vec<Value> = dossier.design.iter().flat_map(|d| &d.wires).map(|w| wire(g, w)).collect();
    let placed = dossier.design.and_then(|d| d.placed.as_ref()).map(|p| crate::json_place::placed(g, p));
    let clauses: Vec<Value> = dossier.design.map_or_else(Vec::new, |d| {
        let all = design::compliance(dossier.site.service.earthing.value, &d.held);
        let told = |c: &design::Clause| {
            json!({ "rule": c.rule, "cites": c.clause, "title": c.title, "verdict": c.verdict.word(), "parts": c.parts, "why": all_in(words, &c.why) })
        };
        all.iter().map(told).collect()
    });
    let assumptions: Vec<Value> = dossier
        .assumptions
        .iter()
        .map(|n| json!({ "what": n.what, "text": n.amount.text, "why": n.source(), "derivation": g.add(n) }))
        .collect();
    let all = json!({
        "schema": "wattwright-check/1",
        "cautions": CAUTIONS,
        "site": {
            "name": dossier.site.name.value,
            "system": dossier.site.service.system.value.name(),
        },
        "verdict": {
            "fails": dossier.fails(),
            "designed": dossier.design.is_some(),
            "errors": dossier.count(Severity::Error),
            "not_covered": dossier.count(Severity::NotCovered),
            "warnings": dossier.count(Severity::Warning),
            "notes": dossier.count(Severity::Note),
        },
        "decisions": decisions,
        "clauses": clauses,
        "to_confirm": dossier.to_confirm,
        "wires": wires,
        "code_work": dossier.design.map(|d| code_work(g, &d.code)),
        "placed": placed,
        "findings": findings,
        "margins": margins,
        "states": states,
        "states_found": dossier.design.map(|d| d.assessed.states_found),
        "proof": dossier.design.and_then(|d| d.proof.as_ref()).map(proof),
        "service": service,
        "panels": panels,
        "assumptions": assumptions,
    });
    match all {
        Value::Object(all) => all,
        _ => Map::new(),
    }
}

/// What the book asks for beside the runs.
fn code_work(graph: &mut Graph, work: &design::CodeWork) -> Value {
    let conductors: Vec<Value> = work
        .conductors
        .iter()
        .map(|c| {
            let chosen = json!({ "derivation": graph.add(&c.why) });
            json!({ "part": c.role, "name": c.name, "rule": c.rule, "size": c.size, "chosen": chosen })
        })
        .collect();
    let circuits: Vec<Value> = work
        .circuits
        .iter()
        .map(|c| {
            json!({
                "load": c.load,
                "panel": c.panel,
                "count": c.count,
                "lines": c.lines,
                "neutral": c.neutral,
                "full_load": amount(graph, c.full_load.node()),
                "size": c.size,
                "ground": c.ground,
                "ampacity": amount(graph, c.ampacity.node()),
                "device": amount(graph, c.device.node()),
                "type": c.curve.map(String::from),
                "overload_relay": c.relay.as_ref().map(|r| json!({ "setting": amount(graph, r.setting.node()), "class": r.class })),
                "if_it_cannot_start": c.if_it_cannot_start.as_ref().map(|d| amount(graph, d.node())),
                "chosen": { "derivation": graph.add(&c.why) },
            })
        })
        .collect();
    let spaces: Vec<Value> = work
        .spaces
        .iter()
        .map(|s| {
            json!({
                "panel": s.panel,
                "depth": amount(graph, s.depth.node()),
                "width": amount(graph, s.width.node()),
                "height": amount(graph, s.height.node()),
            })
        })
        .collect();
    let labels: Vec<Value> = work
        .labels
        .iter()
        .map(|l| {
            let shows: Vec<Value> =
                l.shows.iter().map(|n| json!({ "what": n.what, "figure": amount(graph, n) })).collect();
            json!({ "id": l.key, "cites": l.clause, "where": l.place, "tells": l.tells, "shows": shows })
        })
        .collect();
    json!({ "conductors": conductors, "motor_circuits": circuits, "working_spaces": spaces, "labels": labels })
}

fn wire(graph: &mut Graph, w: &design::Wire) -> Value {
    let from: Vec<Value> = w.from.iter().map(|node| json!({ "derivation": graph.add(node) })).collect();
    json!({
        "part": w.role,
        "name": w.name,
        "count": w.count,
        "lines": w.lines,
        "sets": w.sets,
        "size": w.size,
        "neutral": w.neutral,
        "ground": w.ground,
        "raceway": w.raceway,
        "length": amount(graph, w.length.node()),
        "device": amount(graph, w.device.node()),
        "guarded": w.guarded,
        "required": amount(graph, w.required.node()),
        "ampacity": amount(graph, w.ampacity.node()),
        "resistance": amount(graph, w.resistance.node()),
        "drop": amount(graph, w.drop.node()),
        "chosen": { "derivation": graph.add(&w.why) },
        "rests_on": from,
    })
}

fn state(graph: &mut Graph, s: &assess::StateReport) -> Value {
    let currents: Vec<Value> = s
        .currents
        .iter()
        .map(|(element, leg, corner, current)| {
            json!({
                "element": element,
                "leg": leg.to_string(),
                "while": corner,
                "current": amount(graph, current.node()),
            })
        })
        .collect();
    json!({ "name": s.name, "situation": s.situation, "steps": s.steps, "currents": currents })
}

/// The interlock proof in short; `prove --json` gives all of it.
fn proof(proof: &Proof) -> Value {
    let properties: Vec<Value> = proof
        .results
        .iter()
        .map(|(property, outcome)| {
            let verdict = match outcome {
                Outcome::Holds => "holds",
                Outcome::Broken(_) => "broken",
                Outcome::NotCovered(_) => "not covered",
            };
            json!({ "id": property.number(), "words": property.words(), "verdict": verdict })
        })
        .collect();
    json!({ "states": proof.states, "holds": proof.holds(), "properties": properties })
}

/// The growth table.
pub fn grow_json(site: &site::Site, currency: &str, rows: &[Row], stages: &[StageRow]) -> Value {
    let mut graph = Graph::new();
    let g = &mut graph;
    let rows: Vec<Value> = rows
        .iter()
        .map(|r| {
            json!({
                "units": r.units,
                "formation": r.formation.to_string(),
                "rated": amount(g, r.rated.node()),
                "carries": amount(g, r.carries.node()),
                "overload": r.overload.as_ref().map(|(p, lasts)| json!({
                    "power": amount(g, p.node()),
                    "lasts": { "value": number(quantity::Quantity::si(*lasts)), "unit": "s" },
                })),
                "inline_panel": r.inline_panel.as_ref().map(|p| amount(g, p.node())),
                "outboard_panel": amount(g, r.outboard_panel.node()),
                "export": r.export.as_ref().map(|p| amount(g, p.node())),
                "first_limit": r.first_limit,
                "first_margin": r.first_margin.map(number),
                "needs": r.needs,
                "serves": r.serves,
                "price": { "value": r.price, "unit": currency },
                "price_step": { "value": r.price_step, "unit": currency },
            })
        })
        .collect();
    let stages: Vec<Value> = stages
        .iter()
        .map(|s| {
            json!({
                "stage": s.stage,
                "after_years": s.after_years,
                "units": s.units,
                "formation": s.formation,
                "arrangement": s.arrangement,
                "transfer_switch": s.transfer,
                "bypass": s.bypass,
                "source_switch": s.source_switch,
                "neutral_former": s.former,
                "replaced": s.replaced,
                "failing": s.failing.iter().map(|f| finding(g, &Words::english(), f)).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "schema": "wattwright-grow/1",
        "cautions": CAUTIONS,
        "site": site.name.value,
        "rows": rows,
        "stages": stages,
        "derivations": graph.json(),
    })
}
