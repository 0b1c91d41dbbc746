//! The DC side: whatever the plant has between its batteries and its units, drawn as a tree about the DC bus, like parts
//! gathered.

use std::collections::BTreeSet;

use plant::full::{FullPlant, PartKind};

use crate::expected::{battery_nodes, direct, normal};
use crate::facts::{Facts, node_role, of_role, sheet, us};
use crate::labels::Labels;
use crate::pen::{Pen, TEXT_MM};
use crate::scene::{Layer, Point, Scene, wrapped};
use crate::symbol::SymbolKind;

const BUS_Y: f64 = 112.0;
const STEP_MM: f64 = 19.0;
const COLUMN_MM: f64 = 78.0;

struct Drawing<'a> {
    plant: &'a FullPlant,
    labels: Labels<'a>,
    used: BTreeSet<String>,
    batteries: Vec<String>,
    pen: Pen,
}

/// The DC side of a plant.
pub(crate) fn dc_side(facts: &Facts, number: (usize, usize)) -> Scene {
    let plant = &facts.plant;
    let mut d = Drawing {
        plant,
        labels: Labels::new(facts),
        used: BTreeSet::new(),
        batteries: battery_nodes(plant),
        pen: Pen::new(sheet(plant), "DC side", us(plant)),
    };
    let bus = node_role(plant, plant.dc_bus);
    let mut notes =
        vec!["Positive and negative are one line here; devices stand as in normal operation.".to_owned()];
    if d.batteries.contains(&bus) {
        notes.push(
            "Strings of the battery, their devices and cables are not part of this design yet.".to_owned(),
        );
    }
    let hanging = d.children(&bus);
    let down = hanging.iter().filter(|(role, _)| role.starts_with("unit.")).count();
    let up = hanging.len() - down + usize::from(d.batteries.contains(&bus));
    let columns = up.max(down).max(1) as f64;
    let left = (d.pen.scene.sheet.width_mm / 2.0 - COLUMN_MM * columns / 2.0).max(40.0);
    d.rows(&bus, left);
    let right = left + COLUMN_MM * (columns - 1.0) + 16.0;
    d.pen.line(Layer::Bus, &[(left - 16.0, BUS_Y), (right, BUS_Y)], None);
    d.pen.label((left - 30.0, BUS_Y), &["DC bus".to_owned()]);
    d.pen.finish(&facts.texts, number, &notes)
}

impl Drawing<'_> {
    /// Draws what hangs on the bus: batteries upwards, units downwards.
    fn rows(&mut self, bus: &str, left: f64) {
        let (mut up, mut down) = (left, left);
        if self.batteries.iter().any(|b| b == bus) {
            self.battery(bus, (up, BUS_Y), -1.0, 1);
            up += COLUMN_MM;
        }
        for (role, far) in self.children(bus) {
            let (x, way) = if role.starts_with("unit.") { (&mut down, 1.0) } else { (&mut up, -1.0) };
            let at = (*x, BUS_Y);
            *x += COLUMN_MM;
            self.branch(&role, &far, at, way);
        }
    }

    /// Parts at a node that are not drawn yet, with the node at their other end.
    fn children(&self, node: &str) -> Vec<(String, String)> {
        let mut all: Vec<(String, String)> = Vec::new();
        for part in self.plant.parts.iter().filter(|p| direct(self.plant, p)) {
            let (from, to, role) =
                (node_role(self.plant, part.from), node_role(self.plant, part.to), part.role());
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

    /// A part and all behind it, upwards (-1) or downwards (1).
    fn branch(&mut self, role: &str, far: &str, (x, y): Point, way: f64) {
        let Some((part, count)) = of_role(self.plant, role) else { return };
        self.used.insert(role.to_owned());
        let kind = match part.kind {
            PartKind::Conductor => SymbolKind::Run,
            PartKind::Breaker => SymbolKind::Breaker,
            PartKind::Switch | PartKind::Relay => SymbolKind::Contact,
        };
        let half = if kind == SymbolKind::Run { 1.5 } else { 4.0 };
        let at = y + way * STEP_MM * 0.6;
        self.pen.line(Layer::Wire, &[(x, y), (x, at - way * half)], None);
        // the top pin is the near one on the way down, the far one on the way up
        let far_is_second = node_role(self.plant, part.to) == far;
        let (near_pin, far_pin) = if far_is_second { (1, 2) } else { (2, 1) };
        let (top, bottom) = if way > 0.0 { (near_pin, far_pin) } else { (far_pin, near_pin) };
        let terminals = [format!("{role}:{top}"), format!("{role}:{bottom}")];
        let positions = normal(self.plant);
        let closed = self.plant.closed(part, &positions);
        self.pen.symbol((kind, (x, at)), role, &terminals, |s| {
            s.count = count;
            s.closed = closed;
        });
        let mut words = self.labels.of(role, None);
        if let Some(first) = words.first_mut()
            && count > 1
        {
            *first = format!("{count} x {first}");
        }
        let words: Vec<String> =
            words.iter().flat_map(|line| wrapped(line, TEXT_MM, COLUMN_MM - 8.0)).collect();
        self.pen.label((x + 4.0, at), &words);
        let end = (x, at + way * half);
        let children = self.children(far);
        if far == "unit.dc" {
            let count = self.plant.units.len();
            let y = end.1 + way * 10.0;
            let pin = (x, y - way * 5.0);
            self.pen.line(Layer::Wire, &[end, pin], None);
            // the DC pin of a converter points down on the single-line diagram, up here
            let terminals = [String::new(), String::new(), "unit.bridge:2".to_owned()];
            self.pen.symbol((SymbolKind::Bridge, (x, y)), "unit.bridge", &terminals, |s| s.count = count);
            self.pen.label((x + 7.0, y), &[format!("{count} x converter of an inverter-charger")]);
            return;
        }
        if self.batteries.iter().any(|b| b == far) {
            let node = far.to_owned();
            self.battery(&node, end, way, count);
            return;
        }
        for (k, (next, beyond)) in children.into_iter().enumerate() {
            let side = x + COLUMN_MM * k as f64;
            let start = (side, end.1 + way * 4.0);
            self.pen.line(Layer::Wire, &[end, (x, start.1), start], None);
            self.branch(&next, &beyond, start, way);
        }
    }

    /// A battery at the end of a way upwards (-1) or downwards (1).
    fn battery(&mut self, node: &str, (x, y): Point, way: f64, count: usize) {
        let terminal = format!("battery {node}:1");
        let terminals = if way > 0.0 { vec![terminal] } else { vec![String::new(), terminal] };
        let words = if count > 1 { format!("{count} x battery string") } else { "battery".to_owned() };
        let at = (x, y + way * 15.0);
        self.pen.line(Layer::Wire, &[(x, y), (x, at.1 - way * 3.0)], None);
        self.pen.symbol((SymbolKind::Battery, at), "battery", &terminals, |s| s.count = count);
        self.pen.label((x + 6.0, at.1), &[words]);
    }
}
