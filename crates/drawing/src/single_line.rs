//! The single-line diagram: sources on the left, the units gathered in one frame, transfer and bypass gear, the panel on
//! the right. Every part has its place by its role, so a plant without it leaves the place empty. In an operating state
//! contacts stand as they are, live parts are marked by source, and currents stand at the parts.

mod arrays;
mod group;

use std::collections::{BTreeMap, BTreeSet};

use plant::SourceKind;

use crate::centre::Centring;
use crate::expected::{direct, normal};
use crate::facts::{Facts, State, node_role, of_role, role_of, sheet, sources, symbol_of, us};
use crate::labels::Labels;
use crate::pen::{Pen, TEXT_MM};
use crate::scene::{Layer, Live, Point, Scene, wrapped};
use crate::symbol::SymbolKind;

pub(crate) use arrays::{array_sheet, array_sheets, arrays_apart};

const MAIN_Y: f64 = 54.0;
const INPUT_Y: f64 = 106.0;
const AC_Y: f64 = 150.0;
const OUTPUT_Y: f64 = 181.0;
const BEHIND_Y: f64 = 200.0;
const BOTTOM_Y: f64 = 217.0;
const SERVED_Y: f64 = 119.0;
const LOAD_Y: f64 = 156.0;
const ROUND_X: f64 = 22.0;
const UTILITY_X: f64 = 40.0;
const GENERATOR_X: f64 = 80.0;
const GROUP_X: f64 = 135.0;
const BRIDGE_X: f64 = 192.0;
const RISER_X: f64 = 224.0;
const TRANSFER_X: (f64, f64) = (232.0, 274.0);
const BYPASS_X: (f64, f64) = (304.0, 348.0);
const FEEDER_X: f64 = 326.0;
const PANEL_Y: f64 = 204.0;

/// A vertical row of parts.
struct Column<'a> {
    x: f64,
    from: (f64, &'a str),
    /// Height where it ends; none = at the last part.
    to: Option<f64>,
    /// Room for labels.
    width: f64,
    /// Role and height of each part.
    parts: &'a [(&'a str, f64)],
}

struct Drawing<'a> {
    facts: &'a Facts,
    state: Option<&'a State>,
    labels: Labels<'a>,
    live: BTreeMap<String, Live>,
    positions: Vec<u8>,
    /// Contacts whose label stands below them, clear of their linkage.
    linked: BTreeSet<&'static str>,
    pen: Pen,
}

/// The single-line diagram of a plant with its conductors. A US site gets ANSI B and American symbols, any other A3.
pub(crate) fn single_line(facts: &Facts, state: Option<&State>, number: (usize, usize)) -> Scene {
    let plant = &facts.plant;
    let title = state.map_or("Single-line diagram".to_owned(), |s| format!("State: {}", s.name));
    let linked = [
        "source switch.utility",
        "source switch.generator",
        "transfer.utility",
        "transfer.group",
        "bypass.units",
        "bypass.bypass",
    ];
    let mut d = Drawing {
        facts,
        state,
        labels: Labels::new(facts),
        live: state.map(|s| sources(plant, s)).unwrap_or_default(),
        positions: state.map_or_else(|| normal(plant), |s| s.positions.clone()),
        linked: linked.into_iter().collect(),
        pen: Pen::new(sheet(plant), &title, us(plant)),
    };
    d.pen.centring = Centring::Upright;
    d.utility();
    d.generator();
    d.group();
    d.units();
    d.output();
    d.transfer();
    d.bypass();
    d.panel();
    d.arrays();
    d.bonds();
    let notes = d.notes();
    d.pen.finish(&facts.texts, number, &notes)
}

impl Drawing<'_> {
    fn has(&self, role: &str) -> bool {
        of_role(&self.facts.plant, role).is_some()
    }

    fn live(&self, node: &str) -> Option<Live> {
        self.state.map(|_| self.live.get(node).copied().unwrap_or(Live::Dead))
    }

    fn wire(&mut self, node: &str, points: &[Point]) {
        let live = self.live(node);
        self.pen.line(Layer::Wire, points, live);
    }

    fn bus(&mut self, node: &str, points: &[Point]) {
        let live = self.live(node);
        self.pen.line(Layer::Bus, points, live);
    }

    /// Draws a column; gives the node at its end.
    fn column(&mut self, column: &Column<'_>) -> String {
        let plant = &self.facts.plant;
        let (mut y, mut node) = (column.from.0, column.from.1.to_owned());
        for (role, at) in column.parts {
            let Some((part, count)) = of_role(plant, role) else { continue };
            let kind = symbol_of(self.facts, part);
            let (from, to) = (node_role(plant, part.from), node_role(plant, part.to));
            let (first, last, next) = if from == node { (1, 2, to) } else { (2, 1, from) };
            let half = if kind == SymbolKind::Run { 1.5 } else { 4.0 };
            self.wire(&node, &[(column.x, y), (column.x, at - half)]);
            let ends = [self.live(&node), self.live(&next)];
            let live = ends.into_iter().flatten().min();
            let closed =
                plant.parts.iter().any(|p| {
                    role_of(p) == **role && plant.closed(p, &self.positions) && p.moved_by.is_some()
                }) || part.moved_by.is_none();
            let terminals = [format!("{role}:{first}"), format!("{role}:{last}")];
            self.pen.symbol((kind, (column.x, *at)), role, &terminals, |s| {
                s.count = count;
                s.closed = closed;
                s.live = live.filter(|l| *l == Live::Dead);
            });
            if column.width <= 0.0 {
                (y, node) = (at + half, next);
                continue; // labelled elsewhere
            }
            let words = match direct(plant, part) && kind == SymbolKind::Run {
                true => vec![self.labels.letter(role)], // its size stands on the sheet of the DC side
                // its numbers stand on that sheet, too: there is little room here
                false if direct(plant, part) => {
                    let letter = self.labels.letter(role).replace(' ', "\u{a0}");
                    let all = letter.split('.').next().unwrap_or_default();
                    let words = self.labels.of(role, self.state);
                    words.iter().map(|line| line.replace(&letter, all)).collect()
                }
                false => self.labels.of(role, self.state),
            };
            let words: Vec<String> =
                words.iter().flat_map(|line| wrapped(line, TEXT_MM, column.width)).collect();
            if self.linked.contains(role) {
                self.pen.lines((column.x + 3.5, at + 3.6), &words);
            } else {
                self.pen.label((column.x + 4.0, *at), &words);
            }
            (y, node) = (at + half, next);
        }
        if let Some(to) = column.to {
            self.wire(&node, &[(column.x, y), (column.x, to)]);
        }
        node
    }

    fn source(&mut self, name: &str, at: Point, node: &str) {
        let live = self.live(node).filter(|l| *l == Live::Dead);
        let role = format!("source.{name}");
        self.pen.symbol((SymbolKind::Source, at), &role, &[format!("{role}:1")], |s| s.live = live);
        let mut words = vec![match self.live(node) {
            Some(Live::Dead) if name == "utility" => "utility: lost".to_owned(),
            Some(Live::Dead) => format!("{name}: off"),
            _ => name.to_owned(),
        }];
        if name == "utility" {
            words.push(self.facts.plant.system.to_string());
        }
        words.extend(self.facts.records.get(name).into_iter().flat_map(|r| wrapped(r, TEXT_MM, 44.0)));
        if name == "utility" && self.state.is_none() {
            let meter = self.facts.outgoing.get(name).into_iter().flatten();
            words.extend(meter.flat_map(|m| wrapped(m, TEXT_MM, 80.0)));
        }
        self.pen.label((at.0 + 7.0, at.1), &words);
    }

    /// What a panel feeds beside what is drawn, as a way out of its bus with its name.
    fn outgoing(&mut self, panel: &str, (x, y): Point, width: f64) {
        let all = self.facts.outgoing.get(panel).filter(|_| self.state.is_none());
        let words: Vec<String> = all.into_iter().flatten().flat_map(|w| wrapped(w, TEXT_MM, width)).collect();
        if words.is_empty() {
            return;
        }
        // clear of an earth at the bus
        let end = y + 14.0;
        // it is no part of the plant: an outline, not a wire
        self.pen.line(Layer::Outline, &[(x, y), (x, end)], None);
        self.pen.line(Layer::Outline, &[(x - 1.2, end), (x + 1.2, end)], None);
        self.pen.lines((x + 2.0, end), &words);
    }

    fn utility(&mut self) {
        if self.facts.plant.supply(SourceKind::Utility).is_none() {
            return;
        }
        self.source("utility", (UTILITY_X, 19.0), "utility");
        let parts = [("service.conductor", 32.0), ("service", 43.0)];
        self.column(&Column {
            x: UTILITY_X,
            from: (24.0, "utility"),
            to: Some(MAIN_Y),
            width: 90.0,
            parts: &parts,
        });
        let feeds =
            [("group.breaker", GROUP_X), ("transfer.supply", TRANSFER_X.1), ("bypass.supply", BYPASS_X.1)];
        let right = feeds
            .iter()
            .filter(|(role, _)| self.has(role))
            .map(|(_, x)| *x)
            .fold(70.0, f64::max)
            .max(self.last_above_main());
        self.bus("main", &[(18.0, MAIN_Y), (right + 3.0, MAIN_Y)]);
        self.pen.label((90.0, MAIN_Y - 3.5), &["main panel".to_owned()]);
        self.outgoing("main", (27.0, MAIN_Y), 34.0);
        if self.has("neutral.round") {
            self.round();
        }
    }

    /// The neutral that goes round the units, as a neutral and nothing else.
    fn round(&mut self) {
        let role = "neutral.round";
        let neutral = |pen: &mut Pen, points: &[Point]| pen.line(Layer::Neutral, points, None);
        neutral(&mut self.pen, &[(ROUND_X, MAIN_Y), (ROUND_X, 118.5)]);
        neutral(&mut self.pen, &[(ROUND_X, 121.5), (ROUND_X, BEHIND_Y), (GROUP_X, BEHIND_Y)]);
        let terminals = [format!("{role}:1"), format!("{role}:2")];
        self.pen.symbol((SymbolKind::Run, (ROUND_X, 120.0)), role, &terminals, |_| {});
        let words = self.labels.of(role, self.state);
        let words: Vec<String> = words.iter().flat_map(|line| wrapped(line, TEXT_MM, 38.0)).collect();
        self.pen.label((ROUND_X + 4.0, 120.0), &words);
    }

    fn generator(&mut self) {
        if self.facts.plant.supply(SourceKind::Generator).is_none() {
            return;
        }
        self.source("generator", (GENERATOR_X, 63.0), "generator");
        let parts = [
            ("generator.breaker", 73.0),
            ("generator.feed.conductor", 82.0),
            ("source switch.generator", 91.0),
        ];
        let alone =
            !self.has("unit.second") && !self.has("source switch.generator") && self.has("group.breaker");
        let to = (!alone && (self.has("unit.input") || self.has("unit.second"))).then_some(INPUT_Y);
        self.column(&Column { x: GENERATOR_X, from: (68.0, "generator"), to, width: 46.0, parts: &parts });
    }

    /// From the main panel to the bus ahead of the units.
    fn group(&mut self) {
        if self.has("group.breaker") {
            let parts = [("group.breaker", 64.0), ("input.conductor", 77.0), ("source switch.utility", 91.0)];
            let column =
                Column { x: GROUP_X, from: (MAIN_Y, "main"), to: Some(INPUT_Y), width: 54.0, parts: &parts };
            self.column(&column);
        }
        if self.has("source switch.utility") {
            self.linkage("source switch.generator", "source switch.utility", 91.0, (GENERATOR_X, GROUP_X));
        }
        if let Some((part, _)) = of_role(&self.facts.plant, "unit.input") {
            let node = node_role(&self.facts.plant, part.from);
            let shared = self.has("source switch.utility") || node == "generator.feed";
            let left = if shared { GENERATOR_X } else { GROUP_X };
            self.bus(&node, &[(left - 5.0, INPUT_Y), (GROUP_X + 5.0, INPUT_Y)]);
            self.pen.label((GROUP_X + 7.0, INPUT_Y), &["input bus".to_owned()]);
        }
        if let Some((part, _)) = of_role(&self.facts.plant, "unit.second") {
            let node = node_role(&self.facts.plant, part.from);
            self.bus(&node, &[(GENERATOR_X - 5.0, INPUT_Y), (GENERATOR_X + 5.0, INPUT_Y)]);
            self.pen.label((GENERATOR_X + 7.0, INPUT_Y), &["generator bus".to_owned()]);
        }
    }

    /// A dashed line between two contacts at one height.
    fn linkage(&mut self, left: &str, right: &str, y: f64, (from, to): (f64, f64)) {
        let lean = |role: &str| {
            let symbol = self.pen.scene.symbols().find(|s| s.role.as_deref() == Some(role));
            symbol.map_or(0.0, |s| s.blade().0 - s.at.0)
        };
        let points = [(from + lean(left), y), (to + lean(right), y)];
        self.pen.link(&points, &[left, right]);
    }

    fn transfer(&mut self) {
        if !self.has("transfer.group") {
            return;
        }
        let end = self.node_of("transfer.group");
        let parts = [("transfer.group", 101.0)];
        self.column(&Column {
            x: TRANSFER_X.0,
            from: (97.0, &end),
            to: Some(SERVED_Y),
            width: 35.0,
            parts: &parts,
        });
        let parts =
            [("transfer.supply", 64.0), ("transfer.supply.run.conductor", 77.0), ("transfer.utility", 101.0)];
        self.column(&Column {
            x: TRANSFER_X.1,
            from: (MAIN_Y, "main"),
            to: Some(SERVED_Y),
            width: 48.0,
            parts: &parts,
        });
        self.linkage("transfer.group", "transfer.utility", 101.0, TRANSFER_X);
        self.wire("transfer", &[(TRANSFER_X.0, SERVED_Y), (TRANSFER_X.1, SERVED_Y)]);
    }

    /// The node at the first end of a part.
    fn node_of(&self, role: &str) -> String {
        of_role(&self.facts.plant, role)
            .map_or(String::new(), |(part, _)| node_role(&self.facts.plant, part.from))
    }

    fn bypass(&mut self) {
        let feeder = self.node_of("backup.feeder");
        if !self.has("bypass.units") {
            if self.has("transfer.group") {
                let way = [
                    (TRANSFER_X.1, SERVED_Y),
                    (BYPASS_X.0, SERVED_Y),
                    (BYPASS_X.0, LOAD_Y),
                    (FEEDER_X, LOAD_Y),
                ];
                self.wire(&feeder, &way);
            }
            return;
        }
        let served = self.node_of("bypass.units");
        self.wire(&served, &[(TRANSFER_X.1, SERVED_Y), (BYPASS_X.0, SERVED_Y)]);
        let parts = [("bypass.units", 138.0)];
        self.column(&Column {
            x: BYPASS_X.0,
            from: (SERVED_Y, &served),
            to: Some(LOAD_Y),
            width: 34.0,
            parts: &parts,
        });
        let parts =
            [("bypass.supply", 64.0), ("bypass.supply.run.conductor", 77.0), ("bypass.bypass", 138.0)];
        self.column(&Column {
            x: BYPASS_X.1,
            from: (MAIN_Y, "main"),
            to: Some(LOAD_Y),
            width: 54.0,
            parts: &parts,
        });
        self.wire(&feeder, &[(BYPASS_X.0, LOAD_Y), (FEEDER_X, LOAD_Y)]);
        self.wire(&feeder, &[(FEEDER_X, LOAD_Y), (BYPASS_X.1, LOAD_Y)]);
        self.linkage("bypass.units", "bypass.bypass", 138.0, BYPASS_X);
        if !self.facts.plant.interlocks.is_empty() {
            self.pen.text((BYPASS_X.0 + 8.0, 136.0), TEXT_MM, "interlock");
        }
    }

    fn panel(&mut self) {
        let feeder = self.node_of("backup.feeder");
        let parts = [("backup.feeder", 168.0), ("backup.conductor", 186.0)];
        let end = self.column(&Column {
            x: FEEDER_X,
            from: (LOAD_Y, &feeder),
            to: Some(PANEL_Y),
            width: if self.arrays_on("backup").len() > 2 { 38.0 } else { 76.0 },
            parts: &parts,
        });
        let (left, right) = self.backup_bus();
        self.bus(&end, &[(left, PANEL_Y), (right, PANEL_Y)]);
        let mut words = vec!["backup panel".to_owned()];
        let residual = self.facts.residual.get("backup").filter(|_| self.state.is_none());
        words.extend(residual.map(|words| format!("{words}, all final circuits")));
        self.pen.lines((FEEDER_X - 12.0, PANEL_Y + 5.0), &words);
        let down = if words.len() > 1 { 38.0 } else { 24.0 };
        self.outgoing("backup", (FEEDER_X - 12.0 + down, PANEL_Y), 40.0);
    }

    /// Earths at their nodes.
    fn bonds(&mut self) {
        let round = self.has("neutral.round");
        for (k, bond) in self.facts.plant.bonds.iter().enumerate() {
            let node = node_role(&self.facts.plant, bond.node);
            let way: &[Point] = match node.as_str() {
                "main" => &[(58.0, MAIN_Y), (58.0, 58.0)],
                "utility" => &[(UTILITY_X, 26.0), (28.0, 26.0), (28.0, 29.0)],
                "generator" => &[(GENERATOR_X, 68.5), (68.0, 68.5), (68.0, 72.0)],
                "group.output" if round => &[(112.0, BEHIND_Y), (112.0, 203.0)],
                "group.output" => &[(GROUP_X, BEHIND_Y), (112.0, BEHIND_Y), (112.0, 203.0)],
                _ => &[(112.0, OUTPUT_Y), (112.0, 185.0)],
            };
            let Some((x, y)) = way.last().copied() else { continue };
            self.pen.line(Layer::Ground, way, None);
            self.pen.symbol((SymbolKind::Earth, (x, y + 2.0)), &bond.id, &[format!("{}:1", bond.id)], |_| {});
            self.pen.label((x - 8.5, y + 2.0), &[format!("-X{}", k + 1)]);
        }
    }

    fn notes(&self) -> Vec<String> {
        let plant = &self.facts.plant;
        let mut notes = Vec::new();
        match self.state {
            None => notes.push("Contacts stand as in normal operation.".to_owned()),
            Some(state) => {
                notes.extend((!state.situation.is_empty()).then(|| sentence(&state.situation)));
                notes.extend(state.notes.iter().cloned());
            }
        }
        if self.state.is_none() {
            for (k, bond) in plant.bonds.iter().enumerate() {
                let sheet = if self.pen.us { "grounding" } else { "earthing" };
                notes.push(format!("-X{}: {}; see the {sheet} drawing.", k + 1, bond.name));
            }
        }
        notes.extend(plant.interlocks.iter().map(|i| format!("There is a {}.", i.name)));
        notes
    }
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str())
}
