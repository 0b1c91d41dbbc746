//! What is drawn moves to the middle of the room that its sheet has for it, so that a small plant leaves no half of the
//! sheet empty.

use crate::scene::{FRAME_MM, Item, Point, Scene, width_mm};

/// Nearer to the frame than this nothing is moved, in millimetres.
const EDGE_MM: f64 = 3.0;

/// Which way a drawing may move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Centring {
    /// It stays: its lists begin at the top of the sheet.
    None,
    /// Up and down, by its lines and symbols alone: the sheets of all states of a plant lie over each other.
    Upright,
    /// Both ways.
    Both,
}

/// Left, top, right, bottom.
type Area = (f64, f64, f64, f64);

fn joined(a: Option<Area>, b: Area) -> Area {
    a.map_or(b, |a| (a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)))
}

fn area(item: &Item) -> Option<Area> {
    match item {
        Item::Text { at, size_mm, text } => {
            Some((at.0, at.1 - size_mm, at.0 + width_mm(text, *size_mm), at.1 + 0.3 * size_mm))
        }
        Item::Symbol(s) => {
            let (w, h) = s.half_mm();
            Some((s.at.0 - w, s.at.1 - h, s.at.0 + w, s.at.1 + h))
        }
        Item::Dot { at, .. } => Some((at.0, at.1, at.0, at.1)),
        Item::Line { points, .. }
        | Item::Link { points, .. }
        | Item::Sample { points, .. }
        | Item::Outline { points, .. } => {
            points.iter().fold(None, |all, p| Some(joined(all, (p.0, p.1, p.0, p.1))))
        }
    }
}

fn moved(item: &mut Item, (dx, dy): Point) {
    let shift = |p: &mut Point| *p = (p.0 + dx, p.1 + dy);
    match item {
        Item::Text { at, .. } | Item::Dot { at, .. } => shift(at),
        Item::Symbol(s) => shift(&mut s.at),
        Item::Line { points, .. }
        | Item::Link { points, .. }
        | Item::Sample { points, .. }
        | Item::Outline { points, .. } => points.iter_mut().for_each(shift),
    }
}

/// How far from the middle of its room something is, no farther than it may move in it; in tenths of a millimetre.
fn way((from, to): (f64, f64), (low, high): (f64, f64), (first, last): (f64, f64)) -> f64 {
    let wished = (low + high) / 2.0 - (from + to) / 2.0;
    let (least, most) = (low + EDGE_MM - first, high - EDGE_MM - last);
    if least > most {
        return 0.0; // it fills its room
    }
    (wished.clamp(least, most) * 10.0).round() / 10.0
}

/// Moves all that is drawn so far above a height of the sheet.
pub(crate) fn centre(scene: &mut Scene, bottom: f64, how: Centring) {
    let all = scene.items.iter().filter_map(area).fold(None, |all, a| Some(joined(all, a)));
    let text = |item: &&Item| matches!(item, Item::Text { .. });
    let drawn = scene.items.iter().filter(|i| !text(i)).filter_map(area);
    let drawn = drawn.fold(None, |all, a| Some(joined(all, a)));
    let (Some(all), Some(drawn)) = (all, drawn) else { return };
    let by = match how {
        Centring::None => return,
        Centring::Upright => drawn,
        Centring::Both => all,
    };
    let (across, upright) = ((FRAME_MM, scene.sheet.width_mm - FRAME_MM), (FRAME_MM, bottom));
    let dy = way((by.1, by.3), upright, (all.1, all.3));
    let dx = if how == Centring::Both { way((by.0, by.2), across, (all.0, all.2)) } else { 0.0 };
    for item in &mut scene.items {
        moved(item, (dx, dy));
    }
}
