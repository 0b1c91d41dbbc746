//! P1: two sources that are not synchronised never meet.
//!
//! Utility and generator are never synchronised with each other. Units that form a voltage of their own are
//! synchronised with one another by their link, and with nothing else; a unit without its link with nothing at all.
//! A relay closes in synchronism, and once it has closed nothing of the group forms: so the state after its move is
//! looked at, as after every other move. Sources meet where any line of theirs is joined.
//! An array inverter is synchronised with whatever it follows, and still must not give beside a generator.

use plant::SourceKind;

use super::model::Layer;
use super::{Context, Flaw};

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let (model, plant) = (context.model, context.model.plant);
    let mut flaws = Vec::new();
    let utility = plant.supply(SourceKind::Utility);
    let generator = plant.supply(SourceKind::Generator);
    let present = |kind| model.space.present(kind);
    if let (Some(_), Some(generator)) = (utility, generator) {
        let states = model.live(SourceKind::Utility, generator).and(&present(SourceKind::Generator));
        flaws.push(Flaw::new(states, "generator", "utility and generator are joined", INTERLOCK));
    }
    if let Some(utility) = utility {
        let states = model.live(SourceKind::Group, utility).and(&present(SourceKind::Utility));
        let what = "the group forms a voltage of its own and is joined to the live utility";
        flaws.push(Flaw::new(states, "group", what, INTERLOCK));
    }
    if let Some(generator) = generator {
        let states = model.live(SourceKind::Group, generator).and(&present(SourceKind::Generator));
        let what = "the group forms a voltage of its own and is joined to the running generator";
        flaws.push(Flaw::new(states, "group", what, INTERLOCK));
    }
    flaws.extend(alone(context));
    flaws.extend(arrays(context));
    flaws
}

/// A generator's governor cannot take power: an array inverter must not give beside it once its contactor has moved.
fn arrays(context: &Context<'_, '_>) -> Vec<Flaw> {
    let (model, plant) = (context.model, context.model.plant);
    let Some(generator) = plant.supply(SourceKind::Generator) else { return Vec::new() };
    let runs = model.space.present(SourceKind::Generator);
    let each = plant.followers.iter().enumerate().map(|(k, follower)| {
        let fed = model.fed_by(k).get(generator.0).cloned().unwrap_or_else(|| model.space.no());
        let moving = follower.lockout.map_or_else(|| model.space.no(), |d| model.about_to_move(d));
        let what = format!("{} feeds in beside the running generator", follower.id);
        let fix = "a contactor that parts the array inverter from its panel while the generator runs";
        Flaw::new(runs.and(&fed).and_not(&moving), &follower.id, what, fix)
    });
    each.collect()
}

const INTERLOCK: &str =
    "gear with one moving part, or an interlock that lets only one of the two sides close";

/// A unit that does not know of the others meets whatever is live where it forms.
fn alone(context: &Context<'_, '_>) -> Vec<Flaw> {
    let (model, plant) = (context.model, context.model.plant);
    let mut flaws = Vec::new();
    for (k, unit) in plant.units.iter().enumerate().filter(|(_, u)| !u.linked) {
        let Some(forms) = model.forms.get(k) else { continue };
        let others = plant.units.iter().zip(&model.forms).enumerate().filter(|(j, _)| *j != k);
        let others: Vec<_> = others.map(|(_, (unit, forms))| (unit.ac.0, forms.clone())).collect();
        let from_others = model.reach(&others, Layer::Lines, |_| true);
        let here = from_others.get(unit.ac.0).cloned().unwrap_or_else(|| model.space.no());
        let outside =
            model.live(SourceKind::Utility, unit.ac).or(&model.live(SourceKind::Generator, unit.ac));
        let what =
            format!("unit {} forms a voltage that nothing synchronises, and meets another", unit.number);
        let fix = "a link whose loss stops the unit";
        flaws.push(Flaw::new(forms.and(&here.or(&outside)), format!("unit.{}", unit.number), what, fix));
    }
    flaws
}
