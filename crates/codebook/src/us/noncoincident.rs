//! Loads that never run together: only the largest.
//!
//! ## Clause and edition
//! NEC 2023; 220.60.
//! ## Applies when
//! Two or more loads of a service or feeder are unlikely to run at the same time, as heating and cooling.
//! ## Why
//! What cannot run together need not be carried together. A motor that stays in the sum keeps its quarter more.
//! ## Formula
//! `S = max(S_1, S_2, ...)`; where the largest is no motor or air conditioning, also `1.25 · S_M` of the largest such
//! load is held against it.
//! ## Example
//! Passing: heat of 9000 VA and cooling of 1380 VA count 9000 VA; heat of 5000 VA and cooling of 4900 VA count 6125 VA.
//! Failing: an empty group has no answer.
//! ## Limits of our reading
//! The sentence on 125 percent can be read as replacing the largest load even where it is greater; we take the greater
//! of both. Whether loads run together is the caller's word.
//! ## Source
//! 220.60 with the sentence on 125 percent, new in 2023: one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::Apparent;
use saying::say;
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 220.60";

/// One of the loads that never run together.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// Its load.
    pub load: Known<Apparent>,
    /// Whether it is a motor or air conditioning.
    pub motor: bool,
}

/// What counts of a group.
#[derive(Debug, Clone)]
pub struct Noncoincident {
    /// The load that counts, in VA.
    pub load: Known<Apparent>,
    /// Which of the alternatives it comes from.
    pub from: usize,
    /// Whether it is a motor load taken at 125 percent.
    pub increased: bool,
}

/// The load that counts of those that never run together.
///
/// # Errors
/// No loads, or one is no number.
pub fn largest(group: &[Alternative]) -> Result<Noncoincident, NotCovered> {
    group.iter().try_for_each(|one| sane(CLAUSE, &one.load))?;
    let top = index_of_largest(group, |_| true).ok_or_else(|| NotCovered::new(CLAUSE, say!("no loads")))?;
    let picked = |from, increased, all: &[Known<Apparent>]| {
        let load = Known::largest("load", "largest of the loads that never run together", all);
        let load = load.ok_or_else(|| NotCovered::new(CLAUSE, say!("no loads")))?;
        Ok(Noncoincident { load, from, increased })
    };
    let mut all: Vec<Known<Apparent>> = group.iter().map(|one| one.load.clone()).collect();
    let motor = index_of_largest(group, |one| one.motor);
    let (Some(top_load), Some(motor)) = (all.get(top).cloned(), motor) else {
        return picked(top, false, &all);
    };
    let Some(motor_load) = all.get(motor).cloned() else { return picked(top, false, &all) };
    if motor == top {
        return picked(top, false, &all);
    }
    let factor = load_rule::ratio("factor", "noncoincident-motor")?;
    let what = "motor or air conditioning at 125 %";
    let raised = formula!("raised", what, [factor, motor_load] => factor * motor_load, source = CLAUSE);
    let governs = raised.value() > top_load.value();
    all.push(raised);
    if governs { picked(motor, true, &all) } else { picked(top, false, &all) }
}

fn index_of_largest(group: &[Alternative], of: impl Fn(&Alternative) -> bool) -> Option<usize> {
    let mut best: Option<(usize, Apparent)> = None;
    for (k, one) in group.iter().enumerate().filter(|(_, one)| of(one)) {
        if best.is_none_or(|(_, load)| one.load.value() > load) {
            best = Some((k, one.load.value()));
        }
    }
    best.map(|(k, _)| k)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn group(heat: f64, cooling: f64) -> Noncoincident {
        let of = |va, motor| Alternative { load: given(Apparent::of(va)), motor };
        largest(&[of(heat, false), of(cooling, true)]).unwrap()
    }

    #[test]
    fn a_motor_that_is_not_the_largest_is_held_against_it_at_125_percent() {
        let heat = group(9000.0, 1380.0);
        near(&heat.load, 9000.0);
        assert_eq!((heat.from, heat.increased), (0, false));
        let close_call = group(5000.0, 4900.0);
        near(&close_call.load, 6125.0);
        assert_eq!((close_call.from, close_call.increased), (1, true));
        let cooling = group(4000.0, 5000.0);
        near(&cooling.load, 5000.0);
        assert_eq!((cooling.from, cooling.increased), (1, false));
        let still = |va| Alternative { load: given(Apparent::of(va)), motor: false };
        assert!(!largest(&[still(3000.0), still(2000.0)]).unwrap().increased);
        assert!(largest(&[]).is_err());
    }
}
