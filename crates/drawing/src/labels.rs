//! What is written beside a symbol.

use std::collections::BTreeMap;

use design::Wire;
use plant::full::{Part, PartKind};
use quantity::Quantity;

use crate::facts::{Facts, State, designations, of_role, us};

/// Smallest current that is written, in amperes.
const SHOWN_A: f64 = 0.05;
const METRES_PER_FOOT: f64 = 0.3048;

/// Words of all parts of a plant.
pub(crate) struct Labels<'a> {
    facts: &'a Facts,
    letters: BTreeMap<String, String>,
}

impl<'a> Labels<'a> {
    pub fn new(facts: &'a Facts) -> Self {
        Self { facts, letters: designations(&facts.plant) }
    }

    /// Designation of a role.
    pub fn letter(&self, role: &str) -> String {
        self.letters.get(role).cloned().unwrap_or_default()
    }

    /// Designation, name and ratings or sizes; in a state the position and what flows.
    pub fn of(&self, role: &str, state: Option<&State>) -> Vec<String> {
        let Some((part, _)) = of_role(&self.facts.plant, role) else { return Vec::new() };
        match state {
            None => self.rated(part),
            Some(state) => self.flowing(part, state),
        }
    }

    fn rated(&self, part: &Part) -> Vec<String> {
        let role = part.role();
        let letter = self.letter(&role);
        if part.kind != PartKind::Conductor {
            let mut words = vec![format!("{letter} {}", short(part))];
            words.extend(part.rating.as_ref().map(|r| r.value().to_string()));
            return words;
        }
        let Some(wire) = self.facts.wires.iter().find(|w| w.role == role) else {
            return vec![format!("{letter} {}", short(part)), "size not chosen here".to_owned()];
        };
        let ground = if us(&self.facts.plant) { "ground" } else { "PE" };
        let mut conductors = Vec::new();
        if wire.lines > 0 {
            conductors.push(held(&format!("{} x {}", wire.lines, wire.size)));
        }
        conductors.extend(wire.neutral.as_ref().map(|n| held(&format!("N {n}"))));
        conductors.extend(wire.ground.as_ref().map(|g| held(&format!("{ground} {g}"))));
        let sets = if wire.sets > 1 { format!("{} sets of ", wire.sets) } else { String::new() };
        let mut last = vec![held(&self.length(wire))];
        last.extend(wire.raceway.as_ref().map(|r| held(r)));
        vec![format!("{letter} {sets}{}", conductors.join(", ")), last.join(", ")]
    }

    /// Length of a run in the unit of the region.
    fn length(&self, wire: &Wire) -> String {
        if !us(&self.facts.plant) {
            return wire.length.value().to_string();
        }
        let feet = format!("{:.1}", wire.length.value().si() / METRES_PER_FOOT);
        format!("{} ft", feet.trim_end_matches(".0"))
    }

    fn flowing(&self, part: &Part, state: &State) -> Vec<String> {
        let role = part.role();
        let letter = self.letter(&role);
        let mut words = Vec::new();
        if part.kind == PartKind::Conductor {
            words.push(letter);
        } else {
            let plant = &self.facts.plant;
            let all: Vec<&Part> = plant.parts.iter().filter(|p| p.role() == role).collect();
            let closed = all.iter().filter(|p| plant.closed(p, &state.positions)).count();
            let stands = match closed {
                0 => "OPEN".to_owned(),
                n if n == all.len() => "closed".to_owned(),
                n => format!("{n} of {} closed", all.len()),
            };
            words.push(format!("{letter} {}: {stands}", short(part)));
        }
        words.extend(self.amperes(&role, state));
        words
    }

    /// Currents of a role, where any flows.
    fn amperes(&self, role: &str, state: &State) -> Option<String> {
        let currents = state.currents_a.get(role)?;
        let (lines, neutral) = currents.split_at(3);
        let legs = self.facts.plant.system.legs().iter();
        let mut each: Vec<String> = Vec::new();
        let held = |text: String| held(&text);
        if lines.iter().any(|a| *a >= SHOWN_A) {
            each.extend(
                legs.filter_map(|leg| Some(held(format!("{leg} {}", ampere(*lines.get(leg.index())?))))),
            );
        }
        each.extend(neutral.iter().filter(|n| **n >= SHOWN_A).map(|n| held(format!("N {}", ampere(*n)))));
        (!each.is_empty()).then(|| format!("{}\u{a0}A", each.join(", ")))
    }
}

/// Large currents without decimals, rounded up.
fn ampere(amperes: f64) -> String {
    if amperes >= 1000.0 { format!("{:.0}", amperes.ceil()) } else { format!("{amperes:.1}") }
}

/// A size or an amount is not torn apart at the end of a line.
fn held(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// Name without the number of the unit and without what the drawing shows.
fn short(part: &Part) -> String {
    part.kind_name().replace("conductor to ", "to ").replace(", far end", "")
}
