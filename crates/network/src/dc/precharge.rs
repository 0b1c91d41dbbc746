//! Charging the input capacitors of a converter through a resistor before its device closes on the bus.
//!
//! A capacitor C behind a resistor R rises to V as 1 - e^(-t / (R · C)). The resistor turns C · V^2 / 2 into heat by the
//! time it is full, whatever its resistance: as much as the capacitor then holds (conservation of energy). What voltage
//! is left drives, as the device closes, no more than that voltage over the resistance of the loop.
//!
//! On the safe side: the bus holds its voltage, inductances are not in it, and the loop is its cable alone. The heat
//! that a closing leaves in contacts and cable is less than what the capacitors hold, tens of joules: cables are far
//! from their limit, contacts are not. Not in it: a converter that draws while it is charged. Then its capacitors never
//! fill, so it must be off.

use derivation::{Known, formula};
use quantity::{
    Capacitance, DcCurrent, DcVoltage, Duration, Power, PulseEnergy, Ratio, Resistance, exp, joules, ln,
};

use crate::NetworkError;
use crate::error::{above_zero, within};

/// Share of the voltage to which capacitors are charged at least before the device closes.
const LEAST_SHARE: f64 = 0.95;

/// What is charged, from what, through what.
#[derive(Debug, Clone)]
pub struct PrechargeCase {
    /// Voltage of the bus, the highest that may be.
    pub voltage: Known<DcVoltage>,
    /// Capacitance behind the device, the highest that may be.
    pub capacitance: Known<Capacitance>,
    /// The resistor, as it is marked.
    pub resistor: Known<Resistance>,
    /// By how much it may be off, below one.
    pub tolerance: Known<Ratio>,
    /// Resistance between bus and capacitors without it, both poles, the least that may be.
    pub path: Known<Resistance>,
    /// Peak current onto which the device may close.
    pub makes: Known<DcCurrent>,
    /// Highest current at the start that the resistor's switch makes.
    pub starts: Known<DcCurrent>,
    /// How long the resistor is left on; none = as long as it takes.
    pub time: Option<Known<Duration>>,
}

/// A pre-charge.
#[derive(Debug, Clone)]
pub struct Precharge {
    /// Current as the device closes on empty capacitors, without any pre-charge.
    pub without: Known<DcCurrent>,
    /// The smallest resistor, as marked, that keeps the start within what its switch makes.
    pub least_resistor: Known<Resistance>,
    /// Highest current through the resistor, at the start.
    pub start: Known<DcCurrent>,
    /// Highest power of the resistor, at the start.
    pub start_power: Known<Power>,
    /// Energy that the resistor takes at each closing, at most.
    pub energy: Known<PulseEnergy>,
    /// Share of the voltage to be reached: 95 %, or what the device asks for where that is more.
    pub share: Known<Ratio>,
    /// Time in which it is reached, with the largest resistor that this one may be.
    pub needs: Known<Duration>,
    /// Time to 95 %.
    pub to_95: Known<Duration>,
    /// Time to 99 %.
    pub to_99: Known<Duration>,
    /// Voltage left across the device as it closes, at most.
    pub left: Known<DcVoltage>,
    /// Current as it closes, at most.
    pub closing: Known<DcCurrent>,
}

impl Precharge {
    /// The start is within what the switch makes, and the closing within what the device does and at 95 % at least; the
    /// heat of the resistor is not in it.
    pub fn holds(&self, case: &PrechargeCase) -> bool {
        // with no time given it is the one needed, to the last digit
        let long_enough = case.time.as_ref().is_none_or(|t| t.value() >= self.needs.value());
        self.start.value() <= case.starts.value() && long_enough
    }
}

/// Heat of the resistor at one closing: what full capacitors hold.
///
/// # Errors
/// A voltage or a capacitance that is not above zero.
pub fn charging_heat(
    V: &Known<DcVoltage>,
    C: &Known<Capacitance>,
) -> Result<Known<PulseEnergy>, NetworkError> {
    above_zero(V)?;
    above_zero(C)?;
    Ok(formula!("E_R", "heat of the resistor at each closing", [C, V] => joules(C * V * V / 2.0),
        source = "conservation of energy: as much as the full capacitors hold"))
}

/// The pre-charge of one converter.
///
/// # Errors
/// A value that is not above zero, a tolerance outside 0 to 0.5.
pub fn precharge(case: &PrechargeCase) -> Result<Precharge, NetworkError> {
    let PrechargeCase {
        voltage: V,
        capacitance: C,
        resistor: R,
        tolerance: d,
        path: R_c,
        makes: I_m,
        starts: I_s,
        time,
    } = case;
    let energy = charging_heat(V, C)?;
    above_zero(R)?;
    above_zero(R_c)?;
    above_zero(I_m)?;
    above_zero(I_s)?;
    within(d, 0.0, 0.5, "from 0 to 50 %")?;
    let without = formula!("I_k", "current onto empty capacitors", [V, R_c] => V / R_c);
    let R_low = formula!("R_low", "the resistor at its smallest", [R, d] => R * (1.0 - d));
    let R_high = formula!("R_high", "the resistor at its largest", [R, d] => R * (1.0 + d));
    let start = formula!("I_0", "current through the resistor at the start", [V, R_low] => V / R_low);
    let start_power = formula!("P_0", "power of the resistor at the start", [V, start] => V * start);
    let least_resistor = formula!("R_min", "smallest resistor, as marked, that its switch bears",
        [V, I_s, d] => V / I_s / (1.0 - d));
    let least = Known::factor("s_0", "least share of the voltage", LEAST_SHARE, "common practice");
    let asked = formula!("s_m", "share at which the device may close", [I_m, R_c, V] => 1.0 - I_m * R_c / V);
    let both = [least.clone(), asked];
    let share = Known::largest("s", "share of the voltage to be reached", &both).unwrap_or(least);
    let to = |what: &str, s: &Known<Ratio>| {
        formula!("t_s", what.to_owned(), [R_high, C, s] => R_high * C * ln(1.0 / (1.0 - s)),
            source = "charging of a capacitor through a resistor")
    };
    let fixed = |share: f64| {
        let percent = share * 100.0;
        Known::factor("s", format!("{percent:.0} % of the voltage"), share, "asked for")
    };
    let needs = to("time in which that share is reached", &share);
    let t = time.as_ref().unwrap_or(&needs);
    above_zero(t)?;
    let left = formula!("dV", "voltage left as the device closes", [V, t, R_high, C] =>
        V * exp(-1.0 * (t / (R_high * C))), source = "charging of a capacitor through a resistor");
    let closing = formula!("I_c", "current as the device closes", [left, R_c] => left / R_c);
    Ok(Precharge {
        without,
        least_resistor,
        start,
        start_power,
        energy,
        to_95: to("time to 95 %", &fixed(0.95)),
        to_99: to("time to 99 %", &fixed(0.99)),
        share,
        needs,
        left,
        closing,
    })
}
