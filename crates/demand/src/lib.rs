//! Load assessment: what the loads of a site ask for, on each leg, for how long, and as motors start.
//!
//! Every maximum is taken over the permitted subsets of loads, not over the full set: loads may be off, loads that
//! exclude each other never run together, a load given as several with `at_once` runs no more of them, and summer and
//! winter loads never share a window. So legs at 60 A each show a neutral current of 60 A, not 0.
//!
//! All figures are upper bounds. Where loads exclude one another in too many ways to look at every subset, a looser
//! bound stands in and a note says so.
//!
//! - `coincidence`: permitted subsets and the heaviest of them
//! - `sweep`: the largest magnitude of a phasor sum
//! - `apparent`: VA and current with the third harmonic
//! - `duration`, `lane`, `course`: time on, the demand-duration curve, the time above a threshold
//! - `motor`, `contradiction`, `starts`: running power and starts of motors
//! - `balance`: loads without a stated leg
//! - `series`, `track`, `measured`: interval data
//! - `energy`: connected load, energy of days and months
//! - `profile`: when each load runs on its longest day
//! - `whole`: all loads together, and those beside the group's panel
//! - `service`, `service_method`, `dwelling`: demand that sizes the service

// Symbols read as in the formulas: P, S, V.
#![allow(non_snake_case)]

mod apparent;
mod assess;
mod assumptions;
mod balance;
mod coincidence;
mod contradiction;
mod course;
mod duration;
mod dwelling;
mod energy;
mod espi;
mod lane;
mod measured;
mod model;
mod motor;
mod panel;
mod phasor;
mod pieces;
mod profile;
mod series;
mod service;
mod service_method;
mod simple;
mod starts;
mod sweep;
mod track;
mod whole;

pub use assess::assess;
pub use model::*;
pub use profile::{Profile, spread};
pub use service::amended_continuous;
pub use simple::{CyclingLoad, duration_curve};
