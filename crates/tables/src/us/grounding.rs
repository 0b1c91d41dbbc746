//! Equipment grounding, electrode and bonding conductors, motor devices and working space: NEC 2023 Tables 250.122,
//! 250.66, 250.102(C)(1), 430.52(C)(1) and 110.26(A)(1).

use derivation::Known;
use quantity::{Current, Length, Quantity, Ratio, WireArea};

use super::conductors::Material;
use super::size::{KnownSize, Size};
use super::{BONDING, ELECTRODE, EQUIPMENT_GROUND, Loaded, MOTOR_DEVICE, WORKING_SPACE, of};
use crate::sheet::Cell;
use crate::{Sheet, TableError};

/// Rounding of a computed area that must not push it to the next row.
const ROUNDING: f64 = 1.0 + 1e-9;

/// Equipment grounding conductor for a device (Table 250.122): the row of the next listed rating.
///
/// # Errors
/// The device is above 6000 A, not above zero, or no number.
pub fn equipment_ground(device: &Known<Current>, material: Material) -> Result<KnownSize, TableError> {
    let sheet = of(&EQUIPMENT_GROUND)?;
    let asked = device.value().si();
    for row in 0..sheet.len() {
        let top = sheet.number(row, "device_to_a")?.ok_or_else(|| sheet.bad_cell(row, "device_to_a"))?;
        if asked > 0.0 && asked <= top {
            let name = format!("device up to {top} A, {}", material.name());
            let column = format!("{}_size", material.column());
            return in_row(sheet, row, &column, &name, "equipment grounding conductor", device.node());
        }
    }
    Err(sheet.no_row(format!("{}", device.value()), "devices up to 6000 A"))
}

/// Grounding electrode conductor by the area of the largest ungrounded conductors (Table 250.66).
///
/// # Errors
/// The area is no number or not above zero.
pub fn electrode(
    of_area: &Known<WireArea>,
    phase: Material,
    material: Material,
) -> Result<KnownSize, TableError> {
    let found = by_area(&ELECTRODE, "electrode", of_area, phase, material, "grounding electrode conductor")?;
    found.ok_or_else(|| TableError::NoRow {
        table: "NFPA 70 (NEC), 2023, Table 250.66".to_owned(),
        asked: format!("{}", of_area.value()),
        has: "areas above zero".to_owned(),
    })
}

/// Bonding jumper or grounded conductor by the area of the largest ungrounded conductors (Table 250.102(C)(1));
/// `None` above its last row, where a share of the area is asked for.
///
/// # Errors
/// The area is no number or not above zero.
pub fn bonding(
    of_area: &Known<WireArea>,
    phase: Material,
    material: Material,
) -> Result<Option<KnownSize>, TableError> {
    by_area(&BONDING, "jumper", of_area, phase, material, "bonding jumper")
}

fn by_area(
    table: &'static Loaded,
    prefix: &str,
    area: &Known<WireArea>,
    phase: Material,
    material: Material,
    what: &str,
) -> Result<Option<KnownSize>, TableError> {
    let sheet = of(table)?;
    let asked = area.value().si();
    if !(asked > 0.0 && asked.is_finite()) {
        return Err(sheet.no_row(format!("{}", area.value()), "areas above zero"));
    }
    let top_column = format!("{}_to", phase.column());
    for row in 0..sheet.len() {
        let text = sheet.text(row, &top_column);
        let holds = if text.is_empty() {
            true
        } else {
            asked <= area_of(text).ok_or_else(|| sheet.bad_cell(row, &top_column))? * ROUNDING
        };
        if holds {
            let bound =
                if text.is_empty() { "above the rows before".to_owned() } else { format!("up to {text}") };
            let name = format!("{} {bound}, {}", phase.name(), material.name());
            let column = format!("{prefix}_{}", material.column());
            return in_row(sheet, row, &column, &name, what, area.node()).map(Some);
        }
    }
    Ok(None)
}

/// The kcmil of a row's upper end: a size, or an area that no conductor has (1100 kcmil).
fn area_of(text: &str) -> Option<f64> {
    match text.parse::<Size>() {
        Ok(size) => size.area().ok().map(|area| area.value().si()),
        Err(_) => WireArea::read(text).ok().map(Quantity::si),
    }
}

/// The size in a cell, as a value that names table, row and what it was asked for.
fn in_row(
    sheet: &Sheet,
    row: usize,
    column: &str,
    name: &str,
    what: &str,
    asked: &std::sync::Arc<derivation::Node>,
) -> Result<KnownSize, TableError> {
    let size: Size = sheet.text(row, column).parse().map_err(|_| sheet.bad_cell(row, column))?;
    let area = size.area()?;
    let confirm = sheet.verification(row)?.confirm();
    let what = format!("{what}: {size}");
    let cell = Known::table("A", &what, area.value(), sheet.title(), name, &sheet.source(), confirm);
    let from = vec![asked.clone(), cell.node().clone(), area.node().clone()];
    let area = Known::chosen("A", what, area.value(), "row that holds it", from);
    Ok(KnownSize { size, area })
}

/// A kind of motor in Table 430.52(C)(1): a row, by its name.
pub const MOTOR_KINDS: [&str; 7] = [
    "single-phase",
    "polyphase-other-than-wound-rotor",
    "squirrel-cage-other-than-design-b-efficient",
    "design-b-energy-efficient-or-premium",
    "synchronous",
    "wound-rotor",
    "dc-constant-voltage",
];

/// A kind of short-circuit and ground-fault device for motors: a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotorDevice {
    /// Nontime-delay fuse.
    NontimeDelayFuse,
    /// Dual-element (time-delay) fuse.
    DualElementFuse,
    /// Instantaneous-trip breaker.
    InstantaneousBreaker,
    /// Inverse-time breaker.
    InverseTimeBreaker,
}

/// Largest rating of a motor's device over its full-load current (Table 430.52(C)(1)).
///
/// # Errors
/// No such kind of motor.
pub fn motor_device(kind: &str, device: MotorDevice) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&MOTOR_DEVICE)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "motor") == kind);
    let row = row.ok_or_else(|| sheet.no_row(kind, MOTOR_KINDS.join(", ")))?;
    let (column, name) = match device {
        MotorDevice::NontimeDelayFuse => ("nontime_delay_fuse_pct", "nontime-delay fuse"),
        MotorDevice::DualElementFuse => ("dual_element_fuse_pct", "dual-element fuse"),
        MotorDevice::InstantaneousBreaker => ("instantaneous_breaker_pct", "instantaneous-trip breaker"),
        MotorDevice::InverseTimeBreaker => ("inverse_time_breaker_pct", "inverse-time breaker"),
    };
    let name = format!("{kind}, {name}");
    sheet.known("f", format!("largest rating, {name}"), Cell { row, column, row_name: &name, scale: 0.01 })
}

/// Depth of working space (Table 110.26(A)(1)) for a voltage to ground and a condition 1 to 3.
///
/// # Errors
/// No such condition, or a voltage above 1000 V, negative, or no number.
pub fn working_depth(volts_to_ground_v: f64, condition: u8) -> Result<Known<Length>, TableError> {
    let sheet = of(&WORKING_SPACE)?;
    for row in 0..sheet.len() {
        let top = sheet.number(row, "volts_to_ground_to")?.unwrap_or(0.0);
        let same = sheet.text(row, "condition") == condition.to_string();
        if same && volts_to_ground_v >= 0.0 && volts_to_ground_v <= top {
            let name = format!("up to {top} V to ground, condition {condition}");
            let cell = Cell { row, column: "depth_ft", row_name: &name, scale: 0.3048 };
            return sheet.known("d", format!("depth, {name}"), cell);
        }
    }
    let asked = format!("{volts_to_ground_v} V to ground, condition {condition}");
    Err(sheet.no_row(asked, "up to 1000 V and conditions 1 to 3"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amps(a: f64) -> Known<Current> {
        Known::assumed("I", "device", Current::of(a), "test")
    }

    #[test]
    fn grounds_grow_with_the_device_and_aluminum_is_larger() {
        let mut before: Option<Size> = None;
        for a in [15.0, 16.0, 60.0, 100.0, 200.0, 225.0, 400.0, 601.0, 1000.0, 2001.0, 4000.0, 6000.0] {
            let copper = equipment_ground(&amps(a), Material::Copper).unwrap().size;
            let aluminum = equipment_ground(&amps(a), Material::Aluminum).unwrap().size;
            assert!(aluminum > copper && before.is_none_or(|b| b <= copper), "{a}");
            before = Some(copper);
        }
        assert_eq!(equipment_ground(&amps(250.0), Material::Copper).unwrap().size.figure(), "4");
        for a in [0.0, -1.0, 6000.1, f64::NAN] {
            assert!(equipment_ground(&amps(a), Material::Copper).is_err(), "{a}");
        }
    }

    #[test]
    fn rows_hold_their_upper_end() {
        let area = |kcmil| Known::assumed("A", "area", WireArea::of(kcmil), "test");
        let gec = |kcmil, phase, own| electrode(&area(kcmil), phase, own).unwrap().size.figure();
        let (cu, al) = (Material::Copper, Material::Aluminum);
        assert_eq!(gec(66.36, cu, cu), "8");
        assert_eq!(gec(66.37, cu, cu), "6");
        assert_eq!(gec(133.1, cu, cu), "4");
        assert_eq!(gec(600.0, cu, cu), "1/0");
        assert_eq!(gec(2400.0, cu, cu), "3/0");
        assert_eq!(gec(211.6, al, cu), "4");
        assert_eq!(gec(211.6, al, al), "2");
        let jumper = |kcmil| bonding(&area(kcmil), cu, cu).unwrap().map(|s| s.size.figure());
        assert_eq!((jumper(350.0), jumper(1100.0), jumper(1101.0)), (Some("2"), Some("2/0"), None));
        for kcmil in [0.0, -1.0, f64::NAN] {
            assert!(electrode(&area(kcmil), cu, cu).is_err() && bonding(&area(kcmil), cu, cu).is_err());
        }
    }

    #[test]
    fn every_kind_of_motor_has_its_row_and_depths_grow() {
        for kind in MOTOR_KINDS {
            assert!(
                motor_device(kind, MotorDevice::InverseTimeBreaker).unwrap().value().si() >= 1.5,
                "{kind}"
            );
        }
        assert!(motor_device("linear", MotorDevice::DualElementFuse).is_err());
        let feet = |v, c| working_depth(v, c).map(|d| d.value().si() / 0.3048);
        assert!((feet(120.0, 3).unwrap() - 3.0).abs() < 1e-9);
        assert!((feet(277.0, 2).unwrap() - 3.5).abs() < 1e-9);
        assert!((feet(277.0, 3).unwrap() - 4.0).abs() < 1e-9);
        assert!((feet(150.5, 3).unwrap() - 4.0).abs() < 1e-9);
        for (v, c) in [(1000.1, 1), (-1.0, 1), (f64::NAN, 1), (120.0, 4)] {
            assert!(working_depth(v, c).is_err(), "{v} {c}");
        }
    }
}
