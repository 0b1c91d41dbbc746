//! Indices of supply and availability of paralleled units.
