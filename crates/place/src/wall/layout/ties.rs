//! What the cables of a layout cost: their length from middle to middle, across and up.

use super::super::CABLE_ENDS_M;
use super::super::board::{Area, Spot};

/// Cables are ordered to the next half metre.
const STEP_MM: i64 = 500;
/// Kinds of piece in the order of placing: where cables lead from, the busbar they end at, what is along them, what has
/// other cables, the rest.
pub(crate) const CLASSES: usize = 5;
pub(crate) const LEADS: usize = 0;
const HUB: usize = 1;
const ALONG: usize = 2;
const OTHER: usize = 3;
const REST: usize = 4;

/// Orders in which the kinds are placed near each other.
pub(crate) const TURNS: [[usize; CLASSES]; 4] = [
    [LEADS, HUB, ALONG, OTHER, REST],
    [LEADS, ALONG, HUB, OTHER, REST],
    [LEADS, REST, HUB, ALONG, OTHER],
    [LEADS, REST, ALONG, HUB, OTHER],
];

/// A cable between pieces, by their numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Tie {
    /// It begins at the nearest of them.
    pub from: Vec<usize>,
    /// The piece on its way.
    pub by: Option<usize>,
    /// Where it ends.
    pub to: usize,
    /// It carries the direct current of battery and units.
    pub direct: bool,
    /// Where it begins is placed first.
    pub leads: bool,
}

impl Tie {
    pub fn touches(&self, piece: usize) -> bool {
        self.to == piece || self.by == Some(piece) || self.from.contains(&piece)
    }
}

/// Whether a cable touches a piece.
pub(crate) fn tied(ties: &[Tie], piece: usize) -> bool {
    ties.iter().any(|tie| tie.touches(piece))
}

/// Kind of a piece.
pub(crate) fn class(ties: &[Tie], piece: usize) -> usize {
    let any = |of: &dyn Fn(&Tie) -> bool| ties.iter().any(of);
    if any(&|t| t.leads && t.from.contains(&piece)) {
        LEADS
    } else if any(&|t| t.direct && t.to == piece) {
        HUB
    } else if any(&|t| t.direct && t.touches(piece)) {
        ALONG
    } else if tied(ties, piece) {
        OTHER
    } else {
        REST
    }
}

/// Middles of the pieces that stand, doubled so that they are whole.
pub(crate) struct Middles(Vec<Option<(i64, i64)>>);

impl Middles {
    pub fn of(pieces: usize, spots: &[Spot]) -> Self {
        let mut all = Self(vec![None; pieces]);
        for spot in spots {
            all.set(spot.piece, &spot.area);
        }
        all
    }

    pub fn set(&mut self, piece: usize, area: &Area) {
        if let Some(at) = self.0.get_mut(piece) {
            *at = Some((area.left + area.right, area.bottom + area.top));
        }
    }

    fn at(&self, piece: usize) -> Option<(i64, i64)> {
        self.0.get(piece).copied().flatten()
    }

    /// Way of a cable in millimetres, as far as its pieces stand; up and down counted so many times.
    fn way(&self, tie: &Tie, up: i64) -> i64 {
        let apart = |a: (i64, i64), b: (i64, i64)| (a.0 - b.0).abs() + up * (a.1 - b.1).abs();
        let (by, to) = (tie.by.and_then(|by| self.at(by)), self.at(tie.to));
        let Some(first) = by.or(to) else { return 0 };
        let nearest = tie.from.iter().filter_map(|from| self.at(*from)).map(|at| apart(at, first)).min();
        let rest = by.zip(to).map_or(0, |(by, to)| apart(by, to));
        (nearest.unwrap_or(0) + rest + 1) / 2
    }

    /// Direct-current cables and others, in millimetres.
    pub fn to_the_mm(&self, ties: &[Tie]) -> (i64, i64) {
        self.counted(ties, 1)
    }

    /// Likewise, across alone.
    pub fn across(&self, ties: &[Tie]) -> (i64, i64) {
        self.counted(ties, 0)
    }

    fn counted(&self, ties: &[Tie], up: i64) -> (i64, i64) {
        let of = |direct: bool| ties.iter().filter(|t| t.direct == direct).map(|t| self.way(t, up)).sum();
        (of(true), of(false))
    }

    /// Half metres of direct-current cable that are ordered, and all cables to the millimetre.
    pub fn cost(&self, ties: &[Tie]) -> (i64, i64) {
        // whole, and within a metre
        #[allow(clippy::cast_possible_truncation)]
        let ends = (CABLE_ENDS_M * 1000.0) as i64;
        let steps = |tie: &Tie| (self.way(tie, 1) + ends + STEP_MM - 1) / STEP_MM;
        let ordered = ties.iter().filter(|t| t.direct).map(steps).sum();
        let (direct, other) = self.to_the_mm(ties);
        (ordered, direct + other)
    }
}
