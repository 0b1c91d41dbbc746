//! Raceways and what they may hold: NEC 2023 Chapter 9 Tables 1, 4 and 5.

use derivation::Known;
use quantity::{FillArea, Length, Quantity, Ratio};

use super::size::Size;
use super::{FILL, INSULATED, INSULATED_DIAMETER, Loaded, RACEWAYS, of};
use crate::TableError;
use crate::sheet::Cell;

/// Kinds of raceway in Table 4, by their usual abbreviations.
pub const RACEWAY_KINDS: [&str; 6] = ["EMT", "IMC", "RMC", "PVC-40", "PVC-80", "FMC"];

/// Kinds of insulation in Table 5; THHN stands for THWN and THWN-2 too, XHHW for XHHW-2 and XHH.
pub const INSULATIONS: [&str; 2] = ["THHN", "XHHW"];

/// A raceway of one trade size.
#[derive(Debug, Clone)]
pub struct Raceway {
    /// Trade size: `1-1/4`.
    pub trade_size: String,
    /// Inside area.
    pub area: Known<FillArea>,
}

/// The trade sizes of a kind of raceway, rising (Table 4).
///
/// # Errors
/// No such kind.
pub fn raceways(kind: &str) -> Result<Vec<Raceway>, TableError> {
    let sheet = of(&RACEWAYS)?;
    let rows = (0..sheet.len()).filter(|&row| sheet.text(row, "raceway") == kind);
    let sizes = rows.map(|row| {
        let trade_size = sheet.text(row, "trade_size").to_owned();
        let name = format!("{kind} {trade_size}");
        let cell = Cell { row, column: "area_in2", row_name: &name, scale: 1.0 };
        let area = sheet.known("A_in", format!("inside area of {name}"), cell)?;
        Ok(Raceway { trade_size, area })
    });
    let sizes: Vec<Raceway> = sizes.collect::<Result<_, TableError>>()?;
    if sizes.is_empty() { Err(sheet.no_row(kind, RACEWAY_KINDS.join(", "))) } else { Ok(sizes) }
}

/// Share of a raceway that conductors may take (Table 1, and Note 4 for a nipple).
///
/// # Errors
/// Not a whole number of conductors from 1.
pub fn fill_share(conductors: &Known<Ratio>, nipple: bool) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&FILL)?;
    let (n, wanted) = (conductors.value().si(), if nipple { "yes" } else { "no" });
    for row in 0..sheet.len() {
        let low =
            sheet.number(row, "conductors_min")?.ok_or_else(|| sheet.bad_cell(row, "conductors_min"))?;
        let high = sheet.number(row, "conductors_max")?;
        let held = n.fract() == 0.0 && n >= low && high.is_none_or(|high| n <= high);
        if held && sheet.text(row, "nipple") == wanted {
            let kind = if nipple { "nipple" } else { "raceway" };
            let name = format!("{n} conductors, {kind}");
            let cell = Cell { row, column: "percent", row_name: &name, scale: 0.01 };
            return sheet.known("f", format!("share that may be filled, {name}"), cell);
        }
    }
    Err(sheet.no_row(format!("{n} conductors"), "whole numbers from 1"))
}

/// Area of an insulated conductor (Table 5).
///
/// # Errors
/// No such insulation or size.
pub fn insulated_area(insulation: &str, size: Size) -> Result<Known<FillArea>, TableError> {
    insulated(&INSULATED, "area_in2", "A_c", "area", insulation, size, 1.0)
}

/// Diameter of an insulated conductor (Table 5).
///
/// # Errors
/// No such insulation or size.
pub fn insulated_diameter(insulation: &str, size: Size) -> Result<Known<Length>, TableError> {
    insulated(&INSULATED_DIAMETER, "diameter_in", "d_c", "diameter", insulation, size, 0.0254)
}

fn insulated<Q: Quantity>(
    table: &'static Loaded,
    column: &str,
    symbol: &str,
    what: &str,
    insulation: &str,
    size: Size,
    scale: f64,
) -> Result<Known<Q>, TableError> {
    let sheet = of(table)?;
    let name = size.to_string();
    let same = |row: &usize| sheet.text(*row, "insulation") == insulation && sheet.text(*row, "size") == name;
    let row = (0..sheet.len()).find(same);
    let row = row.ok_or_else(|| {
        sheet.no_row(
            format!("{name} {insulation}"),
            format!("{}; 14 AWG to 1000 kcmil", INSULATIONS.join(", ")),
        )
    })?;
    let name = format!("{name} {insulation}");
    sheet.known(symbol, format!("{what} of {name}"), Cell { row, column, row_name: &name, scale })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raceways_of_a_kind_rise() {
        for kind in RACEWAY_KINDS {
            let areas: Vec<f64> = raceways(kind).unwrap().iter().map(|r| r.area.value().si()).collect();
            assert!(areas.len() >= 10 && areas.windows(2).all(|w| w[0] < w[1]), "{kind} {areas:?}");
        }
        assert!(raceways("EMT").unwrap()[0].area.node().source().contains("Table 4"));
        assert!(raceways("FMC").unwrap()[0].area.node().source().contains("confirm"));
        assert!(raceways("wood").is_err());
    }

    /// Each area is that of the circle of the printed diameter, up to rounding.
    #[test]
    fn insulated_areas_are_circles() {
        for insulation in INSULATIONS {
            let mut compared = 0;
            for size in Size::all() {
                let Ok(printed) = insulated_area(insulation, size) else { continue };
                let d = insulated_diameter(insulation, size).unwrap();
                assert!(d.node().source().contains("confirm"), "diameters rest on one source");
                let inches = d.value().si() / 0.0254;
                let circle = std::f64::consts::FRAC_PI_4 * inches * inches;
                let printed = printed.value().si();
                assert!((printed / circle - 1.0).abs() < 0.012, "{size} {insulation}: {printed} {circle}");
                compared += 1;
            }
            assert_eq!(compared, 24, "{insulation}");
        }
        assert!(insulated_area("THHN", "1250".parse().unwrap()).is_err());
        assert!(insulated_area("RHW", "12".parse().unwrap()).is_err());
    }

    #[test]
    fn shares_by_number() {
        let share = |n: f64, nipple| {
            fill_share(&Known::assumed("n", "n", Ratio::of(n), "test"), nipple).map(|s| s.value().to_string())
        };
        assert_eq!([1.0, 2.0, 3.0, 40.0].map(|n| share(n, false).unwrap()), ["0.53", "0.31", "0.4", "0.4"]);
        assert_eq!([1.0, 2.0, 30.0].map(|n| share(n, true).unwrap()), ["0.6", "0.6", "0.6"]);
        for n in [0.0, 1.5, f64::NAN] {
            assert!(share(n, false).is_err());
        }
    }
}
