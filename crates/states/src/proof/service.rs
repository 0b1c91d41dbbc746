//! P3: the panel is served by itself wherever a source is there that the site counts on.
//!
//! Looked at while all manual gear stands as in normal operation and nothing is about to move: with the utility
//! there, the panel is live from the utility; without it, from the group while the battery holds, or from a running
//! generator; with an empty battery, from the generator if the site says that it starts by itself. The gear must also
//! come to rest by itself from every state with manual gear at rest, so that these states say something.

use biodivine_lib_bdd::Bdd;
use plant::SourceKind;

use super::{Context, Flaw};

pub(super) fn flaws(context: &Context<'_, '_>) -> Vec<Flaw> {
    let (model, plant) = (context.model, context.model.plant);
    let quiet = model.at_rest().and_not(&model.something_due());
    let live = |kind| model.live(kind, plant.panel);
    let [utility, generator, battery] =
        [SourceKind::Utility, SourceKind::Generator, SourceKind::Group].map(|k| model.space.present(k));
    let lost = quiet.and_not(&utility);
    let by_group = live(SourceKind::Group);
    let by_any = by_group.or(&live(SourceKind::Generator));
    let mut flaws = Vec::new();
    let mut need = |states: Bdd, what: &str, fix: &str| {
        flaws.push(Flaw::new(states, "backup", what, fix));
    };
    need(
        quiet.and(&utility).and_not(&live(SourceKind::Utility)),
        "the utility is there and the panel is not on it; nothing will move by itself",
        "gear that returns the panel to the utility",
    );
    need(
        lost.and(&battery).and_not(&generator).and_not(&by_group),
        "the utility is gone, the battery holds, and the panel is dead; nothing will move by itself",
        "gear that takes the panel to the group by itself",
    );
    need(
        lost.and(&battery).and(&generator).and_not(&by_any),
        "generator and battery are there and the panel is dead; nothing will move by itself",
        "gear that takes the panel to the group or the generator by itself",
    );
    if context.input.generator_automatic {
        need(
            lost.and(&generator).and_not(&battery).and_not(&live(SourceKind::Generator)),
            "the generator runs, the battery is empty, and the panel is dead; nothing will move by itself",
            "gear that takes the panel to the generator by itself, with an empty battery too",
        );
    }
    need(
        restless(context),
        "the gear never comes to rest by itself",
        "controls of which one does not undo what another did",
    );
    flaws
}

/// States with manual gear at rest from which no order of moves ends in a state where nothing is about to move.
fn restless(context: &Context<'_, '_>) -> Bdd {
    let model = context.model;
    let within = context.reachable.and(&model.at_rest());
    let mut ends = within.and_not(&model.something_due());
    loop {
        let mut more = ends.clone();
        for (device, position, due) in &model.due {
            let there = model.space.at(*device, *position);
            let back = more.and(&there).exists(model.space.bits(*device));
            more = more.or(&back.and(due).and(&within));
        }
        if more == ends {
            return within.and_not(&ends);
        }
        ends = more;
    }
}
