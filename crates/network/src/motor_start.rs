//! A motor starting on an inverter group that has an output impedance and a current limit.
//!
//! All quantities are those of one leg. The source is E behind Z until its current would exceed I_lim; then it
//! holds I_lim and the voltage is what the loads make of it. The starting motor is an admittance
//! Y = conj(S_lr) / V_n^2; what already runs is a constant power S (electronics, drives, loaded motors) or a
//! constant impedance, which joins Y. With V real and u = V^2 the current is I = Y V + conj(S) / V.
//!
//! - Below the limit |V + Z I| = E, with A = 1 + Z Y:
//!   |A|^2 u^2 + (2 Re(A conj(Z) S) - E^2) u + |Z|^2 |S|^2 = 0.
//! - At the limit |I| = I_lim: |Y|^2 u^2 + (2 Re(Y S) - I_lim^2) u + |S|^2 = 0.
//!
//! The larger root is the stable one. Without constant power the second gives V = I_lim / |Y|. No root, or a root
//! that E cannot hold behind Z, means that the voltage collapses.
//!
//! (Kirchhoff; the saturating source is an assumption on how bridges behave at their limit. It is a quasi-static
//! picture: a control that trips, folds back or hiccups at its limit does worse.)

use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Current, PhaseVoltage, Ratio};

use crate::error::above_zero;
use crate::impedance::{magnitude, solved};
use crate::{Impedance, LoadPower, NetworkError};

/// How the load that already runs answers to a lower voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunningAs {
    /// Draws the same power, so more current. The careful assumption.
    ConstantPower,
    /// Draws less current in proportion to the voltage: heaters, incandescent lamps.
    ConstantImpedance,
}

/// One leg at the moment a motor starts.
#[derive(Debug, Clone)]
pub struct StartCase {
    /// Voltage E of the source, line to neutral; also the nominal voltage of the loads.
    pub source: Known<PhaseVoltage>,
    /// Output impedance Z of all units that feed this leg, together.
    pub impedance: Impedance,
    /// Current limit I_lim of all units that feed this leg, together, RMS.
    pub limit: Known<Current>,
    /// Locked-rotor power of this leg at nominal voltage.
    pub start: LoadPower,
    /// What already runs on this leg at nominal voltage.
    pub running: LoadPower,
    /// How that answers to a lower voltage.
    pub running_as: RunningAs,
}

/// How the leg takes the start.
#[derive(Debug, Clone)]
pub enum Start {
    /// A steady voltage is left.
    Holds(Held),
    /// No steady voltage exists: the loads ask for more than the source can give at any voltage that it can
    /// reach.
    Collapses(Collapse),
}

impl Start {
    /// Whether the voltage collapses.
    pub fn collapsed(&self) -> bool {
        matches!(self, Start::Collapses(_))
    }
}

/// The state while the rotor stands still.
#[derive(Debug, Clone)]
pub struct Held {
    /// Voltage over nominal.
    pub voltage: Known<Ratio>,
    /// Whether the source is at its current limit.
    pub limited: bool,
    /// Current of the source.
    pub current: Known<Current>,
    /// Torque over torque at nominal voltage, V^2 (induction motor, from memory).
    pub torque: Known<Ratio>,
    /// Run-up time over run-up time at nominal voltage, 1/V^2. The load's own torque makes it longer still.
    pub stretch: Known<Ratio>,
}

/// Why nothing is left.
#[derive(Debug, Clone)]
pub struct Collapse {
    /// The least current the loads ask for at any voltage up to nominal.
    pub least_current: Known<Current>,
    /// The voltage over nominal at which they ask for it.
    pub at_voltage: Known<Ratio>,
    /// The limit it stands against.
    pub limit: Known<Current>,
}

/// The numbers of a case, in SI.
struct Numbers {
    e_v: f64,
    z_ohm: Complex64,
    limit_a: f64,
    /// Everything that acts as an admittance, in siemens.
    y_s: Complex64,
    /// Everything that draws constant power, in VA.
    s_va: Complex64,
}

impl Numbers {
    fn of(case: &StartCase) -> Result<Self, NetworkError> {
        let e_v = above_zero(&case.source)?;
        above_zero(&case.start.apparent)?;
        let running = case.running.s_va()?;
        let start = case.start.s_va()?;
        let (fixed, s_va) = match case.running_as {
            RunningAs::ConstantPower => (start, running),
            RunningAs::ConstantImpedance => (start + running, Complex64::new(0.0, 0.0)),
        };
        Ok(Self {
            e_v,
            z_ohm: case.impedance.z_ohm()?,
            limit_a: above_zero(&case.limit)?,
            y_s: fixed.conj() / (e_v * e_v),
            s_va,
        })
    }

    /// Current at a voltage, in amperes.
    fn current(&self, v: f64) -> Complex64 {
        self.y_s * v + self.s_va.conj() / v
    }

    /// What the source needs behind its impedance to hold a voltage, in volts.
    fn behind(&self, v: f64) -> f64 {
        magnitude(self.z_ohm * self.current(v) + v)
    }

    /// Voltage of the linear source.
    fn unlimited(&self) -> Option<f64> {
        let a = self.z_ohm * self.y_s + 1.0;
        let b = 2.0 * (a * self.z_ohm.conj() * self.s_va).re - self.e_v * self.e_v;
        larger_root(a.norm_sqr(), b, self.z_ohm.norm_sqr() * self.s_va.norm_sqr()).map(f64::sqrt)
    }

    /// Voltage at the current limit.
    fn limited(&self) -> Option<f64> {
        let b = 2.0 * (self.y_s * self.s_va).re - self.limit_a * self.limit_a;
        larger_root(self.y_s.norm_sqr(), b, self.s_va.norm_sqr()).map(f64::sqrt)
    }
}

/// The larger root of a u^2 + b u + c = 0 with a > 0, c >= 0, if it is above zero.
fn larger_root(a: f64, b: f64, c: f64) -> Option<f64> {
    let discriminant = b * b - 4.0 * a * c;
    if discriminant.is_nan() || discriminant < 0.0 || b >= 0.0 {
        return None;
    }
    let u = (-b + discriminant.sqrt()) / (2.0 * a);
    (u.is_finite() && u > 0.0).then_some(u)
}

/// The voltage left on a leg while a motor's rotor stands still.
///
/// # Errors
/// A source voltage, limit or starting power that is not above zero, a power factor outside 0 to 1, a negative
/// resistance or running power.
pub fn motor_start(case: &StartCase) -> Result<Start, NetworkError> {
    let numbers = Numbers::of(case)?;
    if let Some(v) = numbers.unlimited() {
        let current_a = magnitude(numbers.current(v));
        if current_a <= numbers.limit_a {
            let residual = (numbers.behind(v) - numbers.e_v) / numbers.e_v;
            let equation = "larger root of |V · E + Z · I| = E with I = Y · V · E + conj(S) / (V · E)";
            return Ok(Start::Holds(held(case, v / numbers.e_v, current_a, false, equation, residual)));
        }
    }
    // at the limit the source works below E: it must reach the voltage behind its impedance
    let reachable = |v: &f64| numbers.behind(*v) <= numbers.e_v * (1.0 + 1e-12);
    if let Some(v) = numbers.limited().filter(reachable) {
        let current_a = magnitude(numbers.current(v));
        let residual = (current_a - numbers.limit_a) / numbers.limit_a;
        let equation = "larger root of |Y · V · E + conj(S) / (V · E)| = I_lim";
        return Ok(Start::Holds(held(case, v / numbers.e_v, current_a, true, equation, residual)));
    }
    Ok(Start::Collapses(collapse(case, &numbers)))
}

fn nodes(case: &StartCase) -> Vec<Arc<Node>> {
    let mut from = vec![case.source.node().clone(), case.limit.node().clone()];
    from.extend(case.impedance.nodes());
    from.extend(case.start.nodes());
    from.extend(case.running.nodes());
    from
}

fn held(case: &StartCase, v: f64, current_a: f64, limited: bool, equation: &str, residual: f64) -> Held {
    let V: Known<Ratio> =
        solved("V", "voltage during the start, of nominal", v, equation, residual, nodes(case));
    let what = if limited { "current of the source, at its limit" } else { "current of the source" };
    let from = vec![V.node().clone(), case.source.node().clone()];
    let current = solved("I", what, current_a, "|Y · V · E + conj(S) / (V · E)|", residual, from);
    let torque = formula!("T", "torque left, of nominal", [V] => V * V, source = "torque of an induction motor goes with V^2 (from memory)");
    let stretch = formula!("k_t", "run-up time, of nominal", [V] => 1.0 / (V * V), source = "run-up time goes with 1/V^2 (engineering estimate)");
    Held { voltage: V, limited, current, torque, stretch }
}

/// |I|^2 = |Y|^2 u + |S|^2 / u + 2 Re(Y S) is least at u = |S| / |Y|, where it is 2 |Y| |S| + 2 Re(Y S); at
/// nominal voltage if that lies below.
fn collapse(case: &StartCase, numbers: &Numbers) -> Collapse {
    let (y, s) = (magnitude(numbers.y_s), magnitude(numbers.s_va));
    let turning_v = (s / y).sqrt();
    let v = turning_v.min(numbers.e_v);
    let least_a = magnitude(numbers.current(v));
    let (equation, place, residual) = if turning_v <= numbers.e_v {
        let closed = (2.0 * y * s + 2.0 * (numbers.y_s * numbers.s_va).re).sqrt();
        ("sqrt(2·|Y|·|S| + 2·Re(Y·S))", "sqrt(|S| / |Y|) / E", (least_a - closed) / least_a)
    } else {
        ("|Y · E + conj(S) / E|, since less voltage asks for more current", "nominal", 0.0)
    };
    let from = nodes(case);
    let what = "least current that the loads ask for";
    let at = "voltage at that current, of nominal";
    Collapse {
        least_current: solved("I_least", what, least_a, equation, residual, from.clone()),
        at_voltage: solved("V_least", at, v / numbers.e_v, place, residual, from),
        limit: case.limit.clone(),
    }
}
