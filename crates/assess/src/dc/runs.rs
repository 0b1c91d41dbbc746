//! The direct-current cables as runs that the rules choose, with the currents that the site's book asks for.

use catalog::DcDeviceKind;
use codebook::us::storage_current::{BatteryUnit, StorageCurrent, storage_current};
use codebook::us::storage_overcurrent;
use derivation::{Known, formula};
use plant::full::assumed_length;
use quantity::{Current, DcCurrent, Leg, Length, Quantity, Ratio, Resistance, heating};
use site::Earthing;

use super::side::{Side, both};
use super::{Bank, nominal_voltage, ripple, strings};
use crate::Case;
use crate::runs::{Direct, For, Run, ambient, fixed};

const STRING: &str = "battery.string.conductor";
/// The cables between bus and units.
pub(super) const UNIT: &str = "unit.dc.conductor";
/// Volts along a metre of cable at its rated current, until it is chosen: as for the runs of the AC side.
const VOLTS_A_METRE: f64 = 0.08;

/// What circuits carry and what they ask of devices and cables.
pub(super) struct Sizes {
    pub string: Known<DcCurrent>,
    pub string_rating: Known<DcCurrent>,
    pub string_conductor: Known<DcCurrent>,
    pub unit_rating: Known<DcCurrent>,
    pub unit_conductor: Known<DcCurrent>,
    pub bus: Known<DcCurrent>,
}

/// Current of a unit at its rated power and its lowest voltage, or while charging, and of all of them.
///
/// # Errors
/// A figure of the unit that the rule refuses.
fn unit_current(case: &Case<'_>) -> Result<StorageCurrent, String> {
    let unit = case.unit;
    let eta = unit.efficiency.last().map_or(Ratio::ZERO, |(_, eta)| *eta);
    let of = BatteryUnit {
        rated: Known::catalog("P_r", "rated power of a unit", unit.power, &unit.id, "rating power"),
        lowest: Known::catalog("V_low", "lowest working voltage", unit.dc.lowest, &unit.id, "dc lowest"),
        efficiency: Known::catalog(
            "eta",
            "efficiency at the highest load listed",
            eta,
            &unit.id,
            "efficiency",
        ),
        nameplate: Some(Known::catalog(
            "I_c",
            "highest charging current",
            unit.charging.current,
            &unit.id,
            "charging current",
        )),
    };
    let n = Known::chosen(
        "n",
        "units",
        Ratio::of(f64::from(case.formation.units().max(1))),
        "formation",
        Vec::new(),
    );
    storage_current(&of, &n, None).map_err(|why| why.to_string())
}

pub(super) fn sizes(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>) -> Result<Sizes, String> {
    let unit = unit_current(case)?;
    let ripple = match ripple::of_string(case, bank, side, ripple::Strings::All) {
        Some(Ok(I)) => Some(ripple::as_direct(&I)),
        Some(Err(why)) => return Err(why),
        None => None,
    };
    let model = bank.model;
    let mut all = vec![
        Known::catalog(
            "I_d",
            "continuous discharge current of a module",
            model.discharge,
            &model.id,
            "discharge",
        ),
        Known::catalog("I_ch", "continuous charge current of a module", model.charge, &model.id, "charge"),
    ];
    all.extend(strings::lasting_heat(side, ripple.as_ref()));
    let string =
        Known::largest("I_s", "current of a string circuit", &all).ok_or("a string has no current")?;
    let us = case.site.service.earthing.value == Earthing::Us;
    let rating = |I: &Known<DcCurrent>| -> Result<Known<DcCurrent>, String> {
        if us {
            storage_overcurrent::device(I).map(|d| d.least).map_err(|why| why.to_string())
        } else {
            Ok(I.clone())
        }
    };
    let code = || {
        let (factor, clause) =
            if us { (1.25, "NEC 2023 215.2(A)(1)") } else { (1.0, "IEC 60364-4-43 433.1") };
        Known::factor("f", "a continuous current counts so", factor, clause)
    };
    let f = demand::amended_continuous(case.site).unwrap_or_else(code);
    let conductor =
        |I: &Known<DcCurrent>| formula!("I_z", "ampacity that the circuit asks for", [f, I] => f * I);
    Ok(Sizes {
        string_rating: rating(&string)?,
        string_conductor: conductor(&string),
        string,
        unit_rating: rating(&unit.unit)?,
        unit_conductor: if us { unit.conductor.clone() } else { unit.unit.clone() },
        bus: unit.bus,
    })
}

/// Both runs; without a device there is nothing to choose a cable for.
pub(super) fn runs(case: &Case<'_>, bank: &Bank<'_>) -> Vec<Run> {
    let Ok(figures) = super::Figures::of(bank) else { return Vec::new() };
    let side = Side::new(case, bank, &figures);
    let Ok(sizes) = sizes(case, bank, &side) else { return Vec::new() };
    let unit = unit_current(case).map(|c| c.unit).unwrap_or_else(|_| sizes.string.clone());
    let of_string = (
        STRING,
        "cable of battery string",
        bank.strings,
        bank.string_device,
        (&sizes.string_conductor, &sizes.string),
    );
    let of_unit =
        (UNIT, "cable of unit DC", case.formation.units(), bank.unit_device, (&sizes.unit_conductor, &unit));
    [of_string, of_unit]
        .into_iter()
        .filter_map(|(role, name, count, device, (wanted, carried))| {
            let device = device?;
            let rating = Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating");
            Some(Run {
                role: role.to_owned(),
                name: name.to_owned(),
                count: count as usize,
                // two poles, counted as two lines
                legs: vec![Leg::L1, Leg::L2],
                neutral: false,
                lines: true,
                device: as_heat(&rating),
                made_for: as_heat(&rating),
                wanted: For::Counted(as_heat(wanted)),
                carried: as_heat(carried),
                neutral_current: None,
                of_one: None,
                start_of_one: None,
                harmonic: false,
                fixed: fixed(case, role),
                length: length(case, bank, role),
                ambient: ambient(case, role),
                direct: Some(Direct {
                    nominal: nominal_voltage(bank.model),
                    carried: carried.clone(),
                    fused: matches!(device.kind, DcDeviceKind::Fuse | DcDeviceKind::FuseSwitch),
                    array: None,
                }),
            })
        })
        .collect()
}

fn as_heat(I: &Known<DcCurrent>) -> Known<Current> {
    let symbol = I.node().symbol.clone();
    formula!(&symbol, I.node().what.clone(), [I] => heating(I))
}

/// Length of a cable: as the site states it, else its way on the wall, else what is assumed.
fn length(case: &Case<'_>, bank: &Bank<'_>, role: &str) -> Known<Length> {
    let wish = case.site.conductors.iter().find(|c| c.part.value == role);
    if let Some(stated) = wish.and_then(|c| c.length.as_ref()) {
        return stated.known("l", "length of the run");
    }
    let way = if role == STRING { &bank.string_way } else { &bank.unit_way };
    way.clone().unwrap_or_else(assumed_length)
}

/// Resistance of the cables of a string and of a unit, both poles.
pub(super) fn cables(case: &Case<'_>, bank: &Bank<'_>) -> (Known<Resistance>, Known<Resistance>) {
    let of = |role: &str, rating: DcCurrent| {
        case.conductors.get(role).map_or_else(|| both(&assumed(&length(case, bank, role), rating)), both)
    };
    let string = bank.string_device.map_or(bank.model.discharge, |d| d.rating);
    let unit = bank.unit_device.map_or(case.unit.charging.current, |d| d.rating);
    (of(STRING, string), of(UNIT, unit))
}

fn assumed(length: &Known<Length>, rating: DcCurrent) -> Known<Resistance> {
    Known::chosen(
        "R_w",
        "resistance of the conductor, one way",
        Resistance::from_si(VOLTS_A_METRE * length.value().si() / rating.si().max(1.0)),
        "assumed until the conductor is chosen: 0.08 V a metre at rated current",
        vec![length.node().clone()],
    )
}
