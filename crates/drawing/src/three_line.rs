//! One unit and its gear with every conductor: lines, neutral where the unit has one, ground.

use plant::NodeIx;
use plant::full::{FullPlant, NeutralPath, Part, PartKind, Unit};

use crate::expected::normal;
use crate::facts::{Facts, of_role, sheet, us};
use crate::labels::Labels;
use crate::pen::{LINE_MM, Pen, TEXT_MM};
use crate::scene::{Layer, Point, Scene, wrapped};
use crate::symbol::SymbolKind;

const ROW_MM: f64 = 11.0;
const BUS_X: f64 = 30.0;
const TAP_X: f64 = 192.0;
const TAP_MM: f64 = 6.0;
const JOIN_X: f64 = 222.0;
const OUT_X: f64 = 388.0;

/// One unit in three lines.
pub(crate) fn three_line(facts: &Facts, number: (usize, usize)) -> Option<Scene> {
    let plant = &facts.plant;
    let unit = plant.units.first()?;
    let mut d = Drawing {
        plant,
        unit,
        labels: Labels::new(facts),
        pen: Pen::new(sheet(plant), "Three-line diagram of one unit and its gear", us(plant)),
    };
    let notes = d.draw();
    Some(d.pen.finish(&facts.texts, number, &notes))
}

struct Drawing<'a> {
    plant: &'a FullPlant,
    unit: &'a Unit,
    labels: Labels<'a>,
    pen: Pen,
}

impl Drawing<'_> {
    fn draw(&mut self) -> Vec<String> {
        let mut lines: Vec<String> = self.unit.legs.iter().map(ToString::to_string).collect();
        if self.unit.neutral {
            lines.push("N".to_owned());
        }
        let second = of_role(self.plant, "unit.second").is_some();
        let first = of_role(self.plant, "unit.input").is_some();
        let top = if second { 104.0 } else { 66.0 };
        let rows = |top: f64| -> Vec<(String, f64)> {
            lines.iter().enumerate().map(|(k, line)| (line.clone(), top + ROW_MM * k as f64)).collect()
        };
        let own = rows(top);
        let inputs = [("unit.input", 62.0), ("unit.input.run.conductor", 107.0), ("unit.relay", 166.0)];
        let outputs = [("unit.output.run.conductor", 280.0), ("unit.output", 330.0)];
        if first {
            self.bundle(&own, &[inputs.as_slice(), &outputs].concat(), &[BUS_X; 4], OUT_X);
            self.busbars(&own, BUS_X, "unit.input");
        } else {
            let taps: Vec<f64> = (0..own.len()).map(|k| TAP_X + TAP_MM * k as f64).collect();
            self.bundle(&own, &outputs, &taps, OUT_X);
        }
        self.busbars(&own, OUT_X, "unit.output");
        if second {
            let other = rows(46.0);
            let inputs =
                [("unit.second", 62.0), ("unit.second.run.conductor", 107.0), ("unit.second relay", 166.0)];
            let ends = self.bundle(&other, &inputs, &[BUS_X; 4], 0.0);
            self.busbars(&other, BUS_X, "unit.second");
            for (k, (((_, from), (_, to)), end)) in other.iter().zip(&own).zip(ends).enumerate() {
                let x = JOIN_X + 5.0 * k as f64;
                self.pen.line(Layer::Wire, &[(end, *from), (x, *from), (x, *to)], None);
            }
            let (from, to) = (ground_y(&other), ground_y(&own));
            let x = 148.0;
            self.pen.line(Layer::Bus, &[(BUS_X, from - 3.0), (BUS_X, from + 3.0)], None);
            self.pen.line(Layer::Ground, &[(BUS_X, from), (x, from), (x, to)], None);
            self.ground_word((BUS_X, from));
        }
        self.ground(&own, (if first || second { BUS_X } else { 156.0 }, OUT_X));
        self.converter(&own);
        let bottom = own.last().map_or(top, |(_, y)| *y) + 46.0;
        let left = (142.0, if second { 34.0 } else { top - 12.0 });
        let frame = [left, (252.0, left.1), (252.0, bottom), (142.0, bottom), left];
        self.pen.line(Layer::Outline, &frame, None);
        let legs: Vec<String> = self.unit.legs.iter().map(ToString::to_string).collect();
        self.pen.text(
            (145.0, bottom - 3.0),
            2.2,
            &format!("inverter-charger, unit 1 on {}", legs.join(", ")),
        );
        self.notes(first)
    }

    fn notes(&self, first: bool) -> Vec<String> {
        let n = self.plant.units.len();
        let mut notes = vec!["Contacts stand as in normal operation.".to_owned()];
        if n > 1 {
            let all = if n == 2 { "Both".to_owned() } else { format!("All {n}") };
            notes.push(format!("{all} units are built alike, each on its own lines."));
        }
        if !self.unit.neutral {
            notes.push("The unit works between the lines and has no neutral.".to_owned());
        }
        if !first {
            notes.push("Nothing feeds the unit's first input.".to_owned());
        }
        let words = if us(self.plant) { "equipment grounding conductor" } else { "protective conductor" };
        notes.push(format!("Enclosures of the unit and of its gear are joined to the {words}."));
        notes
    }

    fn has_neutral(&self, node: NodeIx) -> bool {
        self.plant.nodes.get(node.0).is_some_and(|n| n.neutral)
    }

    /// A part has a symbol on a conductor, or passes it on, or does not have it.
    fn on(&self, part: &Part, line: &str) -> Option<bool> {
        let neutral = self.has_neutral(part.from) && self.has_neutral(part.to);
        match line {
            "N" if !neutral => None,
            "N" => Some(part.kind == PartKind::Conductor || part.neutral == NeutralPath::Switched),
            _ => Some(true),
        }
    }

    /// Rows of conductors from left to right, with the parts on them; gives where each ends if not led on to `to`.
    fn bundle(&mut self, rows: &[(String, f64)], parts: &[(&str, f64)], from: &[f64], to: f64) -> Vec<f64> {
        let positions = normal(self.plant);
        let mut ends = from.to_vec();
        for (role, x) in parts {
            let Some((part, _)) = of_role(self.plant, role) else { continue };
            let (kind, half) = match part.kind {
                PartKind::Conductor => (SymbolKind::Run, 1.5),
                PartKind::Breaker => (SymbolKind::Breaker, 4.0),
                PartKind::Switch | PartKind::Relay => (SymbolKind::Contact, 4.0),
                PartKind::Converter => (SymbolKind::Controller, 4.0),
            };
            let closed = self.plant.closed(part, &positions);
            let mut poles: Vec<(String, Point)> = Vec::new();
            for ((line, y), end) in rows.iter().zip(&mut ends) {
                if self.on(part, line) != Some(true) {
                    continue;
                }
                let name = format!("{role}:{line}");
                self.pen.line(Layer::Wire, &[(*end, *y), (x - half, *y)], None);
                let terminals = [format!("{name}:1"), format!("{name}:2")];
                self.pen.symbol((kind, (*x, *y)), &name, &terminals, |s| {
                    s.turned = true;
                    s.closed = closed;
                });
                if let Some(blade) = self.pen.scene.symbols().last().map(crate::symbol::Symbol::blade) {
                    poles.push((name, blade));
                }
                *end = x + half;
            }
            if let ([(_, a), .., (_, b)], true) = (poles.as_slice(), kind != SymbolKind::Run) {
                let ends = [*a, *b];
                let roles: Vec<&str> = poles.iter().map(|(name, _)| name.as_str()).collect();
                self.pen.link(&ends, &roles);
            }
            let words = self.labels.of(role, None);
            let words: Vec<String> = words.iter().flat_map(|line| wrapped(line, TEXT_MM, 40.0)).collect();
            let top = rows.first().map_or(0.0, |(_, y)| *y);
            let first = top - 4.5 - LINE_MM * words.len().saturating_sub(1) as f64;
            self.pen.lines((x - 8.0, first), &words);
        }
        for ((_, y), end) in rows.iter().zip(&ends) {
            if to > *end {
                self.pen.line(Layer::Wire, &[(*end, *y), (to, *y)], None);
            }
        }
        ends
    }

    /// The busbars that a row ends at.
    fn busbars(&mut self, rows: &[(String, f64)], x: f64, role: &str) {
        let Some((part, _)) = of_role(self.plant, role) else { return };
        let node = if x > TAP_X { part.to } else { part.from };
        let name = self.plant.nodes.get(node.0).map_or(String::new(), |n| n.name.clone());
        for (line, y) in rows {
            self.pen.line(Layer::Bus, &[(x, y - 3.0), (x, y + 3.0)], None);
            let beside = if x > TAP_X { x + 3.0 } else { x - 8.0 };
            self.pen.label((beside, *y), std::slice::from_ref(line));
        }
        let top = rows.first().map_or(0.0, |(_, y)| *y);
        let words = wrapped(&name, TEXT_MM, 28.0);
        let first = top - 5.5 - LINE_MM * words.len().saturating_sub(1) as f64;
        self.pen.lines((if x > TAP_X { x - 6.0 } else { x - 16.0 }, first), &words);
    }

    fn ground(&mut self, rows: &[(String, f64)], (from, to): (f64, f64)) {
        let y = ground_y(rows);
        for x in [from, to] {
            self.pen.line(Layer::Bus, &[(x, y - 3.0), (x, y + 3.0)], None);
        }
        self.pen.line(Layer::Ground, &[(from, y), (to, y)], None);
        self.ground_word((from, y));
        self.pen.label((to + 3.0, y), &[ground_name(self.plant).to_owned()]);
    }

    fn ground_word(&mut self, (x, y): Point) {
        self.pen.label((x - 12.0, y), &[ground_name(self.plant).to_owned()]);
    }

    /// The converter on the unit's own AC node, and its DC side.
    fn converter(&mut self, rows: &[(String, f64)]) {
        let bottom = rows.last().map_or(0.0, |(_, y)| *y) + ROW_MM;
        let middle = (TAP_X + 9.0, bottom + 20.0);
        let half = (14.0, 8.0);
        let mut taps = Vec::new();
        let mut terminals = Vec::new();
        for (k, (line, y)) in rows.iter().enumerate() {
            let x = TAP_X + TAP_MM * k as f64;
            self.pen.line(Layer::Wire, &[(x, *y), (x, middle.1 - half.1)], None);
            taps.push((x - middle.0, -half.1));
            terminals.push(format!("unit.bridge:{line}"));
        }
        taps.push((0.0, half.1));
        terminals.push("unit.bridge:dc".to_owned());
        self.pen
            .symbol((SymbolKind::Bridge, middle), "unit.bridge", &terminals, |s| s.wide = Some((half, taps)));
        self.pen.label((middle.0 + 16.0, middle.1), &["converter".to_owned()]);
        let below = (middle.0, middle.1 + half.1);
        let end = (middle.0, below.1 + 14.0);
        self.pen.line(Layer::Wire, &[below, end], None);
        self.pen.symbol(
            (SymbolKind::Onward, (end.0, end.1 + 2.0)),
            "onward",
            &["onward:dc".to_owned()],
            |_| {},
        );
        self.pen.label((end.0 + 4.0, end.1 + 2.0), &["DC terminals: sheet \"DC side\"".to_owned()]);
    }
}

fn ground_name(plant: &FullPlant) -> &'static str {
    if us(plant) { "ground" } else { "PE" }
}

/// The ground is under the other conductors.
fn ground_y(rows: &[(String, f64)]) -> f64 {
    rows.last().map_or(0.0, |(_, y)| *y) + ROW_MM
}
