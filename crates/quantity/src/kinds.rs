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
    read ["ft2" = 0.092_903_04; "m2" = 1.0], write Trimmed ["m2" = 1.0]
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
    Duration,
    Length,
    Area,
    Mass,
    Frequency,
    ShaftPower,
    Irradiance,
    Irradiation
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
