//! A tree of maps over blocks of steps.

use super::maps::{Map, Steps};

/// Steps of a block.
pub(super) const BLOCK: usize = 8;

#[derive(Debug, Clone)]
pub(super) struct Tree {
    steps: Steps,
    /// Blocks that are full; the rest of the year is stepped.
    full: usize,
    /// Leaves of the tree, a power of two.
    leaves: usize,
    nodes: Vec<Map>,
}

impl Tree {
    pub fn new(steps: Steps) -> Self {
        let full = steps.count() / BLOCK;
        let leaves = full.max(1).next_power_of_two();
        let mut nodes = vec![Map::NEVER; 2 * leaves];
        let mut per_a = 1.0;
        let per_as: [f64; BLOCK] = std::array::from_fn(|_| {
            per_a *= steps.per_keep();
            per_a
        });
        for block in 0..full {
            let mut row = steps.map(block * BLOCK);
            for (k, per_a) in (1..BLOCK).zip(per_as) {
                row = row.then(&steps.map(block * BLOCK + k), per_a);
            }
            nodes[leaves + block] = row;
        }
        let mut level = leaves / 2;
        while level > 0 {
            for k in level..2 * level {
                nodes[k] = nodes[2 * k].then(&nodes[2 * k + 1], per_a);
            }
            (level, per_a) = (level / 2, per_a * per_a);
        }
        Self { steps, full, leaves, nodes }
    }

    #[inline]
    pub fn steps(&self) -> &Steps {
        &self.steps
    }

    /// Whether a full block begins at a step.
    #[inline]
    pub fn starts_row(&self, at: usize) -> bool {
        at.is_multiple_of(BLOCK) && at / BLOCK < self.full
    }

    /// Number of the leaf that begins at a step; the node above node k is k / 2, the one beside it k + 1.
    #[inline]
    pub fn leaf(&self, at: usize) -> usize {
        self.leaves + at / BLOCK
    }

    #[inline]
    pub fn row(&self, node: usize) -> Option<&Map> {
        self.nodes.get(node)
    }
}
