//! The current in a neutral.
//!
//! The neutral carries the phasor sum of the legs' currents. On split-phase that is the difference of the legs; on
//! a wye with equal power factors it is sqrt(a2 + b2 + c2 - ab - bc - ca); on two legs of a wye it is as large as
//! the legs. Third harmonics (and every odd multiple of them) turn three times as far: on systems 120 degrees
//! apart they stand in phase and add; on split-phase, 180 degrees apart, they subtract like the fundamental.
//! (Kirchhoff; UB08 form in common use.)

use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Current, Leg, Quantity, Ratio, VoltageSystem};

use crate::error::{not_negative, within};
use crate::impedance::{magnitude, polar_deg};
use crate::{NetworkError, Sense};

/// What one leg carries to the neutral: its line-to-neutral loads. Line-to-line loads don't touch the neutral.
#[derive(Debug, Clone)]
pub struct LegCurrent {
    /// The leg.
    pub leg: Leg,
    /// Fundamental RMS current, in amperes. The whole RMS current may be given: that errs high.
    pub current: Known<Current>,
    /// Displacement power factor, 0 to 1.
    pub power_factor: Known<Ratio>,
    /// Lagging or leading.
    pub sense: Sense,
    /// Third-harmonic current over fundamental current, 0 to 1; none is taken as 0.
    pub third: Option<Known<Ratio>>,
}

/// The neutral's current.
#[derive(Debug, Clone)]
pub struct NeutralCurrent {
    /// Fundamental.
    pub fundamental: Known<Current>,
    /// Third harmonic; all legs' harmonics are taken at the same place on their own leg's voltage wave, as like
    /// rectifier loads do.
    pub third: Known<Current>,
    /// RMS of both.
    pub total: Known<Current>,
}

/// The neutral current of a voltage system.
///
/// # Errors
/// No legs, a leg that the system lacks or given twice, a negative current, a power factor outside 0 to 1, a
/// harmonic share outside 0 to 1.
pub fn neutral_current(system: VoltageSystem, legs: &[LegCurrent]) -> Result<NeutralCurrent, NetworkError> {
    check_legs(system, legs)?;
    let mut first = Sum::default();
    let mut third = Sum::default();
    for leg in legs {
        let current_a = not_negative(&leg.current)?;
        let pf = within(&leg.power_factor, 0.0, 1.0, "from 0 to 1")?;
        let angle = system.angle_deg(leg.leg);
        let node = |of: &str, node: &Arc<Node>| (format!("{of}_{}", leg.leg), node.clone());
        let turned = within_a_turn(angle + leg.sense.current_angle_deg(pf));
        let tripled = within_a_turn(3.0 * angle);
        first.add(
            polar_deg(current_a, turned),
            format!("I_{}∠{turned:.1}°", leg.leg),
            vec![node("I", leg.current.node()), node("pf", leg.power_factor.node())],
        );
        if let Some(h) = &leg.third {
            third.add(
                polar_deg(current_a * within(h, 0.0, 1.0, "from 0 to 1")?, tripled),
                format!("h_{} · I_{}∠{tripled:.1}°", leg.leg, leg.leg),
                vec![node("h", h.node()), node("I", leg.current.node())],
            );
        }
    }
    let I_1 = first.known("I_1", "neutral current, fundamental");
    let I_3 = if third.terms.is_empty() {
        let what = "neutral current, third harmonic";
        Known::assumed("I_3", what, Current::ZERO, "no third harmonic is stated")
    } else {
        third.known("I_3", "neutral current, third harmonic")
    };
    let total = formula!("I_N", "neutral current", [I_1, I_3] => rms(I_1, I_3));
    Ok(NeutralCurrent { fundamental: I_1, third: I_3, total })
}

/// An angle in degrees from above -180 to 180; no -0.
pub(crate) fn within_a_turn(angle_deg: f64) -> f64 {
    let turned = angle_deg.rem_euclid(360.0) + 0.0;
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// A phasor sum and how it is written.
#[derive(Default)]
struct Sum {
    value: Complex64,
    terms: Vec<String>,
    args: Vec<(String, Arc<Node>)>,
}

impl Sum {
    fn add(&mut self, value: Complex64, term: String, args: Vec<(String, Arc<Node>)>) {
        self.value += value;
        self.terms.push(term);
        self.args.extend(args);
    }

    fn known(self, symbol: &str, what: &str) -> Known<Current> {
        let expression = format!("|{}|", self.terms.join(" + "));
        let source = Some("Kirchhoff: sum of the legs' phasors");
        Known::formula(symbol, what, Current::of(magnitude(self.value)), &expression, self.args, source)
    }
}

/// The largest neutral current when each leg may carry anything from nothing to its stated current. The
/// magnitude of a phasor sum is convex in the legs' magnitudes, so the largest stands at a corner: each leg full
/// or off. Equal legs of split-phase thus show one leg's current, not 0.
///
/// # Errors
/// As [`neutral_current`].
pub fn largest_neutral(system: VoltageSystem, legs: &[LegCurrent]) -> Result<Known<Current>, NetworkError> {
    check_legs(system, legs)?;
    let mut corners = Vec::new();
    for mask in 1_u32..(1 << legs.len()) {
        let on: Vec<LegCurrent> =
            legs.iter().enumerate().filter(|(k, _)| mask & (1 << k) != 0).map(|(_, l)| l.clone()).collect();
        corners.push(neutral_current(system, &on)?.total);
    }
    Known::largest("I_N", "largest neutral current, each leg full or off", &corners).ok_or(no_legs())
}

/// The wye formula by magnitudes, sqrt(a2 + b2 + c2 - ab - bc - ca). It holds only where the three power factors
/// are equal in size and sense and no harmonics flow; [`neutral_current`] has no such limit. Kept as a hand check.
///
/// # Errors
/// A negative current.
pub fn wye_by_magnitudes(
    a: &Known<Current>,
    b: &Known<Current>,
    c: &Known<Current>,
) -> Result<Known<Current>, NetworkError> {
    for current in [a, b, c] {
        not_negative(current)?;
    }
    let value = |x: &Known<Current>| x.value().si();
    let (x, y, z) = (value(a), value(b), value(c));
    let square = x * x + y * y + z * z - x * y - y * z - z * x;
    let args = [("a", a), ("b", b), ("c", c)].map(|(name, k)| (name.to_owned(), k.node().clone())).to_vec();
    Ok(Known::formula(
        "I_mag",
        "neutral current by the magnitude formula (equal power factors only)",
        Current::of(square.max(0.0).sqrt()),
        "sqrt(a^2 + b^2 + c^2 - a*b - b*c - c*a)",
        args,
        Some("common practice"),
    ))
}

fn rms(a: Current, b: Current) -> Current {
    Current::of(libm::hypot(a.si(), b.si()))
}

fn no_legs() -> NetworkError {
    NetworkError::Count { what: "legs", count: 0, needed: "at least one is needed" }
}

fn check_legs(system: VoltageSystem, legs: &[LegCurrent]) -> Result<(), NetworkError> {
    if legs.is_empty() {
        return Err(no_legs());
    }
    for (k, leg) in legs.iter().enumerate() {
        if !system.legs().contains(&leg.leg) {
            return Err(NetworkError::Leg(format!("{system} has no {}", leg.leg)));
        }
        if legs.iter().take(k).any(|earlier| earlier.leg == leg.leg) {
            return Err(NetworkError::Leg(format!("{} is given twice", leg.leg)));
        }
    }
    Ok(())
}
