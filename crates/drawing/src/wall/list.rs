//! The list of what hangs on the wall: numbers, records, sizes, weights.

use dossier::{dimension, to_carry};
use place::Item;
use place::wall::{Obstacle, PlacedItem};
use quantity::{Length, Mass};

use super::{Drawing, letter};
use crate::scene::{Layer, SMALLEST_TEXT_MM, fitting, width_mm, wrapped};

const LIST_MM: f64 = 246.0;
const TOP_MM: f64 = 17.0;
const ROW_MM: f64 = 2.9;
/// Columns: where each begins, and what it holds.
const COLUMNS: [(f64, &str); 9] = [
    (0.0, "no."),
    (6.0, "part"),
    (44.0, "record"),
    (84.5, "w x h x d"),
    (105.5, "kept free"),
    (121.0, "left"),
    (131.0, "bottom"),
    (141.5, "mass"),
    (152.5, "a fixing"),
];
const WIDTH_MM: f64 = 163.0;

/// Pieces of gear that are named one by one as not placed, and lines for all of them.
const NAMED: usize = 12;
const LINES: usize = 16;

/// Rows that fit.
const MOST: usize = 62;

/// Name of a part as its column takes it: of an array's the words without "array", where they are too long with it.
fn part(name: &str) -> String {
    let [_, (from, _), (to, _), ..] = COLUMNS;
    let long = width_mm(name, SMALLEST_TEXT_MM) > to - from - 0.8;
    name.strip_prefix("array ").filter(|_| long).unwrap_or(name).to_owned()
}

/// Cells of a row.
type Cells = [String; 9];

/// Pieces of gear that share a row: number of the first and of the last, and what the first is.
type Gathered = (usize, usize, PlacedItem);

impl Drawing<'_> {
    pub(super) fn list(&mut self) {
        self.row(TOP_MM, &COLUMNS.map(|(_, head)| head.to_owned()));
        self.pen.line(Layer::Frame, &[(LIST_MM, TOP_MM + 1.2), (LIST_MM + WIDTH_MM, TOP_MM + 1.2)], None);
        let mut y = TOP_MM + 1.2;
        let (items, left_out) = self.gathered();
        let gear = items.iter().map(|(first, last, item)| self.cells(*first, *last, item));
        let there = self.plan.obstacles.iter().enumerate().map(|(k, o)| self.there(k, o));
        for cells in gear.chain(there).collect::<Vec<_>>() {
            y += ROW_MM;
            self.row(y, &cells);
        }
        if left_out > 0 {
            y += ROW_MM;
            let words = format!("{left_out} more: see the schedule of places on the wall");
            self.pen.text((LIST_MM, y), SMALLEST_TEXT_MM, &words);
        }
        for (k, words) in self.not_placed().into_iter().enumerate() {
            self.pen.text((LIST_MM, y + ROW_MM * (k + 2) as f64), SMALLEST_TEXT_MM, &words);
        }
        self.bar((LIST_MM, 216.0));
    }

    /// What the list has to say: each piece of gear by itself where there is room for all of them.
    pub(super) fn rows(&self) -> Vec<Vec<String>> {
        let gear = self.plan.items.iter().enumerate().map(|(k, item)| self.cells(k + 1, k + 1, item));
        let there = self.plan.obstacles.iter().enumerate().map(|(k, o)| self.there(k, o));
        let some = |cells: Cells| cells.into_iter().filter(|words| !words.is_empty()).collect();
        if self.plan.items.len() > self.room() {
            return there.map(some).collect();
        }
        gear.chain(there).map(some).collect()
    }

    /// Lines under the list: breakers of the AC side by their designations, in which housing they are; what the elevation
    /// does not show, by the reason.
    fn not_placed(&self) -> Vec<String> {
        let mut by: Vec<(&str, Vec<&str>)> = Vec::new();
        for (what, why) in &self.plan.not_placed {
            match by.iter_mut().find(|(reason, _)| reason == why) {
                Some((_, all)) => all.push(what),
                None => by.push((why, vec![what])),
            }
        }
        if !self.breakers.is_empty() {
            let all = self.breakers.iter().map(String::as_str).collect();
            by.push(("breakers of the AC side, in panels or in housings without a record", all));
        }
        let housed = self.housed.iter().flat_map(|words| wrapped(words, SMALLEST_TEXT_MM, WIDTH_MM));
        let named = |(why, all): (&str, Vec<&str>)| {
            let more = all.len().saturating_sub(NAMED);
            let names: Vec<&str> = all.into_iter().take(NAMED).collect();
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            format!("Not placed: {}{more} ({why}).", names.join(", "))
        };
        let all = by.into_iter().flat_map(|reason| wrapped(&named(reason), SMALLEST_TEXT_MM, WIDTH_MM));
        housed.chain(all).take(LINES).collect()
    }

    /// Rows for gear.
    fn room(&self) -> usize {
        let lines = self.not_placed().len();
        MOST.saturating_sub(self.plan.obstacles.len() + 1 + lines + usize::from(lines > 0))
    }

    /// Pieces of gear by number, and how many found no row. Where there are too many rows, neighbours of one record
    /// share one.
    fn gathered(&self) -> (Vec<Gathered>, usize) {
        let room = self.room();
        let each: Vec<Gathered> = (1..).zip(&self.plan.items).map(|(k, item)| (k, k, item.clone())).collect();
        if each.len() <= room {
            return (each, 0);
        }
        let count = each.len();
        let mut all: Vec<Gathered> = Vec::new();
        for (first, last, item) in each {
            match all.last_mut() {
                Some((_, end, one))
                    if one.item.record == item.item.record && one.item.kind == item.item.kind =>
                {
                    *end = last;
                }
                _ => all.push((first, last, item)),
            }
        }
        all.truncate(room.saturating_sub(1));
        let shown = all.last().map_or(0, |(_, last, _)| *last);
        (all, count - shown)
    }

    /// A length without its unit, which a note says of all of the list.
    fn length(&self, length: Length) -> String {
        let words = dimension(self.units, length);
        words.split(' ').next().unwrap_or_default().to_owned()
    }

    fn size(&self, [width, height, depth]: [Length; 3]) -> String {
        format!("{}x{}x{}", self.length(width), self.length(height), self.length(depth))
    }

    /// What is kept free above, below and at each side; nothing of gear that asks for none.
    fn kept_free(&self, item: &Item) -> String {
        let f = &item.footprint;
        let below = if item.kind.stands() { Length::ZERO } else { f.below };
        let all = [f.above, below, f.beside];
        if all.iter().all(|free| *free <= Length::ZERO) {
            return "none".to_owned();
        }
        all.map(|free| self.length(free)).join("/")
    }

    fn cells(&self, first: usize, last: usize, placed: &PlacedItem) -> Cells {
        let item = &placed.item;
        let several = last > first;
        let mass = |mass: Mass| to_carry(self.units, mass);
        let fixing = if placed.on_floor { "floor".to_owned() } else { mass(placed.mass_per_fixing.value()) };
        let own = |words: String| if several { String::new() } else { words };
        [
            if several { format!("{first}-{last}") } else { first.to_string() },
            if several { format!("{} x {}", last + 1 - first, item.kind.word()) } else { part(&item.part) },
            if item.record.is_empty() { "site".to_owned() } else { item.record.clone() },
            self.size([item.footprint.width, item.footprint.height, item.footprint.depth]),
            self.kept_free(item),
            own(self.length(placed.body.left)),
            own(self.length(placed.body.bottom)),
            mass(item.footprint.mass),
            own(fixing),
        ]
    }

    fn there(&self, k: usize, obstacle: &Obstacle) -> Cells {
        let body = &obstacle.body;
        [
            letter(k),
            obstacle.name.clone(),
            "there already".to_owned(),
            self.size([body.width, body.height, obstacle.depth]),
            String::new(),
            self.length(body.left),
            self.length(body.bottom),
            String::new(),
            String::new(),
        ]
    }

    fn row(&mut self, y: f64, cells: &Cells) {
        for (k, words) in cells.iter().enumerate() {
            let Some((x, _)) = COLUMNS.get(k) else { continue };
            let end = COLUMNS.get(k + 1).map_or(WIDTH_MM, |(next, _)| *next);
            let words = fitting(words, SMALLEST_TEXT_MM, end - x - 0.8);
            self.pen.text((LIST_MM + x, y), SMALLEST_TEXT_MM, &words);
        }
    }
}
