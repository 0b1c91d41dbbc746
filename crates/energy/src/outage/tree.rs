//! A tree of maps over blocks of steps. A walk from any step goes by single steps to the next block, up and
//! down the tree by whole rows that are carried, and by single steps to the one that is not. Where taper bends
//! a step the walk goes step by step until the charge has left the bend, and then by rows again.

use super::maps::{Map, Steps};

/// Steps of a block.
const BLOCK: usize = 8;

#[derive(Debug, Clone)]
pub(super) struct Tree {
    steps: Steps,
    /// Blocks that are full; the rest of the year is stepped.
    full: usize,
    /// Leaves of the tree, a power of two.
    leaves: usize,
    nodes: Vec<Map>,
}

/// How far a walk came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Walk {
    pub steps: usize,
    pub charge: f64,
    pub budget: f64,
    /// Place of the next step.
    pub at: usize,
}

impl Tree {
    pub fn new(steps: Steps) -> Self {
        let full = steps.count() / BLOCK;
        let leaves = full.max(1).next_power_of_two();
        let mut nodes = vec![Map::NEVER; 2 * leaves];
        for block in 0..full {
            let mut row = steps.map(block * BLOCK);
            for k in 1..BLOCK {
                row = row.then(&steps.map(block * BLOCK + k));
            }
            nodes[leaves + block] = row;
        }
        for k in (1..leaves).rev() {
            nodes[k] = nodes[2 * k].then(&nodes[2 * k + 1]);
        }
        Self { steps, full, leaves, nodes }
    }

    pub fn steps(&self) -> &Steps {
        &self.steps
    }

    /// Walks from a step until one is not carried, or `most` steps; round the end of the year where `most`
    /// goes beyond.
    pub fn walk(&self, start: usize, charge: f64, budget: f64, most: usize) -> Walk {
        let count = self.steps.count();
        let mut w = Walk { steps: 0, charge, budget, at: start };
        while w.steps < most {
            if w.at.is_multiple_of(BLOCK) && w.at / BLOCK < self.full && most - w.steps >= BLOCK {
                // where the block itself is bent or not carried, there is nothing to climb
                let block = self.nodes.get(self.leaves + w.at / BLOCK);
                if block.is_some_and(|b| b.apply(w.charge, w.budget).is_some()) {
                    self.climb(&mut w, most);
                }
            }
            if w.steps >= most {
                break;
            }
            let Some((charge, budget)) = self.steps.after(w.at, w.charge, w.budget) else { break };
            (w.charge, w.budget) = (charge, budget);
            w.steps += 1;
            w.at = if w.at + 1 == count { 0 } else { w.at + 1 };
        }
        w
    }

    /// Takes whole rows as long as they are carried and within `most`.
    fn climb(&self, w: &mut Walk, most: usize) {
        let mut node = self.leaves + w.at / BLOCK;
        let mut width = BLOCK;
        let mut up = true;
        loop {
            while up && node.is_multiple_of(2) && node > 1 {
                node /= 2;
                width *= 2;
            }
            let taken = match self.nodes.get(node) {
                Some(map) if w.steps + width <= most => map.apply(w.charge, w.budget),
                _ => None,
            };
            if let Some((charge, budget)) = taken {
                (w.charge, w.budget) = (charge, budget);
                w.steps += width;
                w.at += width;
                if w.at == self.steps.count() {
                    w.at = 0;
                }
                node += 1;
                // past the last leaf, or in the half that the row above did not carry
                if up && node.is_power_of_two() {
                    return;
                }
                if !up && width == BLOCK {
                    return;
                }
                if !up {
                    node *= 2;
                    width /= 2;
                }
            } else {
                up = false;
                if width == BLOCK {
                    return;
                }
                node *= 2;
                width /= 2;
            }
        }
    }
}
