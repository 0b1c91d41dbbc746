//! Voltage of a bank under a constant-power draw: V = OCV - R · P / V.
//!
//! The larger root V = (OCV + sqrt(OCV^2 - 4 · R · P)) / 2 is the one that a converter works at (Ohm's law). There
//! is none above P = OCV^2 / (4 · R), where V is half of OCV (maximum power of a source behind a resistance).
//!
//! The draw is what the converters give over their discharge efficiency, and beside it the idle loss of every unit
//! that is awake. An efficiency that has the idle loss in it already counts it twice, which errs on the safe side.

use derivation::{Known, formula};
use quantity::{DcCurrent, DcVoltage, Power, Quantity, Ratio, Resistance, positive, root};

use crate::NetworkError;
use crate::error::{above_zero, not_negative, within};

/// A bank, what lies between it and its converters, and what they give.
#[derive(Debug, Clone)]
pub struct SagCase {
    /// Open-circuit voltage at the charge and temperature of the question, the lowest that may be.
    pub ocv: Known<DcVoltage>,
    /// All resistance from there to the converters' terminals, both poles, the highest that may be.
    pub resistance: Known<Resistance>,
    /// Active power that the converters give, all together.
    pub output: Known<Power>,
    /// Efficiency in discharge, from 0.01 to 1.
    pub efficiency: Known<Ratio>,
    /// Idle loss of one unit.
    pub idle: Known<Power>,
    /// Units that are awake.
    pub awake: Known<Ratio>,
    /// Voltage under which the converters switch off.
    pub cutoff: Known<DcVoltage>,
}

/// How the bank takes the draw.
#[derive(Debug, Clone)]
pub struct Sag {
    /// Power drawn from the bank's resistance onwards, losses included.
    pub draw: Known<Power>,
    /// The largest draw that has a steady voltage at all.
    pub largest_draw: Known<Power>,
    /// The largest power that the converters can give with the voltage at the cut-off or above; none may be left.
    pub largest_output: Known<Power>,
    /// The verdict.
    pub end: SagEnd,
}

/// The verdict on a draw.
#[derive(Debug, Clone)]
pub enum SagEnd {
    /// The voltage stays at the cut-off or above.
    Holds(Settled),
    /// A steady voltage exists and lies under the cut-off: the converters switch off after their delay.
    BelowCutoff(Settled),
    /// No steady voltage exists: the draw is above the largest one.
    NoSolution,
}

impl SagEnd {
    /// Whether the converters go on.
    pub fn holds(&self) -> bool {
        matches!(self, SagEnd::Holds(_))
    }
}

/// The steady state.
#[derive(Debug, Clone)]
pub struct Settled {
    /// Voltage at the converters' terminals.
    pub voltage: Known<DcVoltage>,
    /// Current of the bank.
    pub current: Known<DcCurrent>,
    /// Voltage over the cut-off; below zero where it lies under it.
    pub margin: Known<DcVoltage>,
}

/// The voltage left under a constant-power draw, against the cut-off.
///
/// # Errors
/// A voltage or resistance that is not above zero (a bank without resistance would hold anything), an efficiency
/// outside 0.01 to 1, a negative power or number of units.
pub fn sag(case: &SagCase) -> Result<Sag, NetworkError> {
    let ocv_v = above_zero(&case.ocv)?;
    above_zero(&case.resistance)?;
    let cutoff_v = above_zero(&case.cutoff)?;
    not_negative(&case.output)?;
    within(&case.efficiency, 0.01, 1.0, "from 0.01 to 1")?;
    not_negative(&case.idle)?;
    not_negative(&case.awake)?;
    let SagCase { ocv: OCV, resistance: R, output: P_out, efficiency: eta, idle: p_idle, awake: n, cutoff } =
        case;
    let P = formula!("P", "draw from the bank, losses included", [P_out, eta, n, p_idle] => P_out / eta + n * p_idle);
    let I_sc = formula!("I_sc", "current into a short circuit at the converters", [OCV, R] => OCV / R);
    let P_max = formula!("P_max", "largest draw that has a steady voltage", [OCV, I_sc] => OCV * I_sc / 4.0, source = "maximum power of a source behind a resistance");
    let V_c = cutoff;
    let P_c = if cutoff_v >= ocv_v {
        let why = "the open-circuit voltage is not above the cut-off";
        Known::chosen(
            "P_c",
            "largest draw at the cut-off",
            Power::ZERO,
            why,
            vec![OCV.node().clone(), V_c.node().clone()],
        )
    } else if 2.0 * cutoff_v >= ocv_v {
        formula!("P_c", "draw at which the voltage meets the cut-off", [V_c, OCV, R] => V_c * ((OCV - V_c) / R))
    } else {
        P_max.clone()
    };
    let largest_output = formula!("P_out,max", "largest output at the cut-off or above", [P_c, n, p_idle, eta] => positive(P_c - n * p_idle) * eta);
    let x = formula!("x", "draw over the short-circuit power", [P, OCV, I_sc] => P / OCV / I_sc);
    let end = if 4.0 * x.value().si() <= 1.0 {
        let V = formula!("V", "voltage at the converters", [OCV, x] => OCV * ((1.0 + root(1.0 - 4.0 * x)) / 2.0), source = "larger root of V = OCV - R · P / V");
        let current = formula!("I", "current of the bank", [P, V] => P / V);
        let margin = formula!("m", "voltage over the cut-off", [V, V_c] => V - V_c);
        let holds = margin.value().si() >= 0.0;
        let settled = Settled { voltage: V, current, margin };
        if holds { SagEnd::Holds(settled) } else { SagEnd::BelowCutoff(settled) }
    } else {
        SagEnd::NoSolution
    };
    Ok(Sag { draw: P, largest_draw: P_max, largest_output, end })
}
