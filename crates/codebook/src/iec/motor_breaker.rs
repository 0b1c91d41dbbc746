//! Breaker of one motor's circuit.
//!
//! ## Clause and edition
//! IEC 60364-4-43:2008; 433.1, with the bands of IEC 60898-1 Table 7.
//! ## Applies when
//! A miniature circuit breaker protects the cable of one motor, behind which a starter with an overload relay stands.
//! ## Why
//! A breaker chosen by the running current alone opens at every start; one chosen far above it leaves the cable behind.
//! ## Formula
//! `I_n >= I_b` and `I_st <= m_low · I_n`, m_low the lower end of the type's band: 3 for B, 5 for C, 10 for D. The smallest
//! rated current of any type; of types with the same one the type that opens at less. Through the run-up for certain only
//! where `I_st <= 2.55 · I_n` and `t <= 1 s`.
//! ## Example
//! Passing: 10 A running and 70 A starting by a type D breaker of 10 A. Failing: the same by a type C of 10 A, which may open
//! at once from 50 A.
//! ## Limits of our reading
//! The first half-wave of a start may be higher than the starting current; between 2.55 times and the band no standard says
//! how long a breaker stays closed: makers' curves do. Fuses and motor protection breakers are not read. That a fault opens
//! it in time is a matter of other rules: a type D asks for 20 times its rated current.
//! ## Source
//! Bands: two sources agree; 2.55 times and 1 s: from memory.

use derivation::{Known, formula};
use quantity::{Current, Duration, Quantity, Ratio};
use saying::say;
use tables::iec::clause;
use tables::iec::device::{Device, band, next_rated};

use crate::not_covered::sane;
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-4-43:2008 433.1";

/// How one motor starts and runs.
#[derive(Debug, Clone)]
pub struct MotorFacts {
    /// Line current at full load.
    pub running: Known<Current>,
    /// Line current while it starts, RMS.
    pub starting: Known<Current>,
    /// How long it starts.
    pub run_up: Known<Duration>,
}

impl MotorFacts {
    pub(super) fn sane(&self, clause: &'static str) -> Result<(), NotCovered> {
        sane(clause, &self.running)?;
        sane(clause, &self.starting)?;
        sane(clause, &self.run_up)?;
        if self.running.value() <= Current::ZERO || self.starting.value() < self.running.value() {
            return Err(NotCovered::new(
                clause,
                say!("a motor takes a current, and no less of it while it starts"),
            ));
        }
        Ok(())
    }
}

/// The breaker.
#[derive(Debug, Clone)]
pub struct MotorBreaker {
    /// Type: B, C or D.
    pub letter: char,
    /// Rated current.
    pub rated: Known<Current>,
    /// It does not open at once while the motor starts.
    pub start: Check<Current>,
    /// It stays closed through the whole start by its standard; else only its maker's curve tells.
    pub for_certain: bool,
}

/// The smallest breaker that does not open at once at the start.
///
/// # Errors
/// A value is no number or negative, a start below the running current, or no breaker is large enough.
pub fn motor_breaker(facts: &MotorFacts) -> Result<MotorBreaker, NotCovered> {
    facts.sane(CLAUSE)?;
    let mut best: Option<(char, Known<Current>, Known<Current>)> = None;
    let mut fell = None;
    for letter in ['B', 'C', 'D'] {
        match of_type(facts, letter) {
            Ok((rated, stays)) if best.as_ref().is_none_or(|(_, least, _)| rated.value() < least.value()) => {
                best = Some((letter, rated, stays));
            }
            Ok(_) => {}
            Err(why) => fell = Some(why),
        }
    }
    let Some((letter, rated, stays)) = best else {
        return Err(fell.unwrap_or_else(|| NotCovered::new(CLAUSE, say!("no type of breaker was found"))));
    };
    let carries: Known<Ratio> = clause::number("m_1s", "mcb-hold")?;
    let time: Known<Duration> = clause::number("t_1s", "mcb-hold-time")?;
    let for_certain = facts.run_up.value() <= time.value()
        && facts.starting.value().si() <= carries.value().si() * rated.value().si();
    Ok(MotorBreaker { letter, rated, start: Check::at_most(facts.starting.clone(), stays), for_certain })
}

fn of_type(facts: &MotorFacts, letter: char) -> Result<(Known<Current>, Known<Current>), NotCovered> {
    let low = band(letter, false)?.low;
    let (running, starting) = (&facts.running, &facts.starting);
    let what = format!("least rated current of a type {letter} that the start does not open");
    let by_start = formula!("I_s", what, [starting, low] => starting / low, source = "IEC 60898-1 Table 7");
    let least = Known::largest("I_min", "least rated current", &[running.clone(), by_start])
        .unwrap_or_else(|| running.clone());
    let rated = next_rated(Device::Mcb, &least)?;
    let what = "current below which it does not open at once";
    let stays = formula!("I_4", what, [low, rated] => low * rated, source = "IEC 60898-1 Table 7");
    Ok((rated, stays))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    fn chosen(running: f64, starting: f64, run_up: f64) -> Option<(char, f64, bool)> {
        let facts = MotorFacts {
            running: given(Current::of(running)),
            starting: given(Current::of(starting)),
            run_up: given(Duration::of(run_up)),
        };
        let found = motor_breaker(&facts).ok()?;
        assert!(found.start.holds, "{found:?}");
        Some((found.letter, found.rated.value().si(), found.for_certain))
    }

    #[test]
    fn by_hand() {
        assert_eq!(chosen(10.0, 70.0, 3.0), Some(('D', 10.0, false)));
        // 55 A: a D of 10 A and a C of 13 A do, a C of 10 A may open
        assert_eq!(chosen(10.0, 55.0, 3.0), Some(('D', 10.0, false)));
        assert_eq!(chosen(10.0, 50.0, 3.0), Some(('C', 10.0, false)), "the type that opens at less");
        // a soft starter: 2.5 times for a second
        assert_eq!(chosen(10.0, 25.0, 1.0), Some(('B', 10.0, true)));
        assert_eq!(chosen(10.0, 25.0, 1.1), Some(('B', 10.0, false)));
        assert_eq!(chosen(10.0, 25.6, 1.0), Some(('B', 10.0, false)));
        assert_eq!(chosen(126.0, 300.0, 1.0), None, "above 125 A there is no miniature circuit breaker");
        assert_eq!(chosen(10.0, 9.0, 1.0), None);
        assert_eq!(chosen(10.0, f64::NAN, 1.0), None);
    }

    /// Over a range of motors: no smaller rated current of any type would do.
    #[test]
    fn it_is_the_smallest_of_all_types() {
        for k in 1..60 {
            let running = f64::from(k) * 1.7;
            for ratio in [1.0, 2.9, 4.9, 7.2, 9.9] {
                let Some((letter, rated, _)) = chosen(running, running * ratio, 5.0) else { continue };
                let low = |letter| match letter {
                    'B' => 3.0,
                    'C' => 5.0,
                    _ => 10.0,
                };
                assert!(rated >= running && running * ratio <= low(letter) * rated * (1.0 + 1e-12));
                for (other, low) in [('B', 3.0), ('C', 5.0), ('D', 10.0)] {
                    let least = running.max(running * ratio / low);
                    let other_rated = next_rated(Device::Mcb, &given(Current::of(least)));
                    assert!(other_rated.map_or(true, |other| other.value().si() >= rated), "{other}");
                }
            }
        }
    }
}
