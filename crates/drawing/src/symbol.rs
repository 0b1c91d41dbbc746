//! Symbols, drawn from strokes about their middle. Geometry as IEC 60617 and IEEE 315 describe it (from memory).

use crate::scene::{Live, Point};

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
    /// Fixed link that bonds neutral and ground.
    Bond,
    /// Overcurrent device of which is not known whether it is a fuse or a breaker.
    Guard,
    /// Fuse that switches nothing.
    Fuse,
    /// Fuse in a switch-disconnector.
    FuseSwitch,
    /// Modules of an array.
    Array,
    /// Converter that gives alternating current only: an array inverter.
    Inverter,
    /// Converter between two direct voltages: a charge controller.
    Controller,
    /// A device on a link.
    Device,
    /// Terminator in the free port of a device.
    Terminator,
    /// Goes on on another sheet.
    Onward,
}

impl SymbolKind {
    /// Words of the legend.
    pub fn words(self, us: bool) -> &'static str {
        match self {
            SymbolKind::Breaker => "circuit breaker",
            SymbolKind::Contact => "contact of a switch or relay",
            SymbolKind::Source => "source",
            SymbolKind::Bridge => "converter, both ways",
            SymbolKind::Battery => "battery",
            SymbolKind::Earth if us => "ground",
            SymbolKind::Earth => "earth",
            SymbolKind::Former => "neutral former",
            SymbolKind::Run => "conductor run",
            SymbolKind::Bond if us => "bonding jumper",
            SymbolKind::Bond => "link of neutral and earth",
            SymbolKind::Guard => "fuse or other overcurrent device",
            SymbolKind::Fuse => "fuse",
            SymbolKind::FuseSwitch => "fuse in a switch-disconnector",
            SymbolKind::Array => "array of modules",
            SymbolKind::Inverter => "array inverter",
            SymbolKind::Controller => "charge controller",
            SymbolKind::Device => "device on a link",
            SymbolKind::Terminator => "terminator in a free port",
            SymbolKind::Onward => "goes on on another sheet",
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
    /// Its first pin is on the left and not on top.
    pub turned: bool,
    /// A contact or breaker is drawn closed.
    pub closed: bool,
    /// Role path of the plant's part that it stands for; nothing in the legend.
    pub role: Option<String>,
    /// How many parts of the plant it stands for; 0 in the legend.
    pub count: usize,
    /// What each pin is, in the order of [`Symbol::pins`]; pins behind the last are not used.
    pub terminals: Vec<String>,
    /// Which source it is live from.
    pub live: Option<Live>,
    /// Half width and height of a converter that many conductors meet, and where they meet it, from its middle.
    pub wide: Option<(Point, Vec<Point>)>,
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
        if let Some((half, _)) = &self.wide {
            return *half;
        }
        let (w, h) = match self.kind {
            SymbolKind::Breaker | SymbolKind::Contact => (2.5, 4.0),
            SymbolKind::Source | SymbolKind::Bridge => (5.0, 5.0),
            SymbolKind::Inverter | SymbolKind::Controller => (4.0, 4.0),
            SymbolKind::Array => (4.0, 4.0),
            SymbolKind::Device => (5.0, 2.5),
            SymbolKind::Terminator => (1.8, 1.1),
            SymbolKind::Battery => (3.5, 3.0),
            SymbolKind::Earth => (2.5, 2.0),
            SymbolKind::Former => (4.0, 2.5),
            SymbolKind::Run => (1.8, 1.5),
            SymbolKind::Bond => (1.5, 3.0),
            SymbolKind::Fuse | SymbolKind::Guard => (1.3, 4.0),
            SymbolKind::FuseSwitch => (2.9, 4.0),
            SymbolKind::Onward => (1.5, 2.0),
        };
        if self.turned { (h, w) } else { (w, h) }
    }

    /// Where wires may meet it.
    pub fn pins(&self) -> Vec<Point> {
        let (x, y) = self.at;
        if let Some((_, taps)) = &self.wide {
            return taps.iter().map(|tap| (x + tap.0, y + tap.1)).collect();
        }
        let (w, h) = self.half_mm();
        match self.kind {
            SymbolKind::Earth | SymbolKind::Onward => vec![(x, y - h)],
            SymbolKind::Array => vec![(x, y + h), (x, y - h)],
            SymbolKind::Former => vec![(x, y + h)],
            SymbolKind::Source => vec![(x, y + h), (x - w, y)],
            SymbolKind::Bridge => vec![(x - w, y), (x, y + h), (x, y - h)],
            _ if self.turned => vec![(x - w, y), (x + w, y)],
            _ => vec![(x, y - h), (x, y + h)],
        }
    }

    /// Middle of what moves, where a linkage takes hold.
    pub fn blade(&self) -> Point {
        let lean = match (self.closed, self.kind) {
            (_, SymbolKind::Breaker) if self.us => 1.7,
            (true, SymbolKind::Contact) if self.us => -0.45,
            (true, _) => -0.4,
            (false, _) => -0.95,
        };
        if self.turned { (self.at.0, self.at.1 + lean) } else { (self.at.0 + lean, self.at.1) }
    }

    /// Its strokes on the sheet.
    pub fn strokes(&self) -> Vec<Vec<Point>> {
        let (w, h) = self.half_mm();
        let (w, h) = if self.turned { (h, w) } else { (w, h) };
        let strokes = match self.kind {
            SymbolKind::Breaker | SymbolKind::Contact => self.contact(h),
            SymbolKind::Source => vec![round((0.0, 0.0), h, 0.0, 360.0), sine(0.0, 0.0)],
            SymbolKind::Bridge => vec![
                vec![(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)],
                vec![(-w, h), (w, -h)],
                sine(-0.46 * w, -0.52 * h),
                vec![(0.54 * w - 1.5, 0.5 * h - 0.5), (0.54 * w + 1.5, 0.5 * h - 0.5)],
                vec![(0.54 * w - 1.5, 0.5 * h + 0.4), (0.54 * w - 0.8, 0.5 * h + 0.4)],
                vec![(0.54 * w - 0.4, 0.5 * h + 0.4), (0.54 * w + 0.4, 0.5 * h + 0.4)],
                vec![(0.54 * w + 0.8, 0.5 * h + 0.4), (0.54 * w + 1.5, 0.5 * h + 0.4)],
            ],
            SymbolKind::Battery => {
                // one line stands for both poles: it meets the battery above or below
                let lead = if self.terminals.first().is_some_and(String::is_empty) { h } else { -h };
                vec![
                    vec![(0.0, lead), (0.0, 1.6_f64.copysign(lead))],
                    vec![(-w, -1.6), (w, -1.6)],
                    vec![(-1.7, -0.5), (1.7, -0.5)],
                    vec![(-w, 0.6), (w, 0.6)],
                    vec![(-1.7, 1.6), (1.7, 1.6)],
                ]
            }
            SymbolKind::Earth => vec![
                vec![(0.0, -h), (0.0, -0.4)],
                vec![(-w, -0.4), (w, -0.4)],
                vec![(-1.6, 0.8), (1.6, 0.8)],
                vec![(-0.7, h), (0.7, h)],
            ],
            SymbolKind::Former => {
                vec![
                    round((-1.5, 0.0), 2.5, 0.0, 360.0),
                    round((1.5, 0.0), 2.5, 0.0, 360.0),
                    vec![(0.0, 2.0), (0.0, h)],
                ]
            }
            SymbolKind::Device => vec![vec![(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)]],
            SymbolKind::Terminator => {
                let side = [(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)];
                vec![side.to_vec(), vec![(-0.5 * w, -0.5 * h), (0.5 * w, 0.5 * h)]]
            }
            SymbolKind::Run => vec![vec![(0.0, -h), (0.0, h)], vec![(-w, 1.1), (w, -1.1)]],
            SymbolKind::Bond => vec![
                vec![(0.0, -h), (0.0, -1.6)],
                vec![(-w, -1.6), (w, -1.6), (w, 1.6), (-w, 1.6), (-w, -1.6)],
                vec![(0.0, -1.6), (0.0, h)],
            ],
            // IEC: a rectangle on the conductor; IEEE: the same is allowed
            SymbolKind::Fuse => {
                vec![vec![(0.0, -h), (0.0, h)], vec![(-w, -2.4), (w, -2.4), (w, 2.4), (-w, 2.4), (-w, -2.4)]]
            }
            SymbolKind::Guard => vec![
                vec![(0.0, -h), (0.0, -2.4)],
                vec![(-w, -2.4), (w, -2.4), (w, 2.4), (-w, 2.4), (-w, -2.4)],
                vec![(0.0, 2.4), (0.0, h)],
            ],
            SymbolKind::FuseSwitch => self.fuse_switch(h),
            SymbolKind::Array => {
                // a module with its arrow of light
                let side = [(-w, -2.8), (w, -2.8), (w, 2.8), (-w, 2.8), (-w, -2.8)];
                // it hangs on its pin from above or stands on it
                let lead = if self.terminals.first().is_some_and(String::is_empty) { -h } else { h };
                vec![
                    side.to_vec(),
                    vec![(-w, -2.8), (0.0, 0.2), (w, -2.8)],
                    vec![(0.0, 2.8_f64.copysign(lead)), (0.0, lead)],
                ]
            }
            SymbolKind::Inverter => vec![
                vec![(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)],
                vec![(-w, h), (w, -h)],
                vec![(-0.75 * w, -0.62 * h), (-0.15 * w, -0.62 * h)],
                vec![(-0.75 * w, -0.38 * h), (-0.15 * w, -0.38 * h)],
                scaled(&sine(0.0, 0.0), 0.7, (0.45 * w, 0.5 * h)),
            ],
            SymbolKind::Controller => vec![
                vec![(-w, -h), (w, -h), (w, h), (-w, h), (-w, -h)],
                vec![(-w, h), (w, -h)],
                vec![(-0.75 * w, -0.62 * h), (-0.15 * w, -0.62 * h)],
                vec![(-0.75 * w, -0.38 * h), (-0.15 * w, -0.38 * h)],
                vec![(0.15 * w, 0.4 * h), (0.75 * w, 0.4 * h)],
                vec![(0.15 * w, 0.64 * h), (0.75 * w, 0.64 * h)],
            ],
            SymbolKind::Onward => vec![vec![(0.0, -h), (0.0, h)], vec![(-w, 0.4), (0.0, h), (w, 0.4)]],
        };
        let moved = |p: &Point| {
            let p = if self.turned { (p.1, p.0) } else { *p };
            (p.0 + self.at.0, p.1 + self.at.1)
        };
        strokes.iter().map(|s| s.iter().map(moved).collect()).collect()
    }

    /// A blade with a fuse on it.
    fn fuse_switch(&self, h: f64) -> Vec<Vec<Point>> {
        let tip = if self.closed { (-0.8, -2.2) } else { (-2.4, -1.6) };
        let foot = (0.0, 2.2);
        let length = libm::hypot(tip.0 - foot.0, tip.1 - foot.1);
        let along = ((tip.0 - foot.0) / length, (tip.1 - foot.1) / length);
        let beside = |at: f64, off: f64| {
            (foot.0 + along.0 * at - along.1 * off, foot.1 + along.1 * at + along.0 * off)
        };
        let mut all = vec![vec![(0.0, -h), (0.0, -2.2)], vec![(0.0, h), foot], vec![foot, tip]];
        if self.closed {
            all.push(vec![(-0.8, -2.2), (0.0, -2.2)]);
        }
        all.push(vec![
            beside(0.8, -0.6),
            beside(3.4, -0.6),
            beside(3.4, 0.6),
            beside(0.8, 0.6),
            beside(0.8, -0.6),
        ]);
        all
    }

    /// Breakers and contacts, as they stand.
    fn contact(&self, h: f64) -> Vec<Vec<Point>> {
        // a closed blade leans on the fixed contact, an open one stands off it
        let tip = if self.closed { (-0.8, -2.0) } else { (-1.9, -1.6) };
        let leads = |end: f64| vec![vec![(0.0, -h), (0.0, -end)], vec![(0.0, h), (0.0, end)]];
        match (self.kind, self.us) {
            (SymbolKind::Breaker, true) => {
                let mut all = leads(2.2);
                // an open breaker has its arc tilted off the upper contact
                let arc = if self.closed {
                    round((-0.6, 0.0), 2.3, -75.0, 75.0)
                } else {
                    round((-1.35, 0.25), 2.35, -120.0, 52.0)
                };
                all.push(arc);
                all
            }
            (SymbolKind::Breaker, false) => {
                let mut all = leads(2.0);
                all.push(vec![(0.0, 2.0), tip]);
                if self.closed {
                    all.push(vec![(-0.8, -2.0), (0.0, -2.0)]);
                }
                all.push(vec![(-0.7, -2.7), (0.7, -1.3)]);
                all.push(vec![(-0.7, -1.3), (0.7, -2.7)]);
                all
            }
            // IEEE 315: a blade between two terminals; closed it leans on the side of the upper one
            (_, true) => {
                let tip = if self.closed { (-0.75, -2.6) } else { (-2.3, -1.5) };
                let mut all = leads(2.7);
                all.push(vec![(0.0, 1.3), tip]);
                all.push(round((0.0, -2.0), 0.7, 0.0, 360.0));
                all.push(round((0.0, 2.0), 0.7, 0.0, 360.0));
                all
            }
            (_, false) => {
                let mut all = leads(2.0);
                all.push(vec![(0.0, 2.0), tip]);
                if self.closed {
                    all.push(vec![(-0.8, -2.0), (0.0, -2.0)]);
                }
                all
            }
        }
    }
}

/// Drawn smaller about its middle, and moved.
fn scaled(stroke: &[Point], factor: f64, to: Point) -> Vec<Point> {
    stroke.iter().map(|p| (p.0 * factor + to.0, p.1 * factor + to.1)).collect()
}

fn sine(x: f64, y: f64) -> Vec<Point> {
    let point = |k: i32| {
        let t = f64::from(k) / 12.0;
        (x - 1.8 + 3.6 * t, y - 1.1 * libm::sin(t * std::f64::consts::TAU))
    };
    (0..=12).map(point).collect()
}
