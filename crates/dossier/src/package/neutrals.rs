//! Neutrals that lie in parallel: what is measured before anybody opens one.

use std::collections::BTreeMap;

use design::Design;
use plant::full::designations;

use super::checkout::step;
use crate::CheckoutStep;

/// One step where gear joins neutrals.
pub(super) fn steps(design: &Design<'_>) -> Vec<CheckoutStep> {
    let plant = assess::full_plant(&design.case);
    let ways = design::neutral_ways(&plant);
    if ways.runs.is_empty() {
        return Vec::new();
    }
    let names: BTreeMap<String, String> = designations(&plant);
    let name = |role: &String| names.get(role).unwrap_or(role).clone();
    let runs: Vec<String> = ways.runs.iter().map(name).collect();
    let s = step(
        "transfer and bypass",
        format!("In every position of {}, with load on the panel, clamp the neutral of each of {} alone, then all its conductors together.", ways.gear.join(" and "), runs.join(", ")),
    )
    .caution("Neutrals here lie in parallel: one carries the panel's current also where its lines are open and the gear seems dead. An opened neutral is live, and the panel's voltages may rise. Nobody opens a neutral before the panel is dead.")
    .see("neutral of each run", "written down; no more than its conductor carries")
    .see("warning at the gear", "neutral carries current from another way while the lines are open");
    vec![
        s.otherwise(
            "leave the panel on the way on which no neutral is overloaded, and have the ways changed",
        ),
    ]
}
