//! The units of keys: each key ends in the suffix of its unit, in which bare numbers are read and results written.

use quantity::{
    Apparent, Area, Current, DcCurrent, DcVoltage, Duration, JouleIntegral, Length, LineVoltage,
    LinearResistance, PhaseVoltage, Power, Quantity, QuantityError, Ratio, Resistance, Section, ShaftPower,
    SoilResistivity, Temperature,
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
    /// Angle in degrees.
    DEGREE = "_deg", "deg", 1.0, "-120", degrees;
    /// A share in percent.
    PERCENT = "_pct", "%", 0.01, "5.75 %", si::<Ratio>;
    /// Direct current in amperes.
    DC_AMPERE = "_a", "A", 1.0, "20 A", si::<DcCurrent>;
    /// DC voltage in volts.
    DC_VOLT = "_v", "V", 1.0, "450 V", si::<DcVoltage>;
    /// Section of a conductor in square millimetres.
    SQUARE_MM = "_mm2", "mm2", 1.0, "16 mm2", si::<Section>;
    /// Resistance or reactance by length in ohms per kilometre.
    OHM_PER_KM = "_ohm_per_km", "ohm/km", 1.0, "1.15 ohm/km", si::<LinearResistance>;
    /// Thermal resistivity of soil in kelvin metres per watt.
    SOIL = "_k_m_per_w", "K.m/W", 1.0, "2.5 K.m/W", si::<SoilResistivity>;
    /// Joule integral in ampere squared seconds.
    AMPERE2_SECOND = "_a2s", "A2s", 1.0, "42000 A2s", si::<JouleIntegral>;
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
