//! What energy costs, and when an investment is paid back. Money has no unit here: prices, fuel and parts
//! must be in the same currency, taxes in all of them or in none.

mod payback;
mod tariff;

pub use payback::{Payback, PaybackFacts, payback};
pub use tariff::{Bill, Period, Tariff, bill, hours, prices_per_kwh};

#[cfg(test)]
mod tests;
