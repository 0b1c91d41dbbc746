//! Devices and busbar: current, voltage, what they break or withstand; the voltage range of the units.

use catalog::DcDevice;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{DcCurrent, DcVoltage, Duration, Ratio};
use saying::{Text, say};

use super::figures::Figures;
use super::side::Side;
use super::{Bank, draw, runs, strings, unstated};
use crate::{Case, Ledger};

/// What the devices of a bank have to break and to be rated for.
#[derive(Debug, Clone)]
pub struct Breaking {
    /// Highest voltage of the bank.
    pub voltage: Known<DcVoltage>,
    /// Fault current through the device of one string.
    pub string: Known<DcCurrent>,
    /// Fault current at the bus, through the device of one unit.
    pub bus: Known<DcCurrent>,
    /// Least rating of the device of a string.
    pub string_rating: Known<DcCurrent>,
    /// Least rating of the device of a unit.
    pub unit_rating: Known<DcCurrent>,
    /// Current of all units together.
    pub bus_current: Known<DcCurrent>,
    /// Currents that the device of a string carries for a time, also with one string off.
    pub of_string: Vec<ForATime>,
    /// Currents that the device of a unit carries for a time.
    pub of_unit: Vec<ForATime>,
}

/// A current and the longest that it may flow; none = for any time.
#[derive(Debug, Clone)]
pub struct ForATime {
    /// The current.
    pub current: Known<DcCurrent>,
    /// How long.
    pub lasts: Option<Duration>,
}

impl ForATime {
    /// Whether a device carries it for as long.
    pub fn within(&self, device: &DcDevice) -> bool {
        self.current.value() <= strings::carries(device, self.lasts).value()
    }
}

/// Largest current of a unit under every draw.
fn of_units(side: &Side<'_>) -> Vec<(String, ForATime)> {
    let of = |draw: &draw::Draw| {
        let outcome = side.bus(draw).solve().ok()?;
        let state = outcome.settled()?; // said of the voltage
        let all: Vec<Known<DcCurrent>> = state.units.iter().map(|u| u.current.clone()).collect();
        let current = Known::largest("I_u", "largest current of a unit", &all)?;
        Some((draw.state.clone(), ForATime { current, lasts: draw.lasts }))
    };
    side.draws.iter().filter_map(of).collect()
}

/// Largest current of a string under every draw, also with one off; where there is none, that is said of the string.
fn of_strings(bank: &Bank<'_>, side: &Side<'_>) -> Vec<ForATime> {
    let of = |draw: &draw::Draw| {
        let bus = side.bus(draw);
        let off = if bank.strings > 1 { side.survivors(&bus).ok().flatten() } else { None };
        let all: Vec<Known<DcCurrent>> = side.worst_string(&bus).ok().into_iter().chain(off).collect();
        let current = Known::largest("I_s", "largest current of a string", &all)?;
        Some(ForATime { current, lasts: draw.lasts })
    };
    side.draws.iter().filter_map(of).collect()
}

/// What the devices of a bank have to break and to be rated for.
///
/// # Errors
/// What the catalogue does not state, with what for; or a rule of the book that does not cover the case.
pub fn breaking(case: &Case<'_>, bank: &Bank<'_>) -> Result<Breaking, Vec<(Text, Text)>> {
    let figures = Figures::of(bank)?;
    let side = Side::new(case, bank, &figures);
    of(case, bank, &side)
}

fn of(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>) -> Result<Breaking, Vec<(Text, Text)>> {
    let model = bank.model;
    let Some(fault) = model.short_circuit else {
        let what = say!("`short_circuit` of battery \"{model}\"", model = model.id);
        return Err(vec![(what, say!("what devices have to break is not known"))]);
    };
    let I_1 = Known::catalog("I_k1", "short-circuit current of a module", fault, &model.id, "short_circuit");
    let count = |n: u32, what: &str| Known::chosen("n", what, Ratio::of(f64::from(n)), "counted", Vec::new());
    let all = count(bank.strings, "strings");
    // a fault takes what charges as well: the units at the highest that they can be set to, and all charge controllers
    let I_c = Known::catalog(
        "I_c",
        "highest charging current of a unit",
        case.unit.charging.current,
        &case.unit.id,
        "charging current",
    );
    let n = draw::units(case);
    let units = formula!("I_cu", "charging current of all units", [I_c, n] => I_c * n);
    let chargers: Vec<Known<DcCurrent>> = [units].into_iter().chain(bank.solar.clone()).collect();
    let chargers = Known::sum("I_ch", "charging current of all units and charge controllers", &chargers);
    let bus = formula!("I_k", "fault current at the bus", [I_1, all, chargers] => I_1 * all + chargers,
        source = "every string feeds a fault at the bus, and whatever charges");
    let others = count(bank.strings.saturating_sub(1), "strings that feed it");
    let others = formula!("I_ko", "fault current from the bus into one string", [I_1, others, chargers] => I_1 * others + chargers,
        source = "all others feed a fault on the string's side of its device, and whatever charges");
    let of_string = "fault current through the device of a string, its own or from the bus";
    let string = Known::largest("I_ks", of_string, &[I_1.clone(), others]).unwrap_or(I_1);
    let sizes =
        runs::sizes(case, bank, side).map_err(|why| vec![(say!("a current in its range"), why.into())])?;
    Ok(Breaking {
        voltage: figures_voltage(side),
        string,
        bus,
        string_rating: sizes.string_rating,
        unit_rating: sizes.unit_rating,
        bus_current: match &bank.solar {
            // in charging the bar may carry both, wherever the controllers land
            Some(I_A) => {
                Known::sum("I_bus", "current of all units and charge controllers", &[sizes.bus, I_A.clone()])
            }
            None => sizes.bus,
        },
        of_string: of_strings(bank, side),
        of_unit: of_units(side).into_iter().map(|(_, of)| of).collect(),
    })
}

fn figures_voltage(side: &Side<'_>) -> Known<DcVoltage> {
    side.figures.highest.clone()
}

/// The bank's voltage against what the units' inputs bear.
pub(super) fn voltage(case: &Case<'_>, bank: &Bank<'_>, figures: &Figures, ledger: &mut Ledger) {
    let unit = case.unit;
    let over = |message: Text| {
        Finding::new("bank-voltage-range", Severity::Error, "battery", message)
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("a battery whose voltage fits the units"))
    };
    let most = Known::catalog(
        "V_u",
        "highest working voltage of the units",
        unit.dc.highest,
        &unit.id,
        "dc highest",
    );
    let margin =
        Margin::below("unit.dc", say!("voltage of a full bank"), "charging", &figures.highest, &most);
    ledger.hold(margin, |m| {
        over(say!(
            "charging, the bank reaches {value}; the units bear {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        ))
    });
    let least =
        Known::catalog("V_u", "lowest working voltage of the units", unit.dc.lowest, &unit.id, "dc lowest");
    let margin =
        Margin::above("unit.dc", say!("voltage of an empty bank at rest"), "outage", &figures.low, &least);
    ledger.hold(margin, |m| {
        over(say!(
            "almost empty, the bank has {value}; the units work from {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        ))
    });
}

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    let breaking = match of(case, bank, side) {
        Ok(breaking) => breaking,
        Err(missing) => {
            for (what, why) in missing {
                ledger.find(unstated(bank, &what, &why));
            }
            return;
        }
    };
    let parts = [
        ("battery.string.device", "a string", bank.string_device, &breaking.string, &breaking.string_rating),
        ("unit.dc", "a unit", bank.unit_device, &breaking.bus, &breaking.unit_rating),
    ];
    for (part, of, device, fault, rating) in parts {
        match device {
            Some(device) => one(bank, (part, of), device, (&breaking.voltage, fault, rating), ledger),
            None => ledger.find(missing(
                bank,
                part,
                say!(
                    "no device of {of} in the catalogue is rated for {rating}, {voltage} and breaks {fault}{x}",
                    of,
                    rating = rating.value(),
                    voltage = breaking.voltage.value(),
                    fault = fault.value(),
                    x = if part == "unit.dc" { ", and can be locked open" } else { "" }
                ),
            )),
        }
    }
    unit_peaks(bank, side, ledger);
    busbar(bank, &breaking, ledger);
}

fn missing(bank: &Bank<'_>, part: &str, message: Text) -> Finding {
    Finding::new("dc-gear-missing", Severity::NotCovered, part, message)
        .at(Some(&bank.place), say!("this battery"))
        .fix(say!("add one to a catalogue of your own"))
}

fn one(
    bank: &Bank<'_>,
    (part, of): (&str, &str),
    device: &DcDevice,
    (voltage, fault, rating): (&Known<DcVoltage>, &Known<DcCurrent>, &Known<DcCurrent>),
    ledger: &mut Ledger,
) {
    let found = |id: &'static str, message: Text, fix: Text| {
        Finding::new(id, Severity::Error, part, message).at(Some(&bank.place), say!("this battery")).fix(fix)
    };
    if !device.protects() {
        ledger.find(found(
            "dc-gear-missing",
            say!("{device} is a switch: it does not open on a fault current of {of}", device = device.id, of),
            say!("a breaker, or a fuse in a switch"),
        ));
    }
    let I_n = Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating");
    let margin = Margin::below(part, say!("least rating of the device"), "any", rating, &I_n);
    ledger.hold(margin, |m| {
        found(
            "dc-device-small",
            say!(
                "the device of {of} is rated {limit}; the circuit asks for {value}",
                of,
                limit = m.limit.amount.text,
                value = m.value.amount.text
            ),
            say!("a device of at least {value}", value = m.value.amount.text),
        )
    });
    let V_n = Known::catalog("V_n", "highest voltage that it breaks", device.voltage, &device.id, "voltage");
    let margin = Margin::below(part, say!("voltage to be broken"), "charging", voltage, &V_n);
    ledger.hold(margin, |m| {
        found(
            "dc-device-voltage",
            say!(
                "the device of {of} breaks {limit}; the bank reaches {value}",
                of,
                limit = m.limit.amount.text,
                value = m.value.amount.text
            ),
            say!("a device for at least {value} direct", value = m.value.amount.text),
        )
    });
    let I_cn = Known::catalog(
        "I_cn",
        "highest current that it breaks",
        device.interrupting,
        &device.id,
        "interrupting",
    );
    let margin = Margin::below(part, say!("fault current"), "bolted fault", fault, &I_cn);
    ledger.hold(margin, |m| {
        found(
            "dc-device-breaks-less",
            say!(
                "bank and chargers give {value} into a fault; the device of {of} breaks {limit}",
                value = m.value.amount.text,
                of,
                limit = m.limit.amount.text
            ),
            say!(
                "a device that breaks at least {value}, such as a fuse with a high breaking capacity",
                value = m.value.amount.text
            ),
        )
    });
}

/// Currents of a unit for a time against its device.
fn unit_peaks(bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    let Some(device) = bank.unit_device else { return };
    for (state, ForATime { current, lasts }) in of_units(side) {
        let limit = strings::carries(device, lasts);
        let margin = Margin::below("unit.dc", say!("current of a unit"), state, &current, &limit);
        ledger.hold(margin, |m| {
            Finding::new(
                "dc-device-opens",
                Severity::Error,
                "unit.dc",
                say!(
                    "{value} of a unit opens its device, which carries {limit} for as long",
                    value = m.value.amount.text,
                    limit = m.limit.amount.text
                ),
            )
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("a device of at least {value}", value = m.value.amount.text))
        });
    }
}

fn busbar(bank: &Bank<'_>, breaking: &Breaking, ledger: &mut Ledger) {
    let Some(bar) = bank.busbar else {
        return ledger.find(missing(
            bank,
            "dc.bus",
            say!(
                "no busbar in the catalogue carries {bus_current}, withstands {bus} and has the landings",
                bus_current = breaking.bus_current.value(),
                bus = breaking.bus.value()
            ),
        ));
    };
    let over = |message: Text| {
        Finding::new("dc-bus-over", Severity::Error, "dc.bus", message)
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("a larger busbar"))
    };
    let I_n = Known::catalog("I_n", "rating of the busbar", bar.rating, &bar.id, "rating");
    let margin = Margin::below(
        "dc.bus",
        say!("current of all units"),
        "outage, units at their rating",
        &breaking.bus_current,
        &I_n,
    );
    ledger.hold(margin, |m| {
        over(say!(
            "the units draw {value} together; the busbar carries {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        ))
    });
    let I_cw = Known::catalog(
        "I_cw",
        "short-circuit current that it withstands",
        bar.withstand,
        &bar.id,
        "withstand",
    );
    let margin = Margin::below("dc.bus", say!("fault current"), "bolted fault", &breaking.bus, &I_cw);
    ledger.hold(margin, |m| {
        over(say!(
            "bank and chargers give {value} into a fault; the busbar withstands {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        ))
    });
}
