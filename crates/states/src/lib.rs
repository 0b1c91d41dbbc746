//! Operating states: every position that the gear of a plant can reach, found by search.
//!
//! A state is which sources are there and where every device stands. Sources come and go at any time; automatic
//! devices follow their rules; manual devices move at any time. *Settled* is every state between two device
//! moves, however short: only one device's contact travel is excluded.
//!
//! Delays exclude an order of moves only where they prove it: two moves that became due at the same event, or the
//! one earlier, keep their order if the latest time of the one is under the earliest time of the other. A delay
//! without a latest time proves nothing.

mod name;
pub mod proof;
mod search;
mod state;

pub use name::{describe, situation, tell};
pub use search::{Coming, LIMIT, Reached, Search, search};
pub use state::State;
