//! Overload relay of one motor.
//!
//! ## Clause and edition
//! IEC 60364-5-55:2011; 552, with the trip classes of IEC 60947-4-1.
//! ## Applies when
//! A starter with a thermal or electronic overload relay switches one motor.
//! ## Why
//! A breaker that lets a motor start lets it burn as well: the relay follows the motor's own current.
//! ## Formula
//! `I_r = I_b`; the lowest class whose shortest tripping time at `7.2 · I_r` is no shorter than the run-up: 10A 2 s, 10 4 s,
//! 20 6 s, 30 9 s; `I_st <= 7.2 · I_r`.
//! ## Example
//! Passing: 10 A, 70 A for 5 s by class 20 set to 10 A. Failing: 80 A for 5 s, for which no class is stated.
//! ## Limits of our reading
//! Which class a motor bears when it stalls is its maker's word. A relay behind a delta contactor carries another current.
//! Loss of a phase and motors that start often are not read.
//! ## Source
//! Trip classes and their multiple from memory; confirm in the adopted standard.

use derivation::{Known, formula};
use quantity::{Current, Duration, Ratio};
use saying::say;
use tables::iec::clause;

use super::motor_breaker::MotorFacts;
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60947-4-1 trip classes";
/// Classes, with the keys of their shortest tripping times.
const CLASSES: [(&str, &str); 4] =
    [("10A", "relay-10a"), ("10", "relay-10"), ("20", "relay-20"), ("30", "relay-30")];

/// The relay.
#[derive(Debug, Clone)]
pub struct MotorOverload {
    /// Current that it is set to: the motor's at full load.
    pub setting: Known<Current>,
    /// Its trip class.
    pub class: &'static str,
    /// The run-up ends before it may open.
    pub run_up: Check<Duration>,
}

/// The lowest class through which the motor starts.
///
/// # Errors
/// A value is no number or negative, a start above the multiple for which classes are stated, or a run-up longer than any
/// class allows.
pub fn motor_overload(facts: &MotorFacts) -> Result<MotorOverload, NotCovered> {
    facts.sane(CLAUSE)?;
    let setting = facts.running.clone();
    let m: Known<Ratio> = clause::number("m_r", "relay-start")?;
    let what = "current up to which the classes are stated";
    let most = formula!("I_7", what, [m, setting] => m * setting, source = CLAUSE);
    if facts.starting.value() > most.value() {
        let reason = say!(
            "the motor starts with {starting}; trip classes are stated up to {most}, 7.2 times its own",
            starting = facts.starting.value(),
            most = most.value()
        );
        return Err(NotCovered::new(CLAUSE, reason));
    }
    for (class, key) in CLASSES {
        let shortest: Known<Duration> = clause::number("t_c", key)?;
        let run_up = Check::at_most(facts.run_up.clone(), shortest);
        if run_up.holds {
            return Ok(MotorOverload { setting, class, run_up });
        }
    }
    let reason =
        say!("the run-up of {run_up} is longer than any trip class allows", run_up = facts.run_up.value());
    Err(NotCovered::new(CLAUSE, reason))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn the_lowest_class_that_lets_it_start() {
        let class = |running: f64, starting: f64, run_up: f64| {
            let facts = MotorFacts {
                running: given(Current::of(running)),
                starting: given(Current::of(starting)),
                run_up: given(Duration::of(run_up)),
            };
            motor_overload(&facts).ok().map(|found| found.class)
        };
        assert_eq!(class(10.0, 70.0, 2.0), Some("10A"));
        assert_eq!(class(10.0, 70.0, 2.1), Some("10"));
        assert_eq!(class(10.0, 72.0, 5.0), Some("20"));
        assert_eq!(class(10.0, 30.0, 9.0), Some("30"));
        assert_eq!(class(10.0, 30.0, 9.1), None);
        assert_eq!(class(10.0, 72.1, 1.0), None, "above 7.2 times no class is stated");
        assert_eq!(class(0.0, 10.0, 1.0), None);
    }
}
