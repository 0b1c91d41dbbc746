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

/// Between housings that stand beside each other at most: a device so near is at its busbar.
const BESIDE_MM: i64 = 150;
/// Longest run from a busbar to a device that does not stand at it, in millimetres (the shorter of 10 ft by NEC 2023
/// 240.21(B)(1) and 3 m by IEC 60364-4-43 433.2.2), and what a longer one counts in half metres: more than any way round.
const RUN_MM: i64 = 3000;
const OVER_RUN: i64 = 50;

/// Bodies of the pieces that stand.
pub(crate) struct Bodies(Vec<Option<Area>>);

impl Bodies {
    pub fn of(pieces: usize, spots: &[Spot]) -> Self {
        let mut all = Self(vec![None; pieces]);
        for spot in spots {
            all.set(spot.piece, &spot.area);
        }
        all
    }

    pub fn set(&mut self, piece: usize, area: &Area) {
        if let Some(at) = self.0.get_mut(piece) {
            *at = Some(*area);
        }
    }

    fn at(&self, piece: usize) -> Option<Area> {
        self.0.get(piece).copied().flatten()
    }

    /// Way of a cable in millimetres, from middle to middle, as far as its pieces stand; up and down counted so many times.
    fn way(&self, tie: &Tie, up: i64) -> i64 {
        let apart = |a: &Area, b: &Area| {
            // doubled, so that middles are whole
            (a.left + a.right - b.left - b.right).abs() + up * (a.bottom + a.top - b.bottom - b.top).abs()
        };
        let (by, to) = (tie.by.and_then(|by| self.at(by)), self.at(tie.to));
        let Some(first) = by.or(to) else { return 0 };
        let nearest = tie.from.iter().filter_map(|from| self.at(*from)).map(|at| apart(&at, &first)).min();
        let rest = by.zip(to).map_or(0, |(by, to)| apart(&by, &to));
        (nearest.unwrap_or(0) + rest + 1) / 2
    }

    /// The part of a cable ahead of its device, where that does not stand at the busbar: everything behind the bar feeds it.
    fn unguarded(&self, tie: &Tie) -> Option<i64> {
        let (by, to) = (self.at(tie.by?)?, self.at(tie.to)?);
        let across = (to.left - by.right).max(by.left - to.right).max(0);
        let up = (to.bottom - by.top).max(by.bottom - to.top).max(0);
        (across.max(up) > BESIDE_MM).then_some(across + up)
    }

    /// Direct-current cables, what is unguarded of them twice, and the others, in millimetres.
    pub fn to_the_mm(&self, ties: &[Tie]) -> (i64, i64) {
        self.counted(ties, 1)
    }

    /// Likewise, across alone.
    pub fn across(&self, ties: &[Tie]) -> (i64, i64) {
        self.counted(ties, 0)
    }

    fn counted(&self, ties: &[Tie], up: i64) -> (i64, i64) {
        let of = |direct: bool| {
            let all = ties.iter().filter(|t| t.direct == direct);
            all.map(|t| self.way(t, up) + self.unguarded(t).filter(|_| direct).unwrap_or(0)).sum()
        };
        (of(true), of(false))
    }

    /// Half metres of direct-current cable that are ordered, what is unguarded of them counted twice and begun with one
    /// more; and all cables to the millimetre.
    pub fn cost(&self, ties: &[Tie]) -> (i64, i64) {
        // whole, and within a metre
        #[allow(clippy::cast_possible_truncation)]
        let ends = (CABLE_ENDS_M * 1000.0) as i64;
        let steps = |mm: i64| (mm + STEP_MM - 1) / STEP_MM;
        let one = |tie: &Tie| {
            let unguarded = self.unguarded(tie).map_or(0, |run| {
                let over = if run + ends > RUN_MM { OVER_RUN } else { 0 };
                1 + steps(run) + over
            });
            steps(self.way(tie, 1) + ends) + unguarded
        };
        let ordered = ties.iter().filter(|t| t.direct).map(one).sum();
        let (direct, other) = self.to_the_mm(ties);
        (ordered, direct + other)
    }
}
