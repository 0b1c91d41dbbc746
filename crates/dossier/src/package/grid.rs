//! Settings of grid protection: the standard's defaults by category (US), or the ranges within which the network operator
//! chooses (elsewhere). The utility's own values prevail.

use assess::Case;
use derivation::Known;
use design::{GridEntry, TripAt, grid_entry, grid_trips};
use plant::Layout;
use quantity::{Frequency, PhaseVoltage};
use saying::{Text, say};
use site::Earthing;
use tables::TableError;

use super::settings::setting;
use crate::Setting;

const GROUP: &str = "grid protection";
const UTILITY: Text = Text::plain("the utility names the category, or values of its own; they prevail");

pub(super) fn settings(case: &Case<'_>) -> Vec<Setting> {
    if case.layout == Layout::Islanded {
        return Vec::new();
    }
    let mut all = Vec::new();
    if let Some(words) = &case.site.utility.interface_protection {
        let why = say!("the utility's words, from the site file");
        all.push(
            setting(say!("every unit"), GROUP, say!("asked by the utility"), words.value.clone(), why)
                .confirm(UTILITY),
        );
    }
    let found = if case.site.service.earthing.value == Earthing::Us { us(case) } else { elsewhere() };
    match found {
        Ok(found) => all.extend(found),
        Err(error) => all.push(
            setting(
                say!("every unit"),
                GROUP,
                say!("all"),
                say!("ask the utility"),
                say!("no table of defaults: {error}", error),
            )
            .confirm(UTILITY),
        ),
    }
    all
}

fn us(case: &Case<'_>) -> Result<Vec<Setting>, TableError> {
    let mut all = Vec::new();
    for trip in grid_trips(case)? {
        let side = if trip.over { say!("above") } else { say!("below") };
        let within = trip.clearing.value();
        let (value, which, why, node) = match &trip.at {
            TripAt::Voltage(volts, category) => (
                say!("{side} {tenth} V within {within}", side, tenth = tenth(volts), within),
                say!("category {category}", category),
                say!("default of IEEE 1547-2018 for this abnormal operating category"),
                volts.node(),
            ),
            TripAt::Frequency(f) => (
                say!("{side} {plain} Hz within {within}", side, plain = plain(f), within),
                say!("every category"),
                say!("default of IEEE 1547-2018"),
                f.node(),
            ),
        };
        let name = say!("{trip}, {which}", trip = trip.name, which);
        all.push(setting(say!("every unit"), GROUP, name, value, why).resting_on(node).confirm(UTILITY));
    }
    let GridEntry { voltage, frequency, delay, ramp } = grid_entry(case)?;
    let why = say!("default of IEEE 1547-2018 for entering service");
    let entry = |name: Text, value: Text, node| {
        setting(say!("every unit"), GROUP, name, value, &why).resting_on(node).confirm(UTILITY)
    };
    let (from, to) = &voltage;
    all.push(entry(
        say!("entering service: voltage"),
        say!("{from} V to {to} V", from = tenth(from), to = tenth(to)),
        from.node(),
    ));
    let (from, to) = &frequency;
    all.push(entry(
        say!("entering service: frequency"),
        say!("{from} to {to} Hz", from = plain(from), to = plain(to)),
        from.node(),
    ));
    all.push(entry(
        say!("entering service: delay"),
        say!("at least {delay}", delay = delay.value()),
        delay.node(),
    ));
    all.push(entry(
        say!("entering service: rise of output"),
        say!("over {ramp}", ramp = ramp.value()),
        ramp.node(),
    ));
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
        let unit = if f.unit == "pu" { say!("of nominal voltage") } else { f.unit.into() };
        let value = say!(
            "set point of the network operator, within {low} to {high} {unit} and {shortest} s to {longest} s",
            low = f.threshold.0,
            high = f.threshold.1,
            unit,
            shortest = f.time_s.0,
            longest = f.time_s.1
        );
        let why = say!("range in which it must be settable: {source} (from memory)", source = f.source);
        setting(say!("every unit"), GROUP, f.name, value, why).confirm(
            say!("set points are the network operator's; the country's rules may ask for a relay of its own"),
        )
    });
    Ok(all.collect())
}
