//! Factors for circuits that lie together (IEC 60364-5-52 Tables B.52.17 to B.52.20).

use derivation::Known;
use quantity::{Quantity, Ratio};

use super::cable::{Method, number, words};
use super::{BURIED, DUCTS, GROUPING, Loaded, TRAYS, of};
use crate::sheet::Cell;
use crate::{Sheet, TableError};

words! {
    /// How cables lie together in air or in an enclosure (Table B.52.17).
    Layout {
        /// Bunched in air, on a surface, embedded or enclosed.
        Bunched = "bunched",
        /// Single layer on wall, floor or unperforated tray.
        Wall = "layer-on-wall",
        /// Single layer fixed under a wooden ceiling.
        Ceiling = "layer-under-ceiling",
        /// Single layer on a perforated tray.
        Tray = "layer-on-perforated-tray",
        /// Single layer on ladder or cleats.
        Ladder = "layer-on-ladder",
    }
}

words! {
    /// Space between circuits or ducts in the ground; a space between two of these counts as the smaller.
    Clearance {
        /// None.
        Touching = "touching",
        /// One cable diameter.
        Diameter = "one-diameter",
        /// 0.125 m.
        M0125 = "0.125 m",
        /// 0.25 m.
        M025 = "0.25 m",
        /// 0.5 m.
        M05 = "0.5 m",
        /// 1 m.
        M1 = "1 m",
    }
}

words! {
    /// Cables in ducts.
    Form {
        /// Multicore, one cable a duct.
        Multicore = "multicore",
        /// Single-core, one cable a duct.
        SingleCore = "single-core",
    }
}

/// Where circuits lie together.
#[derive(Debug, Clone)]
pub enum Together {
    /// In air or enclosed.
    Air(Layout),
    /// Direct in the ground, method D2.
    Buried(Clearance),
    /// In ducts in the ground, method D1.
    Ducts(Form, Clearance),
    /// Multicore cables touching on so many perforated horizontal trays, method E; the count is that of one tray.
    Trays(Known<Ratio>),
}

/// Factor for so many circuits or multicore cables together: the row of the next listed number that is not below it.
///
/// # Errors
/// The number is below one, no whole number or above the last row, or the arrangement is not one of the method.
pub fn grouping_factor(
    method: Method,
    together: &Together,
    circuits: &Known<Ratio>,
) -> Result<Known<Ratio>, TableError> {
    match together {
        Together::Air(layout) => {
            let alike = |sheet: &Sheet, row: usize| {
                let methods = sheet.text(row, "methods");
                sheet.text(row, "arrangement") == layout.word()
                    && methods.split(' ').any(|letter| letter == method.letter())
            };
            factor(&GROUPING, &format!("{}, method {}", layout.word(), method.word()), circuits, alike)
        }
        Together::Buried(clearance) => {
            let alike = |sheet: &Sheet, row: usize| {
                method == Method::D2 && sheet.text(row, "clearance") == clearance.word()
            };
            let name = format!("method {} buried, {}", method.word(), clearance.word());
            factor(&BURIED, &name, circuits, alike)
        }
        Together::Ducts(form, clearance) => {
            let alike = |sheet: &Sheet, row: usize| {
                method == Method::D1
                    && sheet.text(row, "form") == form.word()
                    && sheet.text(row, "clearance") == clearance.word()
            };
            let name = format!("method {} in ducts, {}, {}", method.word(), form.word(), clearance.word());
            factor(&DUCTS, &name, circuits, alike)
        }
        Together::Trays(trays) => {
            let sheet = of(&TRAYS)?;
            let asked = trays.value().si();
            let mut next: Option<f64> = None;
            for row in 0..sheet.len() {
                let listed = number(sheet, row, "trays")?;
                if asked >= 1.0 && listed >= asked && next.is_none_or(|n| listed < n) {
                    next = Some(listed);
                }
            }
            let next = next.ok_or_else(|| sheet.no_row(format!("{asked} trays"), "1, 2, 3 and 6 trays"))?;
            let alike = |sheet: &Sheet, row: usize| {
                method == Method::E && sheet.text(row, "trays") == next.to_string()
            };
            let name = format!("method {}, {next} perforated trays", method.word());
            factor(&TRAYS, &name, circuits, alike)
        }
    }
}

/// One circuit alone has no row in the tables of cables in the ground: its factor is one by their base.
fn factor(
    table: &'static Loaded,
    name: &str,
    circuits: &Known<Ratio>,
    alike: impl Fn(&Sheet, usize) -> bool,
) -> Result<Known<Ratio>, TableError> {
    let sheet = of(table)?;
    let n = circuits.value().si();
    let mut found: Option<(usize, f64)> = None;
    let mut any = false;
    for row in (0..sheet.len()).filter(|&row| alike(sheet, row)) {
        any = true;
        let listed = number(sheet, row, "circuits")?;
        if listed >= n && found.is_none_or(|(_, best)| listed < best) {
            found = Some((row, listed));
        }
    }
    if n.fract() != 0.0 || n < 1.0 {
        return Err(sheet.no_row(format!("{n} circuits"), "whole numbers from 1"));
    }
    let has = if any { "no row for so many" } else { "no rows for this method and arrangement" };
    let (row, listed) =
        found.filter(|_| any).ok_or_else(|| sheet.no_row(format!("{n} circuits, {name}"), has))?;
    if n <= 1.0 && listed > 1.0 {
        let why = "one circuit alone is the base of the table";
        return Ok(Known::chosen(
            "k_g",
            "grouping factor",
            Ratio::of(1.0),
            why,
            vec![circuits.node().clone()],
        ));
    }
    let row_name = format!("{listed} circuits, {name}");
    let cell = Cell { row, column: "factor", row_name: &row_name, scale: 1.0 };
    let known: Known<Ratio> = sheet.known("k_g", format!("grouping factor of {listed}"), cell)?;
    let from = vec![circuits.node().clone(), known.node().clone()];
    let why = "row of the next listed number that is not below it";
    Ok(Known::chosen("k_g", "grouping factor", known.value(), why, from))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(n: f64) -> Known<Ratio> {
        Known::assumed("n", "circuits", Ratio::of(n), "test")
    }

    fn k(method: Method, together: &Together, n: f64) -> Option<f64> {
        grouping_factor(method, together, &count(n)).ok().map(|k| k.value().si())
    }

    /// More circuits, or less space, never carry more; and the answer stays between 0 and 1.
    #[test]
    fn factors_fall_with_the_number_and_rise_with_space() {
        let mut all = Vec::new();
        for &layout in Layout::ALL {
            all.extend([(Method::C, Together::Air(layout)), (Method::E, Together::Air(layout))]);
        }
        for &clearance in Clearance::ALL {
            all.push((Method::D2, Together::Buried(clearance)));
            all.extend(Form::ALL.iter().map(|&form| (Method::D1, Together::Ducts(form, clearance))));
        }
        all.extend([1.0, 2.0, 3.0, 6.0].map(|trays| (Method::E, Together::Trays(count(trays)))));
        let mut found = 0;
        for (method, together) in &all {
            let factors: Vec<f64> = (1..=20).filter_map(|n| k(*method, together, f64::from(n))).collect();
            assert!(factors.windows(2).all(|w| w[0] >= w[1]), "{together:?} {factors:?}");
            assert!(factors.iter().all(|&f| f > 0.0 && f <= 1.0));
            found += usize::from(!factors.is_empty());
        }
        assert_eq!(found, 3 + 3 + 5 + 8 + 4);
        for n in 2..=20 {
            let by_space = |make: &dyn Fn(Clearance) -> (Method, Together)| {
                let spaces: Vec<f64> = Clearance::ALL
                    .iter()
                    .filter_map(|&c| {
                        let (method, together) = make(c);
                        k(method, &together, f64::from(n))
                    })
                    .collect();
                assert!(spaces.len() >= 4 && spaces.windows(2).all(|w| w[0] <= w[1]), "{n}: {spaces:?}");
            };
            by_space(&|c| (Method::D2, Together::Buried(c)));
            by_space(&|c| (Method::D1, Together::Ducts(Form::Multicore, c)));
            by_space(&|c| (Method::D1, Together::Ducts(Form::SingleCore, c)));
        }
    }

    #[test]
    fn known_cells_the_next_row_and_refusals() {
        let bunched = Together::Air(Layout::Bunched);
        assert_eq!(k(Method::B1, &bunched, 3.0), Some(0.70));
        assert_eq!(k(Method::B1, &bunched, 10.0), Some(0.45));
        assert_eq!(k(Method::C, &Together::Air(Layout::Ceiling), 1.0), Some(0.95));
        assert_eq!(k(Method::D2, &Together::Buried(Clearance::Touching), 2.0), Some(0.75));
        assert_eq!(k(Method::D2, &Together::Buried(Clearance::Touching), 1.0), Some(1.0));
        assert_eq!(k(Method::E, &Together::Trays(count(4.0)), 3.0), Some(0.77));
        for (method, together, n) in [
            (Method::B1, &bunched, 21.0),
            (Method::B1, &bunched, 0.0),
            (Method::B1, &bunched, 2.5),
            (Method::B1, &bunched, f64::NAN),
            (Method::GVertical, &bunched, 2.0),
            (Method::C, &Together::Air(Layout::Tray), 2.0),
            (Method::C, &Together::Buried(Clearance::Touching), 2.0),
            (Method::D2, &Together::Buried(Clearance::M1), 2.0),
            (Method::E, &Together::Trays(count(7.0)), 2.0),
        ] {
            assert_eq!(k(method, together, n), None, "{method:?} {together:?} {n}");
        }
    }
}
