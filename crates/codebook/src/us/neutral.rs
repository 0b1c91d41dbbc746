//! Neutral of a service or feeder.
//!
//! ## Clause and edition
//! NEC 2023; 220.61.
//! ## Applies when
//! A single-phase three-wire service or feeder has loads that use the neutral.
//! ## Why
//! The neutral carries what the legs do not balance. Ranges and dryers load it with a part only; large neutrals never
//! see all their loads on one leg.
//! ## Formula
//! `S_n = 0.70 · (S_ranges + S_dryers) + sum(S_other)`, `I_n = S_n / (2 · V_n)`; of what exceeds 200 A 70 % count. On two
//! legs of a wye nothing is taken off.
//! ## Example
//! Passing: 5100 VA of general demand, a range of 8000 VA and a dryer of 5500 VA make 14,550 VA, 60.6 A at 120/240 V.
//! Failing: a three-phase service is refused here.
//! ## Limits of our reading
//! Loads to neutral are taken as spread evenly over the legs, as the code's own examples do; a lopsided panel is judged
//! leg by leg elsewhere. Ranges and dryers that use no neutral are left out, and the table is entered with the number
//! of the others. Four-wire wye feeders and their nonlinear loads are not read.
//! ## Source
//! 220.61(A) to (C): two sources agree.

use derivation::{Known, formula};
use quantity::{Apparent, Current, Ratio, VoltageSystem};
use saying::say;
use tables::us::load_rule;

use super::facts::{self, DwellingFacts, line_voltage, nameplates, neutral_nameplates};
use super::{dryers, ev_supply, fixed_appliances, general_lighting, largest_motor, ranges};
use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 220.61";

/// The neutral's load.
#[derive(Debug, Clone)]
pub struct Neutral {
    /// Load that uses the neutral, ranges and dryers reduced, in VA.
    pub neutral_va: Known<Apparent>,
    /// Its current before the reduction over 200 A, in A.
    pub unbalanced_a: Known<Current>,
    /// Its current, in A.
    pub neutral_a: Known<Current>,
}

/// Neutral of a feeder from the demand of ranges and dryers and the other loads that use it.
///
/// # Errors
/// Another supply than single-phase three-wire, or a load that is no number.
pub fn feeder(
    supply: VoltageSystem,
    ranges_and_dryers: &[Known<Apparent>],
    other: &[Known<Apparent>],
) -> Result<Neutral, NotCovered> {
    line_voltage(CLAUSE, supply)?;
    all_sane(CLAUSE, ranges_and_dryers)?;
    all_sane(CLAUSE, other)?;
    let reducible = supply == VoltageSystem::Split120_240;
    let cooking = Known::sum("cooking", "ranges and dryers", ranges_and_dryers);
    let rest = Known::sum("rest", "other loads that use the neutral", other);
    let share = if reducible {
        load_rule::ratio("f", "neutral-range-share")?
    } else {
        Known::factor("f", "no reduction on two legs of a wye", 1.0, "NEC 2023 220.61(C)(1)")
    };
    let what = "load that uses the neutral";
    let neutral_va =
        formula!("neutral_va", what, [share, cooking, rest] => share * cooking + rest, source = CLAUSE);
    let why = "nominal voltage of the supply";
    let voltage = Known::assumed("voltage", "voltage to neutral", supply.phase_voltage(), why);
    let legs = Known::factor("legs", "legs over which the load is spread", 2.0, "three-wire supply");
    let what = "unbalanced current";
    let unbalanced_a =
        formula!("unbalanced_a", what, [neutral_va, legs, voltage] => neutral_va / (legs * voltage));
    let neutral_a = if reducible { over_threshold(&unbalanced_a)? } else { unbalanced_a.clone() };
    Ok(Neutral { neutral_va, unbalanced_a, neutral_a })
}

/// The more loaded of the two legs, or the neutral with it, where the loads to neutral differ by so much between the
/// legs: `I + difference / (2 · V_n)`. On two legs of a wye that is never too little.
///
/// # Errors
/// Another supply than single-phase three-wire, or a value that is no number.
pub fn with_leg_difference(
    supply: VoltageSystem,
    even: &Known<Current>,
    difference: &Known<Apparent>,
) -> Result<Known<Current>, NotCovered> {
    line_voltage(CLAUSE, supply)?;
    sane(CLAUSE, even)?;
    sane(CLAUSE, difference)?;
    let why = "nominal voltage of the supply";
    let voltage = Known::assumed("voltage", "voltage to neutral", supply.phase_voltage(), why);
    let legs = Known::factor("legs", "half of the difference lies above the even share", 2.0, "arithmetic");
    let what = "current with the loads to neutral unevenly on the legs";
    Ok(formula!("I_leg", what, [even, difference, legs, voltage] => even + difference / (legs * voltage)))
}

/// 70 % of what exceeds 200 A.
fn over_threshold(unbalanced: &Known<Current>) -> Result<Known<Current>, NotCovered> {
    let limit = load_rule::current("limit", "neutral-threshold")?;
    let source = "NEC 2023 220.61(B)(2)";
    if unbalanced.value() > limit.value() {
        let share: Known<Ratio> = load_rule::ratio("share", "neutral-over-share")?;
        let what = "neutral current, reduced over 200 A";
        return Ok(
            formula!("I_n", what, [limit, share, unbalanced] => limit + share * (unbalanced - limit), source = source),
        );
    }
    Ok(formula!("I_n", "neutral current", [unbalanced] => unbalanced))
}

/// Neutral of a dwelling, by the standard method whichever method sizes its lines.
///
/// # Errors
/// A part of the dwelling that its rules do not reach.
pub fn dwelling(facts: &DwellingFacts) -> Result<Neutral, NotCovered> {
    facts.check(CLAUSE)?;
    let general = facts::general(facts)?.general_va;
    let share = fixed_appliances::share(&nameplates(&facts.fixed_appliances))?;
    let mut other = vec![
        general_lighting::demand(&general)?,
        fixed_appliances::demand(&neutral_nameplates(&facts.fixed_appliances), share.as_ref())?,
        Known::sum("S_m", "motors on the neutral", &neutral_nameplates(&facts.motors)),
        ev_supply::load(&neutral_nameplates(&facts.ev_supply))?,
        climate(facts)?,
    ];
    other.extend(largest_motor::addition(&motors(facts))?);
    let reduced = [
        ranges::demand(&neutral_nameplates(&facts.cooking))?,
        dryers::demand(&neutral_nameplates(&facts.dryers))?,
    ];
    feeder(facts.supply, &reduced, &other)
}

/// Heating or cooling on the neutral, the larger.
fn climate(facts: &DwellingFacts) -> Result<Known<Apparent>, NotCovered> {
    let cooling =
        Known::sum("cooling", "cooling on the neutral", &neutral_nameplates(&facts.climate.cooling));
    let heat = facts.climate.space_heat.iter().filter(|heat| heat.neutral).map(|heat| heat.load.clone());
    let all: Vec<_> = heat.chain([cooling]).collect();
    let larger = Known::largest("larger", "heating or cooling on the neutral", &all);
    let larger = larger.ok_or_else(|| NotCovered::new(CLAUSE, say!("no loads")))?;
    sane(CLAUSE, &larger)?;
    Ok(larger)
}

fn motors(facts: &DwellingFacts) -> Vec<Known<Apparent>> {
    let driven = facts.fixed_appliances.iter().filter(|item| item.motor);
    let all = driven.chain(&facts.motors).chain(&facts.climate.cooling);
    all.filter(|item| item.neutral).map(|item| item.nameplate.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    /// NEC Annex D, Example D1(a): 14,550 VA, 61 A.
    #[test]
    fn neutral_of_example_d1a() {
        let neutral = feeder(VoltageSystem::Split120_240, &all(&[8000.0, 5500.0]), &all(&[5100.0])).unwrap();
        near(&neutral.neutral_va, 14_550.0);
        near(&neutral.neutral_a, 60.625);
    }

    /// By hand: 10 kVA to neutral on one leg and 6 kVA on the other, 4.8 kVA between them: (10 + 2.4) / 0.12 A, where the
    /// even share is 20.8 kVA / 240 V; the neutral carries the difference and half of nothing more.
    #[test]
    fn the_more_loaded_leg_by_the_difference() {
        let a = |x| crate::us::testing::given(Current::of(x));
        let difference = crate::us::testing::given(Apparent::of(4000.0));
        let even = a(20_800.0 / 240.0);
        let leg = with_leg_difference(VoltageSystem::Split120_240, &even, &difference).unwrap();
        near(&leg, 12_400.0 / 120.0);
        assert!(with_leg_difference(VoltageSystem::Wye120_208, &even, &difference).is_err());
        assert!(with_leg_difference(VoltageSystem::Split120_240, &a(f64::NAN), &difference).is_err());
    }

    /// By hand: 72 kVA make 300 A; 200 + 0.7 x 100 = 270 A.
    #[test]
    fn over_200_a_70_percent_count() {
        let neutral = feeder(VoltageSystem::Split120_240, &[], &all(&[72_000.0])).unwrap();
        near(&neutral.unbalanced_a, 300.0);
        near(&neutral.neutral_a, 270.0);
    }

    #[test]
    fn two_legs_of_a_wye_get_no_reduction_and_three_phases_no_answer() {
        let loads = (all(&[10_000.0]), all(&[62_000.0]));
        let neutral = feeder(VoltageSystem::TwoLegs120_208, &loads.0, &loads.1).unwrap();
        near(&neutral.neutral_va, 72_000.0);
        near(&neutral.neutral_a, 300.0);
        assert!(feeder(VoltageSystem::Wye120_208, &loads.0, &loads.1).is_err());
        let less = all(&[-10_000.0]);
        assert!(feeder(VoltageSystem::Split120_240, &loads.0, &less).is_err(), "would relieve the neutral");
        assert!(feeder(VoltageSystem::Split120_240, &less, &loads.1).is_err(), "would relieve the neutral");
    }
}
