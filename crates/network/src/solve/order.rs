//! The order in which buses are eliminated, and the places that fill in.
//!
//! Least degree first, ties by number. A tree is eliminated from its leaves and nothing fills in; a chord keeps
//! its two ends coupled until one of them goes, which fills in along its mesh only.

use std::collections::BTreeSet;

/// Which block rows stand after which, and where their numbers lie.
#[derive(Debug, Clone, Default)]
pub(super) struct Order {
    /// Bus at each position.
    pub bus: Vec<usize>,
    /// Position of each bus.
    pub position: Vec<usize>,
    /// For each position, the later positions it is coupled with when it goes, in order.
    pub later: Vec<Vec<usize>>,
}

impl Order {
    /// From pairs of coupled buses.
    pub fn of(buses: usize, pairs: impl IntoIterator<Item = (usize, usize)>) -> Self {
        let mut near: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); buses];
        for (a, b) in pairs {
            if a != b {
                near[a].insert(b);
                near[b].insert(a);
            }
        }
        let mut left: BTreeSet<(usize, usize)> = (0..buses).map(|b| (near[b].len(), b)).collect();
        let mut order = Self { bus: Vec::new(), position: vec![0; buses], later: Vec::new() };
        let mut neighbours: Vec<Vec<usize>> = Vec::new();
        while let Some((_, gone)) = left.pop_first() {
            let around: Vec<usize> = std::mem::take(&mut near[gone]).into_iter().collect();
            for a in &around {
                left.remove(&(near[*a].len(), *a));
                near[*a].remove(&gone);
                near[*a].extend(around.iter().filter(|b| *b != a));
                left.insert((near[*a].len(), *a));
            }
            order.position[gone] = order.bus.len();
            order.bus.push(gone);
            neighbours.push(around);
        }
        order.later = neighbours
            .into_iter()
            .map(|around| {
                let mut later: Vec<usize> = around.into_iter().map(|b| order.position[b]).collect();
                later.sort_unstable();
                later
            })
            .collect();
        order
    }

    /// Blocks off the diagonal, on one side of it.
    #[cfg(test)]
    pub fn couplings(&self) -> usize {
        self.later.iter().map(Vec::len).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::Order;

    /// A chain with side branches keeps its 5 couplings; closing one mesh of 4 adds the chord and one fill-in.
    #[test]
    fn trees_do_not_fill_in() {
        let tree = [(0, 1), (1, 2), (2, 3), (1, 4), (4, 5)];
        assert_eq!(Order::of(6, tree).couplings(), 5);
        let meshed = Order::of(6, tree.into_iter().chain([(3, 0)]));
        assert_eq!(meshed.couplings(), 7);
    }
}
