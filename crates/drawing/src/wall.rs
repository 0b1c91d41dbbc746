//! The wall with its gear, to scale: housings, the space that they keep free, studs, what is there already, working
//! spaces under the floor line, heights at the side, weights in the list.

mod list;
mod marks;

use dossier::{dimension, to_carry};
use place::wall::WallPlan;
use place::{GearKind, Rect};
use plant::full::{PartKind, buses};
use quantity::Quantity as _;
use site::Units;
use std::collections::BTreeMap;

use crate::centre::Centring;
use crate::expected::{Expected, Outline, direct};
use crate::facts::{Facts, all_together, role_of, sheet, us};
use crate::pen::{Pen, TEXT_MM};
use crate::scene::{Item, Layer, Point, SMALLEST_TEXT_MM, Scene, fitting, width_mm, wrapped};

/// Left end of the wall on the sheet, and room for the elevation, in millimetres.
const LEFT_MM: f64 = 42.0;
const TOP_MM: f64 = 22.0;
const ROOM_MM: (f64, f64) = (200.0, 153.0);
/// From diagonal to diagonal of the hatching.
const HATCH_MM: f64 = 2.4;

/// Scales of a region: how many times larger the wall is, and the words for it.
const US_SCALES: [(f64, &str); 8] = [
    (12.0, "1 in = 1 ft"),
    (16.0, "3/4 in = 1 ft"),
    (24.0, "1/2 in = 1 ft"),
    (32.0, "3/8 in = 1 ft"),
    (48.0, "1/4 in = 1 ft"),
    (64.0, "3/16 in = 1 ft"),
    (96.0, "1/8 in = 1 ft"),
    (192.0, "1/16 in = 1 ft"),
];
const SCALES: [(f64, &str); 7] = [
    (10.0, "1:10"),
    (20.0, "1:20"),
    (25.0, "1:25"),
    (50.0, "1:50"),
    (75.0, "1:75"),
    (100.0, "1:100"),
    (200.0, "1:200"),
];

/// From the wall to the sheet.
#[derive(Clone, Copy)]
struct Scale {
    /// How many times larger the wall is.
    times: f64,
    /// Where the floor is, in millimetres.
    floor: f64,
}

impl Scale {
    fn x(self, metres: f64) -> f64 {
        LEFT_MM + metres * 1000.0 / self.times
    }

    fn y(self, metres: f64) -> f64 {
        self.floor - metres * 1000.0 / self.times
    }

    /// Left, top, right, bottom on the sheet.
    fn area(self, rect: &Rect) -> [f64; 4] {
        let (left, bottom) = (rect.left.si(), rect.bottom.si());
        [self.x(left), self.y(bottom + rect.height.si()), self.x(left + rect.width.si()), self.y(bottom)]
    }
}

struct Drawing<'a> {
    plan: &'a WallPlan,
    scale: Scale,
    units: Units,
    /// Designations of the breakers of the AC side that no housing on the wall takes.
    breakers: Vec<String>,
    /// Which breakers are in which housing of the group's distribution.
    housed: Vec<String>,
    pen: Pen,
}

/// Designations of the breakers of the AC side that are in no housing on the wall, in the order of the plant.
fn breakers(facts: &Facts, plan: &WallPlan) -> Vec<String> {
    let housed: Vec<String> = housed(facts, plan).into_iter().flat_map(|(_, all)| all).collect();
    let letters = all_together(&facts.plant);
    let of = facts.plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && !direct(&facts.plant, p));
    let mut all: Vec<String> = Vec::new();
    for letter in of.filter_map(|part| letters.get(&role_of(part))) {
        if !all.contains(letter) && !housed.contains(letter) {
            all.push(letter.clone());
        }
    }
    all
}

/// Housings of the group's distribution on the wall, each with the designations of its breakers.
fn housed(facts: &Facts, plan: &WallPlan) -> Vec<(String, Vec<String>)> {
    let letters = all_together(&facts.plant);
    let mut seen: Vec<String> = Vec::new();
    let mut all = Vec::new();
    for bus in buses(&facts.plant) {
        let part = format!("{} {}", bus.name, bus.designation);
        let there = plan.items.iter().any(|i| i.item.kind == GearKind::Distribution && i.item.part == part);
        if !there {
            continue;
        }
        let mut own: Vec<String> = Vec::new();
        for letter in bus.breakers.iter().filter_map(|part| letters.get(&role_of(part))) {
            if !seen.contains(letter) {
                seen.push(letter.clone());
                own.push(letter.clone());
            }
        }
        all.push((part, own));
    }
    all
}

/// The wall, and what has to be on its sheet.
pub(crate) fn wall(facts: &Facts, plan: &WallPlan, number: (usize, usize)) -> (Scene, Expected) {
    let (width, height) = (plan.width.value().si(), plan.height.value().si());
    let us = us(&facts.plant);
    let scales: &[(f64, &str)] = if facts.units == Units::Us { &US_SCALES } else { &SCALES };
    let fits = |times: f64| width * 1000.0 / times <= ROOM_MM.0 && height * 1000.0 / times <= ROOM_MM.1;
    // a wall that no scale takes is drawn at one of its own, and says so
    let own = (width * 1000.0 / ROOM_MM.0).max(height * 1000.0 / ROOM_MM.1).ceil();
    let found = scales.iter().copied().find(|(times, _)| fits(*times));
    let (times, words) =
        found.map_or((own, format!("1:{own:.0}")), |(times, words)| (times, words.to_owned()));
    let mut pen = Pen::new(sheet(&facts.plant), "Wall elevation", us);
    pen.scale = Some(words);
    pen.centring = Centring::None;
    let scale = Scale { times, floor: TOP_MM + height * 1000.0 / times };
    let of = housed(facts, plan).into_iter().filter(|(_, all)| !all.is_empty());
    let housed = of.map(|(part, all)| format!("In {part}: breakers {}.", all.join(", "))).collect();
    let mut d = Drawing { plan, scale, units: facts.units, breakers: breakers(facts, plan), housed, pen };
    d.edges();
    d.studs();
    d.hatching();
    d.obstacles();
    d.items();
    d.heights();
    d.across();
    d.working();
    d.list();
    let notes = d.notes();
    let expected = Expected {
        outlines: plan
            .items
            .iter()
            .map(|i| (i.item.part.clone(), &i.body))
            .chain((1..).zip(&plan.obstacles).map(|(k, o)| (obstacle(k), &o.body)))
            .map(|(role, b)| {
                let at = [b.left.si(), b.bottom.si(), b.width.si(), b.height.si()];
                (role, Outline { left_m: at[0], bottom_m: at[1], width_m: at[2], height_m: at[3] })
            })
            .collect(),
        labels: labels(plan, scale),
        rows: d.rows(),
        ..Expected::default()
    };
    (d.pen.finish(&facts.texts, number, &notes), expected)
}

/// A housing is large enough on the sheet for its number or letter in small print.
fn takes_mark(area: [f64; 4], mark: &str) -> bool {
    let (width, height) = (area[2] - area[0], area[3] - area[1]);
    width_mm(mark, SMALLEST_TEXT_MM) + 0.4 <= width && 1.3 * SMALLEST_TEXT_MM + 0.4 <= height
}

/// The number or letter under which a thing stands in the list, where it is large enough for it.
fn labels(plan: &WallPlan, scale: Scale) -> BTreeMap<String, Vec<Vec<String>>> {
    let items =
        (1..).zip(&plan.items).map(|(k, i): (usize, _)| (i.item.part.clone(), k.to_string(), &i.body));
    let obstacles = (0..).zip(&plan.obstacles).map(|(k, o)| (obstacle(k + 1), letter(k), &o.body));
    let all = items.chain(obstacles).filter(|(_, mark, body)| takes_mark(scale.area(body), mark));
    all.map(|(role, mark, _)| (role, vec![vec![mark]])).collect()
}

fn obstacle(k: usize) -> String {
    format!("obstacle {k}")
}

/// Letter of an obstacle: A to Z, then with a number.
fn letter(k: usize) -> String {
    let of = u8::try_from(k % 26).map_or('A', |k| char::from(b'A' + k));
    if k < 26 { of.to_string() } else { format!("{of}{}", k / 26) }
}

impl Drawing<'_> {
    fn edges(&mut self) {
        let (s, plan) = (self.scale, self.plan);
        let (left, right) = (s.x(0.0), s.x(plan.width.value().si()));
        let (top, floor) = (s.y(plan.height.value().si()), s.floor);
        self.pen.line(Layer::Frame, &[(left, floor), (left, top), (right, top), (right, floor)], None);
        self.pen.line(Layer::Bus, &[(left - 4.0, floor + 0.8), (right + 4.0, floor + 0.8)], None);
        let words = format!(
            "{} wide, {} high",
            dimension(self.units, plan.width.value()),
            dimension(self.units, plan.height.value())
        );
        self.pen.text((left, top - 2.5), TEXT_MM, &words);
    }

    /// Housings and obstacles on the sheet: nothing else is drawn in them.
    fn solid(&self) -> Vec<[f64; 4]> {
        let items = self.plan.items.iter().map(|i| self.scale.area(&i.body));
        items.chain(self.plan.obstacles.iter().map(|o| self.scale.area(&o.body))).collect()
    }

    /// Studs, where nothing hides them.
    fn studs(&mut self) {
        let solid = self.solid();
        let (top, floor) = (self.scale.y(self.plan.height.value().si()), self.scale.floor);
        for stud in &self.plan.studs {
            let x = self.scale.x(stud.si());
            let hidden = solid.iter().filter(|a| a[0] < x && x < a[2]).map(|a| (a[1], a[3]));
            for (from, to) in left_over((top, floor), hidden.collect()) {
                self.pen.line(Layer::Stud, &[(x, from), (x, to)], None);
            }
        }
    }

    /// Free space, hatched: diagonals of the whole sheet, cut to what is kept free and lies beside housings.
    fn hatching(&mut self) {
        let solid = self.solid();
        let (s, plan) = (self.scale, self.plan);
        let wall = [s.x(0.0), s.y(plan.height.value().si()), s.x(plan.width.value().si()), s.floor];
        let clear: Vec<[f64; 4]> = plan
            .items
            .iter()
            .map(|i| s.area(&i.keep_clear))
            .map(|a| [a[0].max(wall[0]), a[1].max(wall[1]), a[2].min(wall[2]), a[3].min(wall[3])])
            .collect();
        // on the diagonal x + y = sum, from the one x to the other
        let within = |area: &[f64; 4], sum: f64| {
            let (from, to) = (area[0].max(sum - area[3]), area[2].min(sum - area[1]));
            (from < to).then_some((from, to))
        };
        let (first, last) = (wall[0] + wall[1], wall[2] + wall[3]);
        let count = ((last - first) / HATCH_MM).ceil().clamp(0.0, 1000.0) as usize;
        for k in 0..=count {
            let sum = first + HATCH_MM * k as f64;
            let mut free: Vec<(f64, f64)> = clear.iter().filter_map(|a| within(a, sum)).collect();
            free.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut joined: Vec<(f64, f64)> = Vec::new();
            for (from, to) in free {
                match joined.last_mut() {
                    Some(last) if from <= last.1 => last.1 = last.1.max(to),
                    _ => joined.push((from, to)),
                }
            }
            let hidden: Vec<(f64, f64)> = solid.iter().filter_map(|a| within(a, sum)).collect();
            for piece in joined {
                for (from, to) in left_over(piece, hidden.clone()) {
                    self.pen.line(Layer::Hatch, &[(from, sum - from), (to, sum - to)], None);
                }
            }
        }
    }

    fn outline(&mut self, role: &str, area: [f64; 4], layer: Layer) {
        let [left, top, right, bottom] = area;
        let points = vec![(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        self.pen.scene.items.push(Item::Outline { role: role.to_owned(), layer, points });
    }

    /// Words in the middle of a housing, as many as fit; the number or letter comes first, in smaller print if need be.
    fn inside(&mut self, area: [f64; 4], mark: &str, words: &[String]) {
        let (width, height) = (area[2] - area[0] - 1.6, area[3] - area[1] - 1.2);
        let fits = |text: &str| width_mm(text, TEXT_MM) <= width;
        let most = (height / 3.1).floor().max(0.0) as usize;
        let middle = ((area[0] + area[2]) / 2.0, (area[1] + area[3]) / 2.0);
        if !fits(mark) || most == 0 {
            if takes_mark(area, mark) {
                let at = middle.0 - width_mm(mark, SMALLEST_TEXT_MM) / 2.0;
                self.pen.text((at, middle.1 + SMALLEST_TEXT_MM / 2.0), SMALLEST_TEXT_MM, mark);
            }
            return;
        }
        let first = words.first().map(|w| format!("{mark} {w}")).filter(|w| fits(w));
        let mut lines: Vec<String> = match first {
            Some(first) => vec![first],
            None => {
                // a name in several lines, where all of it is legible
                let name = words.first().map(|w| wrapped(w, TEXT_MM, width)).unwrap_or_default();
                let whole = name.iter().all(|line| fits(line)) && name.len() < most;
                std::iter::once(mark.to_owned()).chain(name.into_iter().filter(|_| whole)).collect()
            }
        };
        lines.extend(words.iter().skip(1).filter(|w| fits(w)).cloned());
        lines.truncate(most);
        let top = middle.1 + TEXT_MM / 2.0 - 1.55 * lines.len().saturating_sub(1) as f64;
        for (k, line) in lines.iter().enumerate() {
            let at: Point = (middle.0 - width_mm(line, TEXT_MM) / 2.0, top + 3.1 * k as f64);
            self.pen.text(at, TEXT_MM, line);
        }
    }

    fn obstacles(&mut self) {
        for (k, obstacle_) in self.plan.obstacles.iter().enumerate() {
            let area = self.scale.area(&obstacle_.body);
            self.outline(&obstacle(k + 1), area, Layer::Outline);
            let name = fitting(&obstacle_.name, TEXT_MM, area[2] - area[0] - 2.0);
            self.inside(area, &letter(k), &[name]);
        }
    }

    fn items(&mut self) {
        for (k, item) in self.plan.items.iter().enumerate() {
            let area = self.scale.area(&item.body);
            self.outline(&item.item.part, area, Layer::Symbol);
            let words = [item.item.part.clone(), to_carry(self.units, item.item.footprint.mass)];
            self.inside(area, &(k + 1).to_string(), &words);
        }
    }

    fn notes(&self) -> Vec<String> {
        let plan = self.plan;
        let mut notes = Vec::new();
        if !plan.stated {
            notes.push(
                "The site describes no wall: this is the least width found that takes the gear.".to_owned(),
            );
        }
        if !plan.left_over.is_empty() {
            let names: Vec<&str> = plan.left_over.iter().map(|i| i.part.as_str()).collect();
            notes.push(format!("NO PLACE WAS FOUND for {}.", names.join(", ")));
        }
        if let Some(width) = plan.needed_width.as_ref().filter(|_| !plan.left_over.is_empty()) {
            notes.push(format!("A wall {} wide would do.", dimension(self.units, width.value())));
        }
        let marks = labels(plan, self.scale).len();
        if marks < plan.items.len() + plan.obstacles.len() {
            notes.push(
                "Housings too small for a number are counted from left to right and from the floor up, as in the list."
                    .to_owned(),
            );
        }
        notes.push(
            "Heights are above the floor, distances from the left end of the wall; masses are rounded up."
                .to_owned(),
        );
        let unit = if self.units == Units::Us { "inches" } else { "millimetres" };
        notes.push(format!(
            "Lengths of the list in {unit}; kept free: above/below/at each side of the housing."
        ));
        if let Some(depth) = &plan.working_depth {
            notes.push(format!(
                "Working space from the front of the gear: {} deep; brackets under the floor show its width.",
                dimension(self.units, depth.value())
            ));
        }
        notes.push(format!(
            "Highest handle: {}. All gear together: {}.",
            dimension(self.units, plan.reach.value()),
            to_carry(self.units, plan.mass.value())
        ));
        notes
    }
}

/// What is left of a span without others.
fn left_over((from, to): (f64, f64), mut hidden: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    hidden.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut at = from;
    let mut left = Vec::new();
    for (a, b) in hidden {
        if a.min(to) > at + 0.05 {
            left.push((at, a.min(to)));
        }
        at = at.max(b);
    }
    if to > at + 0.05 {
        left.push((at, to));
    }
    left
}
