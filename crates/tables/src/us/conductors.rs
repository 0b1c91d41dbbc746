//! Ampacity, its correction and adjustment, small conductors, dwelling services, resistance and impedance: NEC 2023
//! Article 310, 240.4(D) and Chapter 9.

use derivation::Known;
use quantity::{Current, Quantity, Ratio, Resistance, Temperature};

use super::size::Size;
use super::{
    ADJUSTMENT, AMBIENT, AMPACITY_FREE_AIR, AMPACITY_RACEWAY, DWELLING_CONDUCTORS, IMPEDANCE, RESISTANCE,
    SMALL_CONDUCTORS, of,
};
use crate::TableError;
use crate::sheet::Cell;

/// Metal of a conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Material {
    /// Copper.
    Copper,
    /// Aluminum or copper-clad aluminum.
    Aluminum,
}

/// Temperature rating of insulation or terminals: a column of the ampacity tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// 60 degC.
    C60,
    /// 75 degC.
    C75,
    /// 90 degC.
    C90,
}

/// Where the conductors lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Laying {
    /// In raceway, cable or earth (Table 310.16).
    Raceway,
    /// Single conductors in free air (Table 310.17).
    FreeAir,
}

/// Conduit round the conductors, as Table 9 tells them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Conduit {
    /// PVC.
    Pvc,
    /// Aluminum.
    Aluminum,
    /// Steel.
    Steel,
}

impl Material {
    /// As people write it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Aluminum => "aluminum",
        }
    }

    pub(super) fn column(self) -> &'static str {
        match self {
            Self::Copper => "cu",
            Self::Aluminum => "al",
        }
    }
}

impl Column {
    /// Every column, rising.
    pub const ALL: [Self; 3] = [Self::C60, Self::C75, Self::C90];

    /// Degrees Celsius.
    pub fn degc(self) -> u8 {
        match self {
            Self::C60 => 60,
            Self::C75 => 75,
            Self::C90 => 90,
        }
    }
}

impl Conduit {
    fn column(self) -> &'static str {
        match self {
            Self::Pvc => "pvc",
            Self::Aluminum => "al",
            Self::Steel => "steel",
        }
    }
}

/// Ampacity before correction and adjustment (Tables 310.16 and 310.17).
///
/// # Errors
/// The table has no such size, or no figure for this metal.
pub fn ampacity(
    size: Size,
    material: Material,
    column: Column,
    laying: Laying,
) -> Result<Known<Current>, TableError> {
    let sheet = match laying {
        Laying::Raceway => of(&AMPACITY_RACEWAY)?,
        Laying::FreeAir => of(&AMPACITY_FREE_AIR)?,
    };
    let row = size.row(sheet, "size")?;
    let name = format!("{size} {} at {} degC", material.name(), column.degc());
    let key = format!("{}_{}c_a", material.column(), column.degc());
    let symbol = format!("I_{}", column.degc());
    let cell = Cell { row, column: &key, row_name: &name, scale: 1.0 };
    sheet.known(&symbol, format!("ampacity of {name}"), cell)
}

/// Rounding of a temperature that was converted between units.
const ROUNDING_DEGC: f64 = 1e-9;

/// Ambient correction factor (Table 310.15(B)(1)(1)); a temperature between two bands belongs to the hotter.
///
/// # Errors
/// The ambient is too hot for the insulation, or no number.
pub fn ambient_factor(ambient: &Known<Temperature>, insulation: Column) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&AMBIENT)?;
    let asked = ambient.value();
    for row in 0..sheet.len() {
        let top = sheet.number(row, "ambient_to_c")?.ok_or_else(|| sheet.bad_cell(row, "ambient_to_c"))?;
        if asked.si() <= top + ROUNDING_DEGC {
            let name = format!("ambient up to {top} degC, insulation {} degC", insulation.degc());
            let key = format!("factor_{}c", insulation.degc());
            let cell = Cell { row, column: &key, row_name: &name, scale: 1.0 };
            let factor: Known<Ratio> = sheet.known("F_t", format!("correction, {name}"), cell)?;
            let from = vec![ambient.node().clone(), factor.node().clone()];
            let why = "band that holds the ambient temperature";
            return Ok(Known::chosen("F_t", "ambient correction", factor.value(), why, from));
        }
    }
    Err(sheet.no_row(format!("an ambient of {asked}"), "ambient temperatures up to 85 degC"))
}

/// Factor for the number of current-carrying conductors (Table 310.15(C)(1)).
///
/// # Errors
/// Not a whole number from 1.
pub fn count_factor(conductors: &Known<Ratio>) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&ADJUSTMENT)?;
    let n = conductors.value().si();
    if n.fract() != 0.0 {
        return Err(sheet.no_row(format!("{n} conductors"), "whole numbers from 1"));
    }
    let row = sheet.row_in_range(n, "conductors_min", "conductors_max", "current-carrying conductors")?;
    let name = format!("{n} current-carrying conductors");
    let cell = Cell { row, column: "percent", row_name: &name, scale: 0.01 };
    let factor: Known<Ratio> = sheet.known("F_n", format!("adjustment, {name}"), cell)?;
    let from = vec![conductors.node().clone(), factor.node().clone()];
    let why = "row that holds the number of conductors";
    Ok(Known::chosen("F_n", "adjustment for their number", factor.value(), why, from))
}

/// Largest device of a small conductor (240.4(D)); `None` for sizes that the clause does not name.
///
/// # Errors
/// The size needs a device that is listed for it (18 and 16 AWG).
pub fn small_conductor(size: Size, material: Material) -> Result<Option<Known<Current>>, TableError> {
    let sheet = of(&SMALL_CONDUCTORS)?;
    let name = size.to_string();
    let named =
        |row: &usize| sheet.text(*row, "size") == name && sheet.text(*row, "material") == material.column();
    let Some(row) = (0..sheet.len()).find(named) else { return Ok(None) };
    if sheet.text(row, "needs_listing") != "no" {
        return Err(sheet.no_row(format!("{name} without a device listed for it"), "14 AWG and larger"));
    }
    let name = format!("{name} {}", material.name());
    let cell = Cell { row, column: "device_to_a", row_name: &name, scale: 1.0 };
    sheet.known("I_small", format!("largest device for {name}"), cell).map(Some)
}

/// Conductors of a dwelling's service or main feeder by its rating (Table 310.12(A)).
///
/// # Errors
/// The table has no such rating.
pub fn dwelling_conductor(rating: &Known<Current>, material: Material) -> Result<Size, TableError> {
    let sheet = of(&DWELLING_CONDUCTORS)?;
    for row in 0..sheet.len() {
        let listed = sheet.number(row, "rating_a")?.ok_or_else(|| sheet.bad_cell(row, "rating_a"))?;
        if (rating.value().si() - listed).abs() <= 1e-9 {
            let column = format!("{}_size", material.column());
            return sheet.text(row, &column).parse().map_err(|_| sheet.bad_cell(row, &column));
        }
    }
    Err(sheet.no_row(format!("{}", rating.value()), "100 to 400 A as listed"))
}

/// DC resistance of 1000 ft at 75 degC (Chapter 9 Table 8), class B stranded; solid where asked for.
///
/// # Errors
/// The table has no such conductor.
pub fn dc_resistance_of_kft(
    size: Size,
    material: Material,
    solid: bool,
) -> Result<Known<Resistance>, TableError> {
    let sheet = of(&RESISTANCE)?;
    let (name, kind) = (size.to_string(), if solid { "solid" } else { "stranded" });
    let row = (0..sheet.len()).find(|&r| sheet.text(r, "size") == name && sheet.text(r, "stranding") == kind);
    let row =
        row.ok_or_else(|| sheet.no_row(format!("{name} {kind}"), "solid up to 8 AWG, else stranded"))?;
    let name = format!("{name} {} {kind}", material.name());
    let column = format!("{}_ohm_per_kft", material.column());
    let cell = Cell { row, column: &column, row_name: &name, scale: 1.0 };
    sheet.known("r", format!("resistance of 1000 ft of {name}, 75 degC"), cell)
}

/// Which figure of Table 9.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Impedance {
    /// AC resistance.
    Resistance,
    /// Reactance.
    Reactance,
    /// Effective impedance at a power factor of 0.85, as printed.
    Effective85,
}

/// A figure of 1000 ft at 75 degC and 60 Hz, to neutral (Chapter 9 Table 9).
///
/// # Errors
/// The table has no such conductor (above 1000 kcmil, 700, 800, 900 kcmil; 14 AWG aluminum).
pub fn ac_impedance_of_kft(
    size: Size,
    material: Material,
    conduit: Conduit,
    which: Impedance,
) -> Result<Known<Resistance>, TableError> {
    let sheet = of(&IMPEDANCE)?;
    let row = size.row(sheet, "size")?;
    let (metal, round) = (material.column(), conduit.column());
    let (symbol, what, column) = match which {
        Impedance::Resistance => ("r", "AC resistance", format!("r_{metal}_{round}_ohm_per_kft")),
        Impedance::Reactance if conduit == Conduit::Steel => {
            ("x", "reactance", "xl_steel_ohm_per_kft".to_owned())
        }
        Impedance::Reactance => ("x", "reactance", "xl_pvc_al_ohm_per_kft".to_owned()),
        Impedance::Effective85 => ("z", "effective impedance", format!("z85_{metal}_{round}_ohm_per_kft")),
    };
    let name = format!("{size} {} in {round} conduit", material.name());
    let cell = Cell { row, column: &column, row_name: &name, scale: 1.0 };
    sheet.known(symbol, format!("{what} of 1000 ft of {name}"), cell)
}

#[cfg(test)]
mod tests;
