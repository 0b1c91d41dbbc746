//! Typed quantities. Inside they are SI; outside they read and write as people do: `"5.5 kVA"`, `"85 degF"`,
//! `"1,200 ft"`, `"3 AWG"`.
//!
//! Kinds that would burn something when mixed are different types: W and VA, AC RMS, AC peak and DC current,
//! line-to-line, line-to-neutral and DC voltage. A quantity that was *read* is always finite; arithmetic may
//! leave that range (a division by zero), which the margin ledger turns into a finding.
//!
//! ```
//! use quantity::{Apparent, Current, PhaseVoltage, Quantity};
//! let s: Apparent = "5.5 kVA".parse().unwrap();
//! let i: Current = s / PhaseVoltage::from_si(230.0);
//! assert_eq!(i.to_string(), "23.9 A");
//! assert!("5.5 kW".parse::<Apparent>().is_err());
//! ```

mod designation;
mod kinds;
mod number;
mod products;
mod system;
mod wire;

pub use designation::{DailyUse, Percent};
pub use kinds::*;
pub use number::{Digits, engineering, significant, suggest_unit};
pub use products::{
    Square, above, as_va, as_w, electrical, exp, heating, joules, ln, positive, root, va_number,
};
pub use system::{Connection, Leg, VoltageSystem};
pub use wire::Wire;

use std::fmt::{Debug, Display};

/// Why a text is not the quantity that was asked for. It says what stands there, what was expected and, where
/// one can be guessed, what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct QuantityError {
    /// What is wrong, in one line.
    pub message: String,
    /// What to write instead.
    pub help: String,
}

impl QuantityError {
    /// An error with its remedy.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into() }
    }
}

/// One unit of a kind: its symbol and how to get to SI, `si = value * factor + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The symbol as people write it.
    pub symbol: &'static str,
    /// SI units in one of these.
    pub factor: f64,
    /// SI value of zero (temperatures only).
    pub offset: f64,
}

/// A physical quantity of one kind.
pub trait Quantity: Copy + Debug + Display + PartialEq + PartialOrd + 'static {
    /// What it is, for messages: "current".
    const NAME: &'static str;
    /// An example in the form that readers accept.
    const EXAMPLE: &'static str;
    /// The unit in which JSON gives it.
    const SI_UNIT: &'static str;
    /// Every unit that is understood, the commonest first.
    fn units() -> &'static [Unit];
    /// Value in the SI unit named by [`Quantity::SI_UNIT`].
    fn si(self) -> f64;
    /// From a value in the SI unit named by [`Quantity::SI_UNIT`].
    fn from_si(value: f64) -> Self;
    /// Reads a text such as `"60 A"`.
    ///
    /// # Errors
    /// No number, no unit, a unit of another kind, not finite, or of a magnitude that no site has.
    fn read(text: &str) -> Result<Self, QuantityError>;
}
