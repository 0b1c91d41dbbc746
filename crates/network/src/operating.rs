//! One operating state of a full plant as a network: what is closed and energised becomes buses and lines, sources
//! stand behind their impedances, units form, follow or are off, and [`crate::solve`] gives every current and voltage.
//!
//! **Loads and following units** carry the current that they take at nominal voltage, at their angle to the voltage
//! that they see. Load calculations and ratings are reckoned at nominal voltage (NEC 2023 220.5(A); IEC 60364-1); a
//! load of constant power draws more by as much as the voltage is low, which the voltages of the answer show.
//!
//! **Neutrals.** Each neutral that hangs together is tied to earth once, as a reference, so that neutral current stays
//! in conductors. How often neutral and earth are really joined is the proof's subject, not this one's.
//!
//! **A dead part** is no part of the network. A live panel without a neutral is refused.

mod build;
mod read;

use num_complex::Complex64;
use plant::NodeIx;
use plant::full::FullPlant;

use crate::solve::{ModelError, NoSolution, Status};

/// Mismatch that counts as solved, in amperes: far below what decides a margin of any rated part.
pub const TOLERANCE_A: f64 = 1e-8;

/// A phasor for each of L1, L2 and L3.
pub type Legs = [Complex64; 3];

/// What the units do.
#[derive(Debug, Clone)]
pub enum Units {
    /// Nothing.
    Off,
    /// Each takes so much at its own AC node (negative: gives), in amperes, against the voltage of its leg.
    Follow(Vec<Legs>),
    /// Each forms a voltage behind its output resistance, up to its limit.
    Form(Vec<Bridge>),
}

/// A unit that forms a voltage.
#[derive(Debug, Clone, Copy)]
pub struct Bridge {
    /// It is in service.
    pub on: bool,
    /// Output resistance of one leg, in ohms.
    pub output_ohm: f64,
    /// Current limit of one leg, in amperes.
    pub limit_a: f64,
    /// It works between the two lines and has no neutral.
    pub line_to_line: bool,
}

/// A state to be solved.
#[derive(Debug, Clone)]
pub struct Operating<'a> {
    /// The plant.
    pub plant: &'a FullPlant,
    /// Position of each device.
    pub positions: &'a [u8],
    /// The utility's impedance on each leg, in ohms; none while it is away.
    pub utility_ohm: Option<Complex64>,
    /// The generator's; none while it does not run.
    pub generator_ohm: Option<Complex64>,
    /// The units.
    pub units: Units,
    /// Currents drawn at nodes, in amperes, against the voltage of their leg. At a dead node nothing is drawn.
    pub loads: Vec<(NodeIx, Legs)>,
}

/// Every current and voltage of a state.
#[derive(Debug, Clone)]
pub struct Flows {
    /// Current of each part on L1, L2, L3 and neutral, from its first to its second end.
    pub parts: Vec<[Complex64; 4]>,
    /// Voltage of each node from L1, L2 and L3 to its neutral, in volts; none where it is dead.
    pub voltages: Vec<[Option<f64>; 3]>,
    /// Current that each unit gives on L1, L2 and L3.
    pub units: Vec<Legs>,
    /// Units with a leg at its current limit.
    pub at_limit: Vec<bool>,
    /// Largest mismatch of Kirchhoff's current law, in amperes.
    pub residual_a: f64,
}

/// A state without an answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unsolved {
    /// A node whose lines are live and whose neutral is not there.
    #[error("{0} is live without its neutral")]
    NoNeutral(String),
    /// The units cannot carry it at any voltage.
    #[error("no voltage carries the loads: the sources are at their current limit")]
    NoVoltage(NoSolution),
    /// Nothing determines the voltage of a part that is live.
    #[error("nothing determines the voltage of {0}")]
    Floating(String),
    /// A device of the gathered plant is not in the full one.
    #[error("the full plant has no such position of its gear")]
    NoSuchPosition,
    /// The solve ended without an answer.
    #[error("the solve did not converge (mismatch {residual_a} A)")]
    NotConverged {
        /// Largest mismatch, in amperes.
        residual_a: f64,
    },
    /// The plant makes no network.
    #[error(transparent)]
    Model(#[from] ModelError),
}

impl Operating<'_> {
    /// Solves the state.
    ///
    /// # Errors
    /// A live panel without neutral, no voltage that carries the loads, a live part whose voltage nothing determines,
    /// a solve that does not converge.
    pub fn solve(&self) -> Result<Flows, Unsolved> {
        let mut built = build::build(self)?;
        match built.solver.solve() {
            Status::Converged { residual_a, .. } => Ok(read::read(self, &built, residual_a)),
            Status::NotConverged { residual_a, .. } => Err(Unsolved::NotConverged { residual_a }),
            Status::NoSolution { reason } => Err(Unsolved::NoVoltage(reason)),
            Status::Floating { buses } => {
                let name = buses.first().map_or("", |bus| built.solver.network().bus_name(*bus));
                Err(Unsolved::Floating(name.to_owned()))
            }
        }
    }
}
