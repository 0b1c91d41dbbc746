//! Heights at the left of the wall, distances and working spaces under it, the scale bar.

use super::{Drawing, LEFT_MM};
use crate::pen::TEXT_MM;
use crate::scene::{Layer, width_mm};
use dossier::dimension;
use quantity::{Length, Quantity as _};
use site::Units;

/// From one row of working spaces to the next.
const LANE_MM: f64 = 5.4;
/// From one height to the next at least.
const APART_MM: f64 = 3.2;

impl Drawing<'_> {
    /// Lower and upper edges of the gear, above the floor. Edges too close to the one before are in the list only.
    pub(super) fn heights(&mut self) {
        let mut all: Vec<f64> = vec![0.0, self.plan.height.value().si()];
        let edges = |b: &place::Rect| [b.bottom.si(), b.bottom.si() + b.height.si()];
        let between = self.plan.items.iter().flat_map(|i| edges(&i.body));
        let mut between: Vec<f64> = between.collect();
        between.sort_by(f64::total_cmp);
        for height in between {
            let y = self.scale.y(height);
            if all.iter().all(|h| (self.scale.y(*h) - y).abs() >= APART_MM) {
                all.push(height);
            }
        }
        all.sort_by(f64::total_cmp);
        let x = LEFT_MM - 8.0;
        for height in &all {
            let (y, words) = (self.scale.y(*height), dimension(self.units, Length::of(*height)));
            self.pen.line(Layer::Stud, &[(x, y), (LEFT_MM - 4.5, y)], None);
            self.pen.text((x - 1.0 - width_mm(&words, TEXT_MM), y + TEXT_MM / 2.0), TEXT_MM, &words);
        }
        let (top, floor) = (self.scale.y(self.plan.height.value().si()), self.scale.floor);
        self.pen.line(Layer::Stud, &[(LEFT_MM - 6.0, top), (LEFT_MM - 6.0, floor)], None);
    }

    /// Left edges of the gear from the left end of the wall, where there is room.
    pub(super) fn across(&mut self) {
        let y = self.scale.floor + 3.0;
        let mut edges: Vec<f64> = self.plan.items.iter().map(|i| i.body.left.si()).collect();
        edges.extend([0.0, self.plan.width.value().si()]);
        edges.sort_by(f64::total_cmp);
        let mut free = 0.0;
        for edge in edges {
            let (x, words) = (self.scale.x(edge), dimension(self.units, Length::of(edge)));
            let half = width_mm(&words, TEXT_MM) / 2.0;
            if x - half > free {
                self.pen.line(Layer::Stud, &[(x, y - 1.0), (x, y + 0.8)], None);
                self.pen.text((x - half, y + 1.4 + TEXT_MM), TEXT_MM, &words);
                free = x + half + 1.5;
            }
        }
    }

    /// Working spaces as brackets: those alike together, those that overlap under each other.
    pub(super) fn working(&mut self) {
        let mut all: Vec<(f64, f64, Vec<String>)> = Vec::new();
        for (k, item) in (1..).zip(&self.plan.items) {
            let Some(space) = &item.working else { continue };
            let (from, to) =
                (self.scale.x(space.left.si()), self.scale.x(space.left.si() + space.width.si()));
            let number: String = format!("{k}");
            match all.iter_mut().find(|(a, b, _)| (a - from).abs() < 0.05 && (b - to).abs() < 0.05) {
                Some((_, _, numbers)) => numbers.push(number),
                None => all.push((from, to, vec![number])),
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut left_out = 0;
        let top = self.scale.floor + 9.5;
        // as many rows as the sheet has room for, and a line of words under them
        let rows = ((self.pen.head_mm() - 6.0 - top) / LANE_MM).floor().max(1.0) as usize;
        let mut ends = vec![0.0; rows];
        for (from, to, numbers) in all {
            let Some((lane, end)) = ends.iter_mut().enumerate().find(|(_, end)| from > **end + 1.0) else {
                left_out += 1;
                continue;
            };
            let (long, short) = (format!("before {}", numbers.join(", ")), numbers.join(", "));
            let words = if width_mm(&long, TEXT_MM) <= to - from - 2.0 { long } else { short };
            // numbers are never cut: where the bracket is narrower, the next one in the lane waits for them
            *end = f64::max(to, from + 1.0 + width_mm(&words, TEXT_MM));
            let y = top + LANE_MM * lane as f64;
            // each stroke by itself: a dash never ends in the corner
            for stroke in [[(from, y - 1.2), (from, y)], [(from, y), (to, y)], [(to, y), (to, y - 1.2)]] {
                self.pen.line(Layer::Outline, &stroke, None);
            }
            self.pen.text((from + 1.0, y + 0.7 + TEXT_MM), TEXT_MM, &words);
        }
        if left_out > 0 {
            let y = top + LANE_MM * rows as f64;
            self.pen.text(
                (LEFT_MM, y),
                TEXT_MM,
                &format!("{left_out} more working spaces, for want of room not drawn"),
            );
        }
    }

    /// A bar of a round length.
    pub(super) fn bar(&mut self, (x, y): (f64, f64)) {
        let us = self.units == Units::Us;
        let (unit, word) = if us { (0.3048, "ft") } else { (0.5, "m") };
        let step = unit * 1000.0 / self.scale.times;
        let parts = 4;
        for k in 0..parts {
            let (from, to) = (x + step * f64::from(k), x + step * f64::from(k + 1));
            let layer = if k % 2 == 0 { Layer::Bus } else { Layer::Frame };
            self.pen.line(layer, &[(from, y), (to, y)], None);
        }
        let whole = if us { f64::from(parts) } else { f64::from(parts) * 0.5 };
        self.pen.text((x - 0.6, y - 1.6), TEXT_MM, "0");
        self.pen.text((x + step * f64::from(parts) - 1.0, y - 1.6), TEXT_MM, &format!("{whole:.0} {word}"));
    }
}
