//! Symmetrical components (Fortescue).
//!
//! X_0 = (A + B + C)/3, X_1 = (A + a B + a^2 C)/3, X_2 = (A + a^2 B + a C)/3 with a = 1 at 120 degrees, for
//! sequence ABC (B at -120 degrees). Where B is drawn leading, X_1 and X_2 swap.

use std::sync::Arc;

use derivation::{Known, Node};
use num_complex::Complex64;
use quantity::Quantity;

use crate::NetworkError;
use crate::error::not_negative;
use crate::impedance::{angle_deg, magnitude, polar_deg, solved};

/// Which way the phases follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rotation {
    /// B behind A by 120 degrees: the usual sequence.
    Abc,
    /// B before A by 120 degrees.
    Acb,
}

/// A phasor: magnitude with its derivation, angle in degrees.
#[derive(Debug, Clone)]
pub struct Phasor<Q> {
    /// RMS magnitude.
    pub magnitude: Known<Q>,
    /// Angle, in degrees. Of a magnitude of zero it says nothing.
    pub angle_deg: f64,
}

impl<Q: Quantity> Phasor<Q> {
    fn complex(&self) -> Result<Complex64, NetworkError> {
        let magnitude = not_negative(&self.magnitude)?;
        if !self.angle_deg.is_finite() {
            let what = format!("angle of {}", self.magnitude.node().what);
            let value = format!("{}", self.angle_deg);
            return Err(NetworkError::OutOfRange { what, value, allowed: "a finite number of degrees" });
        }
        Ok(polar_deg(magnitude, self.angle_deg))
    }
}

/// The components of three phasors.
#[derive(Debug, Clone)]
pub struct Components<Q> {
    /// Zero sequence.
    pub zero: Phasor<Q>,
    /// Positive sequence.
    pub positive: Phasor<Q>,
    /// Negative sequence.
    pub negative: Phasor<Q>,
    /// A + B + C: for line currents, what the neutral carries.
    pub sum: Phasor<Q>,
}

/// The symmetrical components of three phasors.
///
/// # Errors
/// A negative magnitude, a value that is not finite.
pub fn components<Q: Quantity>(
    phases: &[Phasor<Q>; 3],
    rotation: Rotation,
) -> Result<Components<Q>, NetworkError> {
    let [a, b, c] = phases;
    let (a, b, c) = (a.complex()?, b.complex()?, c.complex()?);
    let turn = polar_deg(1.0, 120.0);
    let back = polar_deg(1.0, -120.0);
    let with_turn = (a + turn * b + back * c) / 3.0;
    let with_back = (a + back * b + turn * c) / 3.0;
    let zero = (a + b + c) / 3.0;
    let (positive, negative) = match rotation {
        Rotation::Abc => (with_turn, with_back),
        Rotation::Acb => (with_back, with_turn),
    };
    // the components must give back phase A
    let residual = magnitude(zero + positive + negative - a);
    let from: Vec<Arc<Node>> = phases.iter().map(|p| p.magnitude.node().clone()).collect();
    let phasor = |symbol, what, z, equation| Phasor {
        magnitude: solved(symbol, what, magnitude(z), equation, residual, from.clone()),
        angle_deg: angle_deg(z),
    };
    let (forward, backward) = match rotation {
        Rotation::Abc => ("|A + a·B + a²·C| / 3", "|A + a²·B + a·C| / 3"),
        Rotation::Acb => ("|A + a²·B + a·C| / 3", "|A + a·B + a²·C| / 3"),
    };
    Ok(Components {
        zero: phasor("X_0", "zero-sequence component", zero, "|A + B + C| / 3"),
        positive: phasor("X_1", "positive-sequence component", positive, forward),
        negative: phasor("X_2", "negative-sequence component", negative, backward),
        sum: phasor("X_N", "sum of the phases", a + b + c, "|A + B + C|"),
    })
}
