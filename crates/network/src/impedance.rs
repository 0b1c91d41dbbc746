//! Impedances and complex powers whose parts carry their derivation.

use std::sync::Arc;

use derivation::{Known, Node};
use num_complex::Complex64;
use quantity::{Apparent, Quantity, Ratio, Resistance};

use crate::NetworkError;
use crate::error::{finite, not_negative, within};

/// A series impedance R + jX.
#[derive(Debug, Clone)]
pub struct Impedance {
    /// Resistance, in ohms.
    pub r: Known<Resistance>,
    /// Reactance, in ohms; positive is inductive. None means purely resistive.
    pub x: Option<Known<Resistance>>,
}

impl Impedance {
    /// A pure resistance.
    pub fn resistive(r: Known<Resistance>) -> Self {
        Self { r, x: None }
    }

    /// R + jX in ohms.
    ///
    /// # Errors
    /// A negative resistance or a part that is not finite.
    pub fn z_ohm(&self) -> Result<Complex64, NetworkError> {
        let r = not_negative(&self.r)?;
        let x = self.x.as_ref().map_or(Ok(0.0), finite)?;
        Ok(Complex64::new(r, x))
    }

    /// What it rests on.
    pub fn nodes(&self) -> Vec<Arc<Node>> {
        let mut nodes = vec![self.r.node().clone()];
        nodes.extend(self.x.iter().map(|x| x.node().clone()));
        nodes
    }
}

/// Whether a load's current lags its voltage (motors) or leads it (capacitors).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sense {
    /// Current behind voltage: takes reactive power.
    Lagging,
    /// Current before voltage: gives reactive power.
    Leading,
}

impl Sense {
    /// Angle of the current to its voltage in degrees, negative when lagging.
    pub fn current_angle_deg(self, power_factor: f64) -> f64 {
        let angle = libm::acos(power_factor).to_degrees();
        match self {
            Sense::Lagging => -angle,
            Sense::Leading => angle,
        }
    }
}

/// A load's apparent power with its power factor, at nominal voltage.
#[derive(Debug, Clone)]
pub struct LoadPower {
    /// Magnitude, in VA.
    pub apparent: Known<Apparent>,
    /// Displacement power factor, 0 to 1.
    pub power_factor: Known<Ratio>,
    /// Lagging or leading.
    pub sense: Sense,
}

impl LoadPower {
    /// A lagging load.
    pub fn lagging(apparent: Known<Apparent>, power_factor: Known<Ratio>) -> Self {
        Self { apparent, power_factor, sense: Sense::Lagging }
    }

    /// P + jQ in VA, Q positive when lagging.
    ///
    /// # Errors
    /// A negative power, or a power factor outside 0 to 1.
    pub fn s_va(&self) -> Result<Complex64, NetworkError> {
        let s = not_negative(&self.apparent)?;
        let pf = within(&self.power_factor, 0.0, 1.0, "from 0 to 1")?;
        let q = (1.0 - pf * pf).sqrt();
        Ok(match self.sense {
            Sense::Lagging => Complex64::new(s * pf, s * q),
            Sense::Leading => Complex64::new(s * pf, -s * q),
        })
    }

    /// What it rests on.
    pub fn nodes(&self) -> Vec<Arc<Node>> {
        vec![self.apparent.node().clone(), self.power_factor.node().clone()]
    }
}

/// A phasor from magnitude and angle in degrees.
pub(crate) fn polar_deg(magnitude: f64, angle_deg: f64) -> Complex64 {
    // whole multiples of 90 and 180 are exact, so that opposite legs cancel to nothing
    let (sin, cos) = match angle_deg.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        other => libm::sincos(other.to_radians()),
    };
    Complex64::new(magnitude * cos, magnitude * sin)
}

/// Magnitude, without the platform's own `hypot`.
pub(crate) fn magnitude(z: Complex64) -> f64 {
    libm::hypot(z.re, z.im)
}

/// Angle in degrees, -180 to 180.
pub(crate) fn angle_deg(z: Complex64) -> f64 {
    libm::atan2(z.im, z.re).to_degrees()
}

/// A solved value, with the residual of its equation.
pub(crate) fn solved<Q: Quantity>(
    symbol: &str,
    what: impl Into<String>,
    si: f64,
    equation: &str,
    residual: f64,
    from: Vec<Arc<Node>>,
) -> Known<Q> {
    Known::solved(symbol, what, Q::from_si(si), equation, residual, from)
}
