//! The units of keys: each key ends in the suffix of its unit, in which bare numbers are read and results written.

use quantity::{
    AirFlow, Apparent, Area, Capacitance, Charge, ChargeRate, Current, DcCurrent, DcVoltage, Density,
    Duration, Energy, FillArea, GasYield, HeatConductance, Irradiance, Irradiation, JouleIntegral, Length,
    LineVoltage, LinearResistance, PhaseVoltage, Power, Pressure, PulseEnergy, Quantity, QuantityError,
    Ratio, Resistance, Section, ShaftPower, SoilResistivity, Temperature, TemperatureCoefficient,
    TemperatureSpan, VoltageCoefficient, Volume, WireArea,
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
    /// Direct current in amperes.
    DC_AMPERE = "_a", "A", 1.0, "200 A", si::<DcCurrent>;
    /// DC voltage in volts.
    DC_VOLT = "_v", "V", 1.0, "51.2 V", si::<DcVoltage>;
    /// Resistance or reactance in ohms.
    OHM = "_ohm", "ohm", 1.0, "2.4 mohm", si::<Resistance>;
    /// Capacitance in farads.
    FARAD = "_f", "F", 1.0, "22 mF", si::<Capacitance>;
    /// Energy of a pulse in joules.
    JOULE = "_j", "J", 1.0, "80 J", si::<PulseEnergy>;
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
    /// Length in inches.
    INCH = "_in", "in", 0.0254, "24 in", si::<Length>;
    /// Cross-section of a conductor in thousands of circular mils.
    KCMIL = "_kcmil", "kcmil", 1.0, "250 kcmil", si::<WireArea>;
    /// Area in a raceway in square inches.
    SQUARE_INCH = "_in2", "in2", 1.0, "0.346 in2", si::<FillArea>;
    /// Time in seconds.
    SECOND = "_s", "s", 1.0, "30 min", si::<Duration>;
    /// Temperature in degrees Celsius.
    CELSIUS = "_degc", "degC", 1.0, "35 degC", si::<Temperature>;
    /// Power in kilowatts.
    KILOWATT = "_kw", "kW", 1e3, "5 kW", si::<Power>;
    /// Heat in Btu an hour.
    BTU_PER_HOUR = "_btu_h", "Btu/h", 0.293_071_07, "1500 W", si::<Power>;
    /// Energy in watt-hours.
    WATT_HOUR = "_wh", "Wh", 1.0, "14 kWh", si::<Energy>;
    /// Energy in kilowatt-hours.
    KILOWATT_HOUR = "_kwh", "kWh", 1e3, "14 kWh", si::<Energy>;
    /// Charge in ampere-hours.
    AMPERE_HOUR = "_ah", "Ah", 1.0, "280 Ah", si::<Charge>;
    /// Time in minutes.
    MINUTE = "_min", "min", 60.0, "30 min", si::<Duration>;
    /// Time in hours.
    HOUR_SPAN = "_h", "h", 3600.0, "20 h", si::<Duration>;
    /// Change with temperature in percent for each degree.
    PERCENT_PER_DEGREE = "_pct_per_degc", "%/degC", 0.01, "-0.28 %/degC", si::<TemperatureCoefficient>;
    /// Change of a voltage with temperature.
    VOLT_PER_DEGREE = "_v_per_degc", "V/degC", 1.0, "-137 mV/degC", si::<VoltageCoefficient>;
    /// Difference of temperatures.
    KELVIN = "_k", "K", 1.0, "18 degF", si::<TemperatureSpan>;
    /// Power of radiation in watts per square metre.
    IRRADIANCE = "_w_m2", "W/m2", 1.0, "800 W/m2", si::<Irradiance>;
    /// Energy of radiation in kilowatt-hours per square metre.
    IRRADIATION_KWH = "_kwh_m2", "kWh/m2", 1e3, "1600 kWh/m2", si::<Irradiation>;
    /// Resistance of each length.
    OHM_PER_KFT = "_ohm_per_kft", "ohm/kft", 1.0 / 0.3048, "0.2 ohm/km", si::<LinearResistance>;
    /// Air flow in cubic metres an hour.
    CUBIC_METRE_PER_HOUR = "_m3_h", "m3/h", 1.0 / 3600.0, "32 cfm", si::<AirFlow>;
    /// Air flow in cubic feet a minute.
    CUBIC_FOOT_PER_MINUTE = "_cfm", "cfm", 0.028_316_846_592 / 60.0, "32 cfm", si::<AirFlow>;
    /// Gas flow in cubic feet an hour.
    CUBIC_FOOT_PER_HOUR = "_ft3_h", "ft3/h", 0.028_316_846_592 / 3600.0, "19 ft3/h", si::<AirFlow>;
    /// Volume in cubic feet.
    CUBIC_FOOT = "_ft3", "ft3", 0.028_316_846_592, "8000 ft3", si::<Volume>;
    /// Volume in cubic metres.
    CUBIC_METRE = "_m3", "m3", 1.0, "40 m3", si::<Volume>;
    /// Gas from each ampere-hour in cubic feet.
    CUBIC_FOOT_PER_AH = "_ft3_per_ah", "ft3/Ah", 0.028_316_846_592, "0.45 l/Ah", si::<GasYield>;
    /// Current for each ampere-hour in milliamperes.
    MILLIAMPERE_PER_AH = "_ma_per_ah", "mA/Ah", 1e-3, "8 mA/Ah", si::<ChargeRate>;
    /// Current for each hundred ampere-hours in amperes.
    AMPERE_PER_100AH = "_a_per_100ah", "A/100Ah", 0.01, "2.4 mA/Ah", si::<ChargeRate>;
    /// Opening in square centimetres.
    SQUARE_CENTIMETRE = "_cm2", "cm2", 1e-4, "54 cm2", si::<Area>;
    /// Distance in millimetres.
    MILLIMETRE = "_mm", "mm", 1e-3, "250 mm", si::<Length>;
    /// Density in kilograms per cubic metre.
    DENSITY = "_kg_m3", "kg/m3", 1.0, "1.2 kg/m3", si::<Density>;
    /// Heat conductance in watts per kelvin.
    WATT_PER_KELVIN = "_w_per_k", "W/K", 1.0, "25 W/K", si::<HeatConductance>;
    /// Pressure in kilopascals.
    KILOPASCAL = "_kpa", "kPa", 1e3, "81.5 kPa", si::<Pressure>;
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
