//! Settings of grid protection: the standard's defaults by category (US), or the ranges within which the network operator
//! chooses (elsewhere). The utility's own values prevail.

use assess::Case;
use derivation::Known;
use design::{GridEntry, TripAt, grid_entry, grid_trips};
use plant::Layout;
use quantity::{Frequency, PhaseVoltage};
use saying::say;
use site::Earthing;
use tables::TableError;

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
    let mut all = vec![
        setting(
            "every unit",
            GROUP,
            say!("abnormal operating category"),
            say!("one of I, II, III: ____, as the utility names it"),
            say!("only the lines of that category are entered; until it is named the service disconnect stays open"),
        )
        .confirm(UTILITY),
    ];
    for trip in grid_trips(case)? {
        let side = if trip.over { "above" } else { "below" };
        let within = trip.clearing.value();
        let (value, which, why, node) = match &trip.at {
            TripAt::Voltage(volts, category) => (
                format!("{side} {} V within {within}", tenth(volts)),
                format!("category {category}"),
                "only where the utility names this category: default of IEEE 1547-2018 for it",
                volts.node(),
            ),
            TripAt::Frequency(f) => (
                format!("{side} {} Hz within {within}", plain(f)),
                "every category".to_owned(),
                "default of IEEE 1547-2018",
                f.node(),
            ),
        };
        let name = format!("{}, {which}", trip.name);
        all.push(setting("every unit", GROUP, name, value, why).resting_on(node).confirm(UTILITY));
    }
    let GridEntry { voltage, frequency, delay, ramp } = grid_entry(case)?;
    let why = "default of IEEE 1547-2018 for entering service";
    let entry = |name: &'static str, value: String, node| {
        setting("every unit", GROUP, name, value, why).resting_on(node).confirm(UTILITY)
    };
    let (from, to) = &voltage;
    all.push(entry(
        "entering service: voltage",
        format!("{} V to {} V", tenth(from), tenth(to)),
        from.node(),
    ));
    let (from, to) = &frequency;
    all.push(entry(
        "entering service: frequency",
        format!("{} to {} Hz", plain(from), plain(to)),
        from.node(),
    ));
    all.push(entry("entering service: delay", format!("at least {}", delay.value()), delay.node()));
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
            "set point of the network operator: ____, within {} to {} {unit} and {} s to {} s",
            f.threshold.0, f.threshold.1, f.time_s.0, f.time_s.1
        );
        let why = format!("range in which it must be settable: {} (from memory)", f.source);
        setting("every unit", GROUP, f.name, value, why).confirm(
            "set points are the network operator's; the country's rules may ask for a relay of its own",
        )
    });
    Ok(all.collect())
}
