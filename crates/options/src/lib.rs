//! What each size of the group buys, and what each growth stage asks for.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod grow;
mod stages;

pub use grow::{Row, grow};
pub use stages::{StageRow, stages};
