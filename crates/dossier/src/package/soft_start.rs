//! What an order needs for the pre-charge where the units leave it to the installation: the resistor and its switch. No
//! record of the catalogue is one, so the list says what they must be.

use assess::{SoftStart, breaking, soft_start};
use catalog::Precharge;
use design::Design;
use quantity::{DcVoltage, Quantity};

use crate::units::spelled;

/// Lines of the list of parts: how many, and what. Empty where the units pre-charge by themselves.
pub(super) fn parts(design: &Design<'_>) -> Vec<(usize, String)> {
    let case = &design.case;
    let Some(bank) = &case.bank else { return Vec::new() };
    if case.unit.dc.precharge != Some(Precharge::External) {
        return Vec::new();
    }
    let each = case.formation.units() as usize;
    let Some(gear) = &case.site.battery.precharge else {
        let open = "pre-charge resistor with its switch: not stated by the site, see the findings";
        return vec![(each, open.to_owned())];
    };
    let time = match soft_start(case) {
        Some(SoftStart::Resistor(r)) => Some(r.time.value()),
        _ => gear.time.as_ref().map(|time| time.value),
    };
    let time = time.map_or("a time that is open".to_owned(), |time| time.to_string());
    let highest = breaking(case, bank).ok().map(|needs| needs.voltage.value());
    let volts = highest.map_or("the highest voltage of the bank".to_owned(), whole_volts);
    let resistor = format!(
        "pre-charge resistor {} within {} for the device of a unit: takes {} in one pulse, at {volts}",
        gear.resistor.value, gear.tolerance.value, gear.pulse.value
    );
    let switch = format!(
        "pre-charge switch with its cable for the device of a unit: makes {} at {volts} and carries it for {time}",
        direct(&gear.current.value.to_string())
    );
    [resistor, switch].map(|words| (each, spelled(&words))).to_vec()
}

/// Up to the next whole volt: what is bought has to bear it.
fn whole_volts(highest: DcVoltage) -> String {
    direct(&format!("{:.0} V", (highest.si() - 1e-9).ceil()))
}

/// Said to be direct.
fn direct(amount: &str) -> String {
    format!("{amount} DC")
}
