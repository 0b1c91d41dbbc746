//! What the search finds, held against independent readings of the same plants.

#![allow(clippy::expect_used, clippy::panic, clippy::print_stdout)] // helpers of tests are tests too

mod oracle;
mod paths;
mod plants;
mod shapes;
mod soundness;
