//! Rules of NFPA 70 (NEC), 2023. One rule a file; `facts` holds what several of them take in.

pub mod bonding_jumper;
pub mod busbar_connection;
pub mod conductor_ampacity;
pub mod conductor_size;
pub mod conductor_tap;
pub mod continuous_load;
pub mod dryers;
pub mod dwelling_existing;
pub mod dwelling_optional;
pub mod dwelling_service;
pub mod dwelling_standard;
pub mod electrode_conductor;
pub mod equipment_ground;
pub mod ev_supply;
mod facts;
pub mod feeder_connection;
pub mod fixed_appliances;
pub mod general_lighting;
pub mod generator_conductor;
pub mod largest_motor;
pub mod locked_rotor;
pub mod measured_demand;
pub mod motor_conductor;
pub mod motor_device;
pub mod neutral;
pub mod neutral_conductor;
pub mod noncoincident;
pub mod overcurrent_device;
pub mod parallel_set;
pub mod power_control;
pub mod raceway_fill;
pub mod ranges;
pub mod service_capacity;
pub mod service_minimum;
pub mod small_appliance;
pub mod small_conductor;
pub mod source_circuit;
pub mod space_heat;
pub mod stand_alone;
pub mod standby_capacity;
pub mod supply_side;
pub mod system_bond;
pub mod terminal_temperature;
pub mod voltage_drop;
pub mod whole_amperes;
pub mod working_space;

pub use dwelling_existing::{DwellingExisting, dwelling_existing};
pub use dwelling_optional::{DwellingOptional, dwelling_optional};
pub use dwelling_standard::{DwellingStandard, dwelling_standard};
pub use facts::{Climate, DwellingFacts, HeatPump, Item, SpaceHeat};
pub use measured_demand::{MeasuredDemand, MeasuredFacts, OnSiteSources, Record, measured_demand};
pub use neutral::Neutral;

#[cfg(test)]
pub(crate) mod testing;
