//! Gathers what the papers of one checked site show: states, schedules, drawings, files it was made from.

use catalog::Catalog;
use dossier::{Dossier, Picture, Schedule, design_json};
use saying::Words;
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
    /// Drawings, in their order.
    pub drawings: Vec<Picture>,
    /// Plots of energy and carry time.
    pub plots: Vec<Picture>,
    /// Schedules of energy (`year`) and carry time (`carry`).
    pub energy: Vec<Schedule>,
    /// What these rest on, or why there are none.
    pub energy_notes: Vec<String>,
    /// Language of the sentences; the default is English.
    pub words: Words,
}

/// `design.json` and the drawings that it names.
pub fn gather(dossier: &Dossier<'_>, catalog: &Catalog, order: Order<'_>) -> (Value, Vec<Picture>) {
    let states = dossier.design.map(|d| assess::detail(&d.case, true)).unwrap_or_default();
    let packed = dossier.design.map(|d| dossier::package(d, catalog));
    let papers = dossier::Papers {
        date: order.date,
        stage: order.stage,
        states: &states,
        settings: packed.as_ref().map(|p| p.settings.clone()).unwrap_or_default(),
        checkout: packed.as_ref().map(|p| p.checkout.clone()).unwrap_or_default(),
        schedules: dossier::schedules(dossier)
            .into_iter()
            .chain(packed.into_iter().flat_map(|p| p.schedules))
            .chain(order.energy)
            .collect(),
        drawings: order.drawings,
        plots: order.plots,
        energy_notes: order.energy_notes,
        inputs: order.inputs,
        demo: uses_demo(dossier),
    };
    let design = design_json(dossier, &papers, &order.words);
    let pictures = papers.drawings.into_iter().chain(papers.plots).collect();
    (design, pictures)
}

/// The demo catalogue's records are invented; their ids say so.
fn uses_demo(dossier: &Dossier<'_>) -> bool {
    dossier.design.is_none_or(|d| d.case.unit.id.starts_with("demo-"))
}
