//! The direct-current side as a network of its own: a bank of parallel strings, a bus with resistance between its
//! landings, converters that draw or charge with constant power.
//!
//! - [`sag`]: one resistance between the bank and the converters; the exact voltage, or none.
//! - [`bus`]: strings and converters on a bus of several landings; every current and voltage.
//! - [`mismatch`]: the worst current of each string where open-circuit voltages differ.
//! - [`landing`]: one string off, and which of some stated orders of landing loads the strings least.
//! - [`fault`]: what the bank gives into a bolted fault.
//! - [`precharge`]: charging of a converter's capacitors before its device closes.
//! - [`ripple`]: the alternating part of the direct current at twice the line frequency.
//!
//! Resistances are those of the loop: both poles together. Currents of strings are positive in discharge; power of
//! a converter is positive where it draws from the bus and negative where it charges. All but the pre-charge is steady
//! state: inductances, capacitors and the time in which a battery's voltage settles are not in it.

pub mod bus;
pub mod fault;
mod ladder;
pub mod landing;
pub mod mismatch;
pub mod precharge;
pub mod ripple;
pub mod sag;
mod solve;
mod state;
