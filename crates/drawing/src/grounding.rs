//! Grounding and bonding: every place with a neutral, where it is joined to ground, the grounding conductors, the
//! electrode, and in which state which bond is made.

use dossier::spelled;
use plant::Condition;
use plant::full::{Bond, FullPlant};

use crate::expected::{jumper_role, own_electrode};
use crate::facts::{Facts, State, neutral_from, node_role, of_role, role_of, sheet, us};
use crate::labels::Labels;
use crate::pen::{LINE_MM, Pen, TEXT_MM};
use crate::scene::{Layer, Scene, wrapped};
use crate::symbol::SymbolKind;

const TOP_Y: f64 = 26.0;
const NEUTRAL_Y: f64 = 44.0;
const GROUND_Y: f64 = 76.0;
const EARTH_Y: f64 = 112.0;
const TABLE_Y: f64 = 150.0;

/// An enclosure or place with a neutral of its own.
struct Place {
    name: String,
    nodes: &'static [&'static str],
    /// The run whose grounding conductor reaches it.
    run: &'static str,
}

/// The grounding and bonding drawing.
pub(crate) fn grounding(facts: &Facts, number: (usize, usize)) -> Scene {
    let plant = &facts.plant;
    let title = if us(plant) { "Grounding and bonding" } else { "Earthing and bonding" };
    let labels = Labels::new(facts);
    let mut d = Drawing { facts, labels, pen: Pen::new(sheet(plant), title, us(plant)) };
    d.places();
    d.table();
    let notes = d.notes();
    d.pen.finish(&facts.texts, number, &notes)
}

struct Drawing<'a> {
    facts: &'a Facts,
    labels: Labels<'a>,
    pen: Pen,
}

fn all_places(plant: &FullPlant) -> Vec<Place> {
    let units = format!("{} x inverter-charger", plant.units.len());
    let list: [(&str, &'static [&'static str], &'static str); 8] = [
        ("utility supply", &["utility"], ""),
        ("main panel", &["main"], ""),
        ("generator", &["generator"], "generator.feed.conductor"),
        (&units, &["unit.ac"], "unit.output.run.conductor"),
        ("group distribution", &["output", "group.output"], "group.output.run.conductor"),
        ("transfer switch", &["transfer"], "transfer.supply.run.conductor"),
        ("bypass gear", &["bypass"], "bypass.supply.run.conductor"),
        ("backup panel", &["backup"], "backup.conductor"),
    ];
    let there = |nodes: &[&str]| {
        let bonded = |id: &str| plant.bonds.iter().any(|b| node_role(plant, b.node) == id);
        // the supplier's neutral is its own affair unless it is the one that is earthed
        nodes.iter().any(|id| {
            (*id == "unit.ac" && !plant.units.is_empty())
                || (plant.node_ix(id).is_some() && (*id != "utility" || bonded(id)))
        })
    };
    list.into_iter()
        .filter(|(_, nodes, _)| there(nodes))
        .map(|(name, nodes, run)| Place { name: name.to_owned(), nodes, run })
        .collect()
}

/// Designations of the bonds that are made and that the neutral of the backup panel reaches.
fn held_by(plant: &FullPlant, state: &State) -> Vec<String> {
    let reached = neutral_from(plant, plant.panel, &state.positions);
    let made = |bond: &Bond| always(bond) || (bond.while_ == Condition::GroupForms && state.forms);
    let all = plant.bonds.iter().enumerate().filter(|(_, b)| made(b) && reached.contains(&b.node));
    all.map(|(k, _)| format!("-X{}", k + 1)).collect()
}

fn always(bond: &Bond) -> bool {
    bond.while_ == Condition::All(Vec::new())
}

impl Drawing<'_> {
    fn places(&mut self) {
        let plant = &self.facts.plant;
        let places = all_places(plant);
        let room = self.pen.scene.sheet.width_mm - 32.0;
        let step = (room / places.len().max(1) as f64).min(110.0);
        let left = 16.0;
        let mut ends: Vec<f64> = Vec::new();
        for (k, place) in places.iter().enumerate() {
            let x = left + step * k as f64;
            let right = x + step - 6.0;
            let middle = x + (step - 6.0) / 2.0;
            let outline =
                [(x, TOP_Y), (right, TOP_Y), (right, GROUND_Y + 10.0), (x, GROUND_Y + 10.0), (x, TOP_Y)];
            self.pen.line(Layer::Outline, &outline, None);
            let name = wrapped(&place.name, TEXT_MM, step - 10.0);
            self.pen.lines((x + 2.0, TOP_Y + 4.0), &name);
            let units = place.nodes.contains(&"unit.ac");
            let neutral = !units || plant.units.iter().any(|u| u.neutral);
            if neutral {
                self.pen.line(Layer::Bus, &[(x + 4.0, NEUTRAL_Y), (right - 4.0, NEUTRAL_Y)], None);
                self.pen.text((x + 4.0, NEUTRAL_Y - 2.0), TEXT_MM, "neutral");
            } else {
                self.pen.text((x + 4.0, NEUTRAL_Y - 2.0), TEXT_MM, "no neutral");
            }
            self.pen.line(Layer::Bus, &[(x + 4.0, GROUND_Y), (right - 4.0, GROUND_Y)], None);
            self.pen.text((x + 4.0, GROUND_Y + 4.0), TEXT_MM, if us(plant) { "ground" } else { "PE" });
            let bonds: Vec<(usize, &Bond)> = plant
                .bonds
                .iter()
                .enumerate()
                .filter(|(_, b)| place.nodes.contains(&node_role(plant, b.node).as_str()))
                .collect();
            let mut apart = false;
            for (j, (k, bond)) in bonds.into_iter().enumerate() {
                self.bond(k, bond, middle - 10.0 + 16.0 * j as f64, (right, step));
                apart |= own_electrode(plant, bond);
            }
            let down = middle + 6.0;
            if apart {
                self.pen.line(Layer::Ground, &[(down, GROUND_Y), (down, EARTH_Y - 8.0)], None);
                let terminal = ["supplier.electrode:1".to_owned()];
                self.pen.symbol(
                    (SymbolKind::Earth, (down, EARTH_Y - 6.0)),
                    "supplier.electrode",
                    &terminal,
                    |_| {},
                );
                continue;
            }
            self.pen.line(Layer::Ground, &[(down, GROUND_Y), (down, EARTH_Y)], None);
            self.pen.lines((down + 2.0, GROUND_Y + 15.0), &self.conductor(place.run, right - down + 2.0));
            ends.push(down);
        }
        let (Some(first), Some(last)) = (ends.first().copied(), ends.last().copied()) else { return };
        let bar = (first - 6.0, last + 6.0);
        self.pen.line(Layer::Bus, &[(bar.0, EARTH_Y), (bar.1, EARTH_Y)], None);
        self.pen.text(
            (bar.0, EARTH_Y + 4.0),
            TEXT_MM,
            if us(plant) { "grounding system" } else { "main earthing terminal" },
        );
        let x = first + 40.0_f64.min((last - first).max(0.0));
        self.pen.line(Layer::Ground, &[(x, EARTH_Y), (x, EARTH_Y + 12.0)], None);
        self.pen.symbol(
            (SymbolKind::Earth, (x, EARTH_Y + 14.0)),
            "electrode",
            &["electrode:1".to_owned()],
            |_| {},
        );
        let words = self.electrode();
        self.pen.label((x + 5.0, EARTH_Y + 13.0), &words);
    }

    /// Name of the electrode, and the conductors that lead to it.
    fn electrode(&self) -> Vec<String> {
        let plant = &self.facts.plant;
        let name =
            if us(plant) { "grounding electrode system" } else { "earth electrode or supplier's earth" };
        let mut words = vec![name.to_owned()];
        let jumpers: Vec<String> = plant.bonds.iter().map(jumper_role).collect();
        let own = self.facts.earthing.iter().filter(|c| !jumpers.contains(&c.role));
        words.extend(own.flat_map(|c| {
            wrapped(&format!("{} copper: {}", spelled(&c.size), spelled(&c.name)), TEXT_MM, 110.0)
        }));
        if words.len() == 1 {
            words.push("its conductor is not sized here: see the findings of the check".to_owned());
        }
        words
    }

    fn bond(&mut self, k: usize, bond: &Bond, x: f64, (right, step): (f64, f64)) {
        let kind = if always(bond) { SymbolKind::Bond } else { SymbolKind::Contact };
        let half = if always(bond) { 3.0 } else { 4.0 };
        let middle = (NEUTRAL_Y + GROUND_Y) / 2.0;
        self.pen.line(Layer::Neutral, &[(x, NEUTRAL_Y), (x, middle - half)], None);
        let terminals = [format!("{}:1", bond.id), format!("{}:2", bond.id)];
        self.pen.symbol((kind, (x, middle)), &bond.id, &terminals, |_| {});
        self.pen.line(Layer::Ground, &[(x, middle + half), (x, GROUND_Y)], None);
        let mut words = vec![format!("-X{}", k + 1)];
        words.extend(wrapped(&bond.name, TEXT_MM, (right - x - 5.0).min(step)));
        let jumper = self.facts.earthing.iter().find(|c| c.role == jumper_role(bond));
        words.extend(jumper.map(|c| format!("{} copper", spelled(&c.size))));
        self.pen.label((x + 3.5, middle), &words);
    }

    /// Size of the grounding conductor that reaches a place.
    fn conductor(&self, run: &str, width: f64) -> Vec<String> {
        let word = if us(&self.facts.plant) { "ground" } else { "PE" };
        let Some((part, _)) = of_role(&self.facts.plant, run) else { return Vec::new() };
        let wire = self.facts.wires.iter().find(|w| w.role == part.role());
        let size = wire.and_then(|w| w.ground.clone());
        let text = size.map_or(format!("{word}: not sized here"), |s| format!("{word} {}", spelled(&s)));
        let mut words = wrapped(&text, TEXT_MM, width);
        words.push(format!("with {}", self.labels.letter(run)));
        words
    }

    /// Which bonds are made in which state.
    fn table(&mut self) {
        let plant = &self.facts.plant;
        let (mut y, left) = (TABLE_Y, 16.0);
        self.pen.text(
            (left, y),
            2.2,
            if us(plant) {
                "Neutral and ground joined, by state"
            } else {
                "Neutral and earth joined, by state"
            },
        );
        y += 5.0;
        let column = |k: usize| left + 120.0 + 30.0 * k as f64;
        self.pen.text((left, y), TEXT_MM, "state");
        for k in 0..plant.bonds.len() {
            self.pen.text((column(k), y), TEXT_MM, &format!("-X{}", k + 1));
        }
        let reach = column(plant.bonds.len());
        self.pen.text((reach, y), TEXT_MM, "neutral of the backup panel is held by");
        self.pen.line(Layer::Frame, &[(left, y + 1.5), (reach + 60.0, y + 1.5)], None);
        y += 1.5;
        for state in &self.facts.states {
            y += LINE_MM + 0.5;
            for (k, line) in wrapped(&state.name, TEXT_MM, 112.0).iter().enumerate() {
                if k > 0 {
                    y += LINE_MM;
                }
                self.pen.text((left, y), TEXT_MM, line);
            }
            for (k, bond) in plant.bonds.iter().enumerate() {
                let words = match &bond.while_ {
                    Condition::GroupForms if state.forms => "joined",
                    Condition::GroupForms => "open",
                    _ if always(bond) => "joined",
                    _ => "see the unit's manual",
                };
                self.pen.text((column(k), y), TEXT_MM, words);
            }
            let held = held_by(plant, state);
            let held = if held.is_empty() { "NO BOND".to_owned() } else { held.join(", ") };
            self.pen.text((reach, y), TEXT_MM, &held);
        }
    }

    fn notes(&self) -> Vec<String> {
        let plant = &self.facts.plant;
        let mut notes = Vec::new();
        if plant.bonds.is_empty() {
            notes.push("The plant joins neutral and earth nowhere.".to_owned());
        }
        let mut switched: Vec<String> = Vec::new();
        for part in plant.parts.iter().filter(|p| p.neutral == plant::full::NeutralPath::Switched) {
            let letter = self.labels.letter(&role_of(part));
            if !switched.contains(&letter) {
                switched.push(letter);
            }
        }
        notes.push(if switched.is_empty() {
            "No device switches the neutral.".to_owned()
        } else {
            format!("The neutral is switched by {}.", switched.join(", "))
        });
        notes.extend(
            plant
                .unstated
                .iter()
                .filter(|u| u.concern == plant::full::Concern::Neutral)
                .map(|u| format!("Not stated in the catalogue, so not certain here: {}.", u.what)),
        );
        let word = if us(plant) { "Grounding" } else { "Protective" };
        notes.push(format!(
            "{word} conductors run with their circuits; the lowest bar stands for all that they join."
        ));
        notes.push("Neutral conductors between the places: single-line and three-line diagram.".to_owned());
        notes.push("Bonding of the DC side and of metal parts of the building is not drawn.".to_owned());
        notes
    }
}
