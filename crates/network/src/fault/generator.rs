//! Fault current of a generator: the first cycles from its subtransient reactance, I = U / |j X''_d + Z_run| with
//! X''_d = x''_d · V^2 / S, and what its exciter sustains, as the maker states it (Ohm's law; decay in between from
//! memory). What is not stated is not covered: many small machines without an excitation of their own sustain
//! nothing.
//!
//! The reactance covers three-phase faults of three-phase machines and line-to-line faults of single-phase ones; for
//! the others negative- and zero-sequence reactances would be needed.

use derivation::Known;
use num_complex::Complex64;
use quantity::{Apparent, Current, Duration, LineVoltage, Quantity, Ratio};

use super::{FaultKind, FaultLevel, Lasts, size};
use crate::error::{above_zero, within};
use crate::impedance::magnitude;
use crate::voltage_dip::{Phases, full_load_current};
use crate::{Impedance, NetworkError};

/// A generator.
#[derive(Debug, Clone)]
pub struct GeneratorSource {
    /// Rating.
    pub rating: Known<Apparent>,
    /// Voltage between lines.
    pub line: Known<LineVoltage>,
    /// Single-phase or three-phase.
    pub phases: Phases,
    /// Subtransient reactance, per unit of the rating, saturated, lowest; where stated.
    pub subtransient: Option<Known<Ratio>>,
    /// What it sustains; where stated.
    pub sustained: Option<SustainedFault>,
}

/// What a maker says that a generator sustains.
#[derive(Debug, Clone)]
pub struct SustainedFault {
    /// For which fault.
    pub kind: FaultKind,
    /// Current over rated current.
    pub ratio: Known<Ratio>,
    /// For how long.
    pub time: Known<Duration>,
}

/// Fault currents of a generator.
#[derive(Debug, Clone)]
pub struct GeneratorFault {
    /// In the first cycles: for interrupting ratings. None where the reactance is not stated or does not reach the
    /// fault: not covered.
    pub first: Option<Known<Current>>,
    /// What is sustained: for clearing. None where it is not stated for the fault: not covered.
    pub sustained: Option<FaultLevel>,
}

const NOTHING: &str = "the generator's reactance or sustained current is not stated for this fault";

/// A generator's fault current at the end of a run of loop impedance `run`, or of impedance per phase for a three-phase
/// fault.
///
/// # Errors
/// A rating or voltage that is not above zero, a reactance outside 1 % to 100 %, a ratio outside 0.1 to 20, a negative
/// resistance; a machine of which neither figure is stated for the fault.
pub fn generator_fault(
    source: &GeneratorSource,
    run: &Impedance,
    kind: FaultKind,
) -> Result<GeneratorFault, NetworkError> {
    let line_v = above_zero(&source.line)?;
    let rating_va = above_zero(&source.rating)?;
    let I_r = full_load_current(&source.rating, &source.line, source.phases)?;
    let run_ohm = run.z_ohm()?;
    let whole = matches!(
        (source.phases, kind),
        (Phases::Three, FaultKind::ThreePhase) | (Phases::Single, FaultKind::LineToLine)
    );
    let first = match &source.subtransient {
        Some(x) if whole => {
            let ohm = within(x, 0.01, 1.0, "from 1 % to 100 %")? * line_v * line_v / rating_va;
            let (factor, expression) = match source.phases {
                Phases::Three => (3.0_f64.sqrt(), "V / sqrt(3) / |j · x · V^2 / S + Z|"),
                Phases::Single => (1.0, "V / |j · x · V^2 / S + Z|"),
            };
            let amperes = line_v / factor / magnitude(Complex64::new(0.0, ohm) + run_ohm);
            let z = size(run, "impedance of the run")?;
            let args =
                [("V", source.line.node()), ("x", x.node()), ("S", source.rating.node()), ("Z", z.node())];
            let args = args.map(|(name, node)| (name.to_owned(), node.clone())).to_vec();
            let law = Some("subtransient reactance, Ohm's law");
            let what = "fault current of the first cycles";
            Some(Known::formula("I''", what, Current::of(amperes), expression, args, law))
        }
        _ => None,
    };
    let sustained = match &source.sustained {
        Some(stated) if stated.kind == kind => Some(sustained_level(stated, &I_r)?),
        _ => None,
    };
    if first.is_none() && sustained.is_none() {
        return Err(NetworkError::NotCovered(NOTHING));
    }
    Ok(GeneratorFault { first, sustained })
}

/// A sustained current is kept by the regulator, so a run does not lower it as long as voltage is left; the run is not
/// counted.
fn sustained_level(stated: &SustainedFault, I_r: &Known<Current>) -> Result<FaultLevel, NetworkError> {
    let ratio = within(&stated.ratio, 0.1, 20.0, "from 0.1 to 20")?;
    above_zero(&stated.time)?;
    let args = vec![("m".to_owned(), stated.ratio.node().clone()), ("I_r".to_owned(), I_r.node().clone())];
    let value = Current::of(ratio * I_r.value().si());
    let what = "sustained fault current, as stated";
    let current = Known::formula("I_k", what, value, "m * I_r", args, None);
    Ok(FaultLevel { largest: current.clone(), least: current, lasts: Lasts::For(stated.time.clone()) })
}
