//! P7: the neutral is never lost while lines that need it are live.
//!
//! Every panel with loads between line and neutral must be joined, on the neutral, to the neutral of the source that
//! feeds its lines: the utility's, the generator's, that of a unit that forms, or that of a neutral former whose lines
//! the group feeds.

use biodivine_lib_bdd::Bdd;
use plant::{NodeIx, SourceKind};

use super::model::{Layer, Model};
use super::{Context, Flaw};

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let model = context.model;
    let mut flaws = Vec::new();
    for (kind, name) in [
        (SourceKind::Utility, "the utility"),
        (SourceKind::Generator, "the generator"),
        (SourceKind::Group, "the group"),
    ] {
        let joined = model.reach(&neutrals(model, kind), Layer::Neutral, |_| true);
        for (k, node) in model.plant.nodes.iter().enumerate().filter(|(_, n)| n.needs_neutral) {
            let live = model.live(kind, NodeIx(k));
            let lost = joined.get(k).map_or_else(|| live.clone(), |joined| live.and_not(joined));
            if lost.is_false() {
                continue;
            }
            let what = format!(
                "the lines of the {} are live from {name} and its neutral is cut off: loads between line and neutral \
                 see up to the line voltage",
                node.name
            );
            let fix = "a neutral that is solid, or that opens and closes with its lines";
            flaws.push(Flaw::new(lost, &node.id, what, fix));
        }
    }
    flaws
}

/// Where a kind of source has its neutral.
fn neutrals(model: &Model<'_>, kind: SourceKind) -> Vec<(usize, Bdd)> {
    let plant = model.plant;
    if kind != SourceKind::Group {
        return plant.supply(kind).map(|n| (n.0, model.space.yes())).into_iter().collect();
    }
    let mut seeds: Vec<(usize, Bdd)> = plant
        .units
        .iter()
        .zip(&model.forms)
        .filter(|(unit, _)| unit.neutral)
        .map(|(unit, forms)| (unit.ac.0, forms.clone()))
        .collect();
    for former in &plant.formers {
        let on = former.moved_by.map_or_else(|| model.space.yes(), |(d, at)| model.space.at(d, at));
        seeds.push((former.node.0, model.live(SourceKind::Group, former.node).and(&on)));
    }
    seeds
}
