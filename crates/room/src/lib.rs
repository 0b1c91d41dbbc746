//! How heat and battery gas leave a room, and what altitude does to air, each question by itself. Nothing here knows a
//! plant.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

pub mod air;
pub mod heat;
pub mod hydrogen;
pub mod loss;
pub mod steady;

#[cfg(test)]
mod testing;
