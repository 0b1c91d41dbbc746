//! Factor k of conductors that give no heat off in a short circuit (IEC 60364-4-43 Table 43A, 60364-5-54 Tables
//! A.54.2, A.54.4 and A.54.6).

use derivation::Known;
use quantity::{HeatConstant, Quantity, Section};

use super::cable::{number, words};
use super::{HEAT, of};
use crate::TableError;
use crate::sheet::Cell;

words! {
    /// Metal of a conductor that may be of steel.
    FaultMetal {
        /// Copper.
        Copper = "copper",
        /// Aluminium.
        Aluminium = "aluminium",
        /// Steel.
        Steel = "steel",
    }
}

words! {
    /// How a conductor lies and what it may heat.
    Use {
        /// Line or neutral conductor with PVC at 70 degC.
        LinePvc = "line-PVC",
        /// Line or neutral conductor with XLPE at 90 degC.
        LineXlpe = "line-XLPE",
        /// Protective conductor as core of the cable or bunched with it, PVC.
        InCablePvc = "pe-in-cable-PVC",
        /// Protective conductor as core of the cable or bunched with it, XLPE.
        InCableXlpe = "pe-in-cable-XLPE",
        /// Insulated protective conductor apart from the cable, PVC.
        ApartPvc = "pe-apart-PVC",
        /// Insulated protective conductor apart from the cable, XLPE.
        ApartXlpe = "pe-apart-XLPE",
        /// Bare protective conductor, up to 200 degC beside material that it does not harm.
        Bare = "pe-bare",
    }
}

impl Use {
    fn columns(self) -> (&'static str, &'static str) {
        match self {
            Self::LinePvc => ("line", "PVC"),
            Self::LineXlpe => ("line", "XLPE"),
            Self::InCablePvc => ("pe-in-cable", "PVC"),
            Self::InCableXlpe => ("pe-in-cable", "XLPE"),
            Self::ApartPvc => ("pe-apart", "PVC"),
            Self::ApartXlpe => ("pe-apart", "XLPE"),
            Self::Bare => ("pe-bare", "bare"),
        }
    }
}

/// Factor k for a conductor of a section.
///
/// # Errors
/// The tables have no such conductor.
pub fn heat_constant(
    metal: FaultMetal,
    usage: Use,
    section: Section,
) -> Result<Known<HeatConstant>, TableError> {
    let sheet = of(&HEAT)?;
    let symbol = match metal {
        FaultMetal::Copper => "Cu",
        FaultMetal::Aluminium => "Al",
        FaultMetal::Steel => "Steel",
    };
    let (kind, insulation) = usage.columns();
    for row in 0..sheet.len() {
        let alike = sheet.text(row, "use") == kind
            && sheet.text(row, "metal") == symbol
            && sheet.text(row, "insulation") == insulation;
        let within = section.si() > number(sheet, row, "over_mm2")?
            && sheet.number(row, "to_mm2")?.is_none_or(|to| section.si() <= to);
        if alike && within {
            let name = format!("{}, {}, {}", sheet.text(row, "table"), metal.word(), usage.word());
            let cell = Cell { row, column: "k", row_name: &name, scale: 1.0 };
            return sheet.known("k", format!("factor k, {}, {}", metal.word(), usage.word()), cell);
        }
    }
    Err(sheet.no_row(format!("{} {} of {section}", metal.word(), usage.word()), "no row for it"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every k follows from the heat capacity and resistivity of its metal between the two temperatures:
    /// k = K sqrt(ln(1 + (end - start) / (beta + start))).
    #[test]
    fn every_figure_follows_from_its_temperatures() {
        let sheet = of(&HEAT).unwrap();
        for row in 0..sheet.len() {
            let (constant, beta) = match sheet.text(row, "metal") {
                "Cu" => (226.0, 234.5),
                "Al" => (148.0, 228.0),
                "Steel" => (78.0, 202.0),
                other => panic!("{other}"),
            };
            let n = |column| number(sheet, row, column).unwrap();
            let (start, end) = (n("initial_degc"), n("final_degc"));
            let k = constant * libm::log(1.0 + (end - start) / (beta + start)).sqrt();
            assert!((k - n("k")).abs() < 1.6, "row {row}: {k} {}", n("k"));
        }
    }

    #[test]
    fn known_cells_and_refusals() {
        let k = |m, u, s| heat_constant(m, u, Section::of(s)).ok().map(|k| k.value().si());
        assert_eq!(k(FaultMetal::Copper, Use::LinePvc, 300.0), Some(115.0));
        assert_eq!(k(FaultMetal::Copper, Use::LinePvc, 301.0), Some(103.0));
        assert_eq!(k(FaultMetal::Copper, Use::LineXlpe, 500.0), Some(143.0));
        assert_eq!(k(FaultMetal::Aluminium, Use::ApartXlpe, 16.0), Some(116.0));
        assert_eq!(k(FaultMetal::Steel, Use::LinePvc, 16.0), None);
        assert_eq!(k(FaultMetal::Copper, Use::LinePvc, 0.0), None);
        assert_eq!(k(FaultMetal::Copper, Use::LinePvc, f64::NAN), None);
    }
}
