//! The two kinds of numbers that linear systems are solved in.

use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use num_complex::Complex64;

/// A number of a field, with a size to choose pivots by.
pub(super) trait Scalar:
    Copy
    + Default
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    const ONE: Self;
    /// A norm that is cheap to compute.
    fn size(self) -> f64;
    fn inverse(self) -> Self;
}

impl Scalar for f64 {
    const ONE: Self = 1.0;
    fn size(self) -> f64 {
        self.abs()
    }
    fn inverse(self) -> Self {
        1.0 / self
    }
}

impl Scalar for Complex64 {
    const ONE: Self = Complex64::new(1.0, 0.0);
    fn size(self) -> f64 {
        self.re.abs() + self.im.abs()
    }
    fn inverse(self) -> Self {
        let d = 1.0 / (self.re * self.re + self.im * self.im);
        Complex64::new(self.re * d, -self.im * d)
    }
}
