//! The DC side: whatever the plant has between its batteries, its arrays and its units, drawn as a tree about the DC
//! bus, like parts gathered.

use std::collections::BTreeSet;

use plant::full::FullPlant;

use crate::expected::{array_nodes, battery_nodes, direct, inverter_nodes, normal};
use crate::facts::{Facts, array_of, node_role, of_role, role_of, several, sheet, symbol_of, us};
use crate::labels::Labels;
use crate::pen::{LINE_MM, Pen, TEXT_MM};
use crate::scene::{FRAME_MM, Layer, Point, Scene, fitting, wrapped};
use crate::symbol::SymbolKind;

/// Height for the bus and all that hangs on it, in millimetres.
const ROOM_MM: f64 = 196.0;
/// From part to part at most, in millimetres.
const STEP_MM: f64 = 26.0;
/// From column to column at most, in millimetres.
const COLUMN_MM: f64 = 100.0;
/// What stands at the end of a way takes so many steps.
const END_STEPS: f64 = 0.9;

struct Drawing<'a> {
    facts: &'a Facts,
    plant: &'a FullPlant,
    labels: Labels<'a>,
    used: BTreeSet<String>,
    batteries: Vec<String>,
    arrays: Vec<String>,
    /// From part to part.
    step: f64,
    /// From column to column.
    pitch: f64,
    /// Where the next column upwards and downwards begins.
    next: [f64; 2],
    pen: Pen,
}

/// The DC side of a plant.
pub(crate) fn dc_side(facts: &Facts, number: (usize, usize)) -> Scene {
    let plant = &facts.plant;
    let mut d = Drawing {
        facts,
        plant,
        labels: Labels::new(facts),
        used: BTreeSet::new(),
        batteries: battery_nodes(plant),
        arrays: array_nodes(plant),
        step: STEP_MM,
        pitch: COLUMN_MM,
        next: [0.0, 0.0],
        pen: Pen::new(sheet(plant), "DC side", us(plant)),
    };
    let bus = node_role(plant, plant.dc_bus);
    let mut notes =
        vec!["Positive and negative are one line here; devices stand as in normal operation.".to_owned()];
    let bare = d.batteries.contains(&bus);
    if bare {
        notes.push(
            "Strings of the battery, their devices and cables are not part of this design yet.".to_owned(),
        );
    }
    let mut size = [(usize::from(bare), if bare { 1.0 } else { 0.0 }), (0, 0.0_f64)];
    for (role, far) in d.children(&bus) {
        let (columns, steps) = d.size(&role, &far, &mut BTreeSet::new());
        if let Some(side) = size.get_mut(usize::from(down(&role))) {
            *side = (side.0 + columns, side.1.max(steps));
        }
    }
    let mut apart: Vec<(String, Vec<(String, String)>)> = Vec::new();
    for node in inverter_nodes(plant) {
        apart.push((node.clone(), d.children(&node)));
    }
    let on_bus = size.iter().map(|side| side.0).max().unwrap_or(0).max(1);
    let mut inputs = (0, 0.0_f64);
    for (role, far) in apart.iter().flat_map(|(_, ways)| ways) {
        let (columns, steps) = d.size(role, far, &mut BTreeSet::new());
        inputs = (inputs.0 + columns, inputs.1.max(steps));
    }
    let [up, low] = size;
    let up = (up.0, up.1.max(inputs.1));
    let columns = (on_bus + inputs.0) as f64;
    let width = d.pen.scene.sheet.width_mm - 2.0 * FRAME_MM;
    d.step = (ROOM_MM / (up.1 + low.1).max(1.0)).min(STEP_MM);
    d.pitch = ((width - 30.0) / columns).min(COLUMN_MM);
    let spare = (ROOM_MM - d.step * (up.1 + low.1)).max(0.0);
    let y = FRAME_MM + 8.0 + spare / 2.0 + d.step * up.1;
    let left = FRAME_MM + 30.0 + (width - 30.0 - d.pitch * columns) / 2.0;
    d.next = [left, left];
    let right = left + d.pitch * (on_bus as f64 - 1.0) + 10.0;
    d.pen.line(Layer::Bus, &[(left - 10.0, y), (right, y)], None);
    d.pen.label((left - 26.0, y), &["DC bus".to_owned()]);
    if bare {
        let x = d.column(-1.0);
        d.battery(&bus, (x, y), -1.0, 1);
    }
    for (role, far) in d.children(&bus) {
        let way = if down(&role) { 1.0 } else { -1.0 };
        let x = d.column(way);
        d.branch(&role, &far, (x, y), way);
    }
    // array inverters are not on the bus: they stand beside it, with their strings above them
    let [up, _] = &mut d.next;
    *up = up.max(left + d.pitch * on_bus as f64);
    for (node, ways) in apart {
        let x = d.column(-1.0);
        d.input(&node, (x, y));
        for (role, far) in ways {
            d.branch(&role, &far, (x, y - 4.0), -1.0);
        }
    }
    d.pen.finish(&facts.texts, number, &notes)
}

/// The units hang below the bus, all else stands above it.
fn down(role: &str) -> bool {
    role.starts_with("unit.")
}

impl Drawing<'_> {
    /// The next free column on a side.
    fn column(&mut self, way: f64) -> f64 {
        let Some(next) = self.next.get_mut(usize::from(way > 0.0)) else { return 0.0 };
        let x = *next;
        *next += self.pitch;
        x
    }

    /// Columns and steps that a branch takes.
    fn size(&self, role: &str, far: &str, seen: &mut BTreeSet<String>) -> (usize, f64) {
        seen.insert(role.to_owned());
        let mut all = (0, 0.0_f64);
        for (next, beyond) in self.children(far).into_iter().filter(|_| !self.ends(far)) {
            if !seen.contains(&next) {
                let (columns, steps) = self.size(&next, &beyond, seen);
                all = (all.0 + columns, all.1.max(steps));
            }
        }
        (all.0.max(1), 1.0 + if all.0 == 0 { END_STEPS } else { all.1 })
    }

    fn ends(&self, node: &str) -> bool {
        node == "unit.dc" || self.batteries.iter().chain(&self.arrays).any(|n| n == node)
    }

    /// Parts at a node that are not drawn yet, with the node at their other end.
    fn children(&self, node: &str) -> Vec<(String, String)> {
        let mut all: Vec<(String, String)> = Vec::new();
        for part in self.plant.parts.iter().filter(|p| direct(self.plant, p)) {
            let (from, to, role) =
                (node_role(self.plant, part.from), node_role(self.plant, part.to), role_of(part));
            if self.used.contains(&role) || all.iter().any(|(r, _)| *r == role) {
                continue;
            }
            if from == node {
                all.push((role, to));
            } else if to == node {
                all.push((role, from));
            }
        }
        all
    }

    /// Words beside a symbol, in no more lines than there is room for.
    fn label(&mut self, at: Point, words: &[String], beside: f64) {
        // up to the widest symbol of the next column
        let width = (self.pitch - beside - 7.0).max(12.0);
        let most = ((self.step - 1.0) / LINE_MM).floor().max(1.0) as usize;
        let words: Vec<String> = words.iter().flat_map(|line| wrapped(line, TEXT_MM, width)).collect();
        let words: Vec<String> = words.iter().take(most).map(|line| fitting(line, TEXT_MM, width)).collect();
        self.pen.label((at.0 + beside, at.1), &words);
    }

    /// A part and all behind it, upwards (-1) or downwards (1).
    fn branch(&mut self, role: &str, far: &str, (x, y): Point, way: f64) {
        let Some((part, count)) = of_role(self.plant, role) else { return };
        self.used.insert(role.to_owned());
        let kind = symbol_of(self.facts, part);
        let half = if kind == SymbolKind::Run { 1.5 } else { 4.0 };
        let at = y + way * self.step * 0.5;
        self.pen.line(Layer::Wire, &[(x, y), (x, at - way * half)], None);
        // the top pin is the near one on the way down, the far one on the way up
        let far_is_second = node_role(self.plant, part.to) == far;
        let (near_pin, far_pin) = if far_is_second { (1, 2) } else { (2, 1) };
        let (top, bottom) = if way > 0.0 { (near_pin, far_pin) } else { (far_pin, near_pin) };
        let terminals = [format!("{role}:{top}"), format!("{role}:{bottom}")];
        let closed = self.plant.closed(part, &normal(self.plant));
        self.pen.symbol((kind, (x, at)), role, &terminals, |s| {
            s.count = count;
            s.closed = closed;
        });
        let mut words = self.labels.of(role, None);
        if let Some(first) = words.first_mut()
            && count > 1
        {
            // "-Q10.1 to .6" says how many there are
            if !first.contains(" to .") && !first.contains("\u{a0}to\u{a0}.") {
                *first = format!("{count} x {first}");
            }
        }
        self.label((x, at), &words, if kind == SymbolKind::Controller { 6.0 } else { 4.5 });
        let end = (x, at + way * half);
        let next = y + way * self.step;
        let count_units = self.plant.units.len();
        if far == "unit.dc" {
            let y = next + way * 6.0;
            self.pen.line(Layer::Wire, &[end, (x, y - way * 5.0)], None);
            // the DC pin of a converter points down on the single-line diagram, up here
            let terminals = [String::new(), String::new(), "unit.bridge:2".to_owned()];
            self.pen
                .symbol((SymbolKind::Bridge, (x, y)), "unit.bridge", &terminals, |s| s.count = count_units);
            let mut words = vec![several(count_units, "converter of an inverter-charger")];
            words.extend(self.facts.records.get("unit").cloned());
            self.label((x, y), &words, 7.0);
        } else if self.batteries.iter().any(|b| b == far) {
            self.battery(far, end, way, count);
        } else if self.arrays.iter().any(|a| a == far) {
            self.modules(far, end, way, count);
        } else {
            for (k, (child, beyond)) in self.children(far).into_iter().enumerate() {
                let side = if k == 0 { x } else { self.column(way) };
                let start = (side, next);
                self.pen.line(Layer::Wire, &[end, (x, start.1), start], None);
                self.branch(&child, &beyond, start, way);
            }
        }
    }

    /// A battery at the end of a way upwards (-1) or downwards (1).
    fn battery(&mut self, node: &str, (x, y): Point, way: f64, count: usize) {
        let terminal = format!("battery {node}:1");
        let terminals = if way > 0.0 { vec![terminal] } else { vec![String::new(), terminal] };
        let mut words =
            vec![if count > 1 { format!("{count} x battery string") } else { "battery".to_owned() }];
        words.extend(self.facts.records.get("battery").cloned());
        let at = (x, y + way * (0.5 * self.step + 3.0));
        self.pen.line(Layer::Wire, &[(x, y), (x, at.1 - way * 3.0)], None);
        self.pen.symbol((SymbolKind::Battery, at), "battery", &terminals, |s| s.count = count);
        self.label(at, &words, 6.0);
    }

    /// An array inverter at whose input strings end.
    fn input(&mut self, node: &str, at: Point) {
        let name = array_of(node).unwrap_or(node).to_owned();
        let terminals = [format!("input {node}:1"), String::new()];
        let begins = format!("{name}.");
        let count = self.plant.followers.iter().filter(|f| f.id.starts_with(&begins)).count();
        self.pen
            .symbol((SymbolKind::Inverter, at), &format!("input {node}"), &terminals, |s| s.count = count);
        let mut words = vec![several(count, "array inverter"), name.clone()];
        words.extend(self.facts.records.get(&name).cloned());
        self.label(at, &words, 6.0);
    }

    /// Modules of an array, likewise.
    fn modules(&mut self, node: &str, (x, y): Point, way: f64, count: usize) {
        let terminal = format!("modules {node}:1");
        let terminals = if way > 0.0 { vec![String::new(), terminal] } else { vec![terminal] };
        let name = array_of(node).unwrap_or(node);
        let mut words = vec![if count > 1 { format!("{name}: {count} strings") } else { name.to_owned() }];
        words.extend(self.facts.records.get(&format!("modules {name}")).cloned());
        let at = (x, y + way * (0.5 * self.step + 4.0));
        self.pen.line(Layer::Wire, &[(x, y), (x, at.1 - way * 4.0)], None);
        self.pen.symbol((SymbolKind::Array, at), &format!("modules {node}"), &terminals, |s| s.count = count);
        self.label(at, &words, 6.0);
    }
}
