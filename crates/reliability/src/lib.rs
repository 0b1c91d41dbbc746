//! How often and how long supply fails: indices of IEEE 1366, and availability of paralleled units. Nothing here knows a
//! plant.

pub mod indices;
pub mod redundancy;

#[cfg(test)]
mod testing;
