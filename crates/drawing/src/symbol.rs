//! Symbols, drawn from strokes about their middle. Geometry as IEC 60617 and IEEE 315 describe it (from memory).

use crate::scene::Point;

/// Which symbol.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SymbolKind {
    /// Circuit breaker.
    Breaker,
    /// Make contact of a switch or relay.
    Contact,
    /// A source, in a circle.
    Source,
    /// Converter between direct and alternating current.
    Bridge,
    /// Battery of cells.
    Battery,
    /// Earth.
    Earth,
    /// Transformer that forms a neutral.
    Former,
    /// Conductor run of which size and length are stated.
    Run,
}

impl SymbolKind {
    /// Words of the legend.
    pub fn words(self) -> &'static str {
        match self {
            SymbolKind::Breaker => "circuit breaker",
            SymbolKind::Contact => "contact of a switch or relay",
            SymbolKind::Source => "source",
            SymbolKind::Bridge => "converter, both ways",
            SymbolKind::Battery => "battery",
            SymbolKind::Earth => "earth; bond of neutral and earth",
            SymbolKind::Former => "neutral former",
            SymbolKind::Run => "conductor run",
        }
    }
}

/// A symbol on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// Which.
    pub kind: SymbolKind,
    /// Middle, in millimetres.
    pub at: Point,
    /// Drawn as the American standard asks.
    pub us: bool,
    /// Role path of the plant's part that it stands for; nothing for sources and the like.
    pub role: Option<String>,
    /// How many parts of the plant it stands for.
    pub count: usize,
}

/// Circle as a line of many corners, which every reader of both formats draws alike.
fn round(centre: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    let corner = |k: i32| {
        let angle = (from + (to - from) * f64::from(k) / 24.0).to_radians();
        (centre.0 + radius * libm::cos(angle), centre.1 + radius * libm::sin(angle))
    };
    (0..=24).map(corner).collect()
}

impl Symbol {
    /// Half width and half height, in millimetres.
    pub fn half_mm(&self) -> (f64, f64) {
        match self.kind {
            SymbolKind::Breaker | SymbolKind::Contact => (2.5, 4.0),
            SymbolKind::Source | SymbolKind::Bridge => (5.0, 5.0),
            SymbolKind::Battery => (3.5, 2.5),
            SymbolKind::Earth => (2.5, 2.0),
            SymbolKind::Former => (4.0, 2.5),
            SymbolKind::Run => (1.5, 1.5),
        }
    }

    /// Where wires may meet it.
    pub fn pins(&self) -> Vec<Point> {
        let (x, y) = self.at;
        let (w, h) = self.half_mm();
        match self.kind {
            SymbolKind::Earth | SymbolKind::Battery => vec![(x, y - h)],
            SymbolKind::Former => vec![(x - w, y)],
            SymbolKind::Source | SymbolKind::Bridge => {
                vec![(x, y - h), (x, y + h), (x - w, y), (x + w, y)]
            }
            _ => vec![(x, y - h), (x, y + h)],
        }
    }

    /// Its strokes on the sheet.
    pub fn strokes(&self) -> Vec<Vec<Point>> {
        let (w, h) = self.half_mm();
        let strokes = match (self.kind, self.us) {
            (SymbolKind::Breaker, true) => vec![
                vec![(0.0, -h), (0.0, -2.2)],
                vec![(0.0, h), (0.0, 2.2)],
                round((-0.6, 0.0), 2.3, -75.0, 75.0),
            ],
            (SymbolKind::Breaker, false) => vec![
                vec![(0.0, -h), (0.0, -2.0)],
                vec![(0.0, h), (0.0, 2.0), (-1.9, -1.6)],
                vec![(-0.7, -2.7), (0.7, -1.3)],
                vec![(-0.7, -1.3), (0.7, -2.7)],
            ],
            (SymbolKind::Contact, us) => {
                let mut all = vec![vec![(0.0, -h), (0.0, -2.0)], vec![(0.0, h), (0.0, 2.0), (-1.9, -1.6)]];
                if us {
                    all.push(round((0.0, -2.0), 0.45, 0.0, 360.0));
                    all.push(round((0.0, 2.0), 0.45, 0.0, 360.0));
                }
                all
            }
            (SymbolKind::Source, _) => vec![round((0.0, 0.0), h, 0.0, 360.0), sine(0.0, 0.0)],
            (SymbolKind::Bridge, _) => vec![
                vec![(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)],
                vec![(-w, h), (w, -h)],
                sine(-2.3, -2.6),
                vec![(0.8, 2.0), (4.0, 2.0)],
                vec![(0.8, 3.0), (1.6, 3.0)],
                vec![(2.0, 3.0), (2.8, 3.0)],
                vec![(3.2, 3.0), (4.0, 3.0)],
            ],
            (SymbolKind::Battery, _) => vec![
                vec![(0.0, -h), (0.0, -1.2)],
                vec![(-w, -1.2), (w, -1.2)],
                vec![(-1.7, 0.0), (1.7, 0.0)],
                vec![(-w, 1.2), (w, 1.2)],
                vec![(-1.7, h), (1.7, h)],
            ],
            (SymbolKind::Earth, _) => vec![
                vec![(0.0, -h), (0.0, -0.4)],
                vec![(-w, -0.4), (w, -0.4)],
                vec![(-1.6, 0.8), (1.6, 0.8)],
                vec![(-0.7, h), (0.7, h)],
            ],
            (SymbolKind::Former, _) => {
                vec![round((-1.5, 0.0), 2.5, 0.0, 360.0), round((1.5, 0.0), 2.5, 0.0, 360.0)]
            }
            (SymbolKind::Run, _) => vec![vec![(0.0, -h), (0.0, h)], vec![(-w, 0.8), (w, -0.8)]],
        };
        let moved = |p: &Point| (p.0 + self.at.0, p.1 + self.at.1);
        strokes.iter().map(|s| s.iter().map(moved).collect()).collect()
    }
}

fn sine(x: f64, y: f64) -> Vec<Point> {
    let point = |k: i32| {
        let t = f64::from(k) / 12.0;
        (x - 1.8 + 3.6 * t, y - 1.1 * libm::sin(t * std::f64::consts::TAU))
    };
    (0..=12).map(point).collect()
}
