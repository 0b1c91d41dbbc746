//! Rules of NFPA 70 (NEC), 2023. One rule a file; `facts` holds what several of them take in.

pub mod array_current;
pub mod array_not_checked;
pub mod array_voltage;
pub mod continuous_load;
pub mod dryers;
pub mod dwelling_existing;
pub mod dwelling_optional;
pub mod dwelling_standard;
pub mod ev_supply;
mod facts;
pub mod fixed_appliances;
pub mod general_lighting;
pub mod labels;
pub mod largest_motor;
pub mod locked_rotor;
pub mod measured_demand;
pub mod neutral;
pub mod noncoincident;
pub mod ranges;
pub mod service_minimum;
pub mod small_appliance;
pub mod space_heat;
pub mod stand_alone;
pub mod standby_capacity;
pub mod storage_current;
pub mod storage_disconnect;
pub mod storage_overcurrent;
pub mod storage_voltage;
pub mod string_overcurrent;
pub mod whole_amperes;

pub use dwelling_existing::{DwellingExisting, dwelling_existing};
pub use dwelling_optional::{DwellingOptional, dwelling_optional};
pub use dwelling_standard::{DwellingStandard, dwelling_standard};
pub use facts::{Climate, DwellingFacts, HeatPump, Item, SpaceHeat};
pub use measured_demand::{MeasuredDemand, MeasuredFacts, OnSiteSources, Record, measured_demand};
pub use neutral::Neutral;

#[cfg(test)]
pub(crate) mod testing;
