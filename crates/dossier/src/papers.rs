//! What the papers of a design show: everything of a check, and what belongs to a project, a wall and a workbench.
//! `design.json` is made here; print, spreadsheet and other programs read the same values from it.

use std::sync::Arc;

use assess::StateDetail;
use derivation::{Amount, Graph, Node, number};
use quantity::{Leg, Quantity};
use reading::Placed;
use saying::Words;
use serde_json::{Map, Value, json};
use site::{Date, Earthing, ExportClass, Load, LoadSize, MotorStarts, Site};

use crate::json::{all_in, body, cell};
use crate::units::{spelled, written};
use crate::{CheckoutStep, Dossier, Schedule, Setting, state_json};

/// A drawing or plot that goes with the papers.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Short id in words: `single-line`.
    pub id: String,
    /// Title for people.
    pub title: String,
    /// Its SVG.
    pub svg: String,
    /// Its DXF, where it is a drawing.
    pub dxf: Option<String>,
    /// Width and height of its sheet in millimetres, where it is a drawing: to scale only at this size.
    pub sheet_mm: Option<(f64, f64)>,
}

/// What stands beside a check in the papers. Lists that a version does not make are empty.
#[derive(Debug, Clone, Default)]
pub struct Papers<'a> {
    /// Date of the revision.
    pub date: Option<Date>,
    /// Growth stage; none = today.
    pub stage: Option<&'a str>,
    /// Every state that differs in what flows.
    pub states: &'a [StateDetail],
    /// What the installer enters.
    pub settings: Vec<Setting>,
    /// The check-out.
    pub checkout: Vec<CheckoutStep>,
    /// Schedules.
    pub schedules: Vec<Schedule>,
    /// Drawings.
    pub drawings: Vec<Picture>,
    /// Plots of energy and carry time.
    pub plots: Vec<Picture>,
    /// What has to be said of energy and carry time: what it rests on, or why there is none.
    pub energy_notes: Vec<String>,
    /// Files that it was made from, with the SHA-256 of their content.
    pub inputs: Vec<(String, String)>,
    /// Equipment of the invented demo catalogue is in it.
    pub demo: bool,
}

/// The whole design, `wattwright-design/1`, its sentences in the language of `words`; see [`crate::design_schema`].
pub fn design_json(dossier: &Dossier<'_>, papers: &Papers<'_>, words: &Words) -> Value {
    let site = dossier.site;
    let units = site.units();
    let mut graph = Graph::written(written(units));
    let g = &mut graph;
    let mut all = body(g, words, dossier);
    all.insert("schema".into(), json!("wattwright-design/1"));
    let failing = dossier.findings.iter().filter(|f| f.severity.fails()).count();
    let text = |t: &Option<Placed<String>>| t.as_ref().map(|t| t.value.clone());
    let project = &site.project;
    let date = papers.date.or(project.date.as_ref().map(|d| d.value));
    all.insert(
        "project".into(),
        json!({
            "number": text(&project.number),
            "revision": text(&project.revision),
            "date": date.map(|d| json!({ "iso": d.to_string(), "year": d.year, "month": d.month, "day": d.day })),
            "designer": text(&project.designer),
            "checker": text(&project.checker),
            "customer": text(&project.customer),
            "stage": papers.stage,
            "units": if units == site::Units::Us { "US" } else { "metric" },
            "demo_catalogue": papers.demo,
            "made_from": papers.inputs.iter().map(|(file, hash)| json!({ "file": file, "sha256": hash })).collect::<Vec<_>>(),
        }),
    );
    all.insert("construction".into(), json!({ "permitted": !dossier.fails(), "failing": failing }));
    all.insert("group".into(), group(g, dossier));
    all.insert("basis".into(), basis(site));
    all.insert("loads".into(), site.loads.iter().map(|l| load(site, l)).collect());
    all.insert(
        "state_details".into(),
        match dossier.design {
            Some(design) => {
                papers.states.iter().map(|s| state_json(design.case.system().legs(), s)).collect()
            }
            None => json!([]),
        },
    );
    all.insert("parts".into(), parts(dossier));
    all.insert("settings".into(), papers.settings.iter().map(|s| setting(g, words, s)).collect());
    all.insert("checkout".into(), papers.checkout.iter().map(|s| step(g, words, s)).collect());
    all.insert("schedules".into(), papers.schedules.iter().map(|s| schedule(words, s)).collect());
    all.insert("drawings".into(), papers.drawings.iter().map(picture).collect());
    all.insert("plots".into(), papers.plots.iter().map(picture).collect());
    all.insert("energy_notes".into(), json!(papers.energy_notes));
    crate::local::localise(&mut all, units, site.service.earthing.value == Earthing::Us);
    all.insert("derivation_order".into(), json!(graph.order()));
    all.insert("derivations".into(), graph.json());
    Value::Object(all)
}

/// The JSON Schema of `design.json`.
pub fn design_schema() -> Value {
    // a test reads it
    serde_json::from_str(include_str!("../schema/design.json")).unwrap_or_default()
}

fn group(g: &mut Graph, dossier: &Dossier<'_>) -> Value {
    let Some(design) = dossier.design else { return Value::Null };
    let case = &design.case;
    json!({
        "units": case.formation.units(),
        "formation": case.formation.to_string(),
        "unit": { "id": case.unit.id, "name": case.unit.name },
        "unit_power": { "derivation": g.add(case.rating.power.node()) },
        "arrangement": case.layout.word(),
        "transfer_switch": case.transfer.map(|t| t.name.clone()),
        "bypass": case.bypass.map(|b| b.name.clone()),
        "states_found": design.assessed.states_found,
    })
}

/// Designation, as on the drawings, and name of each part of the plant, by its role.
fn parts(dossier: &Dossier<'_>) -> Value {
    let Some(design) = dossier.design else { return json!({}) };
    let plant = assess::full_plant(&design.case);
    let names = plant::full::all_together(&plant);
    let mut all = Map::new();
    for part in &plant.parts {
        let role = plant::full::role_of(part);
        if let Some(designation) = names.get(&role).filter(|_| !all.contains_key(&role)) {
            let name = part.kind_name();
            all.insert(role, json!({ "designation": designation, "name": name }));
        }
    }
    Value::Object(all)
}

/// A fact of the site: its key in the catalogue of messages, and its amount or word.
struct Facts<'a> {
    site: &'a Site,
    all: Vec<Value>,
}

impl Facts<'_> {
    fn amount<Q: Quantity>(&mut self, key: &str, placed: Option<&Placed<Q>>) {
        let Some(placed) = placed else { return };
        let amount = Amount::of(placed.value);
        let text = written(self.site.units())(&amount);
        self.all.push(json!({
            "key": key, "value": number(amount.si), "unit": amount.unit, "text": text, "line": placed.place.line,
        }));
    }

    fn words<T>(&mut self, key: &str, placed: Option<&Placed<T>>, text: impl Fn(&T) -> String) {
        if let Some(placed) = placed {
            self.all.push(json!({ "key": key, "text": text(&placed.value), "line": placed.place.line }));
        }
    }

    fn flag(&mut self, key: &str, placed: Option<&Placed<bool>>) {
        if let Some(placed) = placed {
            self.all.push(json!({ "key": key, "flag": placed.value, "line": placed.place.line }));
        }
    }
}

/// What the site file states of the place, in the order of the file.
fn basis(site: &Site) -> Value {
    let mut f = Facts { site, all: Vec::new() };
    f.amount("altitude", Some(&site.altitude));
    f.amount("lowest", Some(&site.temperature.lowest));
    f.amount("high", Some(&site.temperature.high));
    f.amount("room", Some(&site.temperature.room));
    let service = &site.service;
    f.words("system", Some(&service.system), ToString::to_string);
    f.amount("frequency", service.frequency.as_ref());
    f.flag("utility", Some(&service.utility));
    f.amount("service-rating", service.rating.as_ref());
    f.amount("transformer", service.transformer_rating.as_ref());
    f.words("transformer-impedance", service.transformer_impedance.as_ref(), ToString::to_string);
    f.amount("fault-current", service.fault_current.as_ref());
    f.words("earthing", Some(&service.earthing), |e| earthing(*e).to_owned());
    f.amount("electrode", service.electrode.as_ref());
    let utility = &site.utility;
    f.words("export", utility.export.as_ref(), |e| export(*e).to_owned());
    f.amount("export-limit", utility.export_limit.as_ref());
    f.amount("unbalance-cap", utility.unbalance_cap.as_ref());
    f.words("interface-protection", utility.interface_protection.as_ref(), Clone::clone);
    f.words("metering", utility.metering.as_ref(), Clone::clone);
    f.amount("outage", site.wish.outage.as_ref());
    f.flag("one-unit-out", site.wish.one_unit_may_be_out.as_ref());
    f.flag("bypass", site.wish.bypass.as_ref());
    f.words("spare", site.wish.spare.as_ref(), ToString::to_string);
    // the demand rests on these: controls that are not part of the design keep them
    f.words("motor-starts", site.wish.motor_starts.as_ref(), |starts| motor_starts(*starts).to_owned());
    for load in &site.loads {
        for other in &load.never_with {
            f.words("never-with", Some(other), |other| format!("{} · {other}", load.name.value));
        }
    }
    for load in &site.loads {
        f.words("shed", load.shed.as_ref(), |order| format!("{} · {order}", load.name.value));
    }
    Value::Array(f.all)
}

/// Earthing systems as IEC 60364-1 names them.
fn earthing(earthing: Earthing) -> &'static str {
    match earthing {
        Earthing::Us => "US",
        Earthing::TnS => "TN-S",
        Earthing::TnCS => "TN-C-S",
        Earthing::Tt => "TT",
        Earthing::It => "IT",
    }
}

fn motor_starts(starts: MotorStarts) -> &'static str {
    match starts {
        MotorStarts::Together => "together",
        MotorStarts::OneAtATime => "one at a time",
    }
}

fn export(export: ExportClass) -> &'static str {
    match export {
        ExportClass::None => "none",
        ExportClass::Limited => "limited",
        ExportClass::Full => "full",
    }
}

fn load(site: &Site, load: &Load) -> Value {
    let (kind, size) = match &load.size {
        LoadSize::Power(p) => ("power", Amount::of(p.value)),
        LoadSize::Apparent(s) => ("apparent", Amount::of(s.value)),
        LoadSize::Current(i) => ("current", Amount::of(i.value)),
        LoadSize::Motor(m) => ("motor", Amount::of(m.power.value)),
    };
    let legs = match load.legs.value {
        site::LegWish::On(connection) => connection.to_string(),
        site::LegWish::AnyLeg => "any leg".to_owned(),
        site::LegWish::AnyPair => "any pair".to_owned(),
    };
    json!({
        "name": load.name.value,
        "count": load.count,
        "panel": load.panel.value,
        "legs": legs,
        "kind": kind,
        "size": { "value": number(size.si), "unit": size.unit, "text": written(site.units())(&size) },
        "power_factor": load.power_factor.as_ref().map(|p| number(p.value.si())),
        "continuous": load.continuous.as_ref().map(|c| c.value),
        "stage": load.stage.as_ref().map(|s| s.value.clone()),
        "line": load.place.line,
    })
}

fn amounts(g: &mut Graph, nodes: &[Arc<Node>]) -> Vec<Value> {
    nodes.iter().map(|n| json!({ "derivation": g.add(n) })).collect()
}

fn setting(g: &mut Graph, words: &Words, s: &Setting) -> Value {
    json!({
        "device": s.device.in_words(words),
        "group": s.group,
        "name": s.name.in_words(words),
        "value": spelled(&s.value.in_words(words)),
        "why": s.why.in_words(words),
        "derivation": s.from.as_ref().map(|n| g.add(n)),
        "confirm": s.confirm.as_ref().map(|c| c.in_words(words)),
    })
}

fn step(g: &mut Graph, words: &Words, s: &CheckoutStep) -> Value {
    let readings: Vec<Value> = s
        .readings
        .iter()
        .map(|r| json!({ "what": r.what.in_words(words), "expected": spelled(&r.expected.in_words(words)), "from": amounts(g, &r.from) }))
        .collect();
    json!({
        "number": s.number,
        "stage": s.stage,
        "action": s.action.in_words(words),
        "caution": s.caution.as_ref().map(|c| c.in_words(words)),
        "readings": readings,
        "otherwise": s.otherwise.in_words(words),
    })
}

fn schedule(words: &Words, s: &Schedule) -> Value {
    let columns: Vec<Value> = s
        .columns
        .iter()
        .map(|c| json!({ "heading": c.heading.in_words(words), "numbers": c.align == crate::Align::Right }))
        .collect();
    let rows: Vec<Vec<Value>> = s.rows.iter().map(|r| r.iter().map(|c| cell(words, c)).collect()).collect();
    json!({ "id": s.id, "title": s.title.in_words(words), "columns": columns, "rows": rows, "notes": all_in(words, &s.notes) })
}

fn picture(p: &Picture) -> Value {
    json!({
        "id": p.id,
        "title": p.title,
        "svg": format!("drawings/{}.svg", p.id),
        "dxf": p.dxf.as_ref().map(|_| format!("drawings/{}.dxf", p.id)),
        "sheet_mm": p.sheet_mm.map(|(width, height)| [number(width), number(height)]),
    })
}

/// Legs of a state's amounts, by name.
pub(crate) fn by_leg(legs: &[Leg], of: impl Fn(usize) -> Value) -> Value {
    legs.iter().map(|leg| (leg.to_string(), of(leg.index()))).collect::<Map<_, _>>().into()
}
