//! All drawings of a site.

use crate::expected::{self, Expected};
use crate::facts::Facts;
use crate::scene::Scene;
use crate::{dc_side, grounding, links, single_line, three_line, wall};

/// A sheet of the set.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// Name for a file, without ending.
    pub name: String,
    /// What is drawn.
    pub scene: Scene,
    /// What the plant asks of it; [`crate::audit`] compares.
    pub expected: Expected,
}

/// The set: single-line diagram, each state, arrays that found no room there, three-line diagram of a unit, DC side,
/// grounding, wall, links.
pub fn drawings(facts: &Facts) -> Vec<Drawing> {
    let plant = &facts.plant;
    let three = usize::from(!plant.units.is_empty());
    let arrays = single_line::array_sheets(facts);
    let walls = usize::from(facts.wall.is_some());
    let links = facts.links.as_ref().map(|plan| (plan.lead.clone(), links::sheets(plan)));
    let sheets =
        facts.states.len() + 3 + three + arrays.len() + walls + links.as_ref().map_or(0, |(_, s)| s.len());
    let mut all: Vec<Drawing> = Vec::new();
    let mut add = |name: &str, scene: Scene, expected: Expected| {
        let name = format!("{:02}-{}", all.len() + 1, file_name(name));
        all.push(Drawing { name, scene, expected });
    };
    let mut number = 1;
    add(
        "single-line",
        single_line::single_line(facts, None, (number, sheets)),
        expected::single_line(plant, None),
    );
    for state in &facts.states {
        number += 1;
        let scene = single_line::single_line(facts, Some(state), (number, sheets));
        add(&format!("state-{}", state.name), scene, expected::single_line(plant, Some(state)));
    }
    for (expected, names) in arrays {
        number += 1;
        add("arrays", single_line::array_sheet(facts, &names, (number, sheets)), expected);
    }
    number += 1;
    if let Some(scene) = three_line::three_line(facts, (number, sheets)) {
        add("three-line-unit", scene, expected::three_line(plant));
        number += 1;
    }
    add("dc-side", dc_side::dc_side(facts, (number, sheets)), expected::dc(plant));
    number += 1;
    add("grounding", grounding::grounding(facts, (number, sheets)), expected::grounding(facts));
    if let Some(wall) = &facts.wall {
        number += 1;
        let (scene, expected) = wall::wall(facts, wall, (number, sheets));
        add("wall", scene, expected);
    }
    let (lead, sheets_) = links.unwrap_or_default();
    for part in &sheets_ {
        number += 1;
        let (scene, expected) = links::links(facts, &lead, part, (number, sheets));
        add("links", scene, expected);
    }
    all
}

/// Words as a file name: letters and digits, the rest as single dashes.
fn file_name(words: &str) -> String {
    let mut out = String::new();
    for c in words.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.ends_with('-') {
            out.push('-');
        }
    }
    out.trim_matches('-').chars().take(80).collect()
}
