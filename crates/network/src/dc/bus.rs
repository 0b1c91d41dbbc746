//! A bank of parallel strings and several converters on a bus with resistance between its landings.
//!
//! The bus is a ladder: landings in a row, a resistance between each two neighbours. A string is its open-circuit
//! voltage behind its internal resistance, its management system and its cable; a converter is a power behind its
//! cable. Currents follow from Kirchhoff's laws, solved by Newton's method and checked at every node.

use std::sync::Arc;

use derivation::{Known, Node};
use quantity::{DcCurrent, DcVoltage, Power, Ratio, Resistance};

use super::ladder::{Branch, Draw, Ladder};
use super::solve::Ended;
use super::state::state;
use crate::NetworkError;
use crate::error::{above_zero, finite, not_negative};
use crate::impedance::solved;

/// One string of the bank.
#[derive(Debug, Clone)]
pub struct BankString {
    /// Its name.
    pub name: String,
    /// The landing that it is connected to, from 0.
    pub landing: usize,
    /// Open-circuit voltage at its charge and temperature.
    pub ocv: Known<DcVoltage>,
    /// Internal resistance of its cells and their connectors.
    pub internal: Known<Resistance>,
    /// Resistance of its management system; none where no such thing lies in the path.
    pub management: Option<Known<Resistance>>,
    /// Resistance of its cable to the landing, both poles, with fuse or breaker; may be zero.
    pub cable: Known<Resistance>,
}

/// One converter.
#[derive(Debug, Clone)]
pub struct DcUnit {
    /// Its name.
    pub name: String,
    /// The landing that it is connected to, from 0.
    pub landing: usize,
    /// Power at its direct-current terminals, losses included: above zero where it draws, below where it charges.
    pub power: Known<Power>,
    /// Resistance of its cable from the landing, both poles; may be zero.
    pub cable: Known<Resistance>,
}

/// The bank, the bus and the converters.
#[derive(Debug, Clone)]
pub struct DcBus {
    /// Resistance from each landing to the next, both poles; one fewer than there are landings. Zero makes two
    /// landings one.
    pub segments: Vec<Known<Resistance>>,
    /// Strings.
    pub strings: Vec<BankString>,
    /// Converters.
    pub units: Vec<DcUnit>,
}

/// How the bus settles.
#[derive(Debug, Clone)]
pub enum BusOutcome {
    /// Every current and voltage.
    Settled(Box<BusState>),
    /// No voltages satisfy the draws.
    NoSolution {
        /// The largest share of all draws, taken alike, that has a solution.
        largest_share: Known<Ratio>,
    },
    /// None were found, and it is not shown that there are none. No number is to be relied on.
    NotConverged,
}

impl BusOutcome {
    /// The state, where there is one.
    pub fn settled(&self) -> Option<&BusState> {
        match self {
            BusOutcome::Settled(state) => Some(state),
            BusOutcome::NoSolution { .. } | BusOutcome::NotConverged => None,
        }
    }
}

/// Every current and voltage of the bus.
#[derive(Debug, Clone)]
pub struct BusState {
    /// Voltage of each landing.
    pub landings: Vec<Known<DcVoltage>>,
    /// Each converter, in the order given.
    pub units: Vec<UnitState>,
    /// Each string that is connected, in the order given.
    pub strings: Vec<StringState>,
    /// Current in each segment, positive from the lower landing to the higher one.
    pub segments: Vec<Known<DcCurrent>>,
    /// Current of all strings together.
    pub total: Known<DcCurrent>,
    /// The string with the largest current, in either direction: its number in [`DcBus::strings`].
    pub worst: usize,
    /// The magnitude of that current.
    pub worst_current: Known<DcCurrent>,
    /// The magnitude over an equal part of the total; none where the total is nothing.
    pub worst_over_equal: Option<Known<Ratio>>,
}

/// A converter on the settled bus.
#[derive(Debug, Clone)]
pub struct UnitState {
    /// Voltage at its terminals.
    pub voltage: Known<DcVoltage>,
    /// Its current, with the sign of its power.
    pub current: Known<DcCurrent>,
}

/// A string on the settled bus.
#[derive(Debug, Clone)]
pub struct StringState {
    /// Its number in [`DcBus::strings`].
    pub string: usize,
    /// Its current: above zero in discharge.
    pub current: Known<DcCurrent>,
    /// That over the current of all; none where the total is nothing.
    pub share: Option<Known<Ratio>>,
}

impl DcBus {
    /// Landings.
    pub fn landings(&self) -> usize {
        self.segments.len() + 1
    }

    /// Solves the bus.
    ///
    /// # Errors
    /// No string, a landing that the bus lacks, a string without resistance or with a voltage that is not above
    /// zero, a negative resistance.
    pub fn solve(&self) -> Result<BusOutcome, NetworkError> {
        Ok(self.outcome(&self.ladder()?))
    }

    /// As numbers.
    pub(super) fn ladder(&self) -> Result<Ladder, NetworkError> {
        if self.strings.is_empty() {
            return Err(NetworkError::Count { what: "strings", count: 0, needed: "at least one is needed" });
        }
        let there = |landing: usize, name: &str| {
            if landing < self.landings() {
                return Ok(landing);
            }
            Err(NetworkError::OutOfRange {
                what: format!("landing of {name}"),
                value: (landing + 1).to_string(),
                allowed: "one of the bus's landings",
            })
        };
        let segments_ohm = self.segments.iter().map(not_negative).collect::<Result<_, _>>()?;
        let string = |s: &BankString| -> Result<Branch, NetworkError> {
            let loop_ohm = not_negative(&s.internal)?
                + s.management.as_ref().map_or(Ok(0.0), not_negative)?
                + not_negative(&s.cable)?;
            if loop_ohm > 0.0 {
                let landing = there(s.landing, &s.name)?;
                Ok(Branch { landing, ocv_v: above_zero(&s.ocv)?, loop_ohm, on: true })
            } else {
                Err(NetworkError::OutOfRange {
                    what: format!("resistance of string {}", s.name),
                    value: s.internal.node().amount.text.clone(),
                    allowed: "above zero with its cable",
                })
            }
        };
        let draw = |u: &DcUnit| -> Result<Draw, NetworkError> {
            let landing = there(u.landing, &u.name)?;
            Ok(Draw { landing, power_w: finite(&u.power)?, cable_ohm: not_negative(&u.cable)? })
        };
        let strings = self.strings.iter().map(string).collect::<Result<_, _>>()?;
        let draws = self.units.iter().map(draw).collect::<Result<_, _>>()?;
        Ok(Ladder { segments_ohm, strings, draws })
    }

    /// What the answer rests on.
    pub(super) fn nodes(&self) -> Vec<Arc<Node>> {
        let mut nodes: Vec<Arc<Node>> = self.segments.iter().map(|s| s.node().clone()).collect();
        for s in &self.strings {
            nodes.extend([s.ocv.node().clone(), s.internal.node().clone(), s.cable.node().clone()]);
            nodes.extend(s.management.iter().map(|m| m.node().clone()));
        }
        for u in &self.units {
            nodes.extend([u.power.node().clone(), u.cable.node().clone()]);
        }
        nodes
    }

    pub(super) fn outcome(&self, ladder: &Ladder) -> BusOutcome {
        match ladder.solve(1.0) {
            Ended::Settled(point) => match state(self, ladder, &point) {
                Some(state) => BusOutcome::Settled(Box::new(state)),
                None => BusOutcome::NotConverged,
            },
            Ended::NoSolution => {
                let what = "largest share of the draws that has a solution";
                let equation =
                    "halving of the interval between a share that has a solution and one that has none";
                let share = solved("k", what, ladder.largest_share(), equation, 0.0, self.nodes());
                BusOutcome::NoSolution { largest_share: share }
            }
            Ended::NotFound => BusOutcome::NotConverged,
        }
    }
}
