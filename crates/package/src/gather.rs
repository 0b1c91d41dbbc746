//! Gathers what the papers of one checked site show: states, schedules, drawings, files it was made from.

use catalog::Catalog;
use dossier::{Dossier, Picture, design_json};
use serde_json::Value;
use site::Date;

/// What belongs to the papers but to no check.
#[derive(Debug, Clone, Default)]
pub struct Order<'a> {
    /// Date of the revision; without it, the site's.
    pub date: Option<Date>,
    /// Growth stage; none = today.
    pub stage: Option<&'a str>,
    /// Files that it was made from, with the SHA-256 of their content.
    pub inputs: Vec<(String, String)>,
}

/// `design.json` and the drawings that it names.
pub fn gather(dossier: &Dossier<'_>, catalog: &Catalog, order: Order<'_>) -> (Value, Vec<Picture>) {
    let states = dossier.design.map(|d| assess::detail(&d.case, true)).unwrap_or_default();
    let drawings = single_line(dossier);
    let papers = dossier::Papers {
        date: order.date,
        stage: order.stage,
        states: &states,
        schedules: dossier::schedules(dossier, catalog),
        drawings,
        inputs: order.inputs,
        demo: uses_demo(dossier),
        ..dossier::Papers::default()
    };
    let design = design_json(dossier, &papers);
    let pictures = papers.drawings.into_iter().chain(papers.plots).collect();
    (design, pictures)
}

/// The demo catalogue's records are invented; their ids say so.
fn uses_demo(dossier: &Dossier<'_>) -> bool {
    dossier.design.is_none_or(|d| d.case.unit.id.starts_with("demo-"))
}

/// The single-line diagram, where the full plant can be built.
fn single_line(dossier: &Dossier<'_>) -> Vec<Picture> {
    let Some(design) = dossier.design else { return Vec::new() };
    let Some((plant, _)) = assess::prove(&design.case, false) else { return Vec::new() };
    let revision = dossier.site.project.revision.as_ref().map_or_else(String::new, |r| r.value.clone());
    let texts = drawing::Texts {
        site: dossier.site.name.value.clone(),
        revision,
        demo: uses_demo(dossier),
        cautions: dossier::CAUTIONS.iter().map(|c| (*c).to_owned()).collect(),
    };
    let scene = drawing::single_line(&plant, &design.wires, &texts);
    vec![Picture {
        id: "single-line".to_owned(),
        title: scene.title.clone(),
        svg: drawing::svg(&scene),
        dxf: Some(drawing::dxf(&scene)),
    }]
}
