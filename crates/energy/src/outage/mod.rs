//! How long an outage is carried that starts at any step of the year, with the battery as the year left it.
//!
//! Without what depends on the course of charge, a step is a map on the stored energy:
//!
//! ```text
//! e -> min(c, a e + g)   if e >= n, else the outage is not carried
//! n = max(n1, (n2 - g1)/a1), none if c1 < n2     a = a1 a2     g = a2 g1 + g2     c = min(c2, a2 c1 + g2)
//! ```
//!
//! and so is a row of steps. n is the charge below which the energy does not suffice, tiers would be shed, or
//! the power asked for exceeds the battery's or the converter's (never enough). The heat budget is a second
//! map of the same kind with a = 1. A tree over blocks of steps answers every start in the time of a few
//! dozen maps: n log n for the year (`tree`, `walk`). It is exact for the model: stepping gives the same to rounding.
//!
//! Taper near full bends a step above a charge m; rows carry their m along, and the few steps above it are taken
//! one by one. The generator depends on the course of charge and does not compose; with it, and for the time
//! that tiers last while others are shed, every start is stepped (`stepped`), and the result says so. Timers
//! that delay a reconnection are not looked at.

mod carry;
mod maps;
mod report;
mod stepped;
mod tree;
mod walk;

pub use carry::{Carry, Cause, YearEnd, carry_times};
pub use report::{Band, CarryReport, Season, YearsBand, over_years, report};
pub use stepped::{SteppedCarry, stepped_carry_times};

#[cfg(test)]
mod tests;
