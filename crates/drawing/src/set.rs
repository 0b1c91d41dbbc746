//! All drawings of a site.

use crate::expected::{self, Expected};
use crate::facts::Facts;
use crate::scene::Scene;
use crate::{dc_side, grounding, single_line, three_line};

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

/// The set: single-line diagram, each state, three-line diagram of a unit, DC side, grounding.
pub fn drawings(facts: &Facts) -> Vec<Drawing> {
    let plant = &facts.plant;
    let three = usize::from(!plant.units.is_empty());
    let sheets = facts.states.len() + 3 + three;
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
    number += 1;
    if let Some(scene) = three_line::three_line(facts, (number, sheets)) {
        add("three-line-unit", scene, expected::three_line(plant));
        number += 1;
    }
    add("dc-side", dc_side::dc_side(facts, (number, sheets)), expected::dc(plant));
    add("grounding", grounding::grounding(facts, (number + 1, sheets)), expected::grounding(plant));
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
