//! Transformers as a source: full-load current, fault current, the dip of a motor start, and the fault current at
//! the end of a run by the point-to-point method.
//!
//! Point to point (fuse-application handbooks; common practice): f = k L I / (C n V), M = 1 / (1 + f), I' = M I,
//! with L in feet, k = sqrt(3) for a three-phase fault, 2 for a line-to-line fault of a single-phase service, and
//! C the published constant of the conductor in its raceway. C is given by the caller with its source. A
//! line-to-neutral fault at a centre-tapped transformer is taken as 1.5 times the line-to-line one at its terminals, and
//! along a run with k = 2 and the voltage to neutral.

use std::sync::Arc;

use derivation::{Known, Node, formula};
use quantity::{Apparent, Current, Length, LineVoltage, Quantity, Ratio};

use crate::NetworkError;
use crate::error::{above_zero, within};

/// Three-phase, or single-phase line to line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phases {
    /// Two lines of a single-phase or split-phase service.
    Single,
    /// Three phases.
    Three,
}

impl Phases {
    fn line_factor(self) -> Known<Ratio> {
        let value = match self {
            Phases::Single => 1.0,
            Phases::Three => 3.0_f64.sqrt(),
        };
        Known::factor(
            "k",
            "line factor: sqrt(3) for three phases, 1 for single-phase",
            value,
            "circuit theory",
        )
    }

    fn run_factor(self) -> Known<Ratio> {
        let value = match self {
            Phases::Single => 2.0,
            Phases::Three => 3.0_f64.sqrt(),
        };
        let what = "run factor: sqrt(3) for three phases, 2 for line to line";
        Known::factor("k", what, value, "point-to-point method")
    }
}

/// Full-load current of a transformer, or any line current of an apparent power: S / (k V).
///
/// # Errors
/// A rating or voltage that is not above zero.
pub fn full_load_current(
    S: &Known<Apparent>,
    V: &Known<LineVoltage>,
    phases: Phases,
) -> Result<Known<Current>, NetworkError> {
    above_zero(S)?;
    above_zero(V)?;
    let k = phases.line_factor();
    Ok(formula!("I_fl", "full-load current", [S, k, V] => S / (k * V)))
}

/// Fault current at the transformer's terminals on a stiff primary: I_fl / z. A real primary gives less.
///
/// # Errors
/// A current that is not above zero, an impedance outside 0 to 1.
pub fn infinite_bus_fault(I_fl: &Known<Current>, z: &Known<Ratio>) -> Result<Known<Current>, NetworkError> {
    above_zero(I_fl)?;
    within(z, 1e-4, 1.0, "from 0.01 % to 100 %")?;
    Ok(formula!("I_sc", "fault current at the transformer, stiff primary", [I_fl, z] => I_fl / z))
}

/// Line-to-neutral fault current at the terminals of a centre-tapped transformer: 1.5 times the line-to-line one, as the
/// point-to-point method takes it (fuse-application handbooks; between 1.33 and 1.67 by the build of the transformer).
///
/// # Errors
/// A current that is not above zero.
pub fn line_to_neutral_fault(I_ll: &Known<Current>) -> Result<Known<Current>, NetworkError> {
    above_zero(I_ll)?;
    let source = "point-to-point method, fuse-application handbooks";
    let k = Known::factor("k_n", "line to neutral over line to line at the terminals", 1.5, source);
    Ok(formula!("I_ln", "line-to-neutral fault current at the transformer", [k, I_ll] => k * I_ll))
}

/// Voltage from line to neutral of a centre-tapped winding, as the voltage of its fault loop: V / 2.
///
/// # Errors
/// A voltage that is not above zero.
pub fn half_winding(V: &Known<LineVoltage>) -> Result<Known<LineVoltage>, NetworkError> {
    above_zero(V)?;
    Ok(formula!("V_n", "voltage to neutral of the centre-tapped winding", [V] => 0.5 * V))
}

/// Fault current over full-load current at the transformer's terminals: 1 / z.
///
/// # Errors
/// An impedance outside 0 to 1.
pub fn fault_multiplier(z: &Known<Ratio>) -> Result<Known<Ratio>, NetworkError> {
    within(z, 1e-4, 1.0, "from 0.01 % to 100 %")?;
    Ok(formula!("m", "fault current over full-load current", [z] => 1.0 / z))
}

/// Short-circuit power of a transformer on a stiff primary: S / z.
///
/// # Errors
/// A rating that is not above zero, an impedance outside 0 to 1.
pub fn short_circuit_power(S: &Known<Apparent>, z: &Known<Ratio>) -> Result<Known<Apparent>, NetworkError> {
    above_zero(S)?;
    within(z, 1e-4, 1.0, "from 0.01 % to 100 %")?;
    Ok(formula!("S_sc", "short-circuit power, stiff primary", [S, z] => S / z))
}

/// Dip of a motor start on a transformer.
#[derive(Debug, Clone)]
pub struct Dip {
    /// S_start / S_sc: as if the dip did not lessen the start. Errs high.
    pub ratio: Known<Ratio>,
    /// S_start / (S_start + S_sc): impedance divider with both impedances at the same angle.
    pub divider: Known<Ratio>,
}

/// Dip of the voltage when `S_start` (at nominal voltage) starts on `S_sc`.
///
/// # Errors
/// A power that is not above zero.
pub fn dip(S_start: &Known<Apparent>, S_sc: &Known<Apparent>) -> Result<Dip, NetworkError> {
    above_zero(S_start)?;
    above_zero(S_sc)?;
    Ok(Dip {
        ratio: formula!("d", "dip, as the power ratio", [S_start, S_sc] => S_start / S_sc),
        divider: formula!("d_div", "dip, as an impedance divider", [S_start, S_sc] => S_start / (S_start + S_sc)),
    })
}

/// A run of conductors, for the point-to-point method.
#[derive(Debug, Clone)]
pub struct Run {
    /// One-way length.
    pub length: Known<Length>,
    /// The conductor's published constant C, in A·ft/V.
    pub c: Known<Ratio>,
    /// Conductors in parallel per line.
    pub parallel: Known<Ratio>,
}

/// What a run leaves of a fault current.
#[derive(Debug, Clone)]
pub struct RunFault {
    /// f = k L I / (C n V).
    pub f: Known<Ratio>,
    /// M = 1 / (1 + f).
    pub m: Known<Ratio>,
    /// Fault current at the far end.
    pub current: Known<Current>,
}

/// Fault current at the end of a run.
///
/// # Errors
/// A value that is not above zero, less than one conductor per line.
pub fn fault_at_end(
    I: &Known<Current>,
    V: &Known<LineVoltage>,
    run: &Run,
    phases: Phases,
) -> Result<RunFault, NetworkError> {
    let current_a = above_zero(I)?;
    let line_v = above_zero(V)?;
    above_zero(&run.length)?;
    let c = above_zero(&run.c)?;
    let parallel = within(&run.parallel, 1.0, 1000.0, "1 or more")?;
    let foot = Known::table("ft", "one foot", Length::of(0.3048), "constant", "", "definition", false);
    let (L, ft) = (&run.length, &foot);
    let L_ft = formula!("L_ft", "length in feet", [L, ft] => L / ft);
    let k = phases.run_factor();
    let value = k.value().si() * L_ft.value().si() * current_a / (c * parallel * line_v);
    let args = named(&[
        ("k", k.node()),
        ("L_ft", L_ft.node()),
        ("I", I.node()),
        ("C", run.c.node()),
        ("n", run.parallel.node()),
        ("V", V.node()),
    ]);
    let source = Some("point-to-point method, fuse-application handbooks");
    let f =
        Known::formula("f", "run's factor f", Ratio::of(value), "k * L_ft * I / (C * n * V)", args, source);
    let M = formula!("M", "multiplier M", [f] => 1.0 / (1.0 + f));
    let current = formula!("I_end", "fault current at the end of the run", [I, M] => I * M);
    Ok(RunFault { f, m: M, current })
}

fn named(args: &[(&str, &Arc<Node>)]) -> Vec<(String, Arc<Node>)> {
    args.iter().map(|(name, node)| ((*name).to_owned(), (*node).clone())).collect()
}
