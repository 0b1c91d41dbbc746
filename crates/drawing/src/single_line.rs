//! The single-line diagram: sources on the left, the units gathered in one frame, transfer and bypass gear, the panel on
//! the right. Every part has its place by its role, so a plant without it leaves the place empty.

use std::collections::{BTreeMap, BTreeSet};

use design::Wire;
use plant::SourceKind;
use plant::full::{FullPlant, Part, PartKind};
use site::Earthing;

use crate::scene::{A3, ANSI_B, FRAME_MM, Item, Layer, Point, Scene, wrapped};
use crate::symbol::{Symbol, SymbolKind};

const TEXT_MM: f64 = 1.8;
const LINE_MM: f64 = 2.9;
const MAIN_Y: f64 = 52.0;
const INPUT_Y: f64 = 98.0;
const AC_Y: f64 = 142.0;
const OUTPUT_Y: f64 = 176.0;
const NEUTRAL_Y: f64 = 194.0;
const SERVED_Y: f64 = 110.0;
const GENERATOR_X: f64 = 85.0;
const GROUP_X: f64 = 145.0;
const BRIDGE_X: f64 = 205.0;
const TRANSFER_X: f64 = 248.0;
const BYPASS_X: f64 = 303.0;
const FEEDER_X: f64 = 362.0;

/// Words of the title block and notes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Texts {
    /// Name of the site.
    pub site: String,
    /// Revision.
    pub revision: String,
    /// The catalogue is the demo one.
    pub demo: bool,
    /// Cautions, as notes.
    pub cautions: Vec<String>,
}

struct Drawing<'a> {
    plant: &'a FullPlant,
    wires: &'a [Wire],
    us: bool,
    letters: BTreeMap<String, String>,
    scene: Scene,
}

/// The single-line diagram of a plant with its conductors. A US site gets ANSI B and American symbols, any other A3.
pub fn single_line(plant: &FullPlant, wires: &[Wire], texts: &Texts) -> Scene {
    let us = plant.earthing == Earthing::Us;
    let sheet = if us { ANSI_B } else { A3 };
    let scene = Scene { sheet, title: "Single-line diagram".to_owned(), items: Vec::new() };
    let mut d = Drawing { plant, wires, us, letters: designations(plant), scene };
    d.utility();
    d.generator();
    d.group();
    d.output();
    d.panel();
    let notes = d.bonds();
    d.frame(texts, notes);
    d.scene
}

/// Class letter and running number of each role, in the order of the plant.
fn designations(plant: &FullPlant) -> BTreeMap<String, String> {
    let mut next: BTreeMap<char, usize> = BTreeMap::new();
    let mut all = BTreeMap::new();
    for part in &plant.parts {
        all.entry(part.role()).or_insert_with(|| {
            let number = next.entry(part.class).or_default();
            *number += 1;
            format!("-{}{number}", part.class)
        });
    }
    all
}

impl Drawing<'_> {
    fn part(&self, role: &str) -> Option<&Part> {
        self.plant.parts.iter().find(|p| p.role() == role)
    }

    fn has_node(&self, id: &str) -> bool {
        self.plant.node_ix(id).is_some()
    }

    fn line(&mut self, layer: Layer, points: &[Point], dashed: bool) {
        self.scene.items.push(Item::Line { layer, points: points.to_vec(), dashed });
    }

    fn wire(&mut self, points: &[Point]) {
        self.line(Layer::Wire, points, false);
    }

    fn text(&mut self, at: Point, size_mm: f64, text: &str) {
        self.scene.items.push(Item::Text { at, size_mm, text: text.to_owned() });
    }

    fn symbol(&mut self, kind: SymbolKind, at: Point, role: Option<&str>) {
        let count = role.map_or(1, |role| self.plant.parts.iter().filter(|p| p.role() == role).count());
        let us = self.us;
        self.scene.items.push(Item::Symbol(Symbol { kind, at, us, role: role.map(str::to_owned), count }));
    }

    /// Lines of text, their middle at the height of the symbol.
    fn label(&mut self, (x, y): Point, lines: &[String]) {
        let mut base = y + TEXT_MM / 2.0;
        for _ in lines.iter().skip(1) {
            base -= LINE_MM / 2.0;
        }
        for line in lines {
            self.text((x, base), TEXT_MM, line);
            base += LINE_MM;
        }
    }

    fn words(&self, part: &Part) -> Vec<String> {
        let role = part.role();
        let letter = self.letters.get(&role).cloned().unwrap_or_default();
        let Some(wire) = self.wires.iter().find(|w| w.role == role) else {
            let rating = part.rating.as_ref().filter(|_| part.kind != PartKind::Conductor);
            let mut words = vec![format!("{letter} {}", part.kind_name())];
            words.extend(rating.map(|r| r.value().to_string()));
            return words;
        };
        let mut conductors = vec![format!("{} x {}", wire.lines, wire.size)];
        conductors.extend(wire.neutral.as_ref().map(|n| format!("N {n}")));
        conductors.extend(wire.ground.as_ref().map(|g| format!("PE {g}")));
        let sets = if wire.sets > 1 { format!("{} sets of ", wire.sets) } else { String::new() };
        let mut last = vec![wire.length.value().to_string()];
        last.extend(wire.raceway.clone());
        vec![format!("{letter} {sets}{}", conductors.join(", ")), last.join(", ")]
    }

    /// Parts on a vertical line between two heights; those that the plant has not are passed over.
    fn chain(&mut self, x: f64, (from, to): (f64, f64), width: f64, places: &[(&str, f64)]) {
        let mut y = from;
        for (role, at) in places {
            let Some(part) = self.part(role) else { continue };
            let kind = match part.kind {
                PartKind::Conductor => SymbolKind::Run,
                PartKind::Breaker => SymbolKind::Breaker,
                PartKind::Switch | PartKind::Relay => SymbolKind::Contact,
            };
            let lines: Vec<String> =
                self.words(part).iter().flat_map(|line| wrapped(line, TEXT_MM, width)).collect();
            let half = if kind == SymbolKind::Run { 1.5 } else { 4.0 };
            self.wire(&[(x, y), (x, at - half)]);
            self.symbol(kind, (x, *at), Some(role));
            self.label((x + 4.0, *at), &lines);
            y = at + half;
        }
        self.wire(&[(x, y), (x, to)]);
    }

    fn utility(&mut self) {
        if self.plant.supply(SourceKind::Utility).is_none() {
            return;
        }
        self.symbol(SymbolKind::Source, (40.0, 18.0), None);
        self.label((47.0, 18.0), &["utility".to_owned()]);
        self.chain(40.0, (23.0, MAIN_Y), 90.0, &[("service.conductor", 30.0), ("service", 42.0)]);
        let feeds =
            [("group.breaker", GROUP_X), ("transfer.supply", TRANSFER_X), ("bypass.supply", BYPASS_X)];
        let right = feeds.iter().filter(|(role, _)| self.part(role).is_some()).map(|(_, x)| *x);
        let right = right.fold(70.0, f64::max);
        self.line(Layer::Bus, &[(20.0, MAIN_Y), (right + 3.0, MAIN_Y)], false);
        self.label((100.0, MAIN_Y - 3.0), &["main panel".to_owned()]);
        if self.part("neutral.round").is_some() {
            self.chain(25.0, (MAIN_Y, NEUTRAL_Y), 36.0, &[("neutral.round", 120.0)]);
            self.wire(&[(25.0, NEUTRAL_Y), (GROUP_X, NEUTRAL_Y)]);
        }
        if self.part("group.breaker").is_some() {
            let feed = [("group.breaker", 60.0), ("input.conductor", 71.0), ("source switch.utility", 90.0)];
            self.chain(GROUP_X, (MAIN_Y, INPUT_Y), 50.0, &feed);
        }
    }

    fn generator(&mut self) {
        if self.plant.supply(SourceKind::Generator).is_none() {
            return;
        }
        self.symbol(SymbolKind::Source, (GENERATOR_X, 60.0), None);
        self.label((GENERATOR_X + 7.0, 60.0), &["generator".to_owned()]);
        let feed = [
            ("generator.breaker", 71.0),
            ("generator.feed.conductor", 81.0),
            ("source switch.generator", 90.0),
        ];
        self.chain(GENERATOR_X, (65.0, INPUT_Y), 50.0, &feed);
    }

    fn group(&mut self) {
        let second = self.part("unit.second").is_some();
        let first = self.part("unit.input").is_some();
        let shared = first && !second && self.plant.supply(SourceKind::Generator).is_some();
        if first {
            let left = if shared { GENERATOR_X } else { GROUP_X };
            self.line(Layer::Bus, &[(left - 5.0, INPUT_Y), (GROUP_X + 5.0, INPUT_Y)], false);
            let inlet = [("unit.input", 107.0), ("unit.input.run.conductor", 119.0), ("unit.relay", 131.0)];
            self.chain(GROUP_X, (INPUT_Y, AC_Y), 50.0, &inlet);
        }
        if second {
            let (x, y) = (GENERATOR_X, INPUT_Y);
            self.line(Layer::Bus, &[(x - 5.0, y), (x + 5.0, y)], false);
            let inlet =
                [("unit.second", 107.0), ("unit.second.run.conductor", 119.0), ("unit.second relay", 131.0)];
            self.chain(x, (y, AC_Y), 50.0, &inlet);
            self.wire(&[(x, AC_Y), (GROUP_X, AC_Y)]);
        }
        self.chain(
            GROUP_X,
            (AC_Y, OUTPUT_Y),
            50.0,
            &[("unit.output.run.conductor", 152.0), ("unit.output", 163.0)],
        );
        self.wire(&[(GROUP_X, AC_Y), (BRIDGE_X - 5.0, AC_Y)]);
        self.symbol(SymbolKind::Bridge, (BRIDGE_X, AC_Y), None);
        self.label((BRIDGE_X + 7.0, AC_Y), &["bridge".to_owned()]);
        self.chain(BRIDGE_X, (AC_Y + 5.0, OUTPUT_Y), 28.0, &[("unit.dc", 158.0)]);
        let (left, top, right, bottom) = (70.0, 101.0, 240.0, 171.0);
        let outline = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        self.line(Layer::Outline, &outline, true);
        let units = self.plant.units.len();
        self.text((73.0, 158.0), 3.5, &format!("{units} x inverter-charger"));
        let drawn = if units > 1 { "each as drawn" } else { "as drawn" };
        self.text((73.0, 163.0), TEXT_MM, drawn);
    }

    fn output(&mut self) {
        self.line(Layer::Bus, &[(118.0, OUTPUT_Y), (GROUP_X + 5.0, OUTPUT_Y)], false);
        self.label((92.0, OUTPUT_Y), &["output bus".to_owned()]);
        self.line(Layer::Bus, &[(195.0, OUTPUT_Y), (236.0, OUTPUT_Y)], false);
        self.label((195.0, OUTPUT_Y + 3.5), &["DC bus".to_owned()]);
        self.wire(&[(225.0, OUTPUT_Y), (225.0, 183.5)]);
        self.symbol(SymbolKind::Battery, (225.0, 186.0), None);
        self.label((230.0, 186.0), &["battery".to_owned()]);
        self.chain(GROUP_X, (OUTPUT_Y, NEUTRAL_Y), 50.0, &[("group.output", 185.0)]);
        self.chain(GROUP_X, (NEUTRAL_Y, 211.0), 50.0, &[("group.output.run.conductor", 203.0)]);
        self.wire(&[(GROUP_X, 211.0), (TRANSFER_X, 211.0)]);
        if !self.plant.formers.is_empty() {
            self.wire(&[(GROUP_X, NEUTRAL_Y), (160.0, NEUTRAL_Y)]);
            self.symbol(SymbolKind::Former, (164.0, NEUTRAL_Y), None);
            self.label((170.0, NEUTRAL_Y), &["neutral former".to_owned()]);
        }
    }

    fn panel(&mut self) {
        self.chain(TRANSFER_X, (SERVED_Y, 211.0), 30.0, &[("transfer.group", 122.0)]);
        if self.part("transfer.supply").is_some() {
            let supply = [
                ("transfer.supply", 61.0),
                ("transfer.supply.run.conductor", 74.0),
                ("transfer.utility", 97.0),
            ];
            self.chain(TRANSFER_X, (MAIN_Y, SERVED_Y), 46.0, &supply);
        }
        if self.part("bypass.supply").is_some() {
            let supply =
                [("bypass.supply", 61.0), ("bypass.supply.run.conductor", 74.0), ("bypass.bypass", 97.0)];
            self.chain(BYPASS_X, (MAIN_Y, SERVED_Y), 50.0, &supply);
            self.chain(BYPASS_X, (SERVED_Y, 134.0), 50.0, &[("bypass.units", 122.0)]);
            let round = [(BYPASS_X, 134.0), (286.0, 134.0), (286.0, SERVED_Y), (TRANSFER_X, SERVED_Y)];
            self.wire(&round);
        } else {
            self.wire(&[(TRANSFER_X, SERVED_Y), (BYPASS_X, SERVED_Y)]);
        }
        self.wire(&[(BYPASS_X, SERVED_Y), (FEEDER_X, SERVED_Y)]);
        self.chain(
            FEEDER_X,
            (SERVED_Y, 148.0),
            42.0,
            &[("backup.feeder", 122.0), ("backup.conductor", 135.0)],
        );
        self.line(Layer::Bus, &[(FEEDER_X - 12.0, 148.0), (FEEDER_X + 12.0, 148.0)], false);
        self.label((FEEDER_X - 10.0, 152.0), &["backup panel".to_owned()]);
    }

    /// Earths at their nodes; their names for the notes.
    fn bonds(&mut self) -> Vec<String> {
        let mut notes = Vec::new();
        for (k, bond) in self.plant.bonds.iter().enumerate() {
            let letter = format!("-X{}", k + 1);
            let id = self.plant.nodes.get(bond.node.0).map_or("", |n| n.id.as_str());
            let way: &[Point] = match id {
                "main" => &[(64.0, MAIN_Y), (64.0, 56.0)],
                "utility" => &[(35.0, 18.0), (27.0, 18.0), (27.0, 22.0)],
                "generator" => &[(80.0, 60.0), (74.0, 60.0), (74.0, 64.0)],
                "group.output" => &[(GROUP_X, NEUTRAL_Y), (122.0, NEUTRAL_Y), (122.0, 197.0)],
                _ => &[(122.0, OUTPUT_Y), (122.0, 179.0)],
            };
            if let Some((x, y)) = way.last().copied() {
                self.wire(way);
                self.symbol(SymbolKind::Earth, (x, y + 2.0), None);
                self.label((x - 8.0, y + 2.0), std::slice::from_ref(&letter));
            }
            notes.push(format!("{letter}: {}.", bond.name));
        }
        if self.has_node("source switch") {
            notes.push("The source switch stands on one source at a time.".to_owned());
        }
        for interlock in &self.plant.interlocks {
            notes.push(format!("There is a {}.", interlock.name));
        }
        notes
    }

    fn frame(&mut self, texts: &Texts, notes: Vec<String>) {
        let (w, h) = (self.scene.sheet.width_mm, self.scene.sheet.height_mm);
        let (left, top, right, bottom) = (FRAME_MM, FRAME_MM, w - FRAME_MM, h - FRAME_MM);
        let head = bottom - 52.0;
        let edge = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        self.line(Layer::Frame, &edge, false);
        self.line(Layer::Frame, &[(left, head), (right, head)], false);
        let (legend, block) = (right - 215.0, right - 115.0);
        for x in [legend, block] {
            self.line(Layer::Frame, &[(x, head), (x, bottom)], false);
        }
        let sheet = format!("sheet 1 of 1, {}", self.scene.sheet.name);
        let title = self.scene.title.clone();
        let revision = format!("revision {}", texts.revision);
        let demo = if texts.demo { "demo data: not for construction" } else { "" };
        let rows = [texts.site.as_str(), &title, &revision, &sheet, "scale: not to scale", demo];
        let mut y = head + 7.0;
        for (k, row) in rows.iter().enumerate().filter(|(_, row)| !row.is_empty()) {
            let size = if k < 2 { 3.0 } else { 2.2 };
            for line in wrapped(row, size, 109.0) {
                self.text((block + 3.0, y), size, &line);
                y += 2.0 * size;
            }
        }
        let symbols = self.scene.items.iter().filter_map(|i| match i {
            Item::Symbol(s) => Some(s.kind),
            _ => None,
        });
        let kinds: BTreeSet<SymbolKind> = symbols.collect();
        self.text((legend + 3.0, head + 4.0), 2.2, "Symbols");
        // two columns, each symbol as large as on the plan
        let (mut x, mut y) = (legend + 8.0, head + 6.0);
        for kind in kinds {
            let mut symbol = Symbol { kind, at: (x, y), us: self.us, role: None, count: 0 };
            let half = symbol.half_mm().1.max(2.5);
            if y + 2.0 * half > bottom - 1.0 {
                (x, y) = (x + 48.0, head + 6.0);
            }
            symbol.at = (x, y + half);
            self.scene.items.push(Item::Symbol(symbol));
            self.label((x + 7.0, y + half), &wrapped(kind.words(), TEXT_MM, 34.0));
            y += 2.0 * half + 0.8;
        }
        let mut y = head + 4.0;
        self.text((left + 3.0, y), 2.2, "Notes");
        for note in notes.iter().chain(&texts.cautions) {
            for line in wrapped(note, TEXT_MM, legend - left - 6.0) {
                y += 3.2;
                self.text((left + 3.0, y), TEXT_MM, &line);
            }
        }
    }
}
