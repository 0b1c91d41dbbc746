//! Finds places: pieces one after the other, each at the best of the few positions that matter, in several orders. The
//! same pieces always get the same places. A layout that is found holds; that none is found proves nothing but that this
//! search found none.

mod ties;

use super::board::{Area, Block, Board, EDGE_MM, Piece, Spot, apart, height_between, width_between};
pub(crate) use ties::Tie;
use ties::{Bodies, CLASSES, LEADS, TURNS, class, tied};

/// Height at which the middle of gear is read and worked on best, in millimetres (common practice).
const EYE_MM: i64 = 1400;
/// Beyond so many pieces one order is tried.
const MANY: usize = 40;
/// How often every piece along a cable is looked at anew.
const PASSES: usize = 4;

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
    /// Shortest cables to what stands, there nearest to the eye, there leftmost.
    Near,
    /// Likewise; where cables end, shortest across alone: under or over the middle of what they come from.
    Under,
    /// Likewise, with room for a row of devices over where cables end.
    Roomy,
}

impl Layout {
    /// Width that it takes from the left end of the wall, free space included.
    pub fn extent(&self, pieces: &[Piece]) -> i64 {
        let ends = self.spots.iter().filter_map(|s| pieces.get(s.piece).map(|p| p.zone(&s.area).right));
        ends.max().unwrap_or(0)
    }

    fn off_eye(&self) -> i64 {
        self.spots.iter().map(|s| off_eye(&s.area)).sum()
    }

    /// What is to be least, the first first: pieces left over, direct-current cables as they are ordered and guarded, distance from the
    /// eye, all cables to the millimetre, width.
    fn key(&self, pieces: &[Piece], ties: &[Tie]) -> (usize, i64, i64, i64, i64) {
        let bodies = Bodies::of(pieces.len(), &self.spots);
        let (ordered, mm) = bodies.cost(ties);
        (self.left_over.len(), ordered, self.off_eye(), mm, self.extent(pieces))
    }
}

fn off_eye(area: &Area) -> i64 {
    ((area.bottom + area.top) / 2 - EYE_MM).abs()
}

/// The layout with the fewest pieces left over; of those the one with the shortest cables, then the one nearest to the
/// eye, then the narrowest; and the narrowest one with none left over, of equals the one with the shortest cables.
pub(crate) fn find(board: &Board, pieces: &[Piece], ties: &[Tie]) -> (Layout, Option<Layout>) {
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
    let mut layouts = Vec::new();
    for order in &orders {
        for policy in [Policy::Eye, Policy::Row, Policy::Column, Policy::Floor] {
            layouts.push(greedy(board, pieces, ties, order, policy));
        }
    }
    if !ties.is_empty() {
        let turns: &[[usize; CLASSES]] =
            if pieces.len() <= MANY { &TURNS } else { TURNS.get(..1).unwrap_or(&[]) };
        for turn in turns {
            let rank = |k: usize| turn.iter().position(|c| *c == class(ties, k));
            let mut order = all.clone();
            order.sort_by_key(|&k| (rank(k), k));
            for policy in [Policy::Near, Policy::Under, Policy::Roomy] {
                layouts.push(greedy(board, pieces, ties, &order, policy));
            }
        }
    }
    let whole = layouts.iter().filter(|l| l.left_over.is_empty());
    let narrow = whole.min_by_key(|l| (l.extent(pieces), l.key(pieces, ties))).cloned();
    let narrow = narrow.map(|layout| {
        let board = Board { width: layout.extent(pieces).max(board.working_width), ..board.clone() };
        shortened(&board, pieces, ties, layout)
    });
    let best = layouts.into_iter().min_by_key(|l| l.key(pieces, ties));
    let best = best.map(|layout| shortened(board, pieces, ties, layout));
    (best.unwrap_or(Layout { spots: Vec::new(), left_over: all }), narrow)
}

/// Moves what is along cables, one piece at a time and two of a size against each other, as long as the layout gets better.
fn shortened(board: &Board, pieces: &[Piece], ties: &[Tie], mut layout: Layout) -> Layout {
    for _ in 0..PASSES {
        let before = layout.clone();
        for k in 0..layout.spots.len() {
            if layout.spots.get(k).is_some_and(|s| class(ties, s.piece) != LEADS && tied(ties, s.piece)) {
                moved(board, pieces, ties, &mut layout, k);
            }
        }
        swapped(pieces, ties, &mut layout);
        if layout == before {
            break;
        }
    }
    layout
}

/// Moves a piece to the best of the positions that are better than its own.
fn moved(board: &Board, pieces: &[Piece], ties: &[Tie], layout: &mut Layout, k: usize) {
    let Some(piece) = layout.spots.get(k).and_then(|s| pieces.get(s.piece)) else { return };
    let own = layout.spots.remove(k);
    let mut bodies = Bodies::of(pieces.len(), &layout.spots);
    let touching: Vec<Tie> = ties.iter().filter(|tie| tie.touches(own.piece)).cloned().collect();
    let mut key = |area: &Area| {
        bodies.set(own.piece, area);
        let (ordered, mm) = bodies.cost(&touching);
        (ordered, off_eye(area), mm)
    };
    let now = key(&own.area);
    let mut better: Vec<_> = positions(board, pieces, &layout.spots, piece)
        .into_iter()
        .map(|(left, bottom)| piece.at(left, bottom))
        .map(|area| (key(&area), area))
        .filter(|(key, _)| *key < now)
        .collect();
    better.sort_by_key(|(key, area)| (*key, area.left, area.bottom));
    let count = layout.spots.len();
    for (_, area) in better {
        if board.takes_beside(pieces, &mut layout.spots, Spot { piece: own.piece, area }) {
            break;
        }
    }
    let last = if layout.spots.len() > count { layout.spots.pop() } else { None };
    layout.spots.insert(k, last.unwrap_or(own));
}

/// Lets like pieces change places where that shortens cables.
fn swapped(pieces: &[Piece], ties: &[Tie], layout: &mut Layout) {
    for a in 0..layout.spots.len() {
        for b in a + 1..layout.spots.len() {
            let (Some(one), Some(two)) = (layout.spots.get(a), layout.spots.get(b)) else { continue };
            let (one, two) = (one.piece, two.piece);
            let like = pieces.get(one) == pieces.get(two) && class(ties, one) != LEADS;
            if !like || class(ties, one) != class(ties, two) {
                continue;
            }
            let before = layout.key(pieces, ties);
            let other = exchanged(layout, (a, one), (b, two));
            if other.key(pieces, ties) < before {
                *layout = other;
            }
        }
    }
}

fn exchanged(layout: &Layout, (a, one): (usize, usize), (b, two): (usize, usize)) -> Layout {
    let mut other = layout.clone();
    for (k, piece) in [(a, two), (b, one)] {
        if let Some(spot) = other.spots.get_mut(k) {
            spot.piece = piece;
        }
    }
    other
}

fn greedy(board: &Board, pieces: &[Piece], ties: &[Tie], order: &[usize], policy: Policy) -> Layout {
    let mut layout = Layout { spots: Vec::new(), left_over: Vec::new() };
    for &k in order {
        let Some(piece) = pieces.get(k) else { continue };
        let mut candidates = positions(board, pieces, &layout.spots, piece);
        let mut bodies = Bodies::of(pieces.len(), &layout.spots);
        let touching: Vec<Tie> = ties.iter().filter(|tie| tie.touches(k)).cloned().collect();
        let hub = touching.iter().any(|tie| tie.to == k);
        let under = hub && matches!(policy, Policy::Under | Policy::Roomy);
        if hub && matches!(policy, Policy::Roomy) {
            let roomy = roomy(pieces, &touching, piece);
            candidates = positions(board, pieces, &layout.spots, &roomy);
            candidates.retain(|&(left, bottom)| {
                let area = piece.at(left, bottom);
                let free =
                    |s: &Spot| pieces.get(s.piece).is_none_or(|p| apart((&roomy, &area), (p, &s.area)));
                layout.spots.iter().all(free)
            });
        }
        candidates.sort_by_cached_key(|&(left, bottom)| {
            let eye = (bottom + piece.height / 2 - EYE_MM).abs();
            match policy {
                Policy::Eye => (0, eye, 0, left, bottom),
                Policy::Row => (0, 0, left, eye, bottom),
                Policy::Column => (0, 0, left, bottom, 0),
                Policy::Floor => (0, 0, bottom, left, 0),
                Policy::Near | Policy::Under | Policy::Roomy => {
                    bodies.set(k, &piece.at(left, bottom));
                    let (direct, other) =
                        if under { bodies.across(&touching) } else { bodies.to_the_mm(&touching) };
                    (direct, eye, other, left, bottom)
                }
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

/// A piece where cables end, with the free space above that a row of the devices on their way takes.
fn roomy(pieces: &[Piece], ties: &[Tie], hub: &Piece) -> Piece {
    let rows = ties.iter().filter_map(|tie| {
        let device = pieces.get(tie.by?)?;
        let lead = tie.from.iter().filter_map(|from| pieces.get(*from));
        let over = lead.map(|lead| height_between(device, lead)).max().unwrap_or(0);
        Some(height_between(hub, device) + device.height + over)
    });
    Piece { above: rows.max().unwrap_or(0).max(hub.above), ..hub.clone() }
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
    lefts.retain(|&left| board.takes_across(piece, left));
    lefts.sort_unstable();
    lefts.dedup();
    bottoms.retain(|&bottom| board.takes_up(piece, bottom));
    bottoms.sort_unstable();
    bottoms.dedup();
    lefts.iter().flat_map(|&left| bottoms.iter().map(move |&bottom| (left, bottom))).collect()
}

/// Left ends of a piece beside something.
fn around(left: i64, right: i64, width: i64, gap: i64) -> [i64; 2] {
    [right + gap, left - gap - width]
}

#[cfg(test)]
mod tests;
