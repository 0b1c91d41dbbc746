//! `[demand]`, `[dwelling]` and `[measured]`.

use quantity::{Apparent, Area, Power, VoltageSystem};
use reading::{Diagnostic, Placed, Section};

use super::label::{need_flag, need_name, quantities_in, series_file};
use crate::facts::Facts;
use crate::{DemandMethod, Dwelling, Measured};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Method {
    Itemised,
    DwellingStandard,
    DwellingOptional,
    Measured,
}

const METHODS: [(&str, Method); 4] = [
    ("itemised", Method::Itemised),
    ("dwelling standard", Method::DwellingStandard),
    ("dwelling optional", Method::DwellingOptional),
    ("measured", Method::Measured),
];

pub(super) fn demand(root: &Section<'_>, facts: &mut Facts) -> Option<DemandMethod> {
    let mut method = None;
    let mut said = false;
    root.section("demand", "how the demand that sizes service and feeders is found", |s| {
        method = s.choice(
            "method",
            "\"itemised\" from the loads (also when left out), by one of the two dwelling calculations, or \
             \"measured\"",
            &METHODS,
        );
        said = s.has("method");
        Some(())
    });
    let dwelling = root.section("dwelling", "facts for the dwelling calculations", dwelling);
    let measured = root.section("measured", "the measured demand", |s| measured(s, facts));
    if said && method.is_none() {
        return None;
    }
    us_method_on_us_service(root, method.as_ref(), facts);
    let chosen = method.as_ref().map_or(Method::Itemised, |method| method.value);
    let for_dwelling = matches!(chosen, Method::DwellingStandard | Method::DwellingOptional);
    table_fits(root, "dwelling", for_dwelling, method.as_ref());
    table_fits(root, "measured", chosen == Method::Measured, method.as_ref());
    if chosen != Method::Measured {
        for load in facts.in_measured.iter().filter(|flag| flag.value) {
            root.mistake(
                Diagnostic::new("contradiction", "the demand is not measured, so no load can be in it")
                    .at(&load.place, "said to be in the measured demand")
                    .help("write method = \"measured\" in [demand], or drop `in_measured`"),
            );
        }
    }
    match chosen {
        Method::Itemised => Some(DemandMethod::Itemised),
        Method::DwellingStandard => dwelling.map(DemandMethod::DwellingStandard),
        Method::DwellingOptional => dwelling.map(DemandMethod::DwellingOptional),
        Method::Measured => measured.map(DemandMethod::Measured),
    }
}

/// The dwelling calculations are the US code's and count in 120 V circuits (NEC 220 parts III and IV, 2023).
fn us_method_on_us_service(root: &Section<'_>, method: Option<&Placed<Method>>, facts: &Facts) {
    let (Some(method), Some(system)) = (method, &facts.system) else { return };
    let dwelling = matches!(method.value, Method::DwellingStandard | Method::DwellingOptional);
    if dwelling && matches!(system.value, VoltageSystem::Single230 | VoltageSystem::Wye230_400) {
        let message = format!("the US dwelling calculations do not go with {}", system.value);
        let diagnostic =
            Diagnostic::new("contradiction", message).at(&method.place, "a method of the US code");
        root.mistake(
            diagnostic.also(&system.place, "the service").help("write \"itemised\" or \"measured\""),
        );
    }
}

/// A table is there if the method uses it, and only then.
fn table_fits(root: &Section<'_>, table: &str, used: bool, method: Option<&Placed<Method>>) {
    if used && !root.has(table) {
        if let Some(method) = method {
            root.mistake(
                Diagnostic::new("missing-partner", format!("this method needs a table [{table}]"))
                    .at(&method.place, "the method")
                    .help(format!("add [{table}]; the starter file shows its keys")),
            );
        }
    } else if !used && root.has(table) {
        let help = format!("name the method in [demand], or drop [{table}]");
        root.mistake_at(table, "contradiction", format!("the demand method does not use [{table}]"), help);
    }
}

fn dwelling(s: &Section<'_>) -> Option<Dwelling> {
    let powers = Power::of(10.0)..=Power::of(200e3);
    let apparents = Apparent::of(10.0)..=Apparent::of(200e3);
    let area =
        s.need_quantity_in("area", "floor area by outside dimensions", Area::of(5.0)..=Area::of(10_000.0));
    let small = s.need_count("small_appliance_circuits", "small-appliance branch circuits", 0..=50);
    let laundry = s.need_count("laundry_circuits", "laundry branch circuits", 0..=20);
    let ranges = quantities_in(
        s,
        "ranges",
        "ratings of household ranges and cooking appliances over 1.75 kW, one entry each",
        powers.clone(),
    );
    let dryers = quantities_in(s, "dryers", "ratings of clothes dryers, one entry each", powers.clone());
    let appliances = quantities_in(
        s,
        "appliances",
        "fastened-in-place appliances by nameplate, one entry each",
        apparents.clone(),
    );
    let heating = s.quantity_in("heating", "electric space heating in all", powers);
    let heating_units = s.count("heating_units", "separately controlled space heaters", 1..=100);
    let cooling = s.quantity_in("cooling", "air conditioning", apparents.clone());
    let heat_pump = s.quantity_in("heat_pump", "heat-pump compressor", apparents.clone());
    let supplementary_with_compressor =
        s.flag("supplementary_with_compressor", "supplementary heat runs together with the compressor");
    let largest_motor = s.quantity_in("largest_motor", "largest other motor", apparents.clone());
    let vehicle_supply =
        quantities_in(s, "vehicle_supply", "electric-vehicle supply equipment, one entry each", apparents);
    Some(Dwelling {
        area: area?,
        small_appliance_circuits: small?,
        laundry_circuits: laundry?,
        ranges,
        dryers,
        appliances,
        heating,
        heating_units,
        cooling,
        heat_pump,
        supplementary_with_compressor,
        largest_motor,
        vehicle_supply,
        place: s.place()?,
    })
}

fn measured(s: &Section<'_>, facts: &mut Facts) -> Option<Measured> {
    let file = s
        .need_text("file", "CSV or XML file beside the site file with the interval data")
        .and_then(|file| series_file(s, file));
    let panel = need_name(s, "panel", "id of the panel whose demand was measured");
    let on_site_generation = need_flag(
        s,
        "on_site_generation",
        "on-site generation or peak shaving was running during the recording",
    );
    let power_factor = s.fraction(
        "power_factor",
        "power factor of the measured demand when only kW was recorded",
        0.05..=1.0,
    );
    let short_peak_factor = s.fraction(
        "short_peak_factor",
        "ratio of the highest demand of seconds to the highest interval mean",
        1.0..=10.0,
    );
    facts.panels.refer(panel.as_ref());
    Some(Measured {
        file: file?,
        panel: panel?,
        on_site_generation: on_site_generation?,
        power_factor,
        short_peak_factor,
        place: s.place()?,
    })
}
