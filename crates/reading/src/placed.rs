//! A value that was read, with its place; or what is left to the tool.

use derivation::{Known, Place};
use quantity::Quantity;

/// A value with the place where it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where.
    pub place: Place,
}

impl<T> Placed<T> {
    /// The same place with another value.
    pub fn map<U>(self, with: impl FnOnce(T) -> U) -> Placed<U> {
        Placed { value: with(self.value), place: self.place }
    }
}

impl<Q: Quantity> Placed<Q> {
    /// As an input of a derivation.
    pub fn known(&self, symbol: &str, what: impl Into<String>) -> Known<Q> {
        Known::input(symbol, what, self.value, &self.place)
    }
}

/// What the site leaves to the tool (`"choose"`) or fixes.
#[derive(Debug, Clone, PartialEq)]
pub enum Decision<T> {
    /// The tool decides.
    Choose,
    /// The site fixes it; the tool checks it.
    Fixed(Placed<T>),
}

impl<T> Decision<T> {
    /// The fixed value, if there is one.
    pub fn fixed(&self) -> Option<&Placed<T>> {
        match self {
            Decision::Choose => None,
            Decision::Fixed(placed) => Some(placed),
        }
    }
}
