//! One plant in its place: whether the room cools it, whether the wall carries it, how its units are linked. Gear and
//! heat come in, plans with their margins and findings go out; nothing here decides what is installed.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod gear;
pub mod link;
pub mod room;
pub mod wall;

pub use gear::{GearKind, Item, Rect};

use finding::{Finding, Margin};

/// What a plan was held against: margins first, then what does not hold or is not reached.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// Margins, in the order of the checks.
    pub margins: Vec<Margin>,
    /// Findings.
    pub findings: Vec<Finding>,
}
