//! What is written beside a symbol.

use std::collections::BTreeMap;

use catalog::DcDeviceKind;
use dossier::spelled;
use plant::full::{Part, PartKind, gathered};
use quantity::Quantity;

use crate::facts::{Facts, State, all_together, array_of, of_role, role_of, us};

/// Smallest current that is written, in amperes.
const SHOWN_A: f64 = 0.05;

/// Words of all parts of a plant.
pub(crate) struct Labels<'a> {
    facts: &'a Facts,
    letters: BTreeMap<String, String>,
}

impl<'a> Labels<'a> {
    pub fn new(facts: &'a Facts) -> Self {
        Self { facts, letters: all_together(&facts.plant) }
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
        let role = role_of(part);
        let letter = self.letter(&role);
        if part.kind != PartKind::Conductor {
            let mut words = vec![format!("{} {}", held(&letter), self.short(part))];
            // what a controller is held to on the side of its array, not what its own rating is
            let of_array = part.kind == PartKind::Converter && part.direct.is_some();
            words.extend(
                rating(part).map(|r| if of_array { format!("highest array current {r}") } else { r }),
            );
            words.extend(self.facts.residual.get(&role).map(|words| held(words)));
            return words;
        }
        let Some(wire) = self.facts.wires.iter().find(|w| w.role == part.role() || gathered(&w.role) == role)
        else {
            let rated = rating(part).map(|r| format!("for {r}"));
            return vec![
                format!("{letter} {}", short(part)),
                rated.unwrap_or("size not chosen here".to_owned()),
            ];
        };
        let ground = if us(&self.facts.plant) { "ground" } else { "PE" };
        let mut conductors = Vec::new();
        if wire.lines > 0 {
            conductors.push(held(&format!("{} x {}", wire.lines, spelled(&wire.size))));
        }
        conductors.extend(wire.neutral.as_ref().map(|n| held(&format!("N {}", spelled(n)))));
        conductors.extend(wire.ground.as_ref().map(|g| held(&format!("{ground} {}", spelled(g)))));
        let sets = if wire.sets > 1 { format!("{} sets of ", wire.sets) } else { String::new() };
        let mut last = vec![held(&dossier::run(self.facts.units, wire.length.value()))];
        last.extend(wire.raceway.as_ref().map(|r| held(r)));
        vec![format!("{letter} {sets}{}", conductors.join(", ")), last.join(", ")]
    }

    fn flowing(&self, part: &Part, state: &State) -> Vec<String> {
        let role = role_of(part);
        // where it stands is said of all of them together: their numbers are on the sheet without a state
        let letter = self.letter(&role);
        let letter = letter.split_once('.').map_or(letter.clone(), |(all, _)| all.to_owned());
        let mut words = Vec::new();
        if part.kind == PartKind::Conductor {
            words.push(letter);
        } else {
            let plant = &self.facts.plant;
            let all: Vec<&Part> = plant.parts.iter().filter(|p| role_of(p) == role).collect();
            let closed = all.iter().filter(|p| plant.closed(p, &state.positions)).count();
            let stands = match closed {
                0 => "OPEN".to_owned(),
                n if n == all.len() => "closed".to_owned(),
                n => format!("{n} of {} closed", all.len()),
            };
            // beside four currents there is no room for one more line; the frame says that they are the units'
            let name = self.short(part).replace("unit second-input", "2nd-input");
            words.push(format!("{} {name}: {stands}", held(&letter)));
        }
        words.extend(self.amperes(&role, state));
        words
    }

    /// Name, with the kind of device that its record says.
    fn short(&self, part: &Part) -> String {
        let word = match self.facts.devices.get(&role_of(part)) {
            Some(DcDeviceKind::Fuse) => "fuse",
            Some(DcDeviceKind::FuseSwitch) => "fuse switch",
            Some(DcDeviceKind::Breaker) => "breaker",
            Some(DcDeviceKind::Switch) => "switch",
            None => return short(part),
        };
        let name = short(part).replace("breaker", word).replace("device of", &format!("{word} of"));
        name.strip_suffix("device").map_or(name.clone(), |own| format!("{own}{word}"))
    }

    /// Currents of a role, where any flows.
    fn amperes(&self, role: &str, state: &State) -> Option<String> {
        let plant = &self.facts.plant;
        let mut roles: Vec<String> =
            plant.parts.iter().filter(|p| role_of(p) == role).map(Part::role).collect();
        roles.dedup();
        let mut currents = [0.0; 4];
        // like parts that the currents name one by one are added up
        let each = roles.iter().filter_map(|r| state.currents_a.get(r));
        for (sum, amperes) in each.flat_map(|c| c.iter().enumerate()) {
            if let Some(total) = currents.get_mut(sum) {
                *total += amperes;
            }
        }
        let (lines, neutral) = currents.split_at(3);
        let legs = self.facts.plant.system.legs().iter();
        let mut each: Vec<String> = Vec::new();
        let held = |text: String| held(&text);
        if lines.iter().any(|a| *a >= SHOWN_A) {
            each.extend(
                legs.filter_map(|leg| Some(held(format!("{leg} {}", ampere(*lines.get(leg.index())?))))),
            );
        }
        each.extend(
            neutral.iter().filter(|n| **n >= SHOWN_A).map(|n| held(format!("N up to {}", ampere(*n)))),
        );
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

/// Rated current, alternating or direct, without needless decimals.
fn rating(part: &Part) -> Option<String> {
    let alternating = part.rating.as_ref().map(|r| r.value().si());
    let amperes = alternating.or(part.direct.as_ref().map(|r| r.value().si()))?;
    let text = format!("{amperes:.1}");
    Some(format!("{}\u{a0}A", text.trim_end_matches(".0")))
}

/// Name without the number of the unit and without what the drawing shows; of an array's part without the array, whose
/// own name may end in a number.
fn short(part: &Part) -> String {
    let array = array_of(&part.id);
    if let Some((name, rest)) = array.and_then(|array| part.name.split_once(&format!(" of {array}"))) {
        return if rest.contains(" string ") { format!("string {name}") } else { name.to_owned() };
    }
    let own = array.and_then(|array| part.name.strip_prefix(array)).map(str::trim);
    let name = own.map_or_else(
        || part.kind_name(),
        |own| {
            let number = |word: &&str| !word.chars().all(|c| c.is_ascii_digit());
            own.split(' ').filter(number).collect::<Vec<_>>().join(" ")
        },
    );
    name.replace("conductor to ", "to ").replace(", far end", "")
}
