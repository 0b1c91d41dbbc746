//! The kinds of quantity, each with its unit table.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};
use std::str::FromStr;

use crate::number::{Digits, engineering, read_si};
use crate::{Quantity, QuantityError, Unit};

macro_rules! quantity {
    (
        $(#[$doc:meta])*
        $kind:ident, $name:literal, si $si_unit:literal, example $example:literal, largest $largest:expr,
        read [$($symbol:literal = $factor:expr $(, + $offset:expr)?);+ $(;)?],
        write $digits:ident [$($wsymbol:literal = $wfactor:expr),+]
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $kind(f64);

        impl Quantity for $kind {
            const NAME: &'static str = $name;
            const EXAMPLE: &'static str = $example;
            const SI_UNIT: &'static str = $si_unit;
            fn units() -> &'static [Unit] {
                &[$(Unit { symbol: $symbol, factor: $factor, offset: 0.0 $(+ $offset)? }),+]
            }
            fn si(self) -> f64 {
                self.0
            }
            fn from_si(value: f64) -> Self {
                Self(value)
            }
            fn read(text: &str) -> Result<Self, QuantityError> {
                read_si(text, $name, $example, Self::units(), $largest).map(Self)
            }
        }

        impl $kind {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            /// From a value in the SI unit of the kind.
            pub const fn of(si: f64) -> Self {
                Self(si)
            }
            /// The larger of two.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                if other.0 > self.0 { other } else { self }
            }
            /// The smaller of two.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                if other.0 < self.0 { other } else { self }
            }
            /// Without sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl FromStr for $kind {
            type Err = QuantityError;
            fn from_str(text: &str) -> Result<Self, QuantityError> {
                <Self as Quantity>::read(text)
            }
        }

        impl fmt::Display for $kind {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&engineering(self.0, &[$(($wsymbol, $wfactor)),+], Digits::$digits))
            }
        }

        impl Add for $kind {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self(self.0 + other.0) }
        }
        impl AddAssign for $kind {
            fn add_assign(&mut self, other: Self) { self.0 += other.0; }
        }
        impl Sub for $kind {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self(self.0 - other.0) }
        }
        impl Neg for $kind {
            type Output = Self;
            fn neg(self) -> Self { Self(-self.0) }
        }
        impl Mul<f64> for $kind {
            type Output = Self;
            fn mul(self, factor: f64) -> Self { Self(self.0 * factor) }
        }
        impl Mul<$kind> for f64 {
            type Output = $kind;
            fn mul(self, value: $kind) -> $kind { $kind(self * value.0) }
        }
        impl Div<f64> for $kind {
            type Output = Self;
            fn div(self, divisor: f64) -> Self { Self(self.0 / divisor) }
        }
        impl Sum for $kind {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
                iter.fold(Self(0.0), |a, b| a + b)
            }
        }
    };
}

/// Kinds whose quotient is a plain number and which scale by one.
macro_rules! scalable {
    ($($kind:ident),+) => {$(
        impl Div<$kind> for $kind {
            type Output = Ratio;
            fn div(self, other: $kind) -> Ratio { Ratio::of(self.si() / other.si()) }
        }
        impl Mul<Ratio> for $kind {
            type Output = $kind;
            fn mul(self, factor: Ratio) -> $kind { $kind(self.0 * factor.si()) }
        }
        impl Mul<$kind> for Ratio {
            type Output = $kind;
            fn mul(self, value: $kind) -> $kind { $kind(self.si() * value.0) }
        }
        impl Div<Ratio> for $kind {
            type Output = $kind;
            fn div(self, divisor: Ratio) -> $kind { $kind(self.0 / divisor.si()) }
        }
    )+};
}

quantity! {
    /// AC current, RMS, in amperes.
    Current, "current", si "A", example "60 A", largest 1e6,
    read ["A" = 1.0; "mA" = 1e-3; "kA" = 1e3], write Kept ["A" = 1.0, "kA" = 1e3, "mA" = 1e-3]
}
quantity! {
    /// AC current, instantaneous peak, in amperes.
    PeakCurrent, "peak current", si "A", example "180 A", largest 1e6,
    read ["A" = 1.0; "mA" = 1e-3; "kA" = 1e3], write Kept ["A" = 1.0, "kA" = 1e3]
}
quantity! {
    /// Direct current, in amperes.
    DcCurrent, "direct current", si "A", example "200 A", largest 1e6,
    read ["A" = 1.0; "mA" = 1e-3; "kA" = 1e3], write Kept ["A" = 1.0, "kA" = 1e3, "mA" = 1e-3]
}
quantity! {
    /// AC voltage between two lines, RMS, in volts.
    LineVoltage, "line-to-line voltage", si "V", example "240 V", largest 1e5,
    read ["V" = 1.0; "kV" = 1e3], write Kept ["V" = 1.0, "kV" = 1e3]
}
quantity! {
    /// AC voltage between a line and neutral, RMS, in volts.
    PhaseVoltage, "line-to-neutral voltage", si "V", example "120 V", largest 1e5,
    read ["V" = 1.0; "kV" = 1e3], write Kept ["V" = 1.0, "kV" = 1e3]
}
quantity! {
    /// DC voltage, in volts.
    DcVoltage, "DC voltage", si "V", example "51.2 V", largest 1e5,
    read ["V" = 1.0; "mV" = 1e-3; "kV" = 1e3], write Kept ["V" = 1.0, "kV" = 1e3, "mV" = 1e-3]
}
quantity! {
    /// Active power, in watts.
    Power, "power", si "W", example "5.4 kW", largest 1e9,
    read ["W" = 1.0; "kW" = 1e3; "MW" = 1e6], write Kept ["W" = 1.0, "kW" = 1e3, "MW" = 1e6]
}
quantity! {
    /// Power at a motor's shaft, in watts.
    ShaftPower, "motor power", si "W", example "2 hp", largest 1e7,
    // 1 hp (mechanical) = 550 ft·lbf/s = 745.699 872 W
    read ["hp" = 745.699_872; "kW" = 1e3; "W" = 1.0], write Kept ["W" = 1.0, "kW" = 1e3]
}
quantity! {
    /// Apparent power, in volt-amperes.
    Apparent, "apparent power", si "VA", example "5.5 kVA", largest 1e9,
    read ["VA" = 1.0; "kVA" = 1e3; "MVA" = 1e6], write Kept ["VA" = 1.0, "kVA" = 1e3, "MVA" = 1e6]
}
quantity! {
    /// Energy, in watt-hours.
    Energy, "energy", si "Wh", example "14 kWh", largest 1e12,
    read ["Wh" = 1.0; "kWh" = 1e3; "MWh" = 1e6], write Kept ["Wh" = 1.0, "kWh" = 1e3, "MWh" = 1e6]
}
quantity! {
    /// Charge, in ampere-hours.
    Charge, "charge", si "Ah", example "280 Ah", largest 1e7,
    read ["Ah" = 1.0; "mAh" = 1e-3], write Trimmed ["Ah" = 1.0]
}
quantity! {
    /// Resistance, in ohms.
    Resistance, "resistance", si "ohm", example "25 ohm", largest 1e9,
    read ["ohm" = 1.0; "mohm" = 1e-3; "kohm" = 1e3; "uohm" = 1e-6],
    write Kept ["ohm" = 1.0, "kohm" = 1e3, "mohm" = 1e-3]
}
quantity! {
    /// Capacitance, in farads.
    Capacitance, "capacitance", si "F", example "22 mF", largest 1e4,
    read ["F" = 1.0; "mF" = 1e-3; "uF" = 1e-6], write Kept ["F" = 1.0, "mF" = 1e-3, "uF" = 1e-6]
}
quantity! {
    /// Energy of one pulse, in joules.
    PulseEnergy, "pulse energy", si "J", example "80 J", largest 1e9,
    read ["J" = 1.0; "mJ" = 1e-3; "kJ" = 1e3; "Ws" = 1.0], write Kept ["J" = 1.0, "kJ" = 1e3, "mJ" = 1e-3]
}
quantity! {
    /// Time span, in seconds.
    Duration, "duration", si "s", example "30 min", largest 1e10,
    read ["s" = 1.0; "ms" = 1e-3; "min" = 60.0; "h" = 3600.0; "d" = 86_400.0],
    write Trimmed ["s" = 1.0, "ms" = 1e-3, "min" = 60.0, "h" = 3600.0]
}
quantity! {
    /// Temperature, in degrees Celsius.
    Temperature, "temperature", si "degC", example "35 degC", largest 1e3,
    read ["degC" = 1.0; "degF" = 5.0 / 9.0, + -160.0 / 9.0; "K" = 1.0, + -273.15], write Trimmed ["degC" = 1.0]
}
quantity! {
    /// Length, in metres.
    Length, "length", si "m", example "45 ft", largest 1e6,
    read ["m" = 1.0; "ft" = 0.3048; "in" = 0.0254; "mm" = 1e-3; "cm" = 1e-2; "km" = 1e3],
    write Trimmed ["m" = 1.0, "mm" = 1e-3]
}
quantity! {
    /// Area, in square metres.
    Area, "area", si "m2", example "1,500 ft2", largest 1e9,
    read ["ft2" = 0.092_903_04; "m2" = 1.0; "cm2" = 1e-4], write Trimmed ["m2" = 1.0, "cm2" = 1e-4]
}
quantity! {
    /// Cross-section of a conductor, in thousands of circular mils.
    WireArea, "conductor cross-section", si "kcmil", example "250 kcmil", largest 1e6,
    // a circle of one mil: pi/4 x (0.0254 mm)^2, so 1 kcmil = 0.506 707 479 mm2
    read ["kcmil" = 1.0; "cmil" = 1e-3; "mm2" = 1.0 / 0.506_707_479], write Trimmed ["kcmil" = 1.0]
}
quantity! {
    /// Area that conductors take in a raceway, in square inches.
    FillArea, "area in a raceway", si "in2", example "0.346 in2", largest 1e4,
    read ["in2" = 1.0; "mm2" = 1.0 / 645.16], write Kept ["in2" = 1.0]
}
quantity! {
    /// Mass, in kilograms.
    Mass, "mass", si "kg", example "48 kg", largest 1e6,
    read ["kg" = 1.0; "g" = 1e-3; "lb" = 0.453_592_37; "t" = 1e3], write Trimmed ["kg" = 1.0]
}
quantity! {
    /// Frequency, in hertz.
    Frequency, "frequency", si "Hz", example "60 Hz", largest 1e6,
    read ["Hz" = 1.0; "kHz" = 1e3], write Trimmed ["Hz" = 1.0]
}
quantity! {
    /// Angle, in degrees.
    Angle, "angle", si "deg", example "180 deg", largest 1e6,
    read ["deg" = 1.0], write Trimmed ["deg" = 1.0]
}
quantity! {
    /// Power of radiation on an area, in watts per square metre.
    Irradiance, "irradiance", si "W/m2", example "800 W/m2", largest 1e5,
    read ["W/m2" = 1.0; "kW/m2" = 1e3], write Kept ["W/m2" = 1.0]
}
quantity! {
    /// Energy of radiation on an area, in watt-hours per square metre.
    Irradiation, "irradiation", si "Wh/m2", example "5 kWh/m2", largest 1e8,
    // 1 MJ = 1e6 / 3600 Wh
    read ["Wh/m2" = 1.0; "kWh/m2" = 1e3; "MJ/m2" = 1e6 / 3600.0], write Kept ["Wh/m2" = 1.0, "kWh/m2" = 1e3]
}
quantity! {
    /// A difference of temperatures, in kelvin. Not a temperature: 18 degF of difference are 10 K.
    TemperatureSpan, "temperature difference", si "K", example "10 degC", largest 1e3,
    read ["degC" = 1.0; "degF" = 5.0 / 9.0; "K" = 1.0], write Trimmed ["K" = 1.0]
}
quantity! {
    /// Relative change with temperature, per kelvin.
    TemperatureCoefficient, "temperature coefficient", si "1/K", example "-0.28 %/degC", largest 1.0,
    read ["%/degC" = 1e-2; "%/K" = 1e-2; "/degC" = 1.0; "/K" = 1.0], write Trimmed ["%/K" = 1e-2]
}
quantity! {
    /// Change of a DC voltage with temperature, in volts per kelvin.
    VoltageCoefficient, "voltage coefficient", si "V/K", example "-137 mV/degC", largest 1e3,
    read ["V/degC" = 1.0; "V/K" = 1.0; "mV/degC" = 1e-3; "mV/K" = 1e-3], write Trimmed ["V/K" = 1.0, "mV/K" = 1e-3]
}
quantity! {
    /// Volume, in cubic metres.
    Volume, "volume", si "m3", example "8,000 ft3", largest 1e9,
    // US liquid gallon: 231 in3
    read ["m3" = 1.0; "ft3" = 0.028_316_846_592; "l" = 1e-3; "gal" = 0.003_785_411_784],
    write Trimmed ["m3" = 1.0, "l" = 1e-3]
}
quantity! {
    /// Fuel that an engine uses in a time, in litres an hour.
    FuelRate, "fuel use", si "l/h", example "2.4 l/h", largest 1e6,
    read ["l/h" = 1.0; "gal/h" = 3.785_411_784], write Kept ["l/h" = 1.0]
}
quantity! {
    /// Heat that flows for each kelvin of difference, in watts per kelvin.
    HeatConductance, "heat conductance", si "W/K", example "25 W/K", largest 1e6,
    // Btu/(h degF): 0.293 071 07 W over 5/9 K
    read ["W/K" = 1.0; "W/degC" = 1.0; "Btu/h/degF" = 0.527_527_93], write Trimmed ["W/K" = 1.0]
}
quantity! {
    /// Volume flow of a gas, in cubic metres per second.
    AirFlow, "air flow", si "m3/s", example "32 cfm", largest 1e6,
    // cubic feet a minute and an hour
    read ["m3/h" = 1.0 / 3600.0; "cfm" = 0.028_316_846_592 / 60.0; "ft3/h" = 0.028_316_846_592 / 3600.0; "m3/s" = 1.0; "l/s" = 1e-3],
    write Kept ["m3/h" = 1.0 / 3600.0]
}
quantity! {
    /// Current of a battery for each ampere-hour of its capacity.
    ChargeRate, "current for each ampere-hour", si "A/Ah", example "8 mA/Ah", largest 1e3,
    read ["A/Ah" = 1.0; "mA/Ah" = 1e-3; "A/100Ah" = 1e-2], write Trimmed ["A/Ah" = 1.0, "mA/Ah" = 1e-3]
}
quantity! {
    /// Gas from each ampere-hour, in cubic metres.
    GasYield, "gas from each ampere-hour", si "m3/Ah", example "0.016 ft3/Ah", largest 1e3,
    read ["m3/Ah" = 1.0; "l/Ah" = 1e-3; "ft3/Ah" = 0.028_316_846_592], write Trimmed ["l/Ah" = 1e-3]
}
quantity! {
    /// Mass of a volume, in kilograms per cubic metre.
    Density, "density", si "kg/m3", example "1.2 kg/m3", largest 1e5,
    read ["kg/m3" = 1.0; "lb/ft3" = 16.018_463_4], write Trimmed ["kg/m3" = 1.0]
}
quantity! {
    /// Pressure, in pascals.
    Pressure, "pressure", si "Pa", example "81.5 kPa", largest 1e9,
    read ["Pa" = 1.0; "hPa" = 1e2; "kPa" = 1e3; "mbar" = 1e2; "bar" = 1e5], write Kept ["Pa" = 1.0, "kPa" = 1e3]
}
quantity! {
    /// Cross-section of a conductor, in square millimetres.
    Section, "conductor section", si "mm2", example "16 mm2", largest 1e5,
    read ["mm2" = 1.0], write Trimmed ["mm2" = 1.0]
}
quantity! {
    /// Resistance or reactance of a conductor by its length, in ohms per kilometre.
    LinearResistance, "resistance per length", si "ohm/km", example "1.15 ohm/km", largest 1e6,
    read ["ohm/km" = 1.0; "mohm/m" = 1.0; "ohm/kft" = 1.0 / 0.3048], write Kept ["ohm/km" = 1.0]
}
quantity! {
    /// Resistivity of a metal, in ohm square millimetres per metre.
    Resistivity, "resistivity", si "ohm.mm2/m", example "0.0225 ohm.mm2/m", largest 1e6,
    read ["ohm.mm2/m" = 1.0], write Trimmed ["ohm.mm2/m" = 1.0]
}
quantity! {
    /// Thermal resistivity of soil, in kelvin metres per watt.
    SoilResistivity, "thermal resistivity of soil", si "K.m/W", example "2.5 K.m/W", largest 100.0,
    read ["K.m/W" = 1.0], write Trimmed ["K.m/W" = 1.0]
}
quantity! {
    /// Square of an RMS current, in square amperes.
    SquaredCurrent, "square of a current", si "A2", example "100 A2", largest 1e12,
    read ["A2" = 1.0], write Trimmed ["A2" = 1.0]
}
quantity! {
    /// Joule integral of a current, in ampere squared seconds.
    JouleIntegral, "Joule integral", si "A2s", example "42,000 A2s", largest 1e15,
    read ["A2s" = 1.0; "kA2s" = 1e6], write Trimmed ["A2s" = 1.0]
}
quantity! {
    /// Square root of a Joule integral, in ampere root seconds.
    RootJoule, "root of a Joule integral", si "A.s0.5", example "100 A.s0.5", largest 1e9,
    read ["A.s0.5" = 1.0], write Trimmed ["A.s0.5" = 1.0]
}
quantity! {
    /// Factor k of a conductor that gives no heat off, in ampere root seconds per square millimetre.
    HeatConstant, "factor k", si "A.s0.5/mm2", example "115 A.s0.5/mm2", largest 1e4,
    read ["A.s0.5/mm2" = 1.0], write Trimmed ["A.s0.5/mm2" = 1.0]
}
quantity! {
    /// A plain number: a factor, a power factor, an efficiency.
    Ratio, "number", si "1", example "0.95", largest 1e9,
    read ["%" = 1e-2], write Trimmed ["" = 1.0]
}

scalable!(
    Current,
    PeakCurrent,
    DcCurrent,
    LineVoltage,
    PhaseVoltage,
    DcVoltage,
    Power,
    Apparent,
    Energy,
    Charge,
    Resistance,
    Capacitance,
    PulseEnergy,
    Duration,
    Length,
    Area,
    WireArea,
    FillArea,
    Mass,
    Frequency,
    ShaftPower,
    Irradiance,
    AirFlow,
    ChargeRate,
    Density,
    Irradiation,
    JouleIntegral,
    LinearResistance,
    Pressure,
    Section,
    TemperatureSpan,
    Volume
);

impl Mul for Ratio {
    type Output = Ratio;
    fn mul(self, other: Ratio) -> Ratio {
        Ratio(self.0 * other.0)
    }
}
impl Div for Ratio {
    type Output = Ratio;
    fn div(self, other: Ratio) -> Ratio {
        Ratio(self.0 / other.0)
    }
}
impl Add<f64> for Ratio {
    type Output = Ratio;
    fn add(self, other: f64) -> Ratio {
        Ratio(self.0 + other)
    }
}
impl Sub<f64> for Ratio {
    type Output = Ratio;
    fn sub(self, other: f64) -> Ratio {
        Ratio(self.0 - other)
    }
}
impl Add<Ratio> for f64 {
    type Output = Ratio;
    fn add(self, other: Ratio) -> Ratio {
        Ratio(self + other.0)
    }
}
impl Sub<Ratio> for f64 {
    type Output = Ratio;
    fn sub(self, other: Ratio) -> Ratio {
        Ratio(self - other.0)
    }
}
impl Div<Ratio> for f64 {
    type Output = Ratio;
    fn div(self, other: Ratio) -> Ratio {
        Ratio(self / other.0)
    }
}
