//! What a drafter must not do, looked for in a scene; and whether it shows what the plant has, each once, with the
//! connections of the plant and no others.

mod words;

use std::collections::{BTreeMap, BTreeSet};

use crate::expected::Expected;
use crate::nets::{self, TOUCH_MM};
use crate::scene::{FRAME_MM, Item, Layer, Point, SMALLEST_TEXT_MM, Scene, width_mm};

/// A box: left, top, right, bottom.
type Area = (f64, f64, f64, f64);

/// What a box is.
enum What<'a> {
    Text(&'a str),
    Symbol(&'a str),
}

impl What<'_> {
    fn words(&self) -> String {
        match self {
            What::Text(text) => format!("text \"{text}\""),
            What::Symbol(role) => format!("symbol of {role}"),
        }
    }
}

/// Everything that is wrong, in words; nothing when the drawing is right.
pub fn audit(scene: &Scene, expected: &Expected) -> Vec<String> {
    let mut wrong = overlaps(scene);
    wrong.extend(lines(scene));
    wrong.extend(connections(scene, expected));
    wrong.extend(symbols(scene, expected));
    wrong.extend(outlines(scene, expected));
    wrong.extend(words::labels(scene, expected));
    wrong.extend(words::rows(scene, expected));
    wrong
}

fn boxes(scene: &Scene) -> Vec<(Area, What<'_>)> {
    let one = |item| match item {
        &Item::Text { at, size_mm, ref text } => {
            let area = (at.0, at.1 - size_mm, at.0 + width_mm(text, size_mm), at.1 + 0.3 * size_mm);
            Some((area, What::Text(text.as_str())))
        }
        Item::Symbol(s) => {
            let (w, h) = s.half_mm();
            let area = (s.at.0 - w, s.at.1 - h, s.at.0 + w, s.at.1 + h);
            Some((area, What::Symbol(s.role.as_deref().unwrap_or(s.kind.words(s.us)))))
        }
        _ => None,
    };
    scene.items.iter().filter_map(one).collect()
}

fn meet(a: Area, b: Area) -> bool {
    a.0 + TOUCH_MM < b.2 && b.0 + TOUCH_MM < a.2 && a.1 + TOUCH_MM < b.3 && b.1 + TOUCH_MM < a.3
}

/// Texts and symbols over each other, outside the frame, too small.
fn overlaps(scene: &Scene) -> Vec<String> {
    let all = boxes(scene);
    let mut wrong = Vec::new();
    let (right, bottom) = (scene.sheet.width_mm - FRAME_MM, scene.sheet.height_mm - FRAME_MM);
    for (k, (a, name)) in all.iter().enumerate() {
        for (b, other) in all.iter().skip(k + 1).filter(|(b, _)| meet(*a, *b)) {
            let at = (a.0.max(b.0), a.1.max(b.1));
            wrong.push(format!("{} lies over {} at {:.0},{:.0}", name.words(), other.words(), at.0, at.1));
        }
        if a.0 < FRAME_MM || a.1 < FRAME_MM || a.2 > right || a.3 > bottom {
            wrong.push(format!("{} lies outside the frame", name.words()));
        }
    }
    for item in &scene.items {
        let points = match item {
            Item::Text { size_mm, text, .. } if *size_mm < SMALLEST_TEXT_MM => {
                wrong.push(format!("text \"{text}\" is smaller than {SMALLEST_TEXT_MM} mm"));
                continue;
            }
            Item::Line { points, .. }
            | Item::Link { points, .. }
            | Item::Sample { points, .. }
            | Item::Outline { points, .. } => points,
            _ => continue,
        };
        let inside = |p: &Point| p.0 >= FRAME_MM && p.1 >= FRAME_MM && p.0 <= right && p.1 <= bottom;
        if !points.iter().all(inside) {
            wrong.push(format!("a line lies outside the frame: {points:?}"));
        }
    }
    wrong
}

/// A thin area meets another one with more than its edge.
fn through((a, b): (Point, Point), area: Area) -> bool {
    let thin = (a.0.min(b.0), a.1.min(b.1), a.0.max(b.0), a.1.max(b.1));
    let wide =
        (thin.0 - 2.0 * TOUCH_MM, thin.1 - 2.0 * TOUCH_MM, thin.2 + 2.0 * TOUCH_MM, thin.3 + 2.0 * TOUCH_MM);
    let inner =
        (area.0 + 4.0 * TOUCH_MM, area.1 + 4.0 * TOUCH_MM, area.2 - 4.0 * TOUCH_MM, area.3 - 4.0 * TOUCH_MM);
    meet(wide, inner)
}

/// A slanted line meets an area: their boxes do, and corners of the area lie on both sides.
fn cuts((a, b): (Point, Point), area: Area) -> bool {
    let side = |x: f64, y: f64| (b.0 - a.0) * (y - a.1) - (b.1 - a.1) * (x - a.0);
    let corners = [side(area.0, area.1), side(area.2, area.1), side(area.2, area.3), side(area.0, area.3)];
    let both = corners.iter().any(|s| *s > TOUCH_MM) && corners.iter().any(|s| *s < -TOUCH_MM);
    both && through((a, b), area)
}

/// Lines through text or symbols; lines that are not at right angles. A linkage goes through what it links.
fn lines(scene: &Scene) -> Vec<String> {
    let boxes = boxes(scene);
    let none = Vec::new();
    let mut wrong = Vec::new();
    for item in &scene.items {
        let slant = matches!(item, Item::Line { layer: Layer::Hatch, .. });
        let (points, roles) = match item {
            Item::Line { points, .. } | Item::Sample { points, .. } | Item::Outline { points, .. } => {
                (points, &none)
            }
            Item::Link { points, roles } => (points, roles),
            _ => continue,
        };
        let meets = if slant { cuts } else { through };
        for piece in points.iter().copied().zip(points.iter().copied().skip(1)) {
            let own = |what: &What<'_>| matches!(what, What::Symbol(role) if roles.iter().any(|r| r == role));
            for (_, what) in boxes.iter().filter(|(b, what)| !own(what) && meets(piece, *b)) {
                wrong.push(format!(
                    "a line from {:?} to {:?} goes through {}",
                    piece.0,
                    piece.1,
                    what.words()
                ));
            }
            let (a, b) = piece;
            if !slant && (a.0 - b.0).abs() > TOUCH_MM && (a.1 - b.1).abs() > TOUCH_MM {
                wrong.push(format!("a line from {a:?} to {b:?} is at no right angle"));
            }
        }
    }
    wrong
}

/// The nets of the drawing are those of the plant.
fn connections(scene: &Scene, expected: &Expected) -> Vec<String> {
    let nets = nets::nets(scene);
    let mut wrong = nets.wrong;
    wrong.extend(nets.twice.iter().map(|t| format!("terminal {t} is drawn more than once")));
    for terminal in nets.of.keys().filter(|t| !expected.terminals.contains_key(*t)) {
        wrong.push(format!("terminal {terminal} is drawn and not in the plant"));
    }
    let mut drawn: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    let mut owner: BTreeMap<usize, BTreeSet<&str>> = BTreeMap::new();
    for (terminal, net) in &expected.terminals {
        match nets.of.get(terminal) {
            None => wrong.push(format!("terminal {terminal} of the plant is not drawn")),
            Some(root) => {
                drawn.entry(net).or_default().insert(*root);
                owner.entry(*root).or_default().insert(net);
            }
        }
    }
    let parted = drawn.iter().filter(|(_, roots)| roots.len() > 1);
    wrong.extend(parted.map(|(net, roots)| format!("{net} is drawn as {} nets", roots.len())));
    let mixed = owner.values().filter(|nets| nets.len() > 1);
    wrong.extend(mixed.map(|nets| format!("{nets:?} are drawn as one net")));
    if !expected.live.is_empty() {
        for (root, live) in nets.lines {
            for net in owner.get(&root).into_iter().flatten() {
                // a neutral is not live: it is drawn alike in every state
                if live.is_some() && live != expected.live.get(*net).copied() {
                    wrong.push(format!("{net} is drawn as {live:?}"));
                }
            }
        }
    }
    wrong
}

/// Every part of the plant as often as it is there, in its position, linked with what moves with it.
fn symbols(scene: &Scene, expected: &Expected) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut drawn: BTreeMap<&str, usize> = BTreeMap::new();
    for symbol in scene.symbols() {
        let Some(role) = &symbol.role else { continue };
        *drawn.entry(role).or_default() += symbol.count;
        if let Some(closed) = expected.closed.get(role)
            && *closed != symbol.closed
        {
            wrong.push(format!("{role} is drawn {}", if symbol.closed { "closed" } else { "open" }));
        }
    }
    for (role, count) in &expected.counts {
        let n = drawn.get(role.as_str()).copied().unwrap_or_default();
        if n != *count {
            wrong.push(format!("{role}: {count} in the plant, {n} drawn"));
        }
    }
    for set in &expected.linked {
        let linked = |item: &Item| match item {
            Item::Link { roles, points } => {
                set.iter().all(|role| roles.contains(role))
                    && roles.iter().all(|r| takes_hold(scene, r, points))
            }
            _ => false,
        };
        if !scene.items.iter().any(linked) {
            wrong.push(format!("{set:?} move together and are not linked"));
        }
    }
    wrong
}

/// What is to scale is drawn once, all of it at one scale and in one place, and nothing over another.
fn outlines(scene: &Scene, expected: &Expected) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut drawn: BTreeMap<&str, Vec<Area>> = BTreeMap::new();
    for item in &scene.items {
        if let Item::Outline { role, points, .. } = item {
            drawn.entry(role).or_default().push(area_of(points));
        }
    }
    wrong.extend(
        drawn
            .keys()
            .filter(|r| !expected.outlines.contains_key(**r))
            .map(|r| format!("{r} is not in the plan")),
    );
    // of the first: scale, and where the left end and the floor are
    let mut place: Option<(f64, f64, f64)> = None;
    let mut seen: Vec<(&str, Area)> = Vec::new();
    for (role, at) in &expected.outlines {
        let [area] = drawn.get(role.as_str()).map_or(&[] as &[Area], Vec::as_slice) else {
            wrong.push(format!("{role} of the plan is not drawn once"));
            continue;
        };
        let scale = (area.2 - area.0) / at.width_m;
        let own = (scale, area.0 - at.left_m * scale, area.3 + at.bottom_m * scale);
        let first = *place.get_or_insert(own);
        let high = (area.3 - area.1 - at.height_m * scale).abs() < TOUCH_MM;
        let close = |a: f64, b: f64| (a - b).abs() < 5.0 * TOUCH_MM;
        if !high || !close(own.0, first.0) || !close(own.1, first.1) || !close(own.2, first.2) {
            wrong.push(format!("{role} is not where or not as large as the plan has it"));
        }
        // what is there already may hang before something else that is
        let there = |r: &str| r.starts_with("obstacle ");
        let over = seen.iter().filter(|(r, other)| meet(*area, *other) && !(there(r) && there(role)));
        wrong.extend(over.map(|(other, _)| format!("{role} is drawn over {other}")));
        seen.push((role, *area));
    }
    wrong
}

fn area_of(points: &[Point]) -> Area {
    let start = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    points.iter().fold(start, |a, p| (a.0.min(p.0), a.1.min(p.1), a.2.max(p.0), a.3.max(p.1)))
}

/// A linkage reaches the contact that it links.
fn takes_hold(scene: &Scene, role: &str, points: &[Point]) -> bool {
    let symbols = scene.symbols().filter(|s| s.role.as_deref() == Some(role));
    let mut pieces = points.iter().copied().zip(points.iter().copied().skip(1));
    let areas: Vec<Area> = symbols
        .map(|s| {
            let (w, h) = s.half_mm();
            (s.at.0 - w, s.at.1 - h, s.at.0 + w, s.at.1 + h)
        })
        .collect();
    pieces.any(|piece| areas.iter().any(|area| through(piece, *area)))
}
