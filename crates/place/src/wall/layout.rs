//! Finds places: pieces one after the other, each at the best of the few positions that matter, in several orders. The
//! same pieces always get the same places. A layout that is found holds; that none is found proves nothing but that this
//! search found none.

use super::board::{Area, Block, Board, EDGE_MM, Piece, Spot, height_between, width_between};

/// Height at which the middle of gear is read and worked on best, in millimetres (common practice).
const EYE_MM: i64 = 1400;
/// Beyond so many pieces one order is tried.
const MANY: usize = 40;

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Layout {
    pub spots: Vec<Spot>,
    /// Pieces without a place.
    pub left_over: Vec<usize>,
}

#[derive(Clone, Copy)]
enum Policy {
    /// Nearest to the eye, there leftmost.
    Eye,
    /// Leftmost, there nearest to the eye.
    Row,
    /// Leftmost, there lowest.
    Column,
    /// Lowest, there leftmost.
    Floor,
}

impl Layout {
    /// Width that it takes from the left end of the wall, free space included.
    pub fn extent(&self, pieces: &[Piece]) -> i64 {
        let ends = self.spots.iter().filter_map(|s| pieces.get(s.piece).map(|p| p.zone(&s.area).right));
        ends.max().unwrap_or(0)
    }

    fn from_eye(&self) -> i64 {
        self.spots.iter().map(|s| ((s.area.bottom + s.area.top) / 2 - EYE_MM).abs()).sum()
    }
}

/// The layout with the fewest pieces left over; of those the one nearest to the eye, then the narrowest; and the narrowest
/// one with none left over.
pub(crate) fn find(board: &Board, pieces: &[Piece]) -> (Layout, Option<Layout>) {
    let all: Vec<usize> = (0..pieces.len()).collect();
    let sorted = |key: &dyn Fn(&Piece) -> i64| {
        let mut order = all.clone();
        order.sort_by_key(|&k| (pieces.get(k).map_or(0, |p| -key(p)), k));
        order
    };
    let mut orders = vec![sorted(&|p| p.height)];
    if pieces.len() <= MANY {
        orders.insert(0, all.clone());
        orders.push(sorted(&|p| p.width * p.height));
        orders.push(sorted(&|p| p.width));
    }
    let mut best: Option<Layout> = None;
    let mut narrow: Option<Layout> = None;
    for order in &orders {
        for policy in [Policy::Eye, Policy::Row, Policy::Column, Policy::Floor] {
            let layout = greedy(board, pieces, order, policy);
            let key = |l: &Layout| (l.left_over.len(), l.from_eye(), l.extent(pieces));
            if layout.left_over.is_empty()
                && narrow.as_ref().is_none_or(|n| layout.extent(pieces) < n.extent(pieces))
            {
                narrow = Some(layout.clone());
            }
            if best.as_ref().is_none_or(|b| key(&layout) < key(b)) {
                best = Some(layout);
            }
        }
    }
    (best.unwrap_or(Layout { spots: Vec::new(), left_over: all }), narrow)
}

fn greedy(board: &Board, pieces: &[Piece], order: &[usize], policy: Policy) -> Layout {
    let mut layout = Layout { spots: Vec::new(), left_over: Vec::new() };
    for &k in order {
        let Some(piece) = pieces.get(k) else { continue };
        let mut candidates = positions(board, pieces, &layout.spots, piece);
        candidates.sort_by_key(|&(left, bottom)| {
            let eye = (bottom + piece.height / 2 - EYE_MM).abs();
            match policy {
                Policy::Eye => (eye, left, bottom),
                Policy::Row => (left, eye, bottom),
                Policy::Column => (left, bottom, 0),
                Policy::Floor => (bottom, left, 0),
            }
        });
        candidates.dedup();
        let placed = candidates.into_iter().any(|(left, bottom)| {
            let new = Spot { piece: k, area: piece.at(left, bottom) };
            board.takes_beside(pieces, &mut layout.spots, new)
        });
        if !placed {
            layout.left_over.push(k);
        }
    }
    layout
}

/// Positions against what stands already, against the ends of the wall, on studs and at eye height.
fn positions(board: &Board, pieces: &[Piece], spots: &[Spot], piece: &Piece) -> Vec<(i64, i64)> {
    let blocks = board.blocks.iter().map(|Block { area, .. }| area);
    let mut lefts = vec![piece.beside, board.width - piece.width - piece.beside];
    let mut bottoms = if piece.floor {
        vec![0]
    } else {
        vec![
            piece.below,
            board.height - piece.height - piece.above,
            board.reach - piece.height,
            EYE_MM - piece.height / 2,
        ]
    };
    for area in blocks {
        lefts.extend(around(area.left, area.right, piece.width, piece.beside));
        lefts.extend(around(area.left, area.right, piece.width, piece.from_openings));
        if !piece.floor {
            bottoms.extend([area.top, area.top + piece.below, area.top + piece.from_openings]);
            bottoms.extend([area.bottom, area.bottom - piece.above].map(|y| y - piece.height));
        }
    }
    for Spot { piece: other, area } in spots {
        let Some(other) = pieces.get(*other) else { continue };
        let gaps = [width_between(piece, other), piece.from_sparks.max(other.from_sparks)];
        for gap in gaps {
            lefts.extend(around(area.left, area.right, piece.width, gap));
        }
        lefts.push(area.left);
        if !piece.floor {
            bottoms.extend([area.bottom, area.top - piece.height, area.top + height_between(other, piece)]);
            bottoms.push(area.bottom - height_between(piece, other) - piece.height);
        }
    }
    let free: Vec<i64> = lefts.clone();
    for &stud in board.studs.iter().filter(|_| !piece.floor) {
        lefts.extend([stud - piece.width / 2, stud - piece.width + EDGE_MM, stud - EDGE_MM]);
        // next to what stands, moved just as far as the stud asks
        lefts.extend(free.iter().filter(|&&left| left > stud - piece.width && left <= stud));
    }
    lefts.sort_unstable();
    lefts.dedup();
    bottoms.sort_unstable();
    bottoms.dedup();
    let inside = |area: &Area| area.left >= 0 && area.bottom >= 0 && area.right <= board.width;
    lefts
        .iter()
        .flat_map(|&left| bottoms.iter().map(move |&bottom| (left, bottom)))
        .filter(|&(left, bottom)| inside(&piece.at(left, bottom)))
        .collect()
}

/// Left ends of a piece beside something.
fn around(left: i64, right: i64, width: i64, gap: i64) -> [i64; 2] {
    [right + gap, left - gap - width]
}

#[cfg(test)]
mod tests;
