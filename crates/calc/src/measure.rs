//! The units of keys: each key ends in the suffix of its unit, in which bare numbers are read and results written.

use quantity::{
    Apparent, Area, Current, Duration, Irradiance, Irradiation, Length, LineVoltage, PhaseVoltage, Power,
    Quantity, QuantityError, Ratio, Resistance, ShaftPower, Temperature,
};

/// A unit of keys.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// How keys end: `_a`. Empty for plain numbers and words.
    pub suffix: &'static str,
    /// The unit of bare numbers and of results: `A`.
    pub unit: &'static str,
    /// SI units in one of these.
    factor: f64,
    /// An example with unit.
    pub example: &'static str,
    read: fn(&str) -> Result<f64, QuantityError>,
}

fn si<Q: Quantity>(text: &str) -> Result<f64, QuantityError> {
    Q::read(text).map(Quantity::si)
}

/// Degrees of a phasor are no quantity of their own.
fn degrees(text: &str) -> Result<f64, QuantityError> {
    let number = text.trim().trim_end_matches("deg").trim_end_matches('°').trim();
    number.parse().ok().filter(|d: &f64| d.is_finite()).ok_or_else(|| {
        QuantityError::new(format!("\"{text}\" is no angle"), "write degrees, for example \"-120\"")
    })
}

/// Air pressure in pascals is no quantity of its own.
fn pascals(text: &str) -> Result<f64, QuantityError> {
    let text = text.trim();
    let units = [("mbar", 100.0), ("hPa", 100.0), ("kPa", 1000.0), ("Pa", 1.0)];
    let read = units.iter().find_map(|(unit, factor)| {
        let number = text.strip_suffix(unit)?.trim().parse::<f64>().ok()?;
        Some(number * factor)
    });
    read.filter(|p| p.is_finite()).ok_or_else(|| {
        QuantityError::new(format!("\"{text}\" is no pressure"), "write a pressure, for example \"820 mbar\"")
    })
}

/// Hours that may lie before zero, such as those of a time zone.
fn hours(text: &str) -> Result<f64, QuantityError> {
    let number =
        text.trim().strip_suffix('h').unwrap_or(text).trim().parse().ok().filter(|h: &f64| h.is_finite());
    number.map(|h| h * 3600.0).ok_or_else(|| {
        QuantityError::new(format!("\"{text}\" are no hours"), "write hours, for example \"-7 h\"")
    })
}

/// A plain number, a fraction, or a percentage.
fn plain(text: &str) -> Result<f64, QuantityError> {
    let text = text.trim();
    if text.ends_with('%') {
        return si::<Ratio>(text);
    }
    let number = match text.split_once('/') {
        Some((over, under)) => {
            over.trim().parse::<f64>().ok().zip(under.trim().parse::<f64>().ok()).map(|(a, b)| a / b)
        }
        None => text.parse().ok(),
    };
    number.filter(|n: &f64| n.is_finite()).ok_or_else(|| {
        QuantityError::new(format!("\"{text}\" is not a number"), "write a number, for example \"0.95\"")
    })
}

fn no_number(text: &str) -> Result<f64, QuantityError> {
    Err(QuantityError::new(format!("\"{text}\" is no number"), "this input takes a word"))
}

macro_rules! measures {
    ($($(#[$doc:meta])* $name:ident = $suffix:literal, $unit:literal, $factor:expr, $example:literal, $read:expr);+ $(;)?) => {
        impl Measure {$(
            $(#[$doc])*
            pub const $name: Measure =
                Measure { suffix: $suffix, unit: $unit, factor: $factor, example: $example, read: $read };
        )+}
    };
}

measures! {
    /// AC current in amperes.
    AMPERE = "_a", "A", 1.0, "50 A", si::<Current>;
    /// Line-to-line voltage in volts.
    LINE_VOLT = "_v", "V", 1.0, "240 V", si::<LineVoltage>;
    /// Line-to-neutral voltage in volts.
    PHASE_VOLT = "_v", "V", 1.0, "120 V", si::<PhaseVoltage>;
    /// Resistance or reactance in ohms.
    OHM = "_ohm", "ohm", 1.0, "2.4 mohm", si::<Resistance>;
    /// Apparent power in volt-amperes.
    VOLT_AMPERE = "_va", "VA", 1.0, "5.4 kVA", si::<Apparent>;
    /// Active power in watts.
    WATT = "_w", "W", 1.0, "5 kW", si::<Power>;
    /// Motor power in horsepower.
    HORSEPOWER = "_hp", "hp", 745.699_872, "7-1/2 hp", si::<ShaftPower>;
    /// Length in feet.
    FOOT = "_ft", "ft", 0.3048, "60 ft", si::<Length>;
    /// Length in metres.
    METRE = "_m", "m", 1.0, "1600 m", si::<Length>;
    /// Area in square feet.
    SQUARE_FOOT = "_ft2", "ft2", 0.092_903_04, "1500 ft2", si::<Area>;
    /// Time in seconds.
    SECOND = "_s", "s", 1.0, "30 min", si::<Duration>;
    /// Temperature in degrees Celsius.
    CELSIUS = "_degc", "degC", 1.0, "35 degC", si::<Temperature>;
    /// Power of radiation in watts per square metre.
    IRRADIANCE = "_w_m2", "W/m2", 1.0, "800 W/m2", si::<Irradiance>;
    /// Energy of radiation in watt-hours per square metre.
    IRRADIATION = "_wh_m2", "Wh/m2", 1.0, "5 kWh/m2", si::<Irradiation>;
    /// Air pressure in pascals.
    PASCAL = "_pa", "Pa", 1.0, "820 mbar", pascals;
    /// Time in hours, before or after zero.
    HOUR = "_h", "h", 3600.0, "-7 h", hours;
    /// Angle in degrees.
    DEGREE = "_deg", "deg", 1.0, "-120", degrees;
    /// A share in percent.
    PERCENT = "_pct", "%", 0.01, "5.75 %", si::<Ratio>;
    /// A plain number.
    NUMBER = "", "", 1.0, "0.95", plain;
    /// A word or yes and no: no number.
    WORD = "", "", 1.0, "yes", no_number;
}

impl Measure {
    /// SI value of a text: a bare number in this unit, or a quantity with its own unit.
    pub(crate) fn read(&self, text: &str) -> Result<f64, QuantityError> {
        if is_bare(text) && !self.unit.is_empty() {
            (self.read)(&format!("{text} {}", self.unit))
        } else {
            (self.read)(text)
        }
    }

    /// A value in this unit, from SI.
    pub(crate) fn of_si(&self, si: f64) -> f64 {
        si / self.factor
    }
}

/// A number without a unit: digits, signs, separators, a fraction, an exponent.
pub(crate) fn is_bare(text: &str) -> bool {
    let text = text.trim();
    text.parse::<f64>().is_ok()
        || text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '/' | '-' | '+' | ' '))
}
