//! What the lines of a scene join: found from the geometry alone.

use std::collections::BTreeMap;

use crate::scene::{Item, Layer, Live, Point, Scene};

/// Tolerance in millimetres.
pub(crate) const TOUCH_MM: f64 = 0.01;

/// A straight piece of a conductor.
#[derive(Debug, Clone, Copy)]
struct Piece {
    line: usize,
    bus: bool,
    a: Point,
    b: Point,
}

/// The conductors of a scene and the pins on them.
pub(crate) struct Nets {
    /// Net of each terminal.
    pub of: BTreeMap<String, usize>,
    /// Terminals that are drawn more than once.
    pub twice: Vec<String>,
    /// Net and source of each line.
    pub lines: Vec<(usize, Option<Live>)>,
    /// Places where lines lie over each other, or cross where they must not.
    pub wrong: Vec<String>,
}

pub(crate) fn near(a: Point, b: Point) -> bool {
    (a.0 - b.0).abs() < TOUCH_MM && (a.1 - b.1).abs() < TOUCH_MM
}

fn on(p: Point, piece: &Piece) -> bool {
    let (a, b) = (piece.a, piece.b);
    p.0 >= a.0.min(b.0) - TOUCH_MM
        && p.0 <= a.0.max(b.0) + TOUCH_MM
        && p.1 >= a.1.min(b.1) - TOUCH_MM
        && p.1 <= a.1.max(b.1) + TOUCH_MM
}

fn pieces(scene: &Scene) -> Vec<Piece> {
    let lines = scene.items.iter().filter_map(|item| match item {
        Item::Line { layer, points, .. } if Layer::CONDUCTING.contains(layer) => Some((layer, points)),
        _ => None,
    });
    let each = lines.enumerate().flat_map(|(line, (layer, points))| {
        let pairs = points.iter().copied().zip(points.iter().copied().skip(1));
        pairs.map(move |(a, b)| Piece { line, bus: *layer == Layer::Bus, a, b })
    });
    each.collect()
}

fn pins(scene: &Scene) -> Vec<(Point, String)> {
    let all = scene.symbols().flat_map(|s| s.pins().into_iter().zip(s.terminals.iter().cloned()));
    all.filter(|(_, terminal)| !terminal.is_empty()).collect()
}

/// How many conductors leave a point, and whether one of them is a busbar.
fn leaving(at: Point, pieces: &[Piece], pins: &[(Point, String)]) -> (usize, bool) {
    let mut count = pins.iter().filter(|(p, _)| near(*p, at)).count();
    let mut bus = false;
    for piece in pieces.iter().filter(|piece| on(at, piece)) {
        count += if near(at, piece.a) || near(at, piece.b) { 1 } else { 2 };
        bus |= piece.bus;
    }
    (count, bus)
}

/// Ends of lines and pins: where conductors may be joined.
fn ends(pieces: &[Piece], pins: &[(Point, String)]) -> Vec<Point> {
    let mut all: Vec<Point> = Vec::new();
    let corners = pieces.iter().flat_map(|p| [p.a, p.b]);
    for p in corners.chain(pins.iter().map(|(p, _)| *p)) {
        if !all.iter().any(|q| near(*q, p)) {
            all.push(p);
        }
    }
    all
}

/// Where a dot belongs: three conductors or more meet, none of them a busbar.
pub(crate) fn junctions(scene: &Scene) -> Vec<(Point, Option<Live>)> {
    let (pieces, pins) = (pieces(scene), pins(scene));
    let points = ends(&pieces, &pins).into_iter();
    let points = points.filter(|p| matches!(leaving(*p, &pieces, &pins), (n, false) if n >= 3));
    let lives: Vec<Option<Live>> = scene
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Line { layer, live, .. } if Layer::CONDUCTING.contains(layer) => Some(*live),
            _ => None,
        })
        .collect();
    let live = |p: Point| {
        let piece = pieces.iter().filter(|piece| on(p, piece)).find_map(|piece| lives.get(piece.line));
        piece.copied().flatten()
    };
    points.map(|p| (p, live(p))).collect()
}

struct Union(Vec<usize>);

impl Union {
    fn root(&self, mut k: usize) -> usize {
        while let Some(&up) = self.0.get(k).filter(|up| **up != k) {
            k = up;
        }
        k
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if let Some(up) = self.0.get_mut(a.max(b)) {
            *up = a.min(b);
        }
    }
}

/// Finds the nets.
pub(crate) fn nets(scene: &Scene) -> Nets {
    let (pieces, pins) = (pieces(scene), pins(scene));
    let lines = scene.items.iter().filter_map(|item| match item {
        Item::Line { layer, live, .. } if Layer::CONDUCTING.contains(layer) => Some(*live),
        _ => None,
    });
    let lines: Vec<Option<Live>> = lines.collect();
    let mut union = Union((0..lines.len() + pins.len()).collect());
    let mut wrong = Vec::new();
    for (k, a) in pieces.iter().enumerate() {
        for b in pieces.iter().skip(k + 1) {
            if [a.a, a.b].iter().any(|p| on(*p, b)) || [b.a, b.b].iter().any(|p| on(*p, a)) {
                union.join(a.line, b.line);
            } else if crossing(a, b) && (a.bus || b.bus) {
                wrong.push(format!("a conductor crosses a busbar near {:.0},{:.0}", a.a.0, b.a.1));
            }
            if lie_over(a, b) {
                wrong.push(format!("conductors lie over each other at {:.0},{:.0}", a.a.0, a.a.1));
            }
        }
    }
    for (k, (at, _)) in pins.iter().enumerate() {
        for piece in pieces.iter().filter(|piece| on(*at, piece)) {
            union.join(piece.line, lines.len() + k);
        }
        for (j, _) in pins.iter().enumerate().skip(k + 1).filter(|(_, (other, _))| near(*at, *other)) {
            union.join(lines.len() + k, lines.len() + j);
        }
    }
    let mut of = BTreeMap::new();
    let mut twice = Vec::new();
    for (k, (_, terminal)) in pins.iter().enumerate() {
        if of.insert(terminal.clone(), union.root(lines.len() + k)).is_some() {
            twice.push(terminal.clone());
        }
    }
    let lines = lines.into_iter().enumerate().map(|(k, live)| (union.root(k), live)).collect();
    wrong.extend(dots(scene, &pieces, &pins));
    Nets { of, twice, lines, wrong }
}

/// Dots stand where conductors are joined and nowhere else.
fn dots(scene: &Scene, pieces: &[Piece], pins: &[(Point, String)]) -> Vec<String> {
    let dots: Vec<Point> = scene
        .items
        .iter()
        .filter_map(|item| if let Item::Dot { at, .. } = item { Some(*at) } else { None })
        .collect();
    let mut wrong = Vec::new();
    for at in ends(pieces, pins) {
        let (count, bus) = leaving(at, pieces, pins);
        if count >= 3 && !bus && !dots.iter().any(|dot| near(*dot, at)) {
            wrong.push(format!("{count} conductors meet at {at:?} without a dot"));
        }
        if count < 2 && !bus {
            wrong.push(format!("a conductor or pin ends at {at:?} and meets nothing"));
        }
    }
    for dot in dots {
        if leaving(dot, pieces, pins).0 < 3 {
            wrong.push(format!("a dot at {dot:?} joins nothing"));
        }
    }
    wrong
}

fn crossing(a: &Piece, b: &Piece) -> bool {
    let ((al, ar), (at, ab)) = spans(a);
    let ((bl, br), (bt, bb)) = spans(b);
    al <= br && bl <= ar && at <= bb && bt <= ab
}

/// Along one line, and over each other by more than a point.
fn lie_over(a: &Piece, b: &Piece) -> bool {
    let ((al, ar), (at, ab)) = spans(a);
    let ((bl, br), (bt, bb)) = spans(b);
    let (wide, high) = (ar.min(br) - al.max(bl), ab.min(bb) - at.max(bt));
    let flat = |from: f64, to: f64| to - from < TOUCH_MM;
    (wide > TOUCH_MM && flat(at, ab) && flat(bt, bb) && high > -TOUCH_MM)
        || (high > TOUCH_MM && flat(al, ar) && flat(bl, br) && wide > -TOUCH_MM)
}

fn spans(p: &Piece) -> ((f64, f64), (f64, f64)) {
    ((p.a.0.min(p.b.0), p.a.0.max(p.b.0)), (p.a.1.min(p.b.1), p.a.1.max(p.b.1)))
}
