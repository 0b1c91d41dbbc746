//! A linear system: block elimination, or dense where that fails or is asked for.

use super::block::{BlockLu, Layout};
use super::dense::DenseLu;
use super::scalar::Scalar;

/// A matrix, factored one way or the other.
#[derive(Debug, Clone, Default)]
pub(super) struct Linear<T> {
    lu: BlockLu<T>,
    /// The matrix as assembled.
    pub matrix: BlockLu<T>,
    dense: Option<DenseLu<T>>,
    always_dense: bool,
}

impl<T: Scalar> Linear<T> {
    pub fn new(layout: &Layout, always_dense: bool) -> Self {
        let lu = BlockLu::new(layout);
        Self { matrix: lu.clone(), lu, dense: None, always_dense }
    }

    /// Adds to an entry of the matrix. `false` for a place that the structure does not have.
    pub fn add(&mut self, layout: &Layout, row: (usize, usize), column: (usize, usize), value: T) -> bool {
        let Some(entry) = layout.entry(row, column) else { return false };
        self.matrix.values[entry] += value;
        true
    }

    /// Factors the matrix; `false` where it is singular to working precision.
    pub fn factor(&mut self, layout: &Layout) -> bool {
        self.dense = None;
        if !self.always_dense {
            self.lu.values.copy_from_slice(&self.matrix.values);
            if self.lu.factor(layout) {
                return true;
            }
        }
        self.dense = DenseLu::factor(layout.len(), self.matrix.to_dense(layout));
        self.dense.is_some()
    }

    /// Whether the block elimination gave up.
    pub fn is_dense(&self) -> bool {
        self.dense.is_some()
    }

    /// Solves in place.
    pub fn solve(&self, layout: &Layout, x: &mut [T]) {
        match &self.dense {
            Some(dense) => dense.solve(x),
            None => self.lu.solve(layout, x),
        }
    }
}
