//! The interlock proof held against plants broken on purpose and against brute force.

#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)] // helpers of tests are tests too

mod brute;
mod edits;
mod exact;
mod faults;
mod plants;
mod sizes;
mod unequal;
mod unstated;
