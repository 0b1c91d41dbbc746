//! Settings of grid protection: the standard's defaults by category (US), or the ranges within which the network operator
//! chooses (elsewhere). The utility's own values prevail.

use assess::Case;
use derivation::{Known, formula};
use plant::Layout;
use quantity::{Frequency, PhaseVoltage, Ratio};
use site::Earthing;
use tables::TableError;
use tables::us::grid::{Threshold, enter_frequency, enter_time, enter_voltage, trips};

use super::settings::setting;
use crate::Setting;

const GROUP: &str = "grid protection";
const UTILITY: &str = "the utility names the category, or values of its own; they prevail";

pub(super) fn settings(case: &Case<'_>) -> Vec<Setting> {
    if case.layout == Layout::Islanded {
        return Vec::new();
    }
    let mut all = Vec::new();
    if let Some(words) = &case.site.utility.interface_protection {
        let why = "the utility's words, from the site file";
        all.push(
            setting("every unit", GROUP, "asked by the utility", words.value.clone(), why).confirm(UTILITY),
        );
    }
    let found = if case.site.service.earthing.value == Earthing::Us { us(case) } else { elsewhere() };
    match found {
        Ok(found) => all.extend(found),
        Err(error) => all.push(
            setting("every unit", GROUP, "all", "ask the utility", format!("no table of defaults: {error}"))
                .confirm(UTILITY),
        ),
    }
    all
}

fn us(case: &Case<'_>) -> Result<Vec<Setting>, TableError> {
    let mut all = Vec::new();
    let U = case.voltage();
    for category in ["I", "II", "III"] {
        for trip in trips(category)? {
            let side = if trip.over { "above" } else { "below" };
            match &trip.threshold {
                Threshold::Voltage(u) => {
                    let volts: Known<PhaseVoltage> = formula!("U_trip", format!("{} to neutral", trip.name), [u, U] => U * u, source = "IEEE 1547-2018");
                    let value = format!("{side} {} V within {}", tenth(&volts), trip.clearing.value());
                    let name = format!("{}, category {category}", trip.name);
                    let why = "default of IEEE 1547-2018 for this abnormal operating category";
                    all.push(
                        setting("every unit", GROUP, name, value, why)
                            .resting_on(volts.node())
                            .confirm(UTILITY),
                    );
                }
                // frequency is the same in all categories
                Threshold::Frequency(f) if category == "III" => {
                    let value = format!("{side} {} Hz within {}", plain(f), trip.clearing.value());
                    let name = format!("{}, every category", trip.name);
                    let why = "default of IEEE 1547-2018";
                    all.push(
                        setting("every unit", GROUP, name, value, why).resting_on(f.node()).confirm(UTILITY),
                    );
                }
                Threshold::Frequency(_) => {}
            }
        }
    }
    let (low, high) = (enter_voltage("voltage-low")?, enter_voltage("voltage-high")?);
    let volts = |u: &Known<Ratio>| -> Known<PhaseVoltage> {
        formula!("U", "bound for entering service, to neutral", [u, U] => U * u, source = "IEEE 1547-2018 4.10")
    };
    let (from, to) = (volts(&low), volts(&high));
    let why = "default of IEEE 1547-2018 for entering service";
    let entry = |name: &'static str, value: String, node| {
        setting("every unit", GROUP, name, value, why).resting_on(node).confirm(UTILITY)
    };
    all.push(entry(
        "entering service: voltage",
        format!("{} V to {} V", tenth(&from), tenth(&to)),
        from.node(),
    ));
    let (from, to) = (enter_frequency("frequency-low")?, enter_frequency("frequency-high")?);
    all.push(entry(
        "entering service: frequency",
        format!("{} to {} Hz", plain(&from), plain(&to)),
        from.node(),
    ));
    let delay = enter_time("delay")?;
    all.push(entry("entering service: delay", format!("at least {}", delay.value()), delay.node()));
    let ramp = enter_time("ramp")?;
    all.push(entry("entering service: rise of output", format!("over {}", ramp.value()), ramp.node()));
    Ok(all)
}

/// To a tenth of a volt: rounded to whole volts a trip would be another one.
fn tenth(u: &Known<PhaseVoltage>) -> String {
    format!("{:.1}", quantity::Quantity::si(u.value()))
}

/// With every digit: a tenth of a hertz decides.
fn plain(f: &Known<Frequency>) -> String {
    format!("{}", quantity::Quantity::si(f.value()))
}

fn elsewhere() -> Result<Vec<Setting>, TableError> {
    let all = tables::iec::grid::functions()?.into_iter().map(|f| {
        let unit = if f.unit == "pu" { "of nominal voltage" } else { f.unit };
        let value = format!(
            "set point of the network operator, within {} to {} {unit} and {} s to {} s",
            f.threshold.0, f.threshold.1, f.time_s.0, f.time_s.1
        );
        let why = format!("range in which it must be settable: {} (from memory)", f.source);
        setting("every unit", GROUP, f.name, value, why).confirm(
            "set points are the network operator's; the country's rules may ask for a relay of its own",
        )
    });
    Ok(all.collect())
}
