//! Whether a fault to an exposed part is cut off.
//!
//! ## Clause and edition
//! IEC 60364-4-41:2005; 411.4.4 (TN), 411.5.3 and 411.5.4 (TT), 411.6.2 and 411.6.4 (IT).
//! ## Applies when
//! Protection against shock rests on automatic disconnection.
//! ## Why
//! A fault current that is too small leaves the metal of a device live for as long as nobody touches it.
//! ## Formula
//! TN: `Z_s · I_a <= U_0`. TT: `R_A · I_dn <= 50 V` and the device opens in time. IT, first fault: `R_A · I_d <= 50 V`
//! (120 V direct current); second fault: `2 · I_a · Z_s <= U` without neutral, `2 · I_a · Z_s <= U_0` with.
//! ## Example
//! Passing: a loop of 1.2 ohm at 230 V with a type B breaker of 32 A, which trips at once at 160 A: 192 V. Failing:
//! the same with type C, which asks for 320 A and 384 V.
//! ## Limits of our reading
//! The loop is the hot one that the caller brings; a measured cold loop must be raised first. A factor on the voltage
//! below one, as is usual for the least fault current, is an input. IT systems whose exposed parts are earthed in
//! groups follow TT.
//! ## Source
//! All conditions: from memory; bands of breakers: two sources agree; break times of residual current devices: one
//! source.

use derivation::{Known, formula};
use quantity::{Current, Duration, LineVoltage, PhaseVoltage, Quantity, Ratio, Resistance};
use saying::say;
use tables::iec::clause;
use tables::iec::device::{band, break_time};
use tables::iec::shock::{Circuit, Earthing, Kind};

use super::disconnection_time::disconnection_time;
use crate::not_covered::sane;
use crate::{Check, NotCovered};

const TN: &str = "IEC 60364-4-41:2005 411.4.4";
const TT: &str = "IEC 60364-4-41:2005 411.5.3";
const IT: &str = "IEC 60364-4-41:2005 411.6";

/// Current at which a miniature circuit breaker trips at once: the upper end of its band, in A.
///
/// # Errors
/// No such type, or no number.
pub fn breaker_tripping(letter: char, rated: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    sane(TN, rated)?;
    let multiple = band(letter, false)?.high;
    let what = "current at which the breaker trips at once";
    Ok(formula!("I_a", what, [multiple, rated] => multiple * rated, source = "IEC 60898-1 Table 7"))
}

/// TN: voltage that drives the disconnecting current through the loop, against the voltage to earth times a factor.
///
/// # Errors
/// A value is no number or negative, or the current, loop or voltage is none.
pub fn tn(
    loop_ohm: &Known<Resistance>,
    disconnecting: &Known<Current>,
    to_earth: &Known<PhaseVoltage>,
    factor: &Known<Ratio>,
) -> Result<Check<PhaseVoltage>, NotCovered> {
    some(TN, loop_ohm)?;
    some(TN, disconnecting)?;
    some(TN, to_earth)?;
    some(TN, factor)?;
    if factor.value().si() > 1.0 {
        return Err(NotCovered::new(
            TN,
            say!("a factor above one would make the least fault current larger"),
        ));
    }
    let what = "voltage that the disconnecting current needs in the loop";
    let needed = formula!("U", what, [loop_ohm, disconnecting] => loop_ohm * disconnecting, source = TN);
    let what = "voltage that is there";
    let there = formula!("c U_0", what, [factor, to_earth] => factor * to_earth);
    Ok(Check::at_most(needed, there))
}

/// A TT system with a residual current device.
#[derive(Debug, Clone)]
pub struct TtFacts {
    /// Electrode and protective conductor of the exposed parts.
    pub electrode: Known<Resistance>,
    /// Earth electrode of the source.
    pub source: Known<Resistance>,
    /// Rated residual current.
    pub residual: Known<Current>,
    /// Time-delayed, type S.
    pub delayed: bool,
    /// Voltage to earth.
    pub to_earth: Known<PhaseVoltage>,
    /// Kind of circuit.
    pub circuit: Circuit,
}

/// What a TT system comes to.
#[derive(Debug, Clone)]
pub struct TtVerdict {
    /// Touch voltage at the rated residual current.
    pub touch: Check<PhaseVoltage>,
    /// Current of a dead fault, in A.
    pub fault: Known<Current>,
    /// Break time at that current.
    pub time: Check<Duration>,
}

/// TT: touch voltage at the rated residual current, and break time at the current of a dead fault.
///
/// # Errors
/// A value is no number, negative or none; a fault current below the rated residual current.
pub fn tt(facts: &TtFacts) -> Result<TtVerdict, NotCovered> {
    let TtFacts { electrode, source, residual, to_earth, .. } = facts;
    some(TT, electrode)?;
    sane(TT, source)?;
    some(TT, residual)?;
    some(TT, to_earth)?;
    let limit: Known<PhaseVoltage> = clause::number("U_L", "touch-ac")?;
    let what = "touch voltage at the rated residual current";
    let touch = formula!("U_t", what, [electrode, residual] => electrode * residual, source = TT);
    let what = "current of a dead fault";
    let fault = formula!("I_d", what, [to_earth, electrode, source] => to_earth / (electrode + source));
    let time = residual_time(residual, facts.delayed, &fault)?;
    let longest = disconnection_time(Earthing::Tt, Kind::Ac, facts.circuit, to_earth)?;
    let longest = longest.ok_or_else(|| NotCovered::new(TT, say!("no time is required")))?;
    Ok(TtVerdict { touch: Check::at_most(touch, limit), fault, time: Check::at_most(time, longest) })
}

/// Break time of a residual current device at a current.
pub(super) fn residual_time(
    residual: &Known<Current>,
    delayed: bool,
    fault: &Known<Current>,
) -> Result<Known<Duration>, NotCovered> {
    let what = "fault current over rated residual current";
    let multiple = formula!("m", what, [fault, residual] => fault / residual);
    Ok(break_time(delayed, &multiple)?)
}

/// IT: voltage of exposed parts at the first fault, in which nothing needs to open.
///
/// # Errors
/// A value is no number or negative.
pub fn it_first(
    electrode: &Known<Resistance>,
    first_fault: &Known<Current>,
    direct: bool,
) -> Result<Check<PhaseVoltage>, NotCovered> {
    sane(IT, electrode)?;
    sane(IT, first_fault)?;
    let limit = clause::number("U_L", if direct { "touch-dc" } else { "touch-ac" })?;
    let what = "voltage of exposed parts at the first fault";
    let touch = formula!("U_t", what, [electrode, first_fault] => electrode * first_fault, source = IT);
    Ok(Check::at_most(touch, limit))
}

/// Voltage that drives the current of a second fault.
#[derive(Debug, Clone)]
pub enum SecondFault {
    /// The neutral is not distributed: line to line.
    WithoutNeutral(Known<LineVoltage>),
    /// The neutral is distributed: line to neutral.
    WithNeutral(Known<PhaseVoltage>),
}

/// IT: disconnection at the second fault, exposed parts on one protective conductor.
///
/// # Errors
/// A value is no number, negative or none.
pub fn it_second(
    loop_ohm: &Known<Resistance>,
    disconnecting: &Known<Current>,
    voltage: &SecondFault,
) -> Result<Check<PhaseVoltage>, NotCovered> {
    some(IT, loop_ohm)?;
    some(IT, disconnecting)?;
    let there = match voltage {
        SecondFault::WithNeutral(u) => u.clone(),
        SecondFault::WithoutNeutral(u) => {
            let what = "voltage between two lines, which drives a second fault";
            formula!("U", what, [u] => volts(u), source = IT)
        }
    };
    some(IT, &there)?;
    let both = Known::factor("both", "the current passes the loops of both faults", 2.0, IT);
    let what = "voltage that the disconnecting current needs in both loops";
    let needed = formula!(
        "U_n", what, [both, loop_ohm, disconnecting] => both * (loop_ohm * disconnecting), source = IT
    );
    Ok(Check::at_most(needed, there))
}

fn volts(line: LineVoltage) -> PhaseVoltage {
    PhaseVoltage::of(line.si())
}

fn some<Q: Quantity>(clause: &str, value: &Known<Q>) -> Result<(), NotCovered> {
    sane(clause, value)?;
    if value.value().si() > 0.0 {
        return Ok(());
    }
    Err(NotCovered::new(clause, say!("{what} is nothing", what = value.node().what)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn ohm(x: f64) -> Known<Resistance> {
        given(Resistance::of(x))
    }
    fn a(x: f64) -> Known<Current> {
        given(Current::of(x))
    }
    fn v(x: f64) -> Known<PhaseVoltage> {
        given(PhaseVoltage::of(x))
    }

    #[test]
    fn tn_by_hand() {
        let one = given(Ratio::of(1.0));
        let b32 = breaker_tripping('B', &a(32.0)).unwrap();
        near(&b32, 160.0);
        let held = tn(&ohm(1.2), &b32, &v(230.0), &one).unwrap();
        near(&held.value, 192.0);
        assert!(held.holds);
        assert!(!tn(&ohm(1.2), &breaker_tripping('C', &a(32.0)).unwrap(), &v(230.0), &one).unwrap().holds);
        let less = given(Ratio::of(0.8));
        assert!(!tn(&ohm(1.2), &b32, &v(230.0), &less).unwrap().holds);
        near(&tn(&ohm(0.005), &b32, &v(230.0), &one).unwrap().value, 0.8);
        assert!(tn(&ohm(0.0), &b32, &v(230.0), &one).is_err());
        assert!(tn(&ohm(1.2), &a(0.0), &v(230.0), &one).is_err());
        assert!(tn(&ohm(1.2), &b32, &v(230.0), &given(Ratio::of(1.001))).is_err());
        assert!(breaker_tripping('K', &a(32.0)).is_err());
    }

    #[test]
    fn tt_by_hand() {
        let facts = |electrode, residual, delayed| TtFacts {
            electrode: ohm(electrode),
            source: ohm(10.0),
            residual: a(residual),
            delayed,
            to_earth: v(230.0),
            circuit: Circuit::Final,
        };
        let found = tt(&facts(100.0, 0.03, false)).unwrap();
        near(&found.touch.value, 3.0);
        near(&found.fault, 230.0 / 110.0);
        assert!(found.touch.holds && found.time.holds);
        // 50 V over 30 mA is 1666.7 ohm
        assert!(tt(&facts(1666.6, 0.03, false)).unwrap().touch.holds);
        assert!(!tt(&facts(1667.0, 0.03, false)).unwrap().touch.holds);
        // 230 V over 166.6 ohm drive 1.38 A, 4.6 times 0.3 A: a delayed device takes 0.2 s
        assert!(tt(&facts(156.6, 0.3, true)).unwrap().time.holds);
        let slow = tt(&facts(450.0, 0.3, false)).unwrap();
        assert!(!slow.time.holds && !slow.touch.holds);
        assert!(tt(&facts(1000.0, 0.3, false)).is_err(), "the device need not open at all");
    }

    #[test]
    fn it_by_hand() {
        assert!(it_first(&ohm(50.0), &a(1.0), false).unwrap().holds);
        assert!(!it_first(&ohm(50.1), &a(1.0), false).unwrap().holds);
        assert!(it_first(&ohm(120.0), &a(1.0), true).unwrap().holds);
        assert!(!it_first(&ohm(120.1), &a(1.0), true).unwrap().holds);
        assert!(it_first(&ohm(-50.0), &a(1.0), false).is_err(), "would lie below every limit");
        assert!(it_first(&ohm(50.0), &a(-1.0), false).is_err());
        let lines = SecondFault::WithoutNeutral(given(LineVoltage::of(400.0)));
        assert!(it_second(&ohm(1.25), &a(160.0), &lines).unwrap().holds);
        assert!(!it_second(&ohm(1.26), &a(160.0), &lines).unwrap().holds);
        assert!(!it_second(&ohm(1.25), &a(160.0), &SecondFault::WithNeutral(v(230.0))).unwrap().holds);
    }
}
