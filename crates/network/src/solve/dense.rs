//! Dense elimination with row exchange: small inverses, the fallback of the block solve, and the yardstick that
//! tests hold it against.

use super::scalar::Scalar;

/// A pivot below this share of the largest entry counts as zero.
pub(super) const PIVOT: f64 = 1e-14;

/// P A = L U of a square matrix, row by row.
#[derive(Debug, Clone, Default)]
pub(super) struct DenseLu<T> {
    n: usize,
    lu: Vec<T>,
    /// Row exchanges: at step k with row `exchange[k]`.
    exchange: Vec<usize>,
}

impl<T: Scalar> DenseLu<T> {
    /// Factors a matrix of n rows; `None` where it is singular to working precision.
    pub fn factor(n: usize, matrix: Vec<T>) -> Option<Self> {
        let mut lu = matrix;
        let mut exchange = Vec::with_capacity(n);
        let rows = row_sizes(n, &lu);
        for k in 0..n {
            let p = pivot_row(n, &lu, k)?;
            if lu[p * n + k].size() <= PIVOT * rows {
                return None;
            }
            exchange.push(p);
            swap_rows(n, &mut lu, k, p);
            let inverse = lu[k * n + k].inverse();
            for i in k + 1..n {
                let factor = lu[i * n + k] * inverse;
                lu[i * n + k] = factor;
                if factor.size() > 0.0 {
                    for j in k + 1..n {
                        let u = lu[k * n + j];
                        lu[i * n + j] -= factor * u;
                    }
                }
            }
        }
        Some(Self { n, lu, exchange })
    }

    /// Solves in place.
    pub fn solve(&self, b: &mut [T]) {
        let n = self.n;
        for (k, p) in self.exchange.iter().enumerate() {
            b.swap(k, *p);
        }
        for i in 0..n {
            for j in 0..i {
                let x = b[j];
                b[i] -= self.lu[i * n + j] * x;
            }
        }
        for i in (0..n).rev() {
            for j in i + 1..n {
                let x = b[j];
                b[i] -= self.lu[i * n + j] * x;
            }
            b[i] = b[i] * self.lu[i * n + i].inverse();
        }
    }
}

/// Largest entry.
fn row_sizes<T: Scalar>(n: usize, a: &[T]) -> f64 {
    a.iter().take(n * n).fold(0.0, |most: f64, x| most.max(x.size()))
}

/// Row of the largest entry in column k from row k on; `None` if no entry is above zero or one is not a number.
fn pivot_row<T: Scalar>(n: usize, a: &[T], k: usize) -> Option<usize> {
    let (mut best, mut row) = (0.0, None);
    for i in k..n {
        let size = a[i * n + k].size();
        if !size.is_finite() {
            return None;
        }
        if size > best {
            (best, row) = (size, Some(i));
        }
    }
    row
}

fn swap_rows<T: Scalar>(n: usize, a: &mut [T], i: usize, j: usize) {
    if i != j {
        for c in 0..n {
            a.swap(i * n + c, j * n + c);
        }
    }
}

/// Inverse of a square matrix in place (Gauss-Jordan with row exchange); `scratch` holds at least n * n.
/// `false` where a pivot falls under `floor`; the matrix is then spoilt.
pub(super) fn invert_in_place<T: Scalar>(n: usize, a: &mut [T], scratch: &mut [T], floor: f64) -> bool {
    let inverse = &mut scratch[..n * n];
    inverse.fill(T::default());
    for k in 0..n {
        inverse[k * n + k] = T::ONE;
    }
    for k in 0..n {
        let Some(p) = pivot_row(n, a, k) else { return false };
        if a[p * n + k].size() <= floor {
            return false;
        }
        swap_rows(n, a, k, p);
        swap_rows(n, inverse, k, p);
        let d = a[k * n + k].inverse();
        for c in 0..n {
            a[k * n + c] = a[k * n + c] * d;
            inverse[k * n + c] = inverse[k * n + c] * d;
        }
        for i in (0..n).filter(|i| *i != k) {
            let factor = a[i * n + k];
            for c in 0..n {
                let (x, y) = (a[k * n + c], inverse[k * n + c]);
                a[i * n + c] -= factor * x;
                inverse[i * n + c] -= factor * y;
            }
        }
    }
    a[..n * n].copy_from_slice(inverse);
    true
}

/// Inverse of a square matrix, `None` where it is singular to working precision.
pub(super) fn inverse<T: Scalar>(n: usize, matrix: &[T]) -> Option<Vec<T>> {
    let mut a = matrix.to_vec();
    let mut scratch = vec![T::default(); n * n];
    let floor = PIVOT * row_sizes(n, matrix);
    invert_in_place(n, &mut a, &mut scratch, floor).then_some(a)
}
