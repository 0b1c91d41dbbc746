//! What a drafter must not do, looked for in a scene.

use std::collections::BTreeMap;

use plant::full::FullPlant;

use crate::scene::{FRAME_MM, Item, Layer, Point, SMALLEST_TEXT_MM, Scene, width_mm};

/// Tolerance in millimetres.
const TOUCH_MM: f64 = 0.01;

/// A box: left, top, right, bottom.
type Area = (f64, f64, f64, f64);

/// Everything that is wrong, in words; nothing when the drawing is right.
pub fn audit(scene: &Scene, plant: &FullPlant) -> Vec<String> {
    let mut wrong = overlaps(scene);
    wrong.extend(wires(scene));
    wrong.extend(counts(scene, plant));
    wrong
}

fn boxes(scene: &Scene) -> Vec<(Area, String, bool)> {
    let one = |item: &Item| match item {
        Item::Text { at, size_mm, text } => {
            let area = (at.0, at.1 - size_mm, at.0 + width_mm(text, *size_mm), at.1 + 0.3 * size_mm);
            Some((area, format!("text \"{text}\""), true))
        }
        Item::Symbol(s) => {
            let (w, h) = s.half_mm();
            let area = (s.at.0 - w, s.at.1 - h, s.at.0 + w, s.at.1 + h);
            Some((area, format!("symbol of {}", s.role.as_deref().unwrap_or(s.kind.words())), false))
        }
        Item::Line { .. } => None,
    };
    scene.items.iter().filter_map(one).collect()
}

fn meet(a: Area, b: Area) -> bool {
    a.0 + TOUCH_MM < b.2 && b.0 + TOUCH_MM < a.2 && a.1 + TOUCH_MM < b.3 && b.1 + TOUCH_MM < a.3
}

fn overlaps(scene: &Scene) -> Vec<String> {
    let all = boxes(scene);
    let mut wrong = Vec::new();
    for (k, (a, name, _)) in all.iter().enumerate() {
        for (b, other, _) in all.iter().skip(k + 1).filter(|(b, ..)| meet(*a, *b)) {
            wrong.push(format!("{name} lies over {other} at {:.0},{:.0}", a.0.max(b.0), a.1.max(b.1)));
        }
        let (right, bottom) = (scene.sheet.width_mm - FRAME_MM, scene.sheet.height_mm - FRAME_MM);
        if a.0 < FRAME_MM || a.1 < FRAME_MM || a.2 > right || a.3 > bottom {
            wrong.push(format!("{name} lies outside the frame"));
        }
    }
    for item in &scene.items {
        match item {
            Item::Text { size_mm, text, .. } if *size_mm < SMALLEST_TEXT_MM => {
                wrong.push(format!("text \"{text}\" is smaller than {SMALLEST_TEXT_MM} mm"));
            }
            Item::Line { points, .. } => {
                let inside = |p: &Point| {
                    p.0 >= FRAME_MM
                        && p.1 >= FRAME_MM
                        && p.0 <= scene.sheet.width_mm - FRAME_MM
                        && p.1 <= scene.sheet.height_mm - FRAME_MM
                };
                if !points.iter().all(inside) {
                    wrong.push(format!("a line lies outside the frame: {points:?}"));
                }
            }
            _ => {}
        }
    }
    wrong
}

/// Straight pieces of the lines of some layers.
fn pieces(scene: &Scene, layers: &[Layer]) -> Vec<(Point, Point)> {
    let lines = scene.items.iter().filter_map(|item| match item {
        Item::Line { layer, points, .. } if layers.contains(layer) => Some(points),
        _ => None,
    });
    lines.flat_map(|p| p.iter().copied().zip(p.iter().copied().skip(1))).collect()
}

fn area((a, b): (Point, Point)) -> Area {
    (a.0.min(b.0), a.1.min(b.1), a.0.max(b.0), a.1.max(b.1))
}

/// A thin area meets another one with more than its edge.
fn through(piece: (Point, Point), b: Area) -> bool {
    let a = area(piece);
    let wide = (a.0 - 2.0 * TOUCH_MM, a.1 - 2.0 * TOUCH_MM, a.2 + 2.0 * TOUCH_MM, a.3 + 2.0 * TOUCH_MM);
    let inner = (b.0 + 4.0 * TOUCH_MM, b.1 + 4.0 * TOUCH_MM, b.2 - 4.0 * TOUCH_MM, b.3 - 4.0 * TOUCH_MM);
    meet(wide, inner)
}

fn wires(scene: &Scene) -> Vec<String> {
    let mut wrong = Vec::new();
    let boxes = boxes(scene);
    for piece in pieces(scene, &[Layer::Wire, Layer::Bus, Layer::Outline, Layer::Frame]) {
        for (_, name, _) in boxes.iter().filter(|(b, ..)| through(piece, *b)) {
            wrong.push(format!("a line from {:?} to {:?} goes through {name}", piece.0, piece.1));
        }
    }
    let pins: Vec<Point> = scene
        .items
        .iter()
        .filter_map(|item| if let Item::Symbol(s) = item { Some(s.pins()) } else { None })
        .flatten()
        .collect();
    let near = |a: Point, b: Point| (a.0 - b.0).abs() < TOUCH_MM && (a.1 - b.1).abs() < TOUCH_MM;
    let conductors = pieces(scene, &[Layer::Wire, Layer::Bus]);
    for item in &scene.items {
        let Item::Line { layer: Layer::Wire, points, .. } = item else { continue };
        for (end, next) in [(points.first(), points.get(1)), (points.last(), points.iter().rev().nth(1))] {
            let (Some(end), Some(next)) = (end, next) else { continue };
            let on = |piece: &(Point, Point)| {
                let a = area(*piece);
                let inside = end.0 >= a.0 - TOUCH_MM
                    && end.0 <= a.2 + TOUCH_MM
                    && end.1 >= a.1 - TOUCH_MM
                    && end.1 <= a.3 + TOUCH_MM;
                let own = (near(piece.0, *end) && near(piece.1, *next))
                    || (near(piece.1, *end) && near(piece.0, *next));
                inside && !own
            };
            if !pins.iter().any(|p| near(*p, *end)) && !conductors.iter().any(on) {
                wrong.push(format!("a wire ends at {end:?} and meets nothing"));
            }
        }
    }
    wrong
}

/// Every part of the plant is drawn, and as often as it is there.
fn counts(scene: &Scene, plant: &FullPlant) -> Vec<String> {
    let mut there: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for part in &plant.parts {
        there.entry(part.role()).or_default().0 += 1;
    }
    for item in &scene.items {
        if let Item::Symbol(s) = item
            && let Some(role) = &s.role
        {
            there.entry(role.clone()).or_default().1 += s.count;
        }
    }
    let differing = there.iter().filter(|(_, (plant, drawn))| plant != drawn);
    differing.map(|(role, (plant, drawn))| format!("{role}: {plant} in the plant, {drawn} drawn")).collect()
}
