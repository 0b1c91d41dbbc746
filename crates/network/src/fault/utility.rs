//! Fault current of a utility, from a transformer's rating and impedance or from a stated fault current, at the end
//! of runs of conductors.
//!
//! Per loop I = U / |Z_s + Z_run| (Ohm's law on the fault loop; symmetrical components with the transformer's
//! negative- and zero-sequence impedance equal to the positive one, which holds for delta-wye transformers up to
//! small differences, from memory):
//!
//! | fault | three-phase wye | centre-tapped, V line to line |
//! |---|---|---|
//! | three-phase | V/√3 over Z_s + line | not covered |
//! | line to line | V over 2 Z_s + 2 lines | V over Z_s + 2 lines |
//! | line to neutral | V/√3 over Z_s + line + neutral | V/2 over Z_s / (2k) + line + neutral |
//! | line to earth | V/√3 over Z_s + line + earth | V/2 over Z_s / (2k) + line + earth |
//!
//! k is the line-to-neutral fault current over the line-to-line one at the terminals of a centre-tapped transformer:
//! half the winding has the fault and its leakage is less than half of all. Point-to-point practice takes 1.5;
//! transformers lie about between 1.33 and 1.67 (fuse-application handbooks, from memory).
//!
//! A transformer's primary is taken as stiff, which errs high: for the least current that errs on the wrong side, so
//! state the fault current at the transformer where it is known. An impedance on a nameplate has a tolerance (10 %
//! either way is common): for the largest current give the low end. Without X/R of the source its angle is unknown:
//! the largest current takes the angle, from 0 to 90 degrees, that gives most, and the least adds magnitudes, as
//! point-to-point practice does. Motors that feed back are not in it.

use derivation::Known;
use num_complex::Complex64;
use quantity::{Apparent, Current, LineVoltage, Ratio, Resistance};

use super::{FaultKind, FaultLevel, Lasts};
use crate::error::{above_zero, within};
use crate::impedance::magnitude;
use crate::{Impedance, NetworkError};

/// How the source is wound.
#[derive(Debug, Clone)]
pub enum Winding {
    /// Three phases in wye, its neutral solidly earthed.
    ThreePhase,
    /// One phase with a centre tap as neutral.
    CentreTapped {
        /// Line-to-neutral over line-to-line fault current at the terminals: see [`centre_tap_factor`].
        factor: Known<Ratio>,
    },
}

/// The factor of point-to-point practice, 1.5.
pub fn centre_tap_factor() -> Known<Ratio> {
    let what = "line-to-neutral over line-to-line fault current of a centre-tapped transformer";
    let source = "point-to-point practice, fuse-application handbooks (from memory)";
    Known::table("k", what, Ratio::of(1.5), "practice", "", source, true)
}

/// How strong the source is.
#[derive(Debug, Clone)]
pub enum Strength {
    /// A transformer on a stiff primary.
    Transformer {
        /// Rating.
        rating: Known<Apparent>,
        /// Impedance, per unit of its rating.
        z: Known<Ratio>,
    },
    /// A fault current stated at the beginning of the runs: three-phase, or line to line of a centre-tapped source.
    Stated(Known<Current>),
}

/// A utility.
#[derive(Debug, Clone)]
pub struct UtilitySource {
    /// Voltage between lines.
    pub line: Known<LineVoltage>,
    /// How it is wound.
    pub winding: Winding,
    /// How strong it is.
    pub strength: Strength,
    /// Reactance over resistance of the source, where known.
    pub x_over_r: Option<Known<Ratio>>,
}

/// A run of conductors, one way.
#[derive(Debug, Clone)]
pub struct FaultRun {
    /// One line conductor, or all of a line's parallel ones together.
    pub line: Impedance,
    /// The neutral, where the run has one.
    pub neutral: Option<Impedance>,
    /// The protective conductor with what is parallel to it, where its impedance is known.
    pub earth: Option<Impedance>,
}

const NO_THREE_PHASE: &str = "a centre-tapped source has no three-phase fault";
const NO_NEUTRAL: &str = "a run has no neutral of known impedance: its line-to-neutral fault is not covered";
const NO_EARTH: &str =
    "a run has no protective conductor of known impedance: its line-to-earth fault is not covered";

/// The fault current at the end of the runs; without any, at the source.
///
/// # Errors
/// A voltage, rating or stated current that is not above zero, an impedance outside 0.01 % to 100 %, a factor outside 1
/// to 2, a negative resistance; a fault that the source or a run does not have.
pub fn utility_fault(
    source: &UtilitySource,
    runs: &[FaultRun],
    kind: FaultKind,
) -> Result<FaultLevel, NetworkError> {
    let line_v = above_zero(&source.line)?;
    let Z_s = source_impedance(source, line_v)?;
    let mut args = vec![("V".to_owned(), source.line.node().clone()), ("Z_s".to_owned(), Z_s.node().clone())];
    let (voltage_v, voltage, part, source_part) = match (&source.winding, kind) {
        (Winding::ThreePhase, FaultKind::LineToLine) => (line_v, "V", 2.0, "2 · Z_s"),
        (Winding::ThreePhase, _) => (line_v / 3.0_f64.sqrt(), "V / sqrt(3)", 1.0, "Z_s"),
        (Winding::CentreTapped { .. }, FaultKind::ThreePhase) => {
            return Err(NetworkError::NotCovered(NO_THREE_PHASE));
        }
        (Winding::CentreTapped { .. }, FaultKind::LineToLine) => (line_v, "V", 1.0, "Z_s"),
        (Winding::CentreTapped { factor }, _) => {
            let k = within(factor, 1.0, 2.0, "from 1 to 2")?;
            args.push(("k".to_owned(), factor.node().clone()));
            (0.5 * line_v, "V / 2", 0.5 / k, "Z_s / (2 · k)")
        }
    };
    let source_ohm = part * above_zero(&Z_s)?;
    let run_ohm = loop_of(runs, kind, &mut args)?;
    let run_part = match (runs.is_empty(), kind) {
        (true, _) => "",
        (_, FaultKind::ThreePhase) => " + Z_line",
        (_, FaultKind::LineToLine) => " + 2 · Z_line",
        (_, FaultKind::LineToNeutral) => " + Z_line + Z_neutral",
        (_, FaultKind::LineToEarth) => " + Z_line + Z_earth",
    };
    let (most_ohm, least_ohm, angle) = match &source.x_over_r {
        Some(ratio) => {
            let angle = libm::atan(within(ratio, 0.0, 1000.0, "from 0 to 1000")?);
            args.push(("X/R".to_owned(), ratio.node().clone()));
            let z = Complex64::new(libm::cos(angle), libm::sin(angle)) * source_ohm;
            let ohm = magnitude(z + run_ohm);
            (ohm, ohm, ", the source at its angle of X/R")
        }
        None => {
            let at_an_end = |z: Complex64| magnitude(z * source_ohm + run_ohm);
            let low = at_an_end(Complex64::new(1.0, 0.0)).min(at_an_end(Complex64::new(0.0, 1.0)));
            (source_ohm + magnitude(run_ohm), low, "")
        }
    };
    let known = |symbol: &str, what: &str, ohm: f64, angle: &str| -> Known<Current> {
        let expression = format!("({voltage}) / |{source_part}{run_part}|{angle}");
        let source = Some("Ohm's law on the fault loop");
        Known::formula(symbol, what, Current::of(voltage_v / ohm), &expression, args.clone(), source)
    };
    let (for_most, for_least) = if source.x_over_r.is_some() {
        (angle, angle)
    } else {
        (", the source at the angle that gives most", ", magnitudes added")
    };
    Ok(FaultLevel {
        largest: known("I_f,max", "largest fault current", least_ohm, for_most),
        least: known("I_f,min", "least fault current", most_ohm, for_least),
        lasts: Lasts::UntilCleared,
    })
}

/// Impedance of the source: of one phase, or between the lines of a centre-tapped winding.
fn source_impedance(source: &UtilitySource, line_v: f64) -> Result<Known<Resistance>, NetworkError> {
    let V = ("V".to_owned(), source.line.node().clone());
    let what = "impedance of the source";
    Ok(match &source.strength {
        Strength::Transformer { rating, z } => {
            let ohm = within(z, 1e-4, 1.0, "from 0.01 % to 100 %")? * line_v * line_v / above_zero(rating)?;
            let args = vec![("z".to_owned(), z.node().clone()), V, ("S".to_owned(), rating.node().clone())];
            Known::formula("Z_s", what, Resistance::of(ohm), "z * V^2 / S", args, None)
        }
        Strength::Stated(current) => {
            let (factor, expression) = match source.winding {
                Winding::ThreePhase => (3.0_f64.sqrt(), "V / (sqrt(3) * I)"),
                Winding::CentreTapped { .. } => (1.0, "V / I"),
            };
            let ohm = line_v / (factor * above_zero(current)?);
            let args = vec![V, ("I".to_owned(), current.node().clone())];
            Known::formula("Z_s", what, Resistance::of(ohm), expression, args, None)
        }
    })
}

/// Impedance of all runs in the loop of a fault, in ohms.
fn loop_of(
    runs: &[FaultRun],
    kind: FaultKind,
    args: &mut Vec<(String, std::sync::Arc<derivation::Node>)>,
) -> Result<Complex64, NetworkError> {
    let mut sum = Complex64::new(0.0, 0.0);
    for (k, run) in runs.iter().enumerate() {
        let mut take = |name: &str, z: &Impedance| -> Result<Complex64, NetworkError> {
            args.extend(z.nodes().into_iter().map(|node| (format!("{name}_{}", k + 1), node)));
            z.z_ohm()
        };
        let line = take("Z_line", &run.line)?;
        let back = |z: &Option<Impedance>, why| z.clone().ok_or(NetworkError::NotCovered(why));
        sum += match kind {
            FaultKind::ThreePhase => line,
            FaultKind::LineToLine => line * 2.0,
            FaultKind::LineToNeutral => line + take("Z_neutral", &back(&run.neutral, NO_NEUTRAL)?)?,
            FaultKind::LineToEarth => line + take("Z_earth", &back(&run.earth, NO_EARTH)?)?,
        };
    }
    Ok(sum)
}
