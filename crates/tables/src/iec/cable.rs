//! Cables of IEC 60364-5-52: current-carrying capacity (Tables B.52.2 to B.52.5 and B.52.10 to B.52.13), factors for
//! temperature, soil and harmonics (Tables B.52.14 to B.52.16 and E.52.1), and resistance (IEC 60228).

use derivation::Known;
use quantity::{Current, LinearResistance, Quantity, Ratio, Section, SoilResistivity, Temperature};

use super::{AIR, AMPACITY, GROUND, HARMONICS, Loaded, RESISTANCE, SOIL, of};
use crate::sheet::Cell;
use crate::{Sheet, TableError};

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$of])* $variant),+
        }

        impl $name {
            /// All, in the order of their words.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The words by which they are chosen.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// Its word.
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word),+
                }
            }

            /// The one with a word.
            pub fn read(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|one| one.word() == word)
            }
        }
    };
}
pub(crate) use words;

words! {
    /// Metal of a conductor.
    Metal {
        /// Copper.
        Copper = "copper",
        /// Aluminium.
        Aluminium = "aluminium",
    }
}

words! {
    /// Insulation of a cable, with its highest conductor temperature.
    Insulation {
        /// PVC, 70 degC.
        Pvc = "PVC",
        /// Cross-linked polyethylene or ethylene-propylene rubber, 90 degC.
        Xlpe = "XLPE",
    }
}

words! {
    /// Reference method of installation (Table B.52.1), with the arrangement of single-core cables in free air.
    Method {
        /// Single-core cables in conduit in a thermally insulated wall.
        A1 = "A1",
        /// Multicore cable in conduit in a thermally insulated wall.
        A2 = "A2",
        /// Single-core cables in conduit on a wall or in trunking.
        B1 = "B1",
        /// Multicore cable in conduit on a wall or in trunking.
        B2 = "B2",
        /// Fixed on a wall or ceiling, or on an unperforated tray.
        C = "C",
        /// Multicore cable in a duct in the ground.
        D1 = "D1",
        /// Sheathed cable direct in the ground.
        D2 = "D2",
        /// Multicore cable in free air, on perforated tray or ladder.
        E = "E",
        /// Single-core cables in free air, touching in trefoil.
        FTrefoil = "F-trefoil",
        /// Single-core cables in free air, touching side by side.
        FFlat = "F-flat",
        /// Single-core cables in free air, a diameter apart, side by side.
        GHorizontal = "G-horizontal",
        /// Single-core cables in free air, a diameter apart, one above the other.
        GVertical = "G-vertical",
    }
}

words! {
    /// How many conductors of a circuit carry load.
    Loaded23 {
        /// Two: single-phase or direct current.
        Two = "2",
        /// Three: three-phase.
        Three = "3",
    }
}

impl Metal {
    /// As the tables name it.
    pub(crate) fn column(self) -> &'static str {
        match self {
            Self::Copper => "Cu",
            Self::Aluminium => "Al",
        }
    }
}

impl Method {
    /// Whether the cable lies in the ground, where ground temperature and soil count.
    pub fn in_ground(self) -> bool {
        matches!(self, Self::D1 | Self::D2)
    }

    /// The letter and number of the method alone.
    pub fn letter(self) -> &'static str {
        match self {
            Self::FTrefoil | Self::FFlat => "F",
            Self::GHorizontal | Self::GVertical => "G",
            other => other.word(),
        }
    }

    fn arrangement(self, loaded: Loaded23) -> &'static str {
        match (self, loaded) {
            (Self::FTrefoil | Self::FFlat, Loaded23::Two) => "touching",
            (Self::FTrefoil, Loaded23::Three) => "trefoil",
            (Self::FFlat, Loaded23::Three) => "flat",
            (Self::GHorizontal, _) => "horizontal",
            (Self::GVertical, _) => "vertical",
            _ => "",
        }
    }
}

/// A cable as the capacity tables know it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cable {
    /// Metal.
    pub metal: Metal,
    /// Insulation.
    pub insulation: Insulation,
    /// Reference method.
    pub method: Method,
    /// Loaded conductors.
    pub loaded: Loaded23,
}

impl Cable {
    fn name(self) -> String {
        let Self { metal, insulation, method, loaded } = self;
        let (metal, insulation) = (metal.word(), insulation.word());
        format!("{metal}, {insulation}, method {}, {} loaded", method.word(), loaded.word())
    }
}

/// Sections that the capacity table has for a cable, rising.
///
/// # Errors
/// The table has no row for the cable.
pub fn sections(cable: Cable) -> Result<Vec<Section>, TableError> {
    let sheet = of(&AMPACITY)?;
    let mut found = Vec::new();
    for row in rows(sheet, cable) {
        found.push(Section::of(number(sheet, row, "size_mm2")?));
    }
    if found.is_empty() {
        return Err(sheet.no_row(cable.name(), "methods A1 to G; G with three loaded conductors alone"));
    }
    Ok(found)
}

/// Current-carrying capacity of one circuit alone, air at 30 degC or ground at 20 degC and 2.5 K.m/W.
///
/// # Errors
/// The table has no row for the cable or the section.
pub fn capacity(cable: Cable, section: Section) -> Result<Known<Current>, TableError> {
    let sheet = of(&AMPACITY)?;
    for row in rows(sheet, cable) {
        if same(number(sheet, row, "size_mm2")?, section.si()) {
            let name = format!("Table {}, {}, {section}", sheet.text(row, "table"), cable.name());
            let cell = Cell { row, column: "iz_a", row_name: &name, scale: 1.0 };
            return sheet.known("I_table", "capacity of one circuit at reference conditions", cell);
        }
    }
    let has = sections(cable)?.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    Err(sheet.no_row(format!("{section}, {}", cable.name()), has))
}

fn rows(sheet: &Sheet, cable: Cable) -> impl Iterator<Item = usize> {
    (0..sheet.len()).filter(move |&row| {
        sheet.text(row, "metal") == cable.metal.column()
            && sheet.text(row, "insulation") == cable.insulation.word()
            && sheet.text(row, "loaded") == cable.loaded.word()
            && sheet.text(row, "method") == cable.method.letter()
            && sheet.text(row, "arrangement") == cable.method.arrangement(cable.loaded)
    })
}

/// Factor for the temperature of air or ground: the row of the next listed temperature that is not below it.
///
/// # Errors
/// The temperature is above the last row of the insulation, or no number.
pub fn temperature_factor(
    insulation: Insulation,
    in_ground: bool,
    ambient: &Known<Temperature>,
) -> Result<Known<Ratio>, TableError> {
    let table: &'static Loaded = if in_ground { &GROUND } else { &AIR };
    let filter = |sheet: &Sheet, row| sheet.text(row, "insulation") == insulation.word();
    next_above(table, ("k_t", "temperature factor"), "temperature_degc", "factor", ambient, filter)
}

/// Factor for the thermal resistivity of the soil: the row of the next listed one that is not below it.
///
/// # Errors
/// The method is not in the ground, or the soil is drier than the last row.
pub fn soil_factor(method: Method, soil: &Known<SoilResistivity>) -> Result<Known<Ratio>, TableError> {
    if !method.in_ground() {
        return Err(of(&SOIL)?.no_row(format!("method {}", method.word()), "methods D1 and D2"));
    }
    next_above(&SOIL, ("k_soil", "soil factor"), "soil_km_per_w", method.word(), soil, |_, _| true)
}

fn next_above<Q: Quantity>(
    table: &'static Loaded,
    (symbol, what): (&str, &str),
    given: &str,
    factor: &str,
    value: &Known<Q>,
    filter: impl Fn(&Sheet, usize) -> bool,
) -> Result<Known<Ratio>, TableError> {
    let sheet = of(table)?;
    let mut found: Option<(usize, f64)> = None;
    for row in (0..sheet.len()).filter(|&row| filter(sheet, row)) {
        let listed = number(sheet, row, given)?;
        if listed >= value.value().si() && found.is_none_or(|(_, best)| listed < best) {
            found = Some((row, listed));
        }
    }
    let (row, listed) =
        found.ok_or_else(|| sheet.no_row(value.value().to_string(), "no row that is not below it"))?;
    let name = format!("{} row", Q::from_si(listed));
    let cell = Cell { row, column: factor, row_name: &name, scale: 1.0 };
    let known: Known<Ratio> = sheet.known(symbol, format!("{what} at {}", Q::from_si(listed)), cell)?;
    let from = vec![value.node().clone(), known.node().clone()];
    let why = "row of the next listed value that is not below it";
    Ok(Known::chosen(symbol, what, known.value(), why, from))
}

/// What third harmonics do to a four- or five-core cable.
#[derive(Debug, Clone)]
pub struct HarmonicFactor {
    /// Factor on the capacity.
    pub factor: Known<Ratio>,
    /// The section is chosen by the neutral's current, not the line's.
    pub by_neutral: bool,
}

/// Factor for a share of third harmonic in the line current (Table E.52.1).
///
/// # Errors
/// The share is negative or no number.
pub fn harmonic_factor(share: &Known<Ratio>) -> Result<HarmonicFactor, TableError> {
    let sheet = of(&HARMONICS)?;
    let pct = share.value().si() * 100.0;
    for row in 0..sheet.len() {
        let (over, to) = (number(sheet, row, "over_pct")?, sheet.number(row, "to_pct")?);
        if (pct > over || (row == 0 && pct >= 0.0)) && to.is_none_or(|to| pct <= to) {
            let by_neutral = sheet.text(row, "on_line").is_empty();
            let column = if by_neutral { "on_neutral" } else { "on_line" };
            let name = format!("third harmonic over {over} %");
            let cell = Cell { row, column, row_name: &name, scale: 1.0 };
            let known: Known<Ratio> = sheet.known("k_h", "factor for third harmonics", cell)?;
            let from = vec![share.node().clone(), known.node().clone()];
            let why = "row of the share of third harmonic";
            let factor = Known::chosen("k_h", "factor for third harmonics", known.value(), why, from);
            return Ok(HarmonicFactor { factor, by_neutral });
        }
    }
    Err(sheet.no_row(format!("{pct} % third harmonic"), "shares from 0 %"))
}

words! {
    /// Build of a conductor (IEC 60228).
    Build {
        /// Class 2, stranded, plain.
        Stranded = "stranded",
        /// Class 2, stranded, metal-coated.
        StrandedCoated = "stranded-coated",
        /// Class 5, flexible, plain.
        Flexible = "flexible",
        /// Class 5, flexible, metal-coated.
        FlexibleCoated = "flexible-coated",
    }
}

/// Largest resistance of a conductor at 20 degC (IEC 60228).
///
/// # Errors
/// The standard has no such conductor.
pub fn resistance_20(
    metal: Metal,
    build: Build,
    section: Section,
) -> Result<Known<LinearResistance>, TableError> {
    let sheet = of(&RESISTANCE)?;
    let (class, coating) = match build {
        Build::Stranded => ("2", "plain"),
        Build::StrandedCoated => ("2", "metal_coated"),
        Build::Flexible => ("5", "plain"),
        Build::FlexibleCoated => ("5", "metal_coated"),
    };
    let name = format!("{} {}, {section}", build.word(), metal.word());
    for row in 0..sheet.len() {
        let alike = sheet.text(row, "metal") == metal.column()
            && sheet.text(row, "conductor_class") == class
            && sheet.text(row, "coating") == coating;
        if alike && same(number(sheet, row, "size_mm2")?, section.si()) {
            let cell = Cell { row, column: "r20_ohm_per_km", row_name: &name, scale: 1.0 };
            return sheet.known("R_20", "largest resistance at 20 degC", cell);
        }
    }
    Err(sheet.no_row(name, "sections from 0.5 mm2 in copper, 10 mm2 in aluminium, to 300 mm2"))
}

/// Nominal sections of stranded copper from 1.5 mm2 (IEC 60228 Table 2), rising.
///
/// # Errors
/// The table cannot be used.
pub fn nominal_sections() -> Result<Vec<Known<Section>>, TableError> {
    let sheet = of(&RESISTANCE)?;
    let mut found = Vec::new();
    for row in 0..sheet.len() {
        let plain = sheet.text(row, "metal") == "Cu"
            && sheet.text(row, "conductor_class") == "2"
            && sheet.text(row, "coating") == "plain";
        if plain && number(sheet, row, "size_mm2")? >= 1.5 {
            let name = format!("{} mm2", sheet.text(row, "size_mm2"));
            let cell = Cell { row, column: "size_mm2", row_name: &name, scale: 1.0 };
            found.push(sheet.known("S", "nominal section", cell)?);
        }
    }
    Ok(found)
}

pub(super) fn number(sheet: &Sheet, row: usize, column: &str) -> Result<f64, TableError> {
    sheet.number(row, column)?.ok_or_else(|| sheet.bad_cell(row, column))
}

/// Two nominal sections are the same up to rounding of their text.
fn same(listed: f64, asked: f64) -> bool {
    (listed - asked).abs() <= 1e-9 * listed
}

#[cfg(test)]
mod tests;
