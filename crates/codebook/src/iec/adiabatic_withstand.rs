//! Heat of a short circuit in a conductor.
//!
//! ## Clause and edition
//! IEC 60364-4-43:2008; 434.5.2, Table 43A; 60364-5-54:2011 Annex A.
//! ## Applies when
//! A fault current flows through a conductor until its device opens.
//! ## Why
//! Within seconds no heat leaves the conductor; its insulation melts at a known heat.
//! ## Formula
//! `I^2 · t <= k^2 · S^2`; below 0.1 s the let-through of the device stands in place of `I^2 · t`.
//! ## Example
//! Passing: 2 kA for 0.2 s through 10 mm2 copper with PVC: 0.8e6 against 1.32e6 A2s. Failing: the same through 6 mm2.
//! ## Limits of our reading
//! From 0.1 s to 5 s. Shorter, the let-through of the device is needed, which no standard gives; longer, heat is given
//! off and the formula would only err on the safe side, yet is not read.
//! ## Source
//! Formula and bounds: two sources agree; k of line conductors: two sources agree but for a few rows, of protective
//! conductors one source or from memory.

use derivation::{Known, formula};
use quantity::{Current, Duration, HeatConstant, JouleIntegral, Section, root};
use saying::say;
use tables::iec::clause;
use tables::iec::heat::{FaultMetal, Use, heat_constant};

use crate::not_covered::sane;
use crate::{Check, NotCovered};

pub(super) const CLAUSE: &str = "IEC 60364-4-43:2008 434.5.2";

/// What a fault lets through.
#[derive(Debug, Clone)]
pub enum Fault {
    /// RMS current and how long it flows.
    Lasting(Known<Current>, Known<Duration>),
    /// Let-through of the device, from its maker.
    LetThrough(Known<JouleIntegral>),
}

impl Fault {
    /// The Joule integral, in A2s.
    ///
    /// # Errors
    /// Times outside 0.1 s to 5 s, and what is no number.
    pub fn integral(&self) -> Result<Known<JouleIntegral>, NotCovered> {
        match self {
            Self::LetThrough(integral) => {
                sane(CLAUSE, integral)?;
                Ok(integral.clone())
            }
            Self::Lasting(current, time) => {
                sane(CLAUSE, current)?;
                sane(CLAUSE, time)?;
                let shortest: Known<Duration> = clause::number("t_min", "adiabatic-shortest")?;
                let longest: Known<Duration> = clause::number("t_max", "adiabatic-longest")?;
                if time.value() < shortest.value() || time.value() > longest.value() {
                    let reason = say!(
                        "{time} lies outside {shortest} to {longest}; below, give the let-through of the device",
                        time = time.value(),
                        shortest = shortest.value(),
                        longest = longest.value()
                    );
                    return Err(NotCovered::new(CLAUSE, reason));
                }
                let what = "Joule integral of the fault";
                Ok(formula!("I2t", what, [current, time] => current * current * time, source = CLAUSE))
            }
        }
    }
}

/// Whether a conductor bears a fault.
///
/// # Errors
/// No k for the conductor, or a fault that is not read.
pub fn adiabatic_withstand(
    metal: FaultMetal,
    usage: Use,
    section: &Known<Section>,
    fault: &Fault,
) -> Result<Check<JouleIntegral>, NotCovered> {
    sane(CLAUSE, section)?;
    let k = heat_constant(metal, usage, section.value())?;
    let what = "Joule integral that the conductor bears";
    let bears = formula!("k2S2", what, [k, section] => (k * section) * (k * section), source = CLAUSE);
    Ok(Check::at_most(fault.integral()?, bears))
}

/// Least section for a fault, of a conductor up to 300 mm2.
///
/// # Errors
/// No k for the conductor, a fault that is not read, or more than 300 mm2.
pub fn least_section(metal: FaultMetal, usage: Use, fault: &Fault) -> Result<Known<Section>, NotCovered> {
    let largest = Section::of(300.0);
    let k: Known<HeatConstant> = heat_constant(metal, usage, largest)?;
    let integral = fault.integral()?;
    let what = "least section for the heat of the fault";
    let least = formula!("S_min", what, [integral, k] => root(integral) / k, source = CLAUSE);
    if least.value() > largest {
        return Err(NotCovered::new(
            CLAUSE,
            say!("{least} is more than {largest}", least = least.value(), largest),
        ));
    }
    Ok(least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given};
    use quantity::Quantity;

    fn lasting(a: f64, s: f64) -> Fault {
        Fault::Lasting(given(Current::of(a)), given(Duration::of(s)))
    }

    /// By hand: 2000^2 x 0.2 = 800,000; (115 x 10)^2 = 1,322,500; (115 x 6)^2 = 476,100; sqrt(800000)/115 = 7.78.
    #[test]
    fn by_hand_and_both_ways_agree() {
        let fault = lasting(2000.0, 0.2);
        let held = |s| {
            let s = given(Section::of(s));
            adiabatic_withstand(FaultMetal::Copper, Use::LinePvc, &s, &fault).unwrap()
        };
        close(&held(10.0).value, 800_000.0, 1e-3);
        close(&held(10.0).limit, 1_322_500.0, 1e-3);
        assert!(held(10.0).holds && !held(6.0).holds);
        let least = least_section(FaultMetal::Copper, Use::LinePvc, &fault).unwrap();
        close(&least, 7.777_64, 1e-4);
        assert!(held(least.value().si()).holds && !held(least.value().si() * 0.999).holds);
    }

    #[test]
    fn short_and_long_faults_ask_for_more() {
        let integral = |a, s| lasting(a, s).integral().ok().map(|i| i.value().si());
        assert!(integral(1000.0, 0.1).is_some() && integral(1000.0, 5.0).is_some());
        assert_eq!(integral(1000.0, 0.05), None);
        assert_eq!(integral(1000.0, 5.1), None);
        assert_eq!(integral(f64::NAN, 1.0), None);
        let through = Fault::LetThrough(given(JouleIntegral::of(42_000.0)));
        let s = given(Section::of(2.5));
        assert!(adiabatic_withstand(FaultMetal::Copper, Use::LinePvc, &s, &through).unwrap().holds);
        // (115 x 300)^2 asks for 300 mm2 and no more
        let most = Fault::LetThrough(given(JouleIntegral::of(34_500.0 * 34_500.0)));
        assert!(least_section(FaultMetal::Copper, Use::LinePvc, &most).is_ok());
        assert!(least_section(FaultMetal::Copper, Use::LinePvc, &lasting(50_000.0, 5.0)).is_err());
    }
}
