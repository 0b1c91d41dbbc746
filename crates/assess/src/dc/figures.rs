//! What the catalogue states of a string and of the units' DC inputs.

use derivation::{Known, formula};
use quantity::{DcVoltage, Quantity, Ratio, Resistance};

use super::Bank;

/// Figures without which nothing can be said.
#[derive(Debug, Clone)]
pub(crate) struct Figures {
    /// Open-circuit voltage of a string at the least charge that may be used.
    pub low: Known<DcVoltage>,
    /// Highest voltage of a string in charging.
    pub highest: Known<DcVoltage>,
    /// Resistance of a string.
    pub resistance: Known<Resistance>,
    /// By how much strings differ.
    pub spread: Known<DcVoltage>,
}

impl Figures {
    /// The figures, or what is missing and what for.
    pub fn of(bank: &Bank<'_>) -> Result<Self, Vec<(String, String)>> {
        let model = bank.model;
        let series = series(bank);
        let mut missing = Vec::new();
        let mut need = |what: &str, why: &str| {
            missing.push((format!("`{what}` of battery \"{}\"", model.id), why.to_owned()))
        };
        let least = 1.0 - model.usable.si();
        let low = model.open_circuit.iter().rev().find(|(charge, _)| charge.si() <= least + 1e-9);
        if low.is_none() {
            need("open_circuit", "the voltage at the least charge that may be used is not known");
        }
        if model.highest.is_none() {
            need("highest", "no device and no input can be held against the voltage in charging");
        }
        if model.spread.is_none() && bank.strings > 1 {
            need("spread", "how unevenly strings share is not known");
        }
        let (Some((at, volts)), Some(highest), true) = (low, model.highest, missing.is_empty()) else {
            return Err(missing);
        };
        let (n, V_1) = (&series, module_voltage(bank, *volts, &format!("open_circuit at {at}")));
        let what = "open-circuit voltage of a string at the least charge that may be used";
        let low = formula!("V_oc", what, [n, V_1] => n * V_1);
        let V_h =
            Known::catalog("V_h", "highest voltage of a module in charging", highest, &model.id, "highest");
        let highest = formula!("V_max", "highest voltage of a string", [n, V_h] => n * V_h);
        let R_1 = Known::catalog(
            "R_1",
            "internal resistance of a module",
            model.resistance,
            &model.id,
            "resistance",
        );
        let resistance = formula!("R_s", "resistance of a string", [n, R_1] => n * R_1);
        let d = model.spread.unwrap_or(DcVoltage::ZERO);
        let d_1 = Known::catalog("d_1", "by how much modules differ", d, &model.id, "spread");
        let spread = formula!("d", "by how much strings differ", [n, d_1] => n * d_1 / 2.0);
        Ok(Self { low, highest, resistance, spread })
    }
}

/// Modules or cells of a string.
pub(super) fn series(bank: &Bank<'_>) -> Known<Ratio> {
    let n = Ratio::of(f64::from(bank.model.series));
    Known::catalog("n_s", "modules in series", n, &bank.model.id, "series")
}

fn module_voltage(bank: &Bank<'_>, volts: DcVoltage, field: &str) -> Known<DcVoltage> {
    Known::catalog("V_1", "open-circuit voltage of a module", volts, &bank.model.id, field)
}
