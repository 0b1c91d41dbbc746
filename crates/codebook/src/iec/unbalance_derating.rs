//! Rating of a motor on unbalanced voltages.
//!
//! ## Clause and edition
//! NEMA MG 1; derating curve of three-phase motors by voltage unbalance; limit 5 %.
//! ## Applies when
//! A three-phase motor runs on voltages that are not alike, as behind single-phase inverters or an open conductor.
//! ## Why
//! One percent of unbalance in voltage is six to ten in current: a winding overheats at half load.
//! ## Formula
//! `u = max|U - U_mean| / U_mean` of the three line-to-line voltages; `P = k_u(u) · P_rated`.
//! ## Example
//! Passing: 2 % unbalance leaves 95 %. Failing: a motor on 6 % must not run.
//! ## Limits of our reading
//! Points read from the curve, to about one percent; between two the next higher unbalance counts.
//! ## Source
//! 1 % and 5 % limits and 2 %: two sources agree; other points one source; 1 %: from memory.

use derivation::{Known, formula};
use quantity::{LineVoltage, Power, Ratio};
use saying::say;
use tables::iec::unbalance;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEMA MG 1, voltage unbalance";

/// Unbalance of three line-to-line voltages and what it leaves.
#[derive(Debug, Clone)]
pub struct Derating {
    /// Largest departure from the mean, of the mean.
    pub unbalance: Known<Ratio>,
    /// Factor on the rating.
    pub factor: Known<Ratio>,
    /// Power that is left, in W.
    pub power: Known<Power>,
}

/// What a motor may give at its shaft.
///
/// # Errors
/// Not three voltages, none of them, no number, or more than 5 % of unbalance.
pub fn unbalance_derating(
    rated: &Known<Power>,
    lines: &[Known<LineVoltage>],
) -> Result<Derating, NotCovered> {
    sane(CLAUSE, rated)?;
    for line in lines {
        sane(CLAUSE, line)?;
    }
    let [a, b, c] = lines else {
        return Err(NotCovered::new(CLAUSE, say!("three line-to-line voltages are needed")));
    };
    let three = Known::factor("3", "voltages", 3.0, CLAUSE);
    let mean = formula!("U_mean", "mean voltage", [a, b, c, three] => (a + b + c) / three);
    if mean.value() <= LineVoltage::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("there is no voltage")));
    }
    let departures = [a, b, c].map(|line| {
        formula!("u", "departure from the mean", [line, mean] => (line - mean).abs() / mean, source = CLAUSE)
    });
    let found = Known::largest("u", "voltage unbalance", &departures);
    let found = found.ok_or_else(|| NotCovered::new(CLAUSE, say!("no voltages")))?;
    let factor = unbalance::unbalance_factor(&found)?;
    let what = "power that the motor may give";
    let power = formula!("P", what, [factor, rated] => factor * rated, source = CLAUSE);
    Ok(Derating { unbalance: found, factor, power })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, close, given, near};

    /// By hand: 400, 392, 408 V: mean 400 V, 2 %, 95 %.
    #[test]
    fn by_hand() {
        let rated = given(Power::of(10_000.0));
        let found = unbalance_derating(&rated, &all(&[400.0, 392.0, 408.0])).unwrap();
        close(&found.unbalance, 0.02, 1e-12);
        near(&found.power, 9500.0);
        near(&unbalance_derating(&rated, &all(&[400.0; 3])).unwrap().factor, 1.0);
        assert!(unbalance_derating(&rated, &all(&[400.0, 370.0, 400.0])).is_err());
        assert!(unbalance_derating(&rated, &all(&[400.0, 400.0])).is_err());
        assert!(unbalance_derating(&rated, &all(&[0.0; 3])).is_err());
        assert!(unbalance_derating(&given(Power::of(-1.0)), &all(&[400.0; 3])).is_err());
        assert!(unbalance_derating(&given(Power::of(f64::NAN)), &all(&[400.0; 3])).is_err());
    }
}
