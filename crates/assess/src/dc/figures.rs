//! What the catalogue states of a string and of the units' DC inputs.

use derivation::{Known, formula};
use quantity::{DcVoltage, Resistance};
use saying::{Text, say};

use super::Bank;
use super::record::{lowest_open_circuit, series, string_resistance};

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
    pub fn of(bank: &Bank<'_>) -> Result<Self, Vec<(Text, Text)>> {
        let model = bank.model;
        let series = series(model);
        let mut missing = Vec::new();
        let mut need = |what: &str, why: Text| {
            missing.push((say!("`{what}` of battery \"{model}\"", what, model = model.id), why))
        };
        let low = lowest_open_circuit(model);
        if low.is_none() {
            need("open_circuit", say!("the voltage at the least charge that may be used is not known"));
        }
        if model.highest.is_none() {
            need("highest", say!("no device and no input can be held against the voltage in charging"));
        }
        if model.spread.is_none() && bank.strings > 1 {
            need("spread", say!("how unevenly strings share is not known"));
        }
        let (Some(low), Some(highest), true) = (low, model.highest, missing.is_empty()) else {
            return Err(missing);
        };
        let n = &series;
        let V_h =
            Known::catalog("V_h", "highest voltage of a module in charging", highest, &model.id, "highest");
        let highest = formula!("V_max", "highest voltage of a string", [n, V_h] => n * V_h);
        let resistance = string_resistance(model);
        let d = model.spread.unwrap_or(DcVoltage::ZERO);
        let d_1 = Known::catalog("d_1", "by how much modules differ", d, &model.id, "spread");
        let spread = formula!("d", "by how much strings differ", [n, d_1] => n * d_1 / 2.0);
        Ok(Self { low, highest, resistance, spread })
    }
}
