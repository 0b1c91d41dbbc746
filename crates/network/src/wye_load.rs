//! A wye of three branches on a three-phase source, with or without its neutral, with a branch open or shorted.
//!
//! The star point stands at V_N = (E_1 Y_1 + E_2 Y_2 + E_3 Y_3) / (Y_1 + Y_2 + Y_3) (Millman), at 0 with the
//! neutral connected, and at E_k where branch k is shorted. Branch currents are (E_k - V_N) Y_k; a shorted branch
//! carries what closes the sum.

use std::sync::Arc;

use derivation::{Known, Node};
use num_complex::Complex64;
use quantity::{Current, Leg, LineVoltage, PhaseVoltage, VoltageSystem};

use crate::error::above_zero;
use crate::impedance::{magnitude, polar_deg, solved};
use crate::{Impedance, NetworkError};

/// One branch of the wye.
#[derive(Debug, Clone)]
pub enum Branch {
    /// An impedance.
    Through(Impedance),
    /// Nothing: the branch or its line is open.
    Open,
    /// The branch is shorted: its line meets the star point.
    Shorted,
}

/// The solved wye.
#[derive(Debug, Clone)]
pub struct Wye {
    /// Line currents.
    pub lines: [Known<Current>; 3],
    /// Voltage across each branch (across an open branch: what stands on the gap).
    pub branches: [Known<PhaseVoltage>; 3],
    /// Current in the neutral; none without a neutral.
    pub neutral: Option<Known<Current>>,
    /// Voltage from the star point to the source's neutral.
    pub star_point: Known<PhaseVoltage>,
}

/// Solves a wye load on a balanced source, sequence ABC.
///
/// # Errors
/// A line voltage that is not above zero, a branch of no impedance, a short from line to line or to a connected
/// neutral, fewer than two closed branches without a neutral.
pub fn wye_load(
    line: &Known<LineVoltage>,
    branches: &[Branch; 3],
    neutral_connected: bool,
) -> Result<Wye, NetworkError> {
    let phase_v = above_zero(line)? / 3.0_f64.sqrt();
    let e = Leg::ALL.map(|leg| polar_deg(phase_v, VoltageSystem::Wye230_400.angle_deg(leg)));
    let y = admittances(branches)?;
    let star = star_point(&e, &y, branches, neutral_connected)?;
    let [mut i1, mut i2, mut i3] = [0, 1, 2].map(|k| (at(&e, k) - star) * at(&y, k));
    for (k, branch) in branches.iter().enumerate() {
        if matches!(branch, Branch::Shorted) {
            let rest = -(i1 + i2 + i3);
            match k {
                0 => i1 = rest,
                1 => i2 = rest,
                _ => i3 = rest,
            }
        }
    }
    let sum = i1 + i2 + i3;
    let residual = if neutral_connected { 0.0 } else { magnitude(sum) };
    let mut from: Vec<Arc<Node>> = vec![line.node().clone()];
    for branch in branches {
        if let Branch::Through(z) = branch {
            from.extend(z.nodes());
        }
    }
    let equation = "(E_k - V_N) · Y_k, V_N = (E_1·Y_1 + E_2·Y_2 + E_3·Y_3) / (Y_1 + Y_2 + Y_3)";
    let current = |k: usize, i: Complex64| {
        let what = format!("current in line {k}");
        solved(&format!("I_{k}"), what, magnitude(i), equation, residual, from.clone())
    };
    let voltage = |k: usize| {
        let what = format!("voltage across branch {}", k + 1);
        let value = magnitude(at(&e, k) - star);
        solved(&format!("U_{}", k + 1), what, value, "|E_k - V_N|", residual, from.clone())
    };
    Ok(Wye {
        lines: [current(1, i1), current(2, i2), current(3, i3)],
        branches: [voltage(0), voltage(1), voltage(2)],
        neutral: neutral_connected.then(|| {
            solved("I_N", "neutral current", magnitude(sum), "|I_1 + I_2 + I_3|", 0.0, from.clone())
        }),
        star_point: solved(
            "V_N",
            "voltage of the star point",
            magnitude(star),
            "|E_1·Y_1 + E_2·Y_2 + E_3·Y_3| / |Y_1 + Y_2 + Y_3|",
            residual,
            from.clone(),
        ),
    })
}

fn at(values: &[Complex64; 3], k: usize) -> Complex64 {
    values.get(k).copied().unwrap_or_default()
}

fn admittances(branches: &[Branch; 3]) -> Result<[Complex64; 3], NetworkError> {
    let mut out = [Complex64::default(); 3];
    for (slot, branch) in out.iter_mut().zip(branches) {
        if let Branch::Through(z) = branch {
            let z = z.z_ohm()?;
            if magnitude(z) <= 0.0 {
                return Err(NetworkError::NoSolution("a branch of no impedance is a short: say so"));
            }
            *slot = z.inv();
        }
    }
    Ok(out)
}

fn star_point(
    e: &[Complex64; 3],
    y: &[Complex64; 3],
    branches: &[Branch; 3],
    neutral_connected: bool,
) -> Result<Complex64, NetworkError> {
    let shorted: Vec<usize> = (0..3).filter(|k| matches!(branches.get(*k), Some(Branch::Shorted))).collect();
    match shorted.as_slice() {
        [] if neutral_connected => Ok(Complex64::default()),
        [] => {
            if branches.iter().filter(|b| matches!(b, Branch::Open)).count() > 1 {
                return Err(NetworkError::NoSolution(
                    "with two branches open and no neutral the star point is held by nothing but one line",
                ));
            }
            let sum: Complex64 = y.iter().sum();
            if magnitude(sum) <= 1e-9 * y.iter().map(|y| magnitude(*y)).fold(0.0, f64::max) {
                return Err(NetworkError::NoSolution("the branches' admittances cancel"));
            }
            Ok(e.iter().zip(y).map(|(e, y)| e * y).sum::<Complex64>() / sum)
        }
        [_] if neutral_connected => {
            Err(NetworkError::NoSolution("a shorted branch with the neutral connected is a fault"))
        }
        [k] => Ok(at(e, *k)),
        _ => Err(NetworkError::NoSolution("two shorted branches are a fault from line to line")),
    }
}
