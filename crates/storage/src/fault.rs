//! Fault current of equal strings of cells at their common terminals and at the end of a cable: Ohm's law over cells, connectors and
//! cable, in the manner of IEEE 946. No inductance, no arc, no contribution of chargers.

use derivation::{Known, Refused, formula};
use quantity::{DcCurrent, DcVoltage, Ratio, Resistance};

const SOURCE: &str = "open-circuit voltage over resistance, as in IEEE 946";

/// A string of cells.
#[derive(Debug, Clone)]
pub struct Cells {
    /// How many in series.
    pub cells: Known<Ratio>,
    /// Open-circuit voltage of one.
    pub emf: Known<DcVoltage>,
    /// Internal resistance of one.
    pub internal: Known<Resistance>,
    /// How many connectors between them.
    pub connectors: Known<Ratio>,
    /// Resistance of one.
    pub connector: Known<Resistance>,
    /// Equal strings in parallel, joined without resistance: the most that they can give.
    pub strings: Known<Ratio>,
}

/// Fault currents.
#[derive(Debug, Clone)]
pub struct BankFault {
    /// Open-circuit voltage of the string.
    pub emf: Known<DcVoltage>,
    /// Resistance of cells and connectors.
    pub bank: Known<Resistance>,
    /// The same with the cable.
    pub total: Known<Resistance>,
    /// At the terminals.
    pub at_terminals: Known<DcCurrent>,
    /// At the end of the cable.
    pub at_end: Known<DcCurrent>,
}

/// Fault currents of a string with a cable of a resistance, both ways.
///
/// # Errors
/// A value is negative, or the string has no resistance.
pub fn bank_fault(cells: &Cells, cable: &Known<Resistance>) -> Result<BankFault, Refused> {
    let Cells { cells: n, emf: one, internal, connectors, connector, strings } = cells;
    strings.whole()?;
    n.whole()?;
    one.above_zero()?;
    internal.above_zero()?;
    connectors.not_negative()?;
    connector.not_negative()?;
    cable.not_negative()?;
    let emf = formula!("E", "open-circuit voltage", [n, one] => n * one);
    let bank = formula!("R_bank", "resistance of cells and connectors", [n, internal, connectors, connector, strings]
        => (n * internal + connectors * connector) / strings);
    let total = formula!("R", "resistance with the cable", [bank, cable] => bank + cable);
    let at_terminals =
        formula!("I_t", "fault current at the terminals", [emf, bank] => emf / bank, source = SOURCE);
    let at_end = formula!("I_e", "fault current at the end of the cable", [emf, total] => emf / total, source = SOURCE);
    Ok(BankFault { emf, bank, total, at_terminals, at_end })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// BAT-08: 49.44 V over 7.41 mohm, and over 11.058 mohm with the cable.
    #[test]
    fn a_cable_takes_a_third_of_it() {
        let ohm = |x| given(Resistance::of(x));
        let cells = Cells {
            cells: given(Ratio::of(24.0)),
            emf: given(DcVoltage::of(2.06)),
            internal: ohm(0.000_28),
            connectors: given(Ratio::of(23.0)),
            connector: ohm(3e-5),
            strings: given(Ratio::of(1.0)),
        };
        let found = bank_fault(&cells, &ohm(0.003_648)).unwrap();
        near(&found.total, 0.011_058);
        near(&found.at_terminals, 49.44 / 0.007_41);
        near(&found.at_end, 49.44 / 0.011_058);
        let three = Cells { strings: given(Ratio::of(3.0)), ..cells.clone() };
        near(&bank_fault(&three, &ohm(0.003_648)).unwrap().at_end, 49.44 / (0.002_47 + 0.003_648));
        assert!(bank_fault(&Cells { internal: ohm(0.0), ..cells }, &ohm(0.003)).is_err());
    }
}
