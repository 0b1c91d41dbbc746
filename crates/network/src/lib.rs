//! Electrical evaluators that know no plant (only `operating` reads one): how paralleled paths share a current, what a neutral carries, what
//! is left of the voltage when a motor starts on a source with a current limit, fault levels and what clears them, the
//! direct-current side, unbalance.
//!
//! Phasors are RMS with e^{+jwt}; L1 to neutral stands at 0 degrees; sequence ABC; power is positive into loads.
//! Every answer carries its derivation. A question outside an evaluator's model is a [`NetworkError`], never an
//! answer.

// formulas keep the symbols that engineers write
#![allow(non_snake_case)]

pub mod dc;
mod error;
pub mod fault;
mod impedance;
pub mod motor_start;
pub mod neutral;
pub mod open_neutral;
pub mod operating;
pub mod sequence;
pub mod sharing;
pub mod solve;
pub mod split_halves;
pub mod spread;
pub mod voltage_dip;
pub mod wye_load;

pub use error::NetworkError;
pub use impedance::{Impedance, LoadPower, Sense};
