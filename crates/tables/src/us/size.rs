//! Conductor sizes of the code's tables, in their order, with their area (NEC Chapter 9 Table 8).

use std::fmt;
use std::str::FromStr;

use derivation::Known;
use quantity::{Quantity, QuantityError, Ratio, WireArea};

use super::{WIRE_AREA, of};
use crate::TableError;
use crate::sheet::Cell;

/// A conductor size that the tables have: 18 AWG to 2000 kcmil. Larger conductors are greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Size(u8);

/// The figures of the sizes as the tables print them: AWG up to 4/0, then kcmil.
const FIGURES: [&str; 30] = [
    "18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0", "250", "300",
    "350", "400", "500", "600", "700", "750", "800", "900", "1000", "1250", "1500", "1750", "2000",
];
/// How many of them are AWG.
const GAUGES: u8 = 15;

impl Size {
    /// The largest.
    pub const LARGEST: Self = Self(29);

    /// Every size, rising.
    pub fn all() -> impl DoubleEndedIterator<Item = Self> {
        (0..=Self::LARGEST.0).map(Self)
    }

    /// The figure alone, as tables print it: `1/0`, `250`.
    pub fn figure(self) -> &'static str {
        FIGURES.get(usize::from(self.0)).copied().unwrap_or_default()
    }

    /// The next larger size; `None` for the largest.
    pub fn next(self) -> Option<Self> {
        (self < Self::LARGEST).then_some(Self(self.0 + 1))
    }

    /// Its area (Chapter 9 Table 8).
    ///
    /// # Errors
    /// The table cannot be used.
    pub fn area(self) -> Result<Known<WireArea>, TableError> {
        let sheet = of(&WIRE_AREA)?;
        let (row, name) = (self.row(sheet, "size")?, self.to_string());
        // thousands of circular mils
        let cell = Cell { row, column: "area_cmil", row_name: &name, scale: 1e-3 };
        sheet.known("A", format!("area of {name}"), cell)
    }

    /// The row whose column names the size.
    pub(super) fn row(self, sheet: &crate::Sheet, column: &str) -> Result<usize, TableError> {
        let name = self.to_string();
        let row = (0..sheet.len()).find(|&row| sheet.text(row, column) == name);
        row.ok_or_else(|| {
            let last = sheet.len().saturating_sub(1);
            sheet.no_row(&name, format!("{} to {}", sheet.text(0, column), sheet.text(last, column)))
        })
    }

    /// A size as a value of a derivation: its area, chosen for a reason.
    ///
    /// # Errors
    /// The table of areas cannot be used.
    pub fn chosen(
        self,
        symbol: &str,
        what: &str,
        why: impl Into<String>,
        mut from: Vec<std::sync::Arc<derivation::Node>>,
    ) -> Result<KnownSize, TableError> {
        let area = self.area()?;
        from.push(area.node().clone());
        let area = Known::chosen(symbol, format!("{what}: {self}"), area.value(), why, from);
        Ok(KnownSize { size: self, area })
    }
}

/// A size with the reason for it.
#[derive(Debug, Clone)]
pub struct KnownSize {
    /// The size.
    pub size: Size,
    /// Its area, whose derivation says why it is this size.
    pub area: Known<WireArea>,
}

impl KnownSize {
    /// A size that somebody gives; its area comes from the table.
    ///
    /// # Errors
    /// The table of areas cannot be used.
    pub fn given(size: Size) -> Result<Self, TableError> {
        Ok(Self { size, area: size.area()? })
    }
}

/// The smallest size that is not below an area.
///
/// # Errors
/// No size is as large, or the area is negative or no number.
pub fn smallest_of(area: &Known<WireArea>, what: &str) -> Result<KnownSize, TableError> {
    let needed = area.value().si();
    for size in Size::all() {
        // a computed area that meets a size up to rounding meets it
        if needed >= 0.0 && size.area()?.value().si() * (1.0 + 1e-9) >= needed {
            return size.chosen("A", what, "smallest size that is not below it", vec![area.node().clone()]);
        }
    }
    Err(of(&WIRE_AREA)?.no_row(format!("{}", area.value()), "sizes up to 2000 kcmil"))
}

/// Area of several conductors in parallel.
pub fn together(each: &Known<WireArea>, sets: &Known<Ratio>) -> Known<WireArea> {
    derivation::formula!("A_all", "area of all in parallel", [each, sets] => each * sets)
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = if self.0 < GAUGES { "AWG" } else { "kcmil" };
        f.pad(&format!("{} {unit}", self.figure()))
    }
}

impl FromStr for Size {
    type Err = QuantityError;
    /// `"4 AWG"`, `"4/0 AWG"`, `"250 kcmil"`, or the figure alone as the tables print it.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let spaced = text.trim().replace(',', "");
        let spaced = spaced.strip_prefix('#').unwrap_or(&spaced).trim();
        let same = |size: &Self| size.figure() == spaced || size.to_string() == spaced;
        Self::all().find(same).ok_or_else(|| {
            QuantityError::new(
                format!("\"{text}\" is no conductor size of the code's tables"),
                "write \"12 AWG\", \"1/0 AWG\" or \"250 kcmil\"; the tables have 18 AWG to 2000 kcmil and no mm2",
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Wire;

    /// Names round-trip, areas rise, and each area is that of its name: AWG by the defining series, kcmil by
    /// number.
    #[test]
    fn sizes_rise_and_are_what_they_are_called() {
        let all: Vec<Size> = Size::all().collect();
        assert_eq!(all.len(), FIGURES.len());
        let mut before = 0.0;
        for size in all {
            assert_eq!(size.to_string().parse(), Ok(size));
            assert_eq!(size.figure().parse(), Ok(size));
            let kcmil = size.area().unwrap().value().si();
            assert!(kcmil > before, "{size}");
            before = kcmil;
            let wire: Wire = size.to_string().parse().unwrap();
            let by_name = wire.area_mm2() / 0.506_707_479;
            assert!((kcmil / by_name - 1.0).abs() < 3e-3, "{size}: {kcmil} {by_name}");
        }
    }

    #[test]
    fn what_is_no_size_is_refused() {
        for text in ["0.5 mm2", "5 AWG", "251 kcmil", "4 kcmil", "250 AWG", "", "0"] {
            assert!(text.parse::<Size>().is_err(), "{text}");
        }
        let area = |kcmil| Known::assumed("A", "area", WireArea::of(kcmil), "test");
        assert_eq!(smallest_of(&area(58.436), "x").unwrap().size.figure(), "2");
        assert_eq!(smallest_of(&area(41.74), "x").unwrap().size.figure(), "4");
        for kcmil in [2001.0, f64::NAN, -1.0] {
            assert!(smallest_of(&area(kcmil), "x").is_err());
        }
    }
}
