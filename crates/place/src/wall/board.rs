//! Geometry of the wall in whole millimetres: what may stand beside what. Sizes are rounded up, free lengths down.

/// A stud counts only where it lies so far inside the housing's edges: the screw needs wood on both sides.
pub(crate) const EDGE_MM: i64 = 20;

/// A rectangle in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Area {
    pub left: i64,
    pub bottom: i64,
    pub right: i64,
    pub top: i64,
}

impl Area {
    /// They share more than an edge.
    pub fn meets(&self, other: &Area) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.bottom < other.top
            && other.bottom < self.top
    }

    /// Square of the distance between the nearest edges.
    fn gap_squared(&self, other: &Area) -> i64 {
        let dx = (other.left - self.right).max(self.left - other.right).max(0);
        let dy = (other.bottom - self.top).max(self.bottom - other.top).max(0);
        dx * dx + dy * dy
    }
}

/// Where warm air leaves a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outlet {
    Top,
    Bottom,
    Sides,
    None,
}

/// A piece to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Piece {
    pub width: i64,
    pub height: i64,
    pub depth: i64,
    pub above: i64,
    pub below: i64,
    pub beside: i64,
    pub outlet: Outlet,
    /// It stands on the floor.
    pub floor: bool,
    /// It has handles, and live parts that are worked on.
    pub handles: bool,
    /// Distance that it keeps from doors, windows and other openings.
    pub from_openings: i64,
    /// Distance that pieces with handles keep from it, since they may spark.
    pub from_sparks: i64,
}

/// Something on the wall already.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Block {
    pub area: Area,
    pub depth: i64,
    pub opening: bool,
}

/// The wall and what the code asks before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Board {
    pub width: i64,
    pub height: i64,
    pub blocks: Vec<Block>,
    /// Where studs are; every piece that hangs must have one behind it. Empty: anywhere.
    pub studs: Vec<i64>,
    /// Highest top of a piece with handles.
    pub reach: i64,
    /// Least width of working space.
    pub working_width: i64,
    /// Most that other pieces may stand out beyond the front of one that is worked on.
    pub protrusion: i64,
}

/// A piece in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Spot {
    pub piece: usize,
    pub area: Area,
}

impl Piece {
    pub fn at(&self, left: i64, bottom: i64) -> Area {
        Area { left, bottom, right: left + self.width, top: bottom + self.height }
    }

    /// With its free space.
    pub fn zone(&self, body: &Area) -> Area {
        Area {
            left: body.left - self.beside,
            bottom: if self.floor { body.bottom } else { body.bottom - self.below },
            right: body.right + self.beside,
            top: body.top + self.above,
        }
    }
}

/// Free height between a lower and an upper piece: the larger of the two clearances, or both where one blows into the
/// other.
pub(crate) fn height_between(lower: &Piece, upper: &Piece) -> i64 {
    if lower.outlet == Outlet::Top || upper.outlet == Outlet::Bottom {
        lower.above + upper.below
    } else {
        lower.above.max(upper.below)
    }
}

/// Free width between two neighbours, likewise.
pub(crate) fn width_between(a: &Piece, b: &Piece) -> i64 {
    if a.outlet == Outlet::Sides || b.outlet == Outlet::Sides {
        a.beside + b.beside
    } else {
        a.beside.max(b.beside)
    }
}

/// Whether two pieces leave each other what they need.
pub(crate) fn apart((p, a): (&Piece, &Area), (q, b): (&Piece, &Area)) -> bool {
    if p.zone(a).meets(b) || q.zone(b).meets(a) {
        return false;
    }
    let over = |l: &Area, r: &Area| l.left < r.right && r.left < l.right;
    let level = |l: &Area, r: &Area| l.bottom < r.top && r.bottom < l.top;
    let stacked = |(lower, l): (&Piece, &Area), (upper, u): (&Piece, &Area)| {
        !(over(l, u) && u.bottom >= l.top) || u.bottom - l.top >= height_between(lower, upper)
    };
    let beside = || {
        let gap = (b.left - a.right).max(a.left - b.right);
        !level(a, b) || gap >= width_between(p, q)
    };
    let sparks = |(own, from): (&Piece, &Area), (other, at): (&Piece, &Area)| {
        !other.handles || from.gap_squared(at) >= own.from_sparks * own.from_sparks
    };
    stacked((p, a), (q, b))
        && stacked((q, b), (p, a))
        && beside()
        && sparks((p, a), (q, b))
        && sparks((q, b), (p, a))
}

impl Board {
    /// Whether a piece may stand so far from the left end, whatever its height: within the ends, with a stud behind it.
    pub fn takes_across(&self, piece: &Piece, left: i64) -> bool {
        let right = left + piece.width;
        let fixed = piece.floor
            || self.studs.is_empty()
            || self.studs.iter().any(|&stud| left + EDGE_MM <= stud && stud <= right - EDGE_MM);
        left >= piece.beside && right + piece.beside <= self.width && fixed
    }

    /// Whether it may stand so high, wherever along the wall: under the ceiling, on or above the floor, within reach.
    pub fn takes_up(&self, piece: &Piece, bottom: i64) -> bool {
        let top = bottom + piece.height;
        let floor = if piece.floor { bottom == 0 } else { bottom >= piece.below };
        floor && top + piece.above <= self.height && (!piece.handles || top <= self.reach)
    }

    /// Whether a piece may stand there, the other pieces apart.
    pub fn takes(&self, piece: &Piece, body: &Area) -> bool {
        let zone = piece.zone(body);
        self.takes_across(piece, body.left)
            && self.takes_up(piece, body.bottom)
            && self.blocks.iter().all(|block| {
                let near =
                    block.opening && block.area.gap_squared(body) < piece.from_openings * piece.from_openings;
                let crowded = block.depth > 0 && block.area.meets(&zone);
                !(block.area.meets(body) || crowded || near)
            })
    }

    /// Left end of the working space before a piece: it holds the piece's width, lies before the wall, and nothing stands
    /// into it. The nearest to the middle of the piece.
    pub fn working(&self, pieces: &[Piece], spots: &[Spot], of: &Spot) -> Option<(i64, i64)> {
        let piece = pieces.get(of.piece)?;
        let width = self.working_width.max(piece.width);
        let (from, to) = ((of.area.right - width).max(0), of.area.left.min(self.width - width));
        if from > to {
            return None;
        }
        let deep = |depth: i64| depth > piece.depth + self.protrusion;
        let others = spots.iter().filter(|s| *s != of).filter_map(|s| {
            pieces.get(s.piece).filter(|p| deep(p.depth)).map(|_| (s.area.left, s.area.right))
        });
        let blocks = self.blocks.iter().filter(|b| deep(b.depth)).map(|b| (b.area.left, b.area.right));
        let blocked: Vec<(i64, i64)> = others.chain(blocks).collect();
        let middle = (of.area.left + of.area.right - width) / 2;
        let edges = blocked.iter().flat_map(|(l, r)| [*r, l - width]);
        let mut starts: Vec<i64> =
            [middle, from, to].into_iter().chain(edges).filter(|s| (from..=to).contains(s)).collect();
        starts.sort_by_key(|s| ((s - middle).abs(), *s));
        let free = |s: i64| blocked.iter().all(|(l, r)| s + width <= *l || *r <= s);
        starts.into_iter().find(|&s| free(s)).map(|s| (s, width))
    }

    /// Whether a piece may be added to what stands.
    pub fn takes_beside(&self, pieces: &[Piece], spots: &mut Vec<Spot>, new: Spot) -> bool {
        let Some(piece) = pieces.get(new.piece) else { return false };
        let alone = self.takes(piece, &new.area)
            && spots.iter().all(|s| {
                pieces.get(s.piece).is_some_and(|other| apart((piece, &new.area), (other, &s.area)))
            });
        if !alone {
            return false;
        }
        spots.push(new);
        let worked = spots.iter().all(|s| {
            pieces.get(s.piece).is_none_or(|p| !p.handles) || self.working(pieces, spots, s).is_some()
        });
        if !worked {
            spots.pop();
        }
        worked
    }
}
