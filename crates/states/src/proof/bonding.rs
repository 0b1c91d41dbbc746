//! P5: neutral and earth are joined as the earthing system asks in every energised island.
//!
//! At every busbar, panel and conductor end outside the units that is live from a source, the bonds in effect on its
//! neutral are held against the row of [`ROWS`] for the earthing system and the source. No gap is allowed in any
//! settled state. Only terminals of a source, and what belongs to one unit alone, may be live without a bond.

use std::collections::BTreeSet;

use biodivine_lib_bdd::Bdd;
use plant::full::{BondPlace, NeutralPath, NodeKind};
use plant::{NodeIx, SourceKind};
use site::Earthing;

use super::model::{Layer, Model};
use super::{Context, Flaw};

/// What an earthing system asks while a source feeds.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// Earthing system.
    pub earthing: Earthing,
    /// What feeds: the utility (through the units or round them), the group, or the generator.
    pub fed_by: SourceKind,
    /// The one place where the bond may be; empty = none at all may be in effect.
    pub places: &'static [BondPlace],
    /// Clause, edition, and how well it is known.
    pub clause: &'static str,
}

const fn row(
    earthing: Earthing,
    fed_by: SourceKind,
    places: &'static [BondPlace],
    clause: &'static str,
) -> Row {
    Row { earthing, fed_by, places, clause }
}

use BondPlace::{Generator, Group, Service, Supplier};
use SourceKind::{Generator as FromGenerator, Group as FromGroup, Utility as FromUtility};

const US_SERVICE: &str = "NEC 2023 250.24(A) (from memory): one bond, at the service";
const US_DERIVED: &str =
    "NEC 2023 250.30(A) and 250.6 (from memory): one bond; at the source only where the neutral is switched";
const TN: &str = "IEC 60364-1 312.2.1, 60364-5-55 551.4 (from memory): the neutral is earthed once";
const TT_UTILITY: &str =
    "IEC 60364-1 312.2.2 (from memory): the supplier earths the neutral, the installation does not";
const TT_OWN: &str =
    "IEC 60364-5-55 551.4 (from memory): the island earths its own neutral, parted from the supplier's";
const IT: &str = "IEC 60364-1 312.2.3 (from memory): no live conductor is earthed directly";

/// What a TN-S island on the supplier's earth must heed.
pub(super) const SUPPLIERS_EARTH: &str = "in the island the neutral stays on the supplier's earth; IEC 60364-5-55 551.4 (from memory) asks that protection \
     does not rely on it alone: an electrode of the installation, and the supplier's consent";

/// Earthing system and source: where the one bond may be.
pub const ROWS: &[Row] = &[
    row(Earthing::Us, FromUtility, &[Service], US_SERVICE),
    row(Earthing::Us, FromGroup, &[Service, Group], US_DERIVED),
    row(Earthing::Us, FromGenerator, &[Service, Group, Generator], US_DERIVED),
    row(Earthing::TnCS, FromUtility, &[Service], TN),
    row(Earthing::TnCS, FromGroup, &[Service, Group], TN),
    row(Earthing::TnCS, FromGenerator, &[Service, Group, Generator], TN),
    row(Earthing::TnS, FromUtility, &[Supplier], TN),
    row(Earthing::TnS, FromGroup, &[Supplier, Group], TN),
    row(Earthing::TnS, FromGenerator, &[Supplier, Group, Generator], TN),
    row(Earthing::Tt, FromUtility, &[Supplier], TT_UTILITY),
    row(Earthing::Tt, FromGroup, &[Group], TT_OWN),
    row(Earthing::Tt, FromGenerator, &[Group, Generator], TT_OWN),
    row(Earthing::It, FromUtility, &[], IT),
    row(Earthing::It, FromGroup, &[], IT),
    row(Earthing::It, FromGenerator, &[], IT),
];

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let model = context.model;
    let mut flaws = Vec::new();
    for anchor in anchors(model) {
        let on_neutral = model.reach(&[(anchor.0, model.space.yes())], Layer::Neutral, |_| true);
        let bonds: Vec<(BondPlace, Bdd)> = model
            .plant
            .bonds
            .iter()
            .map(|bond| {
                let joined = on_neutral.get(bond.node.0).cloned().unwrap_or_else(|| model.space.no());
                (bond.place, joined.and(&model.states_of(&bond.while_)))
            })
            .collect();
        let name = model.plant.nodes.get(anchor.0).map_or("", |n| n.name.as_str());
        let id = model.plant.nodes.get(anchor.0).map_or("", |n| n.id.as_str());
        for row in ROWS.iter().filter(|r| r.earthing == model.plant.earthing) {
            let live = model.live(row.fed_by, anchor);
            if live.is_false() {
                continue;
            }
            flaws.extend(against(model, row, &live, &bonds, (id, name)));
        }
    }
    flaws
}

/// Nodes with a neutral outside the units and beyond the sources' own terminals; of those that are always joined, lines
/// and neutral, one is enough.
fn anchors(model: &Model<'_>) -> Vec<NodeIx> {
    let plant = model.plant;
    let mut label: Vec<usize> = (0..plant.nodes.len()).collect();
    for part in &plant.parts {
        let always = part.moved_by.is_none() && part.lines && part.neutral == NeutralPath::Solid;
        let ends = (label.get(part.from.0).copied(), label.get(part.to.0).copied());
        if let (true, (Some(keep), Some(drop))) = (always, ends) {
            label.iter_mut().filter(|l| **l == drop).for_each(|l| *l = keep);
        }
    }
    let mut seen = BTreeSet::new();
    let wanted = (0..plant.nodes.len()).filter(|n| counts(model, *n));
    wanted.filter(|n| label.get(*n).is_some_and(|l| seen.insert(*l))).map(NodeIx).collect()
}

fn counts(model: &Model<'_>, node: usize) -> bool {
    model
        .plant
        .nodes
        .get(node)
        .is_some_and(|n| n.neutral && n.unit.is_none() && matches!(n.kind, NodeKind::Bus | NodeKind::Panel))
}

/// Flaws of one island: no bond, several, one in the wrong place.
fn against(
    model: &Model<'_>,
    row: &Row,
    live: &Bdd,
    bonds: &[(BondPlace, Bdd)],
    (id, name): (&str, &str),
) -> Vec<Flaw> {
    let (mut one, mut more) = (model.space.no(), model.space.no());
    let mut wrong = model.space.no();
    for (place, active) in bonds {
        more = more.or(&one.and(active));
        one = one.or(active);
        if !row.places.contains(place) {
            wrong = wrong.or(active);
        }
    }
    let source = match row.fed_by {
        SourceKind::Utility => "the utility",
        SourceKind::Generator => "the generator",
        SourceKind::Group => "the group",
    };
    let flaw = |states: Bdd, what: String, fix: &str| {
        let mut flaw = Flaw::new(states, id, what, fix);
        flaw.clause = Some(row.clause);
        flaw
    };
    if row.places.is_empty() {
        let what = format!("{name} is fed by {source} and its neutral is earthed");
        return vec![flaw(live.and(&one), what, "no bond of neutral and earth, or one through an impedance")];
    }
    let places = row.places.iter().map(|p| at(*p)).collect::<Vec<_>>().join(" or ");
    vec![
        flaw(
            live.and_not(&one),
            format!("{name} is fed by {source} and no bond joins its neutral to earth: its lines float"),
            &format!("one bond {places} in this state"),
        ),
        flaw(
            live.and(&more),
            format!("{name} is fed by {source} and its neutral is joined to earth in more than one place"),
            &format!("only one bond, {places}: switched neutral in the gear, or no second bond"),
        ),
        flaw(
            live.and(&wrong),
            format!("{name} is fed by {source} and its neutral is joined to earth in the wrong place"),
            &format!("the bond {places}"),
        ),
    ]
}

fn at(place: BondPlace) -> &'static str {
    match place {
        Supplier => "at the supplier's transformer",
        Service => "at the service",
        Group => "at the group's distribution",
        Generator => "in the generator",
        BondPlace::Elsewhere => "elsewhere",
    }
}
