//! P6: every AC conductor is protected from each source that can feed it.
//!
//! Protected: in every state, every closed way from the source to either end of the conductor goes through a breaker
//! rated no higher than the conductor. Exempt, by a named clause carried by the part: service conductors, taps, and
//! conductors that only a source of limited current feeds. A limited source is the group: what its bridges can feed
//! all together into one line must not exceed the conductor. A unit counts as a source while it forms, and while it
//! has DC and is joined to the live utility, to which it may give back. Beside a generator it gives nothing back: when
//! a fault takes the generator's voltage away, its relay opens.
//!
//! Not looked at here: the sum of several breakers on one busbar, and the DC side.

use biodivine_lib_bdd::Bdd;
use plant::full::{NodeKind, Part, PartKind};
use plant::{NodeIx, SourceKind};
use quantity::Quantity;

use super::model::{Layer, Model};
use super::{Context, Flaw};

/// What reaches every node from the sources through breakers too large for a conductor of one rating.
struct Unguarded {
    rating_a: f64,
    utility: Vec<Bdd>,
    generator: Vec<Bdd>,
    group: Vec<Bdd>,
}

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let model = context.model;
    let mut known: Vec<Unguarded> = Vec::new();
    let mut flaws = Vec::new();
    let ac = |p: &&Part| model.plant.nodes.get(p.from.0).is_none_or(|n| n.kind != NodeKind::Dc);
    let parts = model.plant.parts.iter().filter(|p| p.kind == PartKind::Conductor && p.lines);
    for part in parts.filter(ac) {
        let Some(rating_a) = part.rating.as_ref().map(|r| r.value().si()) else {
            let what = format!("{} has no rating", part.name);
            flaws.push(Flaw::new(model.space.yes(), &part.id, what, "a conductor with a stated rating"));
            continue;
        };
        if !known.iter().any(|u| u.rating_a.to_bits() == rating_a.to_bits()) {
            known.push(unguarded(model, rating_a));
        }
        let Some(feeds) = known.iter().find(|u| u.rating_a.to_bits() == rating_a.to_bits()) else { continue };
        for (kind, from) in [
            (SourceKind::Utility, &feeds.utility),
            (SourceKind::Generator, &feeds.generator),
            (SourceKind::Group, &feeds.group),
        ] {
            let states = if kind == SourceKind::Group {
                from_group(model, part, rating_a, from)
            } else if part.exempt.iter().any(|e| e.from == kind) {
                continue;
            } else {
                at_either_end(model, part, from)
            };
            if !states.is_false() {
                flaws.push(flaw(part, kind, states, rating_a));
            }
        }
    }
    flaws
}

fn flaw(part: &Part, kind: SourceKind, states: Bdd, rating_a: f64) -> Flaw {
    let source = match kind {
        SourceKind::Utility => "the utility",
        SourceKind::Generator => "the generator",
        SourceKind::Group => "the units",
    };
    let what = format!("nothing of at most {rating_a:.0} A protects the {} from {source}", part.name);
    let fix = format!("a breaker of at most {rating_a:.0} A ahead of it, or a larger conductor");
    Flaw::new(states, &part.id, what, &fix)
}

fn at_either_end(model: &Model<'_>, part: &Part, from: &[Bdd]) -> Bdd {
    let at = |n: NodeIx| from.get(n.0).cloned().unwrap_or_else(|| model.space.no());
    at(part.from).or(&at(part.to))
}

/// Whether a part protects what is rated so.
fn guards(part: &Part, rating_a: f64) -> bool {
    part.kind == PartKind::Breaker
        && part.rating.as_ref().is_some_and(|r| r.value().si() <= rating_a * (1.0 + 1e-9))
}

fn unguarded(model: &Model<'_>, rating_a: f64) -> Unguarded {
    let passes = |part: &Part| !guards(part, rating_a);
    let from = |kind| {
        let seeds: Vec<(usize, Bdd)> =
            model.plant.supply(kind).map(|n| (n.0, model.space.present(kind))).into_iter().collect();
        model.reach(&seeds, Layer::Lines, passes)
    };
    let dc =
        model
            .reach(&[(model.plant.dc_bus.0, model.space.present(SourceKind::Group))], Layer::Lines, |_| true);
    let seeds: Vec<(usize, Bdd)> = model
        .plant
        .units
        .iter()
        .zip(&model.forms)
        .map(|(unit, forms)| {
            let on = dc.get(unit.dc.0).cloned().unwrap_or_else(|| model.space.no());
            (unit.ac.0, forms.or(&on.and(&model.live(SourceKind::Utility, unit.ac))))
        })
        .collect();
    Unguarded {
        rating_a,
        utility: from(SourceKind::Utility),
        generator: from(SourceKind::Generator),
        group: model.reach(&seeds, Layer::Lines, passes),
    }
}

/// From the units: all of them together if they cannot exceed the conductor; else a unit's own conductor from the
/// other units, where its own bridge cannot exceed it.
fn from_group(model: &Model<'_>, part: &Part, rating_a: f64, from: &[Bdd]) -> Bdd {
    let plant = model.plant;
    let one_a = plant.bridge_limit.value().si();
    if one_a * f64::from(plant.most_a_leg) <= rating_a {
        return model.space.no();
    }
    let own = plant.nodes.get(part.from.0).and_then(|n| n.unit);
    let exempt = part.exempt.iter().any(|e| e.from == SourceKind::Group) && one_a <= rating_a;
    match own.filter(|_| exempt) {
        Some(unit) => entering(model, unit, rating_a, part, from),
        None => at_either_end(model, part, from),
    }
}

/// States in which the other units' current crosses into a unit unguarded and reaches one of its conductors.
fn entering(model: &Model<'_>, unit: u8, rating_a: f64, conductor: &Part, from: &[Bdd]) -> Bdd {
    let own = |n: NodeIx| model.plant.nodes.get(n.0).and_then(|n| n.unit) == Some(unit);
    let mut seeds = Vec::new();
    for (k, part) in model.plant.parts.iter().enumerate().filter(|(_, p)| p.lines && !guards(p, rating_a)) {
        let (outer, inner) = match (own(part.from), own(part.to)) {
            (true, false) => (part.to, part.from),
            (false, true) => (part.from, part.to),
            _ => continue,
        };
        let live = from.get(outer.0).cloned().unwrap_or_else(|| model.space.no());
        seeds.push((inner.0, model.closed(k).and(&live)));
    }
    let inside = model.reach(&seeds, Layer::Lines, |p| !guards(p, rating_a) && own(p.from) && own(p.to));
    at_either_end(model, conductor, &inside)
}
