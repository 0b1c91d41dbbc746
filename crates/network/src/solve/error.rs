//! Why a network is refused before anything is solved.

use super::Conductor;

/// A network that cannot be put together. Each names the part.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// A value that is not a finite number.
    #[error("{part}: {what} is not a finite number")]
    NotFinite {
        /// Which part.
        part: String,
        /// Which of its values.
        what: &'static str,
    },
    /// A value outside the range that has sense.
    #[error("{part}: {what} is {value}, it must be {allowed}")]
    OutOfRange {
        /// Which part.
        part: String,
        /// Which of its values.
        what: &'static str,
        /// The value in SI.
        value: f64,
        /// The range in words.
        allowed: &'static str,
    },
    /// A bus that the network does not have.
    #[error("{part}: there is no bus number {bus}")]
    NoSuchBus {
        /// Which part.
        part: String,
        /// The number it named.
        bus: usize,
    },
    /// A load, source or element that the network does not have.
    #[error("there is no {what} number {number}")]
    NoSuchPart {
        /// Load, source or element.
        what: &'static str,
        /// The number asked for.
        number: usize,
    },
    /// A conductor that the bus does not have.
    #[error("{part}: bus {bus} has no {}", .conductor.name())]
    NoSuchConductor {
        /// Which part.
        part: String,
        /// Name of the bus.
        bus: String,
        /// The conductor it named.
        conductor: Conductor,
    },
    /// A conductor given twice, or earth among the conductors of a bus or line.
    #[error("{part}: {} does not belong in the list of conductors, or stands there twice", .conductor.name())]
    Conductors {
        /// Which part.
        part: String,
        /// The conductor.
        conductor: Conductor,
    },
    /// Both ends at the same place.
    #[error("{part}: both ends are the same")]
    SameEnds {
        /// Which part.
        part: String,
    },
    /// Too few or too many entries.
    #[error("{part}: {count} {what}, {needed} needed")]
    Count {
        /// Which part.
        part: String,
        /// Of what.
        what: &'static str,
        /// How many were given.
        count: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Impedances that have no inverse: an ideal connection must be merged into one bus or be given its
    /// resistance.
    #[error("{part}: its impedances have no inverse; merge the buses or give the resistance")]
    NoInverse {
        /// Which part.
        part: String,
    },
    /// A source without impedance whose return is not held at a known voltage, or which holds a conductor that
    /// is held already, or which has a current limit.
    #[error("{part}: a source without impedance {why}")]
    IdealSource {
        /// Which part.
        part: String,
        /// What is wrong.
        why: &'static str,
    },
    /// Settings outside their range.
    #[error("setting {what} is {value}, it must be {allowed}")]
    Setting {
        /// Which.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The range in words.
        allowed: &'static str,
    },
}
