//! Rules of IEC 60364 and of the IEC standards that it works with. One rule a file.

pub mod adiabatic_withstand;
pub mod array_overcurrent;
pub mod array_voltage;
pub mod automatic_disconnection;
pub mod bonding_section;
pub mod breaker_discrimination;
pub mod cable_ampacity;
pub mod cable_voltage_drop;
pub mod conductor_choice;
pub mod conductor_resistance;
pub mod direct_voltage_drop;
pub mod disconnection_time;
pub mod gangway;
pub mod island_shock_protection;
pub mod motor_breaker;
pub mod motor_overload;
pub mod neutral_section;
pub mod overload_coordination;
pub mod protective_conductor;
pub mod rated_currents;
pub mod residual_current_type;
pub mod solar_supply_overcurrent;
pub mod unbalance_derating;
pub mod warning_notices;

pub use cable_ampacity::{Ampacity, CableRun, cable_ampacity};
pub use conductor_choice::{Conductor, Wanted, conductor_choice};
pub use rated_currents::next_rated;

#[cfg(test)]
pub(crate) mod testing;
