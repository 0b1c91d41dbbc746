//! Block elimination without exchange of block rows: A = (L + I) (D + U) with small dense blocks, one for each
//! bus, in the order of [`Order`]. The structure is symmetric, the numbers need not be.
//!
//! For each position k in turn, with the later positions i, j that it is coupled with:
//! D_k^-1 by Gauss-Jordan with row exchange inside the block, L_ik = A_ik D_k^-1, A_ij -= L_ik A_kj.
//! Solving: b_i -= L_ik b_k forward; x_k = D_k^-1 (b_k - sum_j U_kj x_j) backward.
//!
//! A bus without shunts that hangs on one later bus passes its current on: L = -I and D^-1 U = -I. Such couplings
//! are found after factoring (to [`THROUGH`]) and cost an addition in place of two products, which leaves one
//! product a bus: the sweep of radial networks, where the network is one.
//!
//! There is no exchange between blocks. A pivot that falls under [`PIVOT`] of its block as assembled ends the attempt, and the
//! caller falls back on dense elimination; what rounding leaves shows in the mismatch, which is always recomputed
//! from the model.

use super::dense::{PIVOT, invert_in_place};
use super::order::Order;
use super::scalar::Scalar;

/// One coupling of a position with a later one.
#[derive(Debug, Clone, Copy)]
struct Coupling {
    later: usize,
    /// Place of A_later,k, then L.
    lower: usize,
    /// Place of A_k,later, then U.
    upper: usize,
}

/// Where the blocks lie; once for each topology.
#[derive(Debug, Clone, Default)]
pub(super) struct Layout {
    /// Start of each position's part of a vector; one more entry than positions.
    pub start: Vec<usize>,
    /// Place of each diagonal block.
    diagonal: Vec<usize>,
    /// Couplings of all positions, and where each position's begin.
    couplings: Vec<Coupling>,
    first: Vec<usize>,
    values: usize,
    largest: usize,
}

impl Layout {
    /// For blocks of the given sizes, by position.
    pub fn new(order: &Order, sizes: &[usize]) -> Self {
        let mut layout = Self { start: vec![0], first: vec![0], ..Self::default() };
        for (k, size) in sizes.iter().enumerate() {
            layout.start.push(layout.start[k] + size);
            layout.diagonal.push(layout.values);
            layout.values += size * size;
            layout.largest = layout.largest.max(*size);
            for later in &order.later[k] {
                let lower = layout.values;
                let upper = lower + size * sizes[*later];
                layout.values = upper + size * sizes[*later];
                layout.couplings.push(Coupling { later: *later, lower, upper });
            }
            layout.first.push(layout.couplings.len());
        }
        layout
    }

    fn size(&self, k: usize) -> usize {
        self.start[k + 1] - self.start[k]
    }

    /// Length of a vector.
    pub fn len(&self) -> usize {
        self.start.last().copied().unwrap_or(0)
    }

    fn of(&self, k: usize) -> &[Coupling] {
        &self.couplings[self.first[k]..self.first[k + 1]]
    }

    /// Place of block (i, j).
    fn place(&self, i: usize, j: usize) -> Option<usize> {
        if i == j {
            return self.diagonal.get(i).copied();
        }
        let of = self.of(i.min(j));
        let at = of.binary_search_by_key(&i.max(j), |c| c.later).ok()?;
        Some(if i > j { of[at].lower } else { of[at].upper })
    }

    /// Where entry (r, c) of block (i, j) lies; `None` for a block outside the structure.
    pub fn entry(&self, (i, r): (usize, usize), (j, c): (usize, usize)) -> Option<usize> {
        self.place(i, j).map(|place| place + r * self.size(j) + c)
    }
}

/// A matrix over a layout, then its factors in place.
#[derive(Debug, Clone, Default)]
pub(super) struct BlockLu<T> {
    pub values: Vec<T>,
    scratch: Vec<T>,
    copy: Vec<T>,
    /// Smallest pivot of each position, from its diagonal block as it was assembled.
    floor: Vec<f64>,
    /// Positions whose only later coupling passes the current on.
    through: Vec<bool>,
}

/// How near to -I a coupling must be, in each entry, to count as passing the current on. Far below what the
/// mismatch of a solution shows, above what rounding makes of an exact one.
const THROUGH: f64 = 1e-12;

impl<T: Scalar> BlockLu<T> {
    pub fn new(layout: &Layout) -> Self {
        let square = layout.largest * layout.largest;
        Self {
            values: vec![T::default(); layout.values],
            scratch: vec![T::default(); square],
            copy: vec![T::default(); square],
            floor: vec![0.0; layout.diagonal.len()],
            through: vec![false; layout.diagonal.len()],
        }
    }

    /// The matrix row by row, before it is factored.
    pub fn to_dense(&self, layout: &Layout) -> Vec<T> {
        let n = layout.len();
        let mut full = vec![T::default(); n * n];
        let mut put = |i: usize, j: usize, place: usize| {
            for r in 0..layout.size(i) {
                for c in 0..layout.size(j) {
                    full[(layout.start[i] + r) * n + layout.start[j] + c] =
                        self.values[place + r * layout.size(j) + c];
                }
            }
        };
        for k in 0..layout.diagonal.len() {
            put(k, k, layout.diagonal[k]);
            for c in layout.of(k) {
                put(c.later, k, c.lower);
                put(k, c.later, c.upper);
            }
        }
        full
    }

    /// Factors in place. `false` where a pivot is too small; the values are then spoilt.
    pub fn factor(&mut self, layout: &Layout) -> bool {
        for (k, d) in layout.diagonal.iter().enumerate() {
            let block = &self.values[*d..d + layout.size(k) * layout.size(k)];
            self.floor[k] = PIVOT * block.iter().fold(0.0, |most: f64, x| most.max(x.size()));
        }
        for k in 0..layout.diagonal.len() {
            let (n, d) = (layout.size(k), layout.diagonal[k]);
            let block = &mut self.values[d..d + n * n];
            if n > 0 && !invert_in_place(n, block, &mut self.scratch, self.floor[k]) {
                return false;
            }
            for c in layout.of(k) {
                self.lower_times_inverse(layout.size(c.later), n, c.lower, d);
            }
            for row in layout.of(k) {
                for column in layout.of(k) {
                    if let Some(target) = layout.place(row.later, column.later) {
                        let (m, p) = (layout.size(row.later), layout.size(column.later));
                        self.subtract_product((m, n, p), row.lower, column.upper, target);
                    }
                }
            }
            self.through[k] = self.passes_on(layout, k);
        }
        true
    }

    /// Whether the only later coupling of a position has L = -I and D^-1 U = -I.
    fn passes_on(&self, layout: &Layout, k: usize) -> bool {
        let (n, d) = (layout.size(k), layout.diagonal[k]);
        let [only] = layout.of(k) else { return false };
        if layout.size(only.later) != n {
            return false;
        }
        let unit = |r: usize, c: usize| if r == c { T::ONE } else { T::default() };
        (0..n * n).all(|at| {
            let (r, c) = (at / n, at % n);
            let mut back = unit(r, c);
            for x in 0..n {
                back += self.values[d + r * n + x] * self.values[only.upper + x * n + c];
            }
            (self.values[only.lower + at] + unit(r, c)).size() < THROUGH && back.size() < THROUGH
        })
    }

    /// L = A D^-1 for a block of m rows and n columns.
    fn lower_times_inverse(&mut self, m: usize, n: usize, lower: usize, d: usize) {
        for r in 0..m {
            let row = &mut self.copy[..n];
            row.copy_from_slice(&self.values[lower + r * n..lower + (r + 1) * n]);
            for c in 0..n {
                let mut sum = T::default();
                for (x, a) in row.iter().enumerate() {
                    sum += *a * self.values[d + x * n + c];
                }
                self.values[lower + r * n + c] = sum;
            }
        }
    }

    /// A_ij -= L_ik U_kj, of sizes m x n and n x p.
    fn subtract_product(&mut self, (m, n, p): (usize, usize, usize), l: usize, u: usize, target: usize) {
        for r in 0..m {
            for x in 0..n {
                let factor = self.values[l + r * n + x];
                for c in 0..p {
                    let product = factor * self.values[u + x * p + c];
                    self.values[target + r * p + c] -= product;
                }
            }
        }
    }

    /// Solves in place.
    pub fn solve(&self, layout: &Layout, x: &mut [T]) {
        let positions = layout.diagonal.len();
        for k in 0..positions {
            let (s, n) = (layout.start[k], layout.size(k));
            for c in layout.of(k) {
                let (before, after) = x.split_at_mut(layout.start[c.later]);
                let (b, y) = (&before[s..s + n], &mut after[..layout.size(c.later)]);
                if self.through[k] {
                    y.iter_mut().zip(b).for_each(|(y, b)| *y += *b);
                } else {
                    subtract(&self.values[c.lower..], b, y);
                }
            }
        }
        for k in (0..positions).rev() {
            let (s, n) = (layout.start[k], layout.size(k));
            let (before, after) = x.split_at_mut(s + n);
            let own = &mut before[s..];
            let diagonal = &self.values[layout.diagonal[k]..];
            if self.through[k] {
                multiply_in_place(diagonal, own);
                for c in layout.of(k) {
                    let later = &after[layout.start[c.later] - (s + n)..];
                    own.iter_mut().zip(later).for_each(|(own, later)| *own += *later);
                }
                continue;
            }
            for c in layout.of(k) {
                let t = layout.start[c.later] - (s + n);
                subtract(&self.values[c.upper..], &after[t..t + layout.size(c.later)], own);
            }
            multiply_in_place(diagonal, own);
        }
    }
}

/// y -= A x, with the common small sizes spelt out for the compiler.
#[inline]
fn subtract<T: Scalar>(a: &[T], x: &[T], y: &mut [T]) {
    match (y.len(), x.len()) {
        (3, 3) => subtract_sized::<T, 3, 3>(a, x, y),
        (4, 4) => subtract_sized::<T, 4, 4>(a, x, y),
        (2, 2) => subtract_sized::<T, 2, 2>(a, x, y),
        (_, 0) => {}
        (_, n) => {
            for (row, out) in a.chunks_exact(n).zip(y) {
                for (factor, value) in row.iter().zip(x) {
                    *out -= *factor * *value;
                }
            }
        }
    }
}

#[inline]
fn subtract_sized<T: Scalar, const M: usize, const N: usize>(a: &[T], x: &[T], y: &mut [T]) {
    let (a, x, y) = (&a[..M * N], &x[..N], &mut y[..M]);
    for r in 0..M {
        let mut sum = y[r];
        for c in 0..N {
            sum -= a[r * N + c] * x[c];
        }
        y[r] = sum;
    }
}

/// x = A x, through a fixed buffer for the common sizes.
#[inline]
fn multiply_in_place<T: Scalar>(a: &[T], x: &mut [T]) {
    match x.len() {
        0 => {}
        1 => x[0] = a[0] * x[0],
        2 => multiply_sized::<T, 2>(a, x),
        3 => multiply_sized::<T, 3>(a, x),
        4 => multiply_sized::<T, 4>(a, x),
        n if n <= LARGEST => {
            let mut out = [T::default(); LARGEST];
            for (row, y) in a.chunks_exact(n).zip(&mut out) {
                for (factor, value) in row.iter().zip(x.iter()) {
                    *y += *factor * *value;
                }
            }
            x.copy_from_slice(&out[..n]);
        }
        n => {
            let out: Vec<T> = a
                .chunks_exact(n)
                .take(n)
                .map(|row| row.iter().zip(x.iter()).fold(T::default(), |sum, (f, v)| sum + *f * *v))
                .collect();
            x.copy_from_slice(&out);
        }
    }
}

/// Blocks up to this size are multiplied without allocation: 4 conductors and 8 source loops, real and imaginary.
const LARGEST: usize = 24;

#[inline]
fn multiply_sized<T: Scalar, const N: usize>(a: &[T], x: &mut [T]) {
    let (a, x) = (&a[..N * N], &mut x[..N]);
    let mut out = [T::default(); N];
    for r in 0..N {
        for c in 0..N {
            out[r] += a[r * N + c] * x[c];
        }
    }
    x.copy_from_slice(&out);
}
