//! `draw`: the drawings of a design, into a folder of their own.

use std::collections::BTreeMap;

use assess::{Case, CornerDetail, StateDetail};
use design::{Design, prepare};
use dossier::{CAUTIONS, Dossier};
use drawing::{Drawing, Facts, State, Texts, audit, drawings, dxf, svg};
use plant::SourceKind;
use serde_json::json;

use crate::Status;
use crate::cli::{Draw, DrawingFormat};
use crate::{files, output};

pub(crate) fn run(args: &Draw, json: bool) -> Status {
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => {
            return super::prove::no_design("wattwright-draw/1", &refused, &loaded.sources, json);
        }
    };
    let designed = super::designed(&prepared, &loaded);
    let dossier = Dossier::new(&loaded.site, &assessment, Ok(&designed));
    let set = drawings(&facts(&args.revision, args.date.clone(), &designed, &dossier));
    let wrong: Vec<String> = set
        .iter()
        .flat_map(|d| audit(&d.scene, &d.expected).into_iter().map(|wrong| format!("{}: {wrong}", d.name)))
        .collect();
    if !wrong.is_empty() {
        // a drawing that does not show the plant is worse than none
        return refuse("drawing-not-right", &wrong, json);
    }
    let files = written(&set, &args.format);
    if let Err(why) = files::write_folder(&args.out, &files) {
        return refuse("not-written", &[why], json);
    }
    let folder = args.out.display().to_string();
    if json {
        let names: Vec<&String> = files.iter().map(|(name, _)| name).collect();
        output::say_json(&json!({
            "schema": "wattwright-draw/1",
            "folder": folder,
            "files": names,
            "fails": dossier.fails(),
            "cautions": dossier::cautions_json(),
        }));
    } else {
        let names: Vec<String> = set.iter().map(|d| format!("  {:<58} {}", d.name, d.scene.title)).collect();
        output::say(&format!("{} drawings in {folder}\n{}", set.len(), names.join("\n")));
        if dossier.fails() {
            output::say("the design does not hold: see `wattwright check`");
        }
        output::say(&CAUTIONS.join("\n"));
    }
    if dossier.fails() { Status::Findings } else { Status::Fine }
}

/// The drawings of a package.
///
/// # Errors
/// A drawing does not pass its audit.
#[cfg(feature = "pdf")]
pub(super) fn pictures(
    date: Option<site::Date>,
    design: &Design<'_>,
    dossier: &Dossier<'_>,
) -> Result<Vec<dossier::Picture>, String> {
    let project = &dossier.site.project;
    let revision = project.revision.as_ref().map_or("", |r| r.value.as_str());
    let date = date.or(project.date.as_ref().map(|d| d.value)).map(|d| d.to_string());
    let set = drawings(&facts(revision, date, design, dossier));
    let mut pictures = Vec::new();
    for drawing in &set {
        if let Some(wrong) = audit(&drawing.scene, &drawing.expected).first() {
            return Err(format!("drawing {}: {wrong}", drawing.name));
        }
        pictures.push(dossier::Picture {
            id: drawing.name.clone(),
            title: drawing.scene.title.clone(),
            svg: svg(&drawing.scene),
            dxf: Some(dxf(&drawing.scene)),
            sheet_mm: Some((drawing.scene.sheet.width_mm, drawing.scene.sheet.height_mm)),
        });
    }
    Ok(pictures)
}

fn refuse(id: &str, all: &[String], json: bool) -> Status {
    if json {
        let mistakes: Vec<_> = all.iter().map(|why| json!({ "id": id, "message": why })).collect();
        output::say_json(&json!({ "schema": "wattwright-input/1", "mistakes": mistakes }));
    } else {
        output::complain(&all.iter().map(|why| format!("error: {why}")).collect::<Vec<_>>().join("\n"));
    }
    Status::BadInput
}

fn written(set: &[Drawing], formats: &[DrawingFormat]) -> Vec<(String, String)> {
    let mut files: BTreeMap<String, String> = BTreeMap::new();
    for drawing in set {
        for format in formats {
            let (ending, text) = match format {
                DrawingFormat::Svg => ("svg", svg(&drawing.scene)),
                DrawingFormat::Dxf => ("dxf", dxf(&drawing.scene)),
            };
            files.insert(format!("{}.{ending}", drawing.name), text);
        }
    }
    files.into_iter().collect()
}

fn facts(revision: &str, date: Option<String>, design: &Design<'_>, dossier: &Dossier<'_>) -> Facts {
    let case = &design.case;
    let mut cautions: Vec<String> = CAUTIONS.iter().map(ToString::to_string).collect();
    if dossier.fails() {
        cautions.insert(0, "THIS DESIGN DOES NOT HOLD: see the findings of the check.".to_owned());
    }
    // whose strings are not decided
    let decided = |a: &&site::Array| case.strings.iter().any(|s| s.place == a.place);
    let open = dossier.site.arrays.iter().filter(|a| !decided(a));
    let names: Vec<String> = open.map(|a| format!("\"{}\"", a.id.value)).collect();
    if !names.is_empty() {
        let named = names.join(", ");
        cautions.insert(0, format!("On no sheet: strings of array {named}, which are not decided."));
    }
    let demo = catalog::demo().0.is_some_and(|c| c.units.contains_key(&case.unit.id));
    Facts {
        plant: assess::full_plant(case),
        devices: devices(case),
        records: records(case),
        residual: (1..)
            .zip(design::residual_devices(case))
            .map(|(k, d)| {
                (d.at.to_owned(), format!("{} {}", plant::full::residual_designation(k), d.words()))
            })
            .collect(),
        outgoing: outgoing(dossier.site),
        wall: design.placed.as_ref().and_then(|p| p.wall.clone()),
        links: design.placed.as_ref().map(|p| p.links.clone()),
        units: dossier.site.units(),
        wires: design.wires.clone(),
        earthing: design.code.conductors.clone(),
        states: states(&assess::detail(case, false), &plant::full::designations(&assess::full_plant(case))),
        texts: Texts {
            site: dossier.site.name.value.clone(),
            revision: revision.to_owned(),
            date,
            demo,
            cautions,
        },
    }
}

/// What the single line names without following it: the meter, other loads of the main panel, panels behind a panel.
fn outgoing(site: &site::Site) -> BTreeMap<String, Vec<String>> {
    let mut all: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let backup = &site.group.panel.value;
    if let Some(metering) = &site.utility.metering {
        all.entry("utility".to_owned()).or_default().push(format!("meter: {}", metering.value));
    }
    let main = site.panels.iter().find(|p| p.fed_from.is_none() && p.id.value != *backup);
    let main = main.map(|p| &p.id.value);
    if site.loads.iter().any(|load| Some(&load.panel.value) == main) {
        all.entry("main".to_owned()).or_default().push("other loads of the main panel".to_owned());
    }
    for panel in site.panels.iter().filter(|p| p.id.value != *backup) {
        let from = panel.fed_from.as_ref().map(|from| &from.value);
        let at = match from {
            Some(from) if from == backup => "backup",
            Some(from) if Some(from) == main => "main",
            _ => continue,
        };
        let words = format!("panel \"{}\": run by others, not looked at", panel.id.value);
        all.entry(at.to_owned()).or_default().push(words);
    }
    all
}

/// Kinds of the overcurrent devices of the direct-current side, from their records.
fn devices(case: &Case<'_>) -> BTreeMap<String, catalog::DcDeviceKind> {
    let bank = case.bank.as_ref();
    let string = bank.and_then(|b| b.string_device).map(|d| ("battery.string.device".to_owned(), d.kind));
    let unit = bank.and_then(|b| b.unit_device).map(|d| ("unit.dc".to_owned(), d.kind));
    let of_arrays = case.strings.iter().flat_map(|s| {
        let role = s.role();
        let of = |name: &str, guard: Option<&assess::Guard<'_>>| {
            guard.and_then(|g| g.device).map(|d| (format!("{role}.{name}"), d.kind))
        };
        let all = [
            of("string.device", s.guard.as_ref()),
            of("disconnect", Some(&s.disconnect)),
            of("output.device", s.output.as_ref().map(|o| &o.guard)),
        ];
        all.into_iter().flatten().collect::<Vec<_>>()
    });
    string.into_iter().chain(unit).chain(of_arrays).collect()
}

/// Records and ratings of what is drawn as a box, by role.
fn records(case: &Case<'_>) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    all.insert("unit".to_owned(), format!("{}, {}", case.unit.id, case.unit.apparent));
    if let Some(generator) = case.generator {
        // a rating is not torn apart at the end of a line
        let rating = format!("{}, {}", generator.apparent, generator.power).replace(' ', "\u{a0}");
        all.insert("generator".to_owned(), format!("{}, {rating}", generator.id));
    }
    if let Some(bank) = &case.bank {
        let m = bank.model;
        let series = if m.series > 1 { format!("{} in series, each ", m.series) } else { String::new() };
        all.insert("battery".to_owned(), format!("{}, {series}{}, {}", m.id, m.nominal, m.capacity));
    }
    for array in &case.arrays {
        all.insert(array.id.clone(), array.model.id.clone());
    }
    for strings in &case.strings {
        if let Some(array) = case.site.arrays.iter().find(|a| a.place == strings.place) {
            let text = format!("{} modules in series, {}", strings.per_string, array.module.value);
            all.insert(format!("modules {}", strings.id), text);
        }
    }
    all
}

/// Smallest current that a sheet shows, in amperes.
const SHOWN_A: f64 = 0.05;

/// The corner in which the battery gives what a generator is not to give.
const HELPING: &str = "helping the generator";

/// Which currents a sheet shows.
fn which(detail: &StateDetail, corner: &CornerDetail) -> String {
    let beside_generator = detail.follows == Some(SourceKind::Generator);
    let what = match corner.word {
        HELPING => {
            "at most: every leg of the panel at its highest; where it asks for more than the units' limit on the generator the battery gives the rest, on the other legs the units charge up to that limit"
        }
        "charging" if beside_generator => {
            "at most: every leg of the panel at its highest, or at what the generator gives it, while the units charge as far as their limit on the generator lets them"
        }
        _ if beside_generator && detail.corners.iter().any(|c| c.problem.is_some()) => {
            "with every leg of the panel at its highest, or at what the generator gives it; what the battery takes or adds is not in them"
        }
        _ if beside_generator => {
            "with every leg of the panel at its highest, or at what the generator gives it"
        }
        _ => "with every leg of the panel at its highest",
    };
    format!(
        "Currents {what}, at nominal voltage; those of all units together. Neutral: at the most unbalanced loads."
    )
}

/// The first state of each name that stays until something else happens, and the outage with one unit out.
fn states(all: &[StateDetail], letters: &BTreeMap<String, String>) -> Vec<State> {
    let mut names: Vec<String> = Vec::new();
    let mut states = Vec::new();
    for detail in all {
        let passing = detail.name.contains("one after the other") || detail.name.contains("still closed");
        if passing || names.contains(&detail.name) {
            continue;
        }
        names.push(detail.name.clone());
        let with = |word: &str| detail.corners.iter().find(|c| c.word == word);
        // beside a generator the units charge and help: the load alone is less than what flows
        let most =
            [HELPING, "charging"].into_iter().filter(|_| detail.follows == Some(SourceKind::Generator));
        let most = most.filter_map(with).find(|c| c.problem.is_none());
        states.extend(state(detail, most.or(with("load")).or(detail.corners.first()), "", letters));
        if let Some(corner) = with("one unit out").filter(|_| detail.name.starts_with("outage")) {
            states.extend(state(detail, Some(corner), ", one unit out", letters));
        }
    }
    states
}

/// Runs whose neutral carries current while their lines carry none: gear there may seem dead.
fn neutrals_alone(corner: &CornerDetail, letters: &BTreeMap<String, String>) -> Option<String> {
    let alone = |p: &&assess::PartFlow| p.neutral_most_a >= SHOWN_A && p.legs_a.iter().all(|a| *a < SHOWN_A);
    let runs = corner.parts.iter().filter(alone).filter(|p| p.role.ends_with("conductor"));
    let named =
        |p: &assess::PartFlow| Some(format!("{} (up to {:.1} A)", letters.get(&p.role)?, p.neutral_most_a));
    let names: Vec<String> = runs.filter_map(named).collect();
    (!names.is_empty()).then(|| {
        format!("CAUTION: the neutral of {} carries current while its lines carry none: never open it on a live panel.", names.join(", "))
    })
}

fn state(
    detail: &StateDetail,
    corner: Option<&CornerDetail>,
    more: &str,
    letters: &BTreeMap<String, String>,
) -> Option<State> {
    let mut notes = Vec::new();
    match corner {
        Some(CornerDetail { problem: Some(why), .. }) => notes.push(format!("Currents: no answer, {why}.")),
        Some(corner) => {
            notes.push(which(detail, corner));
            notes.extend(neutrals_alone(corner, letters));
        }
        None => {}
    }
    if !more.is_empty() {
        notes.push("Unit 1 gives nothing; its contacts and breakers stand as the others'.".to_owned());
    }
    notes.extend(corner.and_then(|c| c.dc_a).map(|a| {
        format!(
            "The battery gives up to {:.0} A to all units together, at its lowest working voltage.",
            a.ceil()
        )
    }));
    let flows = corner.map(|c| c.parts.as_slice()).unwrap_or_default();
    let currents = flows.iter().map(|p| {
        let [a, b, c] = p.legs_a;
        (p.role.clone(), [a, b, c, p.neutral_most_a])
    });
    Some(State {
        name: format!("{}{more}", detail.name),
        situation: detail.situation.clone(),
        positions: detail.positions.clone()?,
        utility: detail.state.present(SourceKind::Utility),
        generator: detail.state.present(SourceKind::Generator),
        battery: detail.state.present(SourceKind::Group),
        forms: detail.forms,
        currents_a: currents.collect(),
        notes,
    })
}
