//! Motor tables: full-load current (NEC 2023 Tables 430.248 and 430.250), locked-rotor current (Tables
//! 430.251(A) and (B)) and locked-rotor code letters (Table 430.7(B)).

use derivation::Known;
use quantity::{Current, Quantity, Ratio, ShaftPower};

use super::{CODE_LETTERS, FLC_SINGLE, FLC_THREE, LRC_SINGLE, LRC_THREE, Loaded, of};
use crate::TableError;
use crate::sheet::Cell;

/// Watts in one horsepower (mechanical, 550 ft·lbf/s).
pub const HORSEPOWER: ShaftPower = ShaftPower::of(745.699_872);

/// A rated voltage of motors: a column of the tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MotorVoltage {
    /// 115 V, for systems of 110 to 120 V.
    V115,
    /// 200 V.
    V200,
    /// 208 V.
    V208,
    /// 230 V, for systems of 220 to 240 V.
    V230,
    /// 460 V, for systems of 440 to 480 V.
    V460,
    /// 575 V, for systems of 550 to 600 V.
    V575,
}

impl MotorVoltage {
    /// All, in column order.
    pub const ALL: [Self; 6] = [Self::V115, Self::V200, Self::V208, Self::V230, Self::V460, Self::V575];

    /// The column for a nominal system voltage in volts (notes to Tables 430.248 and 430.250); `None` where no
    /// column applies.
    pub fn for_system_v(system_v: f64) -> Option<Self> {
        match system_v {
            v if (110.0..=120.0).contains(&v) => Some(Self::V115),
            200.0 => Some(Self::V200),
            208.0 => Some(Self::V208),
            v if (220.0..=240.0).contains(&v) => Some(Self::V230),
            v if (440.0..=480.0).contains(&v) => Some(Self::V460),
            v if (550.0..=600.0).contains(&v) => Some(Self::V575),
            _ => None,
        }
    }

    /// Rated volts.
    pub fn rated_v(self) -> f64 {
        match self {
            Self::V115 => 115.0,
            Self::V200 => 200.0,
            Self::V208 => 208.0,
            Self::V230 => 230.0,
            Self::V460 => 460.0,
            Self::V575 => 575.0,
        }
    }

    fn column(self) -> &'static str {
        match self {
            Self::V115 => "v115_a",
            Self::V200 => "v200_a",
            Self::V208 => "v208_a",
            Self::V230 => "v230_a",
            Self::V460 => "v460_a",
            Self::V575 => "v575_a",
        }
    }
}

/// Full-load current of a single-phase AC motor (NEC 2023 Table 430.248).
///
/// # Errors
/// The table has no such rating or no figure at this voltage.
pub fn full_load_current_single(rating: ShaftPower, at: MotorVoltage) -> Result<Known<Current>, TableError> {
    motor_current(&FLC_SINGLE, "FLC", "full-load current", rating, at)
}

/// Full-load current of a three-phase AC induction motor (NEC 2023 Table 430.250).
///
/// # Errors
/// The table has no such rating or no figure at this voltage.
pub fn full_load_current_three_phase(
    rating: ShaftPower,
    at: MotorVoltage,
) -> Result<Known<Current>, TableError> {
    motor_current(&FLC_THREE, "FLC", "full-load current", rating, at)
}

/// Locked-rotor current of a single-phase motor (NEC 2023 Table 430.251(A)).
///
/// # Errors
/// The table has no such rating, no figure at this voltage, or sources disagree on it (10 hp at 115 V).
pub fn locked_rotor_current_single(
    rating: ShaftPower,
    at: MotorVoltage,
) -> Result<Known<Current>, TableError> {
    motor_current(&LRC_SINGLE, "LRC", "locked-rotor current", rating, at)
}

/// Locked-rotor current of a polyphase motor of design B, C or D (NEC 2023 Table 430.251(B)).
///
/// # Errors
/// The table has no such rating or no figure at this voltage.
pub fn locked_rotor_current_three_phase(
    rating: ShaftPower,
    at: MotorVoltage,
) -> Result<Known<Current>, TableError> {
    motor_current(&LRC_THREE, "LRC", "locked-rotor current", rating, at)
}

/// Nameplates print 1/6 hp as 0.17 or 0.167; adjacent ratings are at least 11 % apart.
const SAME_RATING: f64 = 0.003;

fn motor_current(
    table: &'static Loaded,
    symbol: &str,
    what: &str,
    rating: ShaftPower,
    at: MotorVoltage,
) -> Result<Known<Current>, TableError> {
    let sheet = of(table)?;
    for row in 0..sheet.len() {
        let text = sheet.text(row, "hp");
        let listed = ShaftPower::read(&format!("{text} hp")).map_err(|_| sheet.bad_cell(row, "hp"))?;
        if ((rating / listed).si() - 1.0).abs() <= SAME_RATING {
            let name = format!("{text} hp at {} V", at.rated_v());
            let cell = Cell { row, column: at.column(), row_name: &name, scale: 1.0 };
            return sheet.known(symbol, format!("{what}, {name}"), cell);
        }
    }
    let last = sheet.len().saturating_sub(1);
    let has = format!("ratings from {} to {} hp as listed", sheet.text(0, "hp"), sheet.text(last, "hp"));
    Err(sheet.no_row(format!("{} hp", (rating / HORSEPOWER).si()), has))
}

/// A locked-rotor code letter: a band of kVA per horsepower.
#[derive(Debug, Clone)]
pub struct CodeLetter {
    /// The letter.
    pub letter: char,
    /// Lower end of the band, kVA per horsepower.
    pub min: Known<Ratio>,
    max: Result<Known<Ratio>, TableError>,
}

impl CodeLetter {
    /// Upper end of the band, kVA per horsepower: what a start must be reckoned with.
    ///
    /// # Errors
    /// Letter V has no upper end.
    pub fn max(&self) -> Result<Known<Ratio>, TableError> {
        self.max.clone()
    }
}

/// The band of a locked-rotor code letter (NEC 2023 Table 430.7(B)).
///
/// # Errors
/// No such letter.
pub fn code_letter(letter: char) -> Result<CodeLetter, TableError> {
    let sheet = of(&CODE_LETTERS)?;
    let wanted = letter.to_ascii_uppercase().to_string();
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "code_letter") == wanted);
    let row =
        row.ok_or_else(|| sheet.no_row(format!("code letter {letter}"), "A to V without I, O and Q"))?;
    let name = format!("letter {wanted}");
    let end = |symbol, which: &str, column| {
        let what = format!("{which} kVA per hp of code letter {wanted}");
        sheet.known(symbol, what, Cell { row, column, row_name: &name, scale: 1.0 })
    };
    Ok(CodeLetter {
        letter: letter.to_ascii_uppercase(),
        min: end("k_min", "lowest", "kva_per_hp_min")?,
        max: end("k_max", "highest", "kva_per_hp_max"),
    })
}

#[cfg(test)]
mod tests;
