//! Neutrals that lie in parallel: what is measured before anybody opens one.

use std::collections::BTreeMap;

use plant::full::designations;
use saying::{Text, say};

use super::checkout::{Walk, step};
use super::generator;
use crate::CheckoutStep;

/// One step where gear joins neutrals: the gear is put into every position in which it serves the panel, and back.
pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let ways = design::neutral_ways(&walk.plant);
    if ways.runs.is_empty() {
        return Vec::new();
    }
    let names: BTreeMap<String, String> = designations(&walk.plant);
    let name = |role: &String| names.get(role).unwrap_or(role).clone();
    let runs: Vec<String> = ways.runs.iter().map(name).collect();
    let joins = |id: &str| walk.gear(id).is_some_and(|g| ways.gear.contains(&g.name));
    let switch = joins("bypass");
    let breakers = joins("bypass.units") || joins("bypass.bypass");
    let transfer = joins("transfer");
    let source = joins("source switch") && generator::carries(walk);
    let positions = [
        (
            switch,
            say!(
                "with the bypass switch on bypass, then on the units again, the backup feeder breaker opened before each move and closed after it"
            ),
        ),
        (
            breakers,
            say!(
                "with the bypass breaker, units side, open and the bypass breaker, bypass side, closed, then the other way round again, the backup feeder breaker opened before each move and closed after it"
            ),
        ),
        (
            transfer,
            say!("with the service disconnect open and the transfer switch on the group, then closed again"),
        ),
        (
            source,
            say!(
                "with the service disconnect open and the source switch on the running generator, then closed again and the generator stopped"
            ),
        ),
    ];
    let positions: Vec<Text> =
        positions.into_iter().filter(|(there, _)| *there).map(|(_, how)| how).collect();
    let then = if positions.is_empty() {
        Text::default()
    } else {
        Text::from(String::new()).then("; ", Text::joined(&positions, "; "))
    };
    let stage = match (transfer || source, switch || breakers) {
        (true, true) => "transfer and bypass",
        (false, true) => "bypass",
        _ => "transfer",
    };
    let s = step(
        stage,
        say!(
            "In every position of {gear}, with load on the panel, clamp the neutral of each of {runs} alone, then all its conductors together: as everything stands{then}.",
            gear = ways.gear.join(" and "),
            runs = runs.join(", "),
            then
        ),
    )
    .caution(say!(
        "Neutrals here lie in parallel: one carries the panel's current also where its lines are open and the gear seems dead. An opened neutral is live, and the panel's voltages may rise. Nobody opens a neutral before the panel is dead. A bypass is moved with the panel off."
    ))
    .see(say!("neutral of each run"), say!("written down; no more than its conductor carries"))
    .see(say!(
        "warning at the gear"
    ), say!("neutral carries current from another way while the lines are open"))
    .otherwise(say!(
        "leave the panel on the way on which no neutral is overloaded, and have the ways changed"
    ))
    .live("backup")
    .given(switch, |s| {
        let s = s.opens("backup.feeder").moves("bypass", "on bypass").closes("backup.feeder").live("backup");
        s.opens("backup.feeder").moves("bypass", "on the units").closes("backup.feeder").live("backup")
    })
    .given(breakers, |s| {
        let s = s.opens("backup.feeder").opens("bypass.units").closes("bypass.bypass").closes("backup.feeder").live("backup");
        s.opens("backup.feeder").opens("bypass.bypass").closes("bypass.units").closes("backup.feeder").live("backup")
    })
    .given(transfer, |s| walk.come_back(walk.leave(s).live("backup")).live("backup"))
    .given(source, |s| generator::off(walk, generator::onto(walk, s)));
    vec![s]
}
