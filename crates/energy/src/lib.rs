//! The energy of a design over a year: sun, sky, planes and cells; weather files; the year in steps; the
//! carry time of an outage starting at every step; costs.
//!
//! Inside are flat arrays of plain numbers, the unit at the end of each name; many designs run at once.
//! Quantities with derivations stand at the ends. No file is touched: bytes in, columns and summaries out.

// symbols of formulas keep their letters
#![allow(non_snake_case)]

pub mod array;
pub mod cost;
mod error;
pub mod outage;
pub mod plane;
pub mod sky;
pub mod sun;
pub mod time;
pub mod weather;
pub mod year;

pub use error::EnergyError;
