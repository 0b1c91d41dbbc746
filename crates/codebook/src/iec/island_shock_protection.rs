//! Protection against shock where inverters are the only source.
//!
//! ## Clause and edition
//! IEC 60364-4-41:2005; 411.3.2 with 411.3.2.5 and 415.2.
//! ## Applies when
//! An island is fed by inverters, whose fault current is limited to little more than their rating.
//! ## Why
//! A breaker chosen on the utility's fault current never trips in the island: metal stays live.
//! ## Formula
//! One must hold: the breaker `I_f >= I_a` with `t <= t_max`; the residual current device with its break time at `I_f
//! / I_dn <= t_max`; the source collapses to 50 V or less within `t_max`, where the loop asks for more than it gives; or the touch voltage `I_f · R_PE <= 50 V`.
//! `I_f = min(I_source, U_0 / Z_s)`, the least source current to trip by, the most to touch.
//! ## Example
//! Passing: 40 A of source current and a 30 mA residual current device: 0.04 s. Failing: 40 A, a breaker that asks for
//! 160 A, no residual current device, a source that holds 40 A for 10 s and 2 ohm of protective conductor: 80 V.
//! ## Limits of our reading
//! Neutral and protective conductor must be bonded at the island's source (in a TT system the neutral must be earthed
//! there), else it is an IT system and refused here. A residual current device must lie after that bond: before it, it
//! sees no fault. A source that gives up before a device has opened is taken as no help to the device. Touch voltage
//! is that within the bonded building; in a TT system the electrode of the exposed parts belongs to the protective
//! conductor. Discrimination is lost where the source collapses: a fault in one branch darkens the island.
//! ## Source
//! All from memory but the times: two sources agree at 230 V; break times of residual current devices: one source.

use derivation::{Known, formula};
use quantity::{Current, Duration, PhaseVoltage, Quantity, Resistance};
use saying::{Text, say};
use tables::iec::clause;
use tables::iec::shock::{Circuit, Earthing, Kind};

use super::automatic_disconnection::residual_time;
use super::disconnection_time::disconnection_time;
use crate::not_covered::sane;
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-4-41:2005 411.3.2";

/// An overcurrent device and when it opens.
#[derive(Debug, Clone)]
pub struct Opening {
    /// Current at which it opens.
    pub current: Known<Current>,
    /// Within this time.
    pub time: Known<Duration>,
}

/// A residual current device.
#[derive(Debug, Clone)]
pub struct Residual {
    /// Rated residual current.
    pub rated: Known<Current>,
    /// Time-delayed, type S.
    pub delayed: bool,
}

/// A circuit of an island.
#[derive(Debug, Clone)]
pub struct IslandFacts {
    /// Neutral and protective conductor are bonded at the source of the island; TT: its neutral is earthed there.
    pub bonded: bool,
    /// TN or TT.
    pub earthing: Earthing,
    /// Kind of circuit.
    pub circuit: Circuit,
    /// Voltage to earth.
    pub to_earth: Known<PhaseVoltage>,
    /// Fault loop, hot.
    pub loop_ohm: Known<Resistance>,
    /// Protective conductor from the fault back to the main earthing terminal; TT: with the electrode of the exposed
    /// parts.
    pub protective_ohm: Known<Resistance>,
    /// Least current that the source gives into a fault, RMS.
    pub least: Known<Current>,
    /// Most current that it gives.
    pub most: Known<Current>,
    /// How long it gives it before it shuts off.
    pub lasts: Known<Duration>,
    /// Time until its voltage is 50 V or less in such a fault, stated by its maker; `None` where not stated.
    pub collapses: Option<Known<Duration>>,
    /// Overcurrent device of the circuit.
    pub breaker: Option<Opening>,
    /// Residual current device of the circuit, after the bond.
    pub residual: Option<Residual>,
    /// Longest time that the place asks for in place of the code's.
    pub longest: Option<Known<Duration>>,
}

/// What protects, each held by itself.
#[derive(Debug, Clone)]
pub struct IslandVerdict {
    /// Least fault current, in A.
    pub fault: Known<Current>,
    /// Time that counts.
    pub longest: Known<Duration>,
    /// The breaker gets its current.
    pub breaker: Option<Check<Current>>,
    /// The breaker opens in time, while the source still gives the current.
    pub breaker_time: Option<Check<Duration>>,
    /// The residual current device opens in time, while the source still gives the current.
    pub residual_time: Option<Check<Duration>>,
    /// The source collapses in time.
    pub collapse: Option<Check<Duration>>,
    /// Touch voltage while the fault lasts.
    pub touch: Check<PhaseVoltage>,
}

impl IslandVerdict {
    /// What protects, in words; nothing where nothing does.
    pub fn protected_by(&self) -> Vec<&'static str> {
        let holds = |check: &Option<Check<Duration>>| check.as_ref().is_some_and(|check| check.holds);
        let breaker = self.breaker.as_ref().is_some_and(|b| b.holds) && holds(&self.breaker_time);
        let all = [
            (breaker, "the overcurrent device"),
            (holds(&self.residual_time), "the residual current device"),
            (holds(&self.collapse), "the collapse of the source"),
            (self.touch.holds, "a touch voltage that may stay"),
        ];
        all.into_iter().filter(|(holds, _)| *holds).map(|(_, what)| what).collect()
    }

    /// Whether anything protects.
    pub fn protected(&self) -> bool {
        !self.protected_by().is_empty()
    }
}

/// Holds every way of protection against the currents of an island.
///
/// # Errors
/// Neutral and protective conductor are not bonded, a value is no number, negative or none, the source's most is below
/// its least.
pub fn island_shock_protection(facts: &IslandFacts) -> Result<IslandVerdict, NotCovered> {
    check(facts)?;
    let longest = disconnection_time(facts.earthing, Kind::Ac, facts.circuit, &facts.to_earth)?;
    let longest = facts.longest.clone().or(longest);
    let longest =
        longest.ok_or_else(|| NotCovered::new(CLAUSE, say!("no time is required at this voltage")))?;
    sane(CLAUSE, &longest)?;
    let fault = fault_current(facts, &facts.least, "least fault current")?;
    // what opens must do so in the time of the code and while the source still drives the current
    let within = Known::smallest("t", "time that counts", &[longest.clone(), facts.lasts.clone()]);
    let within = within.ok_or_else(|| NotCovered::new(CLAUSE, say!("no time")))?;
    let breaker = facts.breaker.as_ref().map(|b| Check::at_least(fault.clone(), b.current.clone()));
    let breaker_time = facts.breaker.as_ref().map(|b| Check::at_most(b.time.clone(), within.clone()));
    let residual_time = match &facts.residual {
        // a fault below the rated residual current opens nothing: no check, no protection
        Some(r) if fault.value() >= r.rated.value() => {
            Some(Check::at_most(residual_time(&r.rated, r.delayed, &fault)?, within))
        }
        _ => None,
    };
    let most = fault_current(facts, &facts.most, "most fault current")?;
    // a source that still drives all the current of the loop keeps its voltage
    let saturated = most.value() >= facts.most.value();
    let collapse =
        facts.collapses.as_ref().filter(|_| saturated).map(|t| Check::at_most(t.clone(), longest.clone()));
    let protective = &facts.protective_ohm;
    let what = "touch voltage along the protective conductor";
    let touch =
        formula!("U_t", what, [most, protective] => protective * most, source = "IEC 60364-4-41:2005 415.2");
    let limit = clause::number("U_L", "touch-ac")?;
    let touch = Check::at_most(touch, limit);
    Ok(IslandVerdict { fault, longest, breaker, breaker_time, residual_time, collapse, touch })
}

fn fault_current(
    facts: &IslandFacts,
    source: &Known<Current>,
    what: &str,
) -> Result<Known<Current>, NotCovered> {
    let (to_earth, loop_ohm) = (&facts.to_earth, &facts.loop_ohm);
    let by_loop =
        formula!("I_loop", "current by the loop alone", [to_earth, loop_ohm] => to_earth / loop_ohm);
    let least = Known::smallest("I_f", what, &[source.clone(), by_loop]);
    least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no current")))
}

fn check(facts: &IslandFacts) -> Result<(), NotCovered> {
    let refuse = |reason: Text| Err(NotCovered::new(CLAUSE, reason));
    if !facts.bonded {
        return refuse(say!(
            "neutral and protective conductor are not bonded in the island: it is an IT system, where a first \
             fault drives no current that a device could see"
        ));
    }
    sane(CLAUSE, &facts.to_earth)?;
    sane(CLAUSE, &facts.loop_ohm)?;
    sane(CLAUSE, &facts.protective_ohm)?;
    sane(CLAUSE, &facts.least)?;
    sane(CLAUSE, &facts.most)?;
    sane(CLAUSE, &facts.lasts)?;
    facts.collapses.iter().try_for_each(|t| sane(CLAUSE, t))?;
    if facts.loop_ohm.value() <= Resistance::ZERO {
        return refuse(say!("a fault loop has some impedance"));
    }
    if facts.protective_ohm.value() > facts.loop_ohm.value() {
        return refuse(say!(
            "the protective conductor is a part of the fault loop and cannot have more than it"
        ));
    }
    if facts.most.value() < facts.least.value() {
        return refuse(say!("the source's most current is below its least"));
    }
    if let Some(breaker) = &facts.breaker {
        sane(CLAUSE, &breaker.current)?;
        sane(CLAUSE, &breaker.time)?;
        if breaker.current.value() <= Current::ZERO {
            return refuse(say!("the overcurrent device has no current at which it opens"));
        }
    }
    if let Some(residual) = &facts.residual {
        sane(CLAUSE, &residual.rated)?;
        if residual.rated.value().si() <= 0.0 {
            return refuse(say!("the residual current device has no rated residual current"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn island() -> IslandFacts {
        IslandFacts {
            bonded: true,
            earthing: Earthing::Tn,
            circuit: Circuit::Final,
            to_earth: given(PhaseVoltage::of(230.0)),
            loop_ohm: given(Resistance::of(4.0)),
            protective_ohm: given(Resistance::of(2.0)),
            least: given(Current::of(40.0)),
            most: given(Current::of(40.0)),
            lasts: given(Duration::of(10.0)),
            collapses: None,
            breaker: Some(Opening { current: given(Current::of(160.0)), time: given(Duration::of(0.1)) }),
            residual: None,
            longest: None,
        }
    }

    #[test]
    fn a_breaker_that_never_trips_protects_nobody() {
        let found = island_shock_protection(&island()).unwrap();
        near(&found.fault, 40.0);
        near(&found.touch.value, 80.0);
        assert!(!found.protected());
    }

    #[test]
    fn each_way_by_itself() {
        let by = |change: &dyn Fn(&mut IslandFacts)| {
            let mut facts = island();
            change(&mut facts);
            island_shock_protection(&facts).unwrap().protected_by()
        };
        let rcd = |a| Some(Residual { rated: given(Current::of(a)), delayed: false });
        assert_eq!(by(&|f| f.residual = rcd(0.03)), ["the residual current device"]);
        // the source is gone before the device has opened
        assert!(by(&|f| (f.residual, f.lasts) = (rcd(0.03), given(Duration::of(0.02)))).is_empty());
        // no more than the rated residual current flows
        assert!(by(&|f| f.residual = rcd(50.0)).is_empty());
        assert_eq!(by(&|f| f.collapses = Some(given(Duration::of(0.3)))), ["the collapse of the source"]);
        assert!(by(&|f| f.collapses = Some(given(Duration::of(0.5)))).is_empty());
        // 6 ohm ask for 38 A: the source is not at its limit and keeps its voltage
        let weak = |f: &mut IslandFacts| {
            (f.collapses, f.loop_ohm) = (Some(given(Duration::of(0.3))), given(Resistance::of(6.0)));
        };
        assert!(by(&weak).is_empty());
        let little = |f: &mut IslandFacts| f.protective_ohm = given(Resistance::of(1.2));
        assert_eq!(by(&little), ["a touch voltage that may stay"]);
        // the most that the source gives counts for touch
        assert!(by(&|f| (little(f), f.most = given(Current::of(45.0))).1).is_empty());
        let strong = |f: &mut IslandFacts| {
            f.loop_ohm = given(Resistance::of(1.0));
            f.protective_ohm = given(Resistance::of(0.5));
            (f.least, f.most) = (given(Current::of(200.0)), given(Current::of(220.0)));
        };
        assert_eq!(by(&strong), ["the overcurrent device"]);
        // it gets its current, but opens too late; or would open in time, but gets no current
        let late = Some(Opening { current: given(Current::of(160.0)), time: given(Duration::of(0.5)) });
        assert!(by(&|f| (strong(f), f.breaker = late.clone()).1).is_empty());
        let large = Some(Opening { current: given(Current::of(220.0)), time: given(Duration::of(0.1)) });
        assert!(by(&|f| (strong(f), f.breaker = large.clone()).1).is_empty());
        // the loop limits the current below what the breaker asks for
        assert!(by(&|f| (strong(f), f.loop_ohm = given(Resistance::of(1.5))).1).is_empty());
    }

    #[test]
    fn what_is_not_bonded_or_no_number_is_refused() {
        let refused = |change: &dyn Fn(&mut IslandFacts)| {
            let mut facts = island();
            change(&mut facts);
            island_shock_protection(&facts).is_err()
        };
        assert!(refused(&|f| f.bonded = false));
        assert!(refused(&|f| f.loop_ohm = given(Resistance::of(0.0))));
        assert!(refused(&|f| f.most = given(Current::of(30.0))));
        assert!(refused(&|f| f.least = given(Current::of(f64::NAN))));
        assert!(refused(&|f| f.to_earth = given(PhaseVoltage::of(48.0))));
        assert!(refused(&|f| f.protective_ohm = given(Resistance::of(5.0))));
        assert!(
            !refused(&|f| f.protective_ohm = f.loop_ohm.clone()),
            "the rest of the loop may count for nothing"
        );
        let dead = Opening { current: given(Current::ZERO), time: given(Duration::of(0.1)) };
        assert!(refused(&|f| f.breaker = Some(dead.clone())), "any current would open it");
    }
}
