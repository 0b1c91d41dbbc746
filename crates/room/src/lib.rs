//! How heat and battery gas leave a room, and what altitude does to air, each question by itself. Nothing here knows a
//! plant.

pub mod air;
pub mod heat;
pub mod hydrogen;

#[cfg(test)]
mod testing;
