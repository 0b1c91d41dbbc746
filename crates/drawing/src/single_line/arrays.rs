//! Array inverters on the panels: above the main panel and left and right of the backup panel's feeder. Where there are
//! more than find room there, they get sheets of their own.

use plant::full::FullPlant;

use super::{Column, Drawing, FEEDER_X, MAIN_Y, PANEL_Y};
use crate::expected::{self, Expected, direct, normal};
use crate::facts::{Facts, array_of, follower_role, node_role, role_of, several, sheet, us};
use crate::labels::Labels;
use crate::pen::{Pen, TEXT_MM};
use crate::scene::{FRAME_MM, Layer, Live, Scene, fitting, wrapped};
use crate::symbol::SymbolKind;

/// Columns above the main panel.
const MAIN_X: [f64; 4] = [146.0, 210.0, 274.0, 338.0];
/// Columns at the backup panel.
const BACKUP_X: [f64; 3] = [232.0, 268.0, 373.0];
/// Height of inverter, contactor, run and breaker above the panel.
const MAIN_HEIGHTS: [f64; 4] = [38.0, 28.0, 19.0, 9.0];
const BACKUP_HEIGHTS: [f64; 4] = [40.0, 30.0, 20.0, 10.0];
/// Columns and rows of a sheet of arrays.
const PITCH_MM: f64 = 62.0;
const ACROSS: usize = 6;
const DOWN: usize = 4;
const ROW_MM: f64 = 50.0;

/// An array on a panel.
struct Array {
    name: String,
    panel: String,
}

/// Arrays in the order of the plant, each with the panel that it hangs on.
fn all(plant: &FullPlant) -> Vec<Array> {
    let mut all: Vec<Array> = Vec::new();
    let panels = [Some(plant.panel), plant.node_ix("main")];
    for part in plant.parts.iter().filter(|p| array_of(&p.id).is_some() && !direct(plant, p)) {
        let name = array_of(&part.id).unwrap_or_default();
        let panel = [part.from, part.to].into_iter().find(|n| panels.contains(&Some(*n)));
        if let Some(panel) = panel.filter(|_| !all.iter().any(|a| a.name == name)) {
            all.push(Array { name: name.to_owned(), panel: node_role(plant, panel) });
        }
    }
    all
}

/// More arrays hang on a panel than the single-line diagram has room for.
pub(crate) fn arrays_apart(plant: &FullPlant) -> bool {
    let all = all(plant);
    let on = |backup: bool| all.iter().filter(|a| (a.panel == "main") != backup).count();
    on(false) > MAIN_X.len() || on(true) > BACKUP_X.len()
}

/// Sheets of the arrays that the single-line diagram does not show, and what each has to show.
pub(crate) fn array_sheets(facts: &Facts) -> Vec<(Expected, Vec<String>)> {
    if !arrays_apart(&facts.plant) {
        return Vec::new();
    }
    let arrays = all(&facts.plant);
    let mut sheets = Vec::new();
    for main in [true, false] {
        let names: Vec<String> =
            arrays.iter().filter(|a| (a.panel == "main") == main).map(|a| a.name.clone()).collect();
        for page in names.chunks(ACROSS * DOWN) {
            sheets.push((expected::arrays(&facts.plant, page), page.to_vec()));
        }
    }
    sheets
}

/// Arrays on one panel, on a sheet of their own.
pub(crate) fn array_sheet(facts: &Facts, names: &[String], number: (usize, usize)) -> Scene {
    let plant = &facts.plant;
    let panel = all(plant).into_iter().find(|a| names.contains(&a.name)).map_or(String::new(), |a| a.panel);
    let words = if panel == "main" { "main panel" } else { "backup panel" };
    let mut d = Drawing {
        facts,
        state: None,
        labels: Labels::new(facts),
        live: std::collections::BTreeMap::new(),
        positions: normal(plant),
        linked: std::collections::BTreeSet::new(),
        pen: Pen::new(sheet(plant), &format!("Arrays on the {words}"), us(plant)),
    };
    let rows = names.chunks(ACROSS);
    let last = FRAME_MM + ROW_MM * rows.len() as f64;
    let left = FRAME_MM + 5.0;
    d.pen.line(Layer::Bus, &[(left, FRAME_MM + ROW_MM), (left, last)], None);
    d.pen.label((left + 2.0, FRAME_MM + ROW_MM + 3.0), &[words.to_owned()]);
    for (k, row) in rows.enumerate() {
        let y = FRAME_MM + ROW_MM * (k + 1) as f64;
        d.pen.line(Layer::Bus, &[(left, y), (left + 16.0 + PITCH_MM * row.len() as f64, y)], None);
        for (j, name) in row.iter().enumerate() {
            d.array(name, (left + 18.0 + PITCH_MM * j as f64, y), PITCH_MM - 10.0, MAIN_HEIGHTS);
        }
    }
    d.pen.finish(&facts.texts, number, &["Contacts stand as in normal operation.".to_owned()])
}

/// Name of an array as the site has it.
pub(crate) fn array_words(id: &str) -> &str {
    id.strip_prefix("array ").or(id.strip_prefix("array.")).unwrap_or(id)
}

impl Drawing<'_> {
    /// Names of the arrays on a panel that are drawn here.
    pub(super) fn arrays_on(&self, panel: &str) -> Vec<String> {
        if arrays_apart(&self.facts.plant) {
            return Vec::new();
        }
        let main = panel == "main";
        all(&self.facts.plant).into_iter().filter(|a| (a.panel == "main") == main).map(|a| a.name).collect()
    }

    /// Where the last array above the main panel stands.
    pub(super) fn last_above_main(&self) -> f64 {
        let n = self.arrays_on("main").len();
        MAIN_X.iter().take(n).copied().fold(0.0, f64::max)
    }

    /// Ends of the busbar of the backup panel.
    pub(super) fn backup_bus(&self) -> (f64, f64) {
        let n = self.arrays_on("backup").len();
        let used = BACKUP_X.iter().take(n);
        let ends = (FEEDER_X - 14.0, FEEDER_X + 14.0);
        used.fold(ends, |(left, right), x| (left.min(x - 4.0), right.max(x + 4.0)))
    }

    pub(super) fn arrays(&mut self) {
        for (name, x) in self.arrays_on("main").iter().zip(MAIN_X) {
            self.array(name, (x, MAIN_Y), 54.0, MAIN_HEIGHTS);
        }
        for (name, x) in self.arrays_on("backup").iter().zip(BACKUP_X) {
            self.array(name, (x, PANEL_Y), 29.0, BACKUP_HEIGHTS);
        }
    }

    /// One array: its inverters, their contactor, runs and breakers, down to the panel.
    fn array(&mut self, name: &str, (x, bus): (f64, f64), width: f64, heights: [f64; 4]) {
        let plant = &self.facts.plant;
        let begins = format!("{name}.");
        let Some(follower) = plant.followers.iter().find(|f| f.id.starts_with(&begins)) else { return };
        let (role, node) = (follower_role(follower), node_role(plant, follower.node));
        let count = plant.followers.iter().filter(|f| follower_role(f) == role).count();
        let mut chain: Vec<String> = Vec::new();
        for part in plant.parts.iter().filter(|p| p.id.starts_with(&begins) && !direct(plant, p)) {
            if !chain.contains(&role_of(part)) {
                chain.push(role_of(part));
            }
        }
        chain.reverse();
        // the contactor may be missing; breaker and run stay at their heights
        let from = 4_usize.saturating_sub(chain.len()).max(1);
        let [top, ..] = heights;
        let at = (x, bus - top);
        let live = self.live(&node);
        self.pen.symbol((SymbolKind::Inverter, at), &role, &[String::new(), format!("{role}:1")], |s| {
            s.count = count;
            s.live = live.filter(|l| *l == Live::Dead);
        });
        let does = match live {
            None => "",
            Some(Live::Dead) => ": off",
            Some(_) => ": follows",
        };
        let mut words = vec![several(count, &format!("inverter{does}")), array_words(name).to_owned()];
        words.extend(self.facts.records.get(begins.trim_end_matches('.')).cloned());
        let words: Vec<String> = words.iter().map(|w| fitting(w, TEXT_MM, width - 4.0)).collect();
        self.pen.label((x + 6.0, at.1), &words);
        let (mut y, mut node) = (at.1 + 4.0, node);
        for (role, height) in chain.iter().zip(heights.iter().skip(from)) {
            let one = [(role.as_str(), bus - height)];
            node = self.column(&Column { x, from: (y, &node), to: None, width: 0.0, parts: &one });
            let symbol = self.pen.scene.symbols().last();
            y = symbol.map_or(y, |s| s.at.1 + s.half_mm().1);
            let words: Vec<String> = match self.state {
                Some(_) => {
                    // the name stands on the sheet of normal operation
                    let all = self.labels.of(role, self.state);
                    let letter = self.labels.letter(role);
                    let stands = all.first().and_then(|w| w.split_once(": ")).map(|(_, s)| format!(": {s}"));
                    let first = format!("{letter}{}", stands.unwrap_or_default());
                    std::iter::once(first).chain(all.into_iter().skip(1)).collect()
                }
                None => self.labels.of(role, None),
            };
            let words: Vec<String> = words.iter().flat_map(|w| wrapped(w, TEXT_MM, width)).collect();
            let most = if heights == MAIN_HEIGHTS { 2 } else { 3 };
            let words: Vec<String> = words.iter().take(most).map(|w| fitting(w, TEXT_MM, width)).collect();
            self.pen.label((x + 4.0, bus - height), &words);
        }
        self.wire(&node, &[(x, y), (x, bus)]);
    }
}
