//! What strings of modules give, each question by itself: operating point of strings in parallel, the window of a
//! controller, the temperature of cells, power and energy. Nothing here knows a plant or a code.

pub mod cells;
pub mod output;
pub mod strings;

#[cfg(test)]
mod testing;
