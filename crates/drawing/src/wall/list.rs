//! The list of what hangs on the wall: numbers, records, sizes, weights.

use place::wall::PlacedItem;
use quantity::Quantity as _;

use super::{Drawing, letter};
use crate::scene::{Layer, SMALLEST_TEXT_MM, fitting};

const LIST_MM: f64 = 272.0;
const TOP_MM: f64 = 17.0;
const ROW_MM: f64 = 2.9;
/// Columns: where each begins, and what it holds.
const COLUMNS: [(f64, &str); 7] = [
    (0.0, "no."),
    (9.0, "part"),
    (33.0, "record"),
    (68.0, "w x h x d"),
    (97.0, "left"),
    (112.0, "mass"),
    (125.0, "fixing"),
];
const WIDTH_MM: f64 = 137.0;

/// Rows that fit.
const MOST: usize = 62;

impl Drawing<'_> {
    pub(super) fn list(&mut self) {
        let cells = COLUMNS.map(|(_, head)| head.to_owned());
        self.row(TOP_MM, &cells);
        self.pen.line(Layer::Frame, &[(LIST_MM, TOP_MM + 1.2), (LIST_MM + WIDTH_MM, TOP_MM + 1.2)], None);
        let mut y = TOP_MM + 1.2;
        let room = MOST.saturating_sub(self.plan.obstacles.len() + 1);
        for (first, last, item) in self.gathered(room) {
            y += ROW_MM;
            let cells = self.cells(first, last, &item);
            self.row(y, &cells);
        }
        for (k, obstacle) in self.plan.obstacles.iter().enumerate() {
            y += ROW_MM;
            let size = self.size(obstacle.body.width.si(), obstacle.body.height.si(), obstacle.depth.si());
            let left = self.length(obstacle.body.left.si());
            let none = String::new;
            self.row(
                y,
                &[letter(k), obstacle.name.clone(), "there already".to_owned(), size, left, none(), none()],
            );
        }
        self.bar((LIST_MM, 216.0));
    }

    /// Pieces of gear by number. Where there are too many rows, neighbours of one record share one.
    fn gathered(&self, room: usize) -> Vec<(usize, usize, PlacedItem)> {
        let each: Vec<(usize, usize, PlacedItem)> =
            (1..).zip(&self.plan.items).map(|(k, item)| (k, k, item.clone())).collect();
        if each.len() <= room {
            return each;
        }
        let mut all: Vec<(usize, usize, PlacedItem)> = Vec::new();
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
        all.truncate(room);
        all
    }

    fn size(&self, width: f64, height: f64, depth: f64) -> String {
        let one = |m: f64| if self.us { format!("{:.1}", m / 0.0254) } else { format!("{:.0}", m * 1000.0) };
        format!("{} x {} x {}", one(width), one(height), one(depth))
    }

    fn cells(&self, first: usize, last: usize, placed: &PlacedItem) -> [String; 7] {
        let item = &placed.item;
        let several = last > first;
        let kilograms = |mass: f64| format!("{mass:.0} kg");
        let fixing = if placed.on_floor {
            "floor".to_owned()
        } else {
            kilograms(placed.mass_per_fixing.value().si().ceil())
        };
        [
            if several { format!("{first}-{last}") } else { first.to_string() },
            if several { format!("{} x {}", last + 1 - first, item.kind.word()) } else { item.part.clone() },
            if item.record.is_empty() { "site".to_owned() } else { item.record.clone() },
            self.size(item.footprint.width.si(), item.footprint.height.si(), item.footprint.depth.si()),
            if several { String::new() } else { self.length(placed.body.left.si()) },
            kilograms(item.footprint.mass.si().ceil()),
            if several { String::new() } else { fixing },
        ]
    }

    fn row(&mut self, y: f64, cells: &[String; 7]) {
        for (k, words) in cells.iter().enumerate() {
            let Some((x, _)) = COLUMNS.get(k) else { continue };
            let end = COLUMNS.get(k + 1).map_or(WIDTH_MM, |(next, _)| *next);
            let words = fitting(words, SMALLEST_TEXT_MM, end - x - 0.8);
            self.pen.text((LIST_MM + x, y), SMALLEST_TEXT_MM, &words);
        }
    }
}
