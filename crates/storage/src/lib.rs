//! How a battery bank is sized, shares and faults, each question by itself. Nothing here knows a plant or a code.
//!
//! Discharge at other than the rated current and the section method are for lead-acid and nickel-cadmium batteries;
//! batteries with a management system are limited by what their maker publishes.

pub mod autonomy;
pub mod cable;
pub mod energy;
pub mod fault;
pub mod peukert;
pub mod sections;
pub mod strings;

#[cfg(test)]
mod testing;
