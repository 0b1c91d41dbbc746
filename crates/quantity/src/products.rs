//! Products and quotients of kinds that physics defines. What is not here is not defined: W times VA, or a DC
//! current with an AC voltage, does not compile.

use std::ops::{Div, Mul};

use crate::{
    AirFlow, Apparent, Capacitance, Charge, ChargeRate, Current, DcCurrent, DcVoltage, Duration, Energy,
    GasYield, HeatConductance, HeatConstant, Irradiance, Irradiation, JouleIntegral, Length, LineVoltage,
    LinearResistance, PeakCurrent, PhaseVoltage, Power, PulseEnergy, Quantity, Ratio, Resistance,
    Resistivity, RootJoule, Section, ShaftPower, SquaredCurrent, Temperature, TemperatureCoefficient,
    TemperatureSpan, VoltageCoefficient,
};

macro_rules! product {
    ($($a:ident * $b:ident = $c:ident, by $scale:expr);+ $(;)?) => {$(
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c { $c::of(self.si() * other.si() * $scale) }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c { $c::of(self.si() * other.si() * $scale) }
        }
        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, other: $b) -> $a { $a::of(self.si() / other.si() / $scale) }
        }
        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, other: $a) -> $b { $b::of(self.si() / other.si() / $scale) }
        }
    )+};
}

/// A voltage of either kind times a current is apparent power; back only by the voltage, since VA over A does
/// not say which voltage.
macro_rules! apparent {
    ($($voltage:ident),+) => {$(
        impl Mul<Current> for $voltage {
            type Output = Apparent;
            fn mul(self, other: Current) -> Apparent { Apparent::of(self.si() * other.si()) }
        }
        impl Mul<$voltage> for Current {
            type Output = Apparent;
            fn mul(self, other: $voltage) -> Apparent { Apparent::of(self.si() * other.si()) }
        }
        impl Div<$voltage> for Apparent {
            type Output = Current;
            fn div(self, other: $voltage) -> Current { Current::of(self.si() / other.si()) }
        }
    )+};
}

apparent!(PhaseVoltage, LineVoltage);

product! {
    DcVoltage * DcCurrent = Power, by 1.0;
    Resistance * Current = PhaseVoltage, by 1.0;
    Resistance * DcCurrent = DcVoltage, by 1.0;
    // hours inside, since energy and charge count in hours
    Power * Duration = Energy, by 1.0 / 3600.0;
    DcCurrent * Duration = Charge, by 1.0 / 3600.0;
    DcVoltage * Charge = Energy, by 1.0;
    Capacitance * DcVoltage = Charge, by 1.0 / 3600.0;
    Resistance * Capacitance = Duration, by 1.0;
    Irradiance * Duration = Irradiation, by 1.0 / 3600.0;
    TemperatureCoefficient * TemperatureSpan = Ratio, by 1.0;
    HeatConductance * TemperatureSpan = Power, by 1.0;
    VoltageCoefficient * TemperatureSpan = DcVoltage, by 1.0;
    ChargeRate * Charge = DcCurrent, by 1.0;
    // hours inside: flow is counted in seconds
    GasYield * DcCurrent = AirFlow, by 1.0 / 3600.0;
    LinearResistance * Length = Resistance, by 1e-3;
    // ohm.mm2/m over mm2 is ohm/m
    LinearResistance * Section = Resistivity, by 1e-3;
    HeatConstant * Section = RootJoule, by 1.0;
    SquaredCurrent * Duration = JouleIntegral, by 1.0;
}

impl Mul for Current {
    type Output = SquaredCurrent;
    fn mul(self, other: Current) -> SquaredCurrent {
        SquaredCurrent::of(self.si() * other.si())
    }
}

impl Mul for RootJoule {
    type Output = JouleIntegral;
    fn mul(self, other: RootJoule) -> JouleIntegral {
        JouleIntegral::of(self.si() * other.si())
    }
}

/// A kind that is the square of another.
pub trait Square {
    /// The other.
    type Root;
    /// The value whose square it is.
    fn root(self) -> Self::Root;
}

impl Square for Ratio {
    type Root = Ratio;
    fn root(self) -> Ratio {
        Ratio::of(self.si().sqrt())
    }
}

impl Square for JouleIntegral {
    type Root = RootJoule;
    fn root(self) -> RootJoule {
        RootJoule::of(self.si().sqrt())
    }
}

impl Apparent {
    /// Active power at a power factor.
    #[must_use]
    pub fn at(self, power_factor: Ratio) -> Power {
        Power::of(self.si() * power_factor.si())
    }
}

impl Power {
    /// Apparent power at a power factor.
    #[must_use]
    pub fn at(self, power_factor: Ratio) -> Apparent {
        Apparent::of(self.si() / power_factor.si())
    }
}

impl Current {
    /// Peak of a current whose crest factor (peak over RMS) is known; 1.414 for a sine.
    #[must_use]
    pub fn peak(self, crest_factor: Ratio) -> PeakCurrent {
        PeakCurrent::of(self.si() * crest_factor.si())
    }
}

/// By how much one temperature lies above another; negative where it lies below.
#[must_use]
pub fn above(one: Temperature, other: Temperature) -> TemperatureSpan {
    TemperatureSpan::of(one.si() - other.si())
}

impl std::ops::Add<TemperatureSpan> for Temperature {
    type Output = Temperature;
    fn add(self, span: TemperatureSpan) -> Temperature {
        Temperature::of(self.si() + span.si())
    }
}

/// Active power as apparent power, in VA: for formulas that hold the power factor themselves, or at unity.
#[must_use]
pub fn as_va(power: Power) -> Apparent {
    Apparent::of(power.si())
}

/// Apparent power as active power, in W: for formulas that hold the power factor themselves, or at unity.
#[must_use]
pub fn as_w(apparent: Apparent) -> Power {
    Power::of(apparent.si())
}

/// Shaft power as electrical power, in W: for formulas that hold the efficiency themselves.
#[must_use]
pub fn electrical(shaft: ShaftPower) -> Power {
    Power::of(shaft.si())
}

/// A direct current as the alternating current that heats a conductor as much: for ampacities, which hold for both.
#[must_use]
pub fn heating(current: DcCurrent) -> Current {
    Current::of(current.si())
}

/// Energy in watt-hours as the energy of a pulse, in joules.
#[must_use]
pub fn joules(energy: Energy) -> PulseEnergy {
    PulseEnergy::of(energy.si() * 3600.0)
}

/// Natural logarithm of a number.
#[must_use]
pub fn ln(number: Ratio) -> Ratio {
    Ratio::of(libm::log(number.si()))
}

/// The number whose natural logarithm this is.
#[must_use]
pub fn exp(number: Ratio) -> Ratio {
    Ratio::of(libm::exp(number.si()))
}

/// A number of volt-amperes.
#[must_use]
pub fn va_number(number: Ratio) -> Apparent {
    Apparent::of(number.si())
}

/// No less than nothing.
#[must_use]
pub fn positive<Q: Quantity>(value: Q) -> Q {
    if value.si() < 0.0 { Q::from_si(0.0) } else { value }
}

/// Square root of a number, or of a quantity that is the square of another.
#[must_use]
pub fn root<S: Square>(square: S) -> S::Root {
    square.root()
}
