//! Existing dwelling to which load is added.
//!
//! ## Clause and edition
//! NEC 2023; 220.83.
//! ## Applies when
//! Load is added to an existing dwelling on a single three-wire supply, and no measured demand is at hand.
//! ## Why
//! The service is there already; the question is only whether it still carries the whole.
//! ## Formula
//! `S = 8 kVA + 0.40 · (S_general - 8 kVA) + max(cooling, heat) + S_EV`, old and new loads together; space heat of four
//! or more separately controlled units joins the general loads instead.
//! ## Example
//! Passing: 20,000 VA general and 5000 VA of cooling make 17,800 VA. Failing: heat of two kinds is refused.
//! ## Limits of our reading
//! (A) is for dwellings without new heating or cooling and names none of its own; existing heating and cooling is
//! counted as in (B), in full, which is never less. Electric-vehicle supply counts in full beside the tiers. Heat and
//! supplementary heat of a heat pump count in full.
//! ## Source
//! 220.83(A) and (B): two sources agree; the place of four or more units: from memory.

use derivation::{Known, formula};
use quantity::{Apparent, Current};
use saying::say;
use tables::us::load_rule;

use super::facts::{self, Climate, DwellingFacts, line_voltage, nameplates};
use super::{Neutral, ev_supply, neutral, service_minimum};
use crate::not_covered::counted;
use crate::{NotCovered, tiers};

const CLAUSE: &str = "NEC 2023 220.83";

/// An existing dwelling with what is added.
#[derive(Debug, Clone)]
pub struct DwellingExisting {
    /// General loads at nameplate, in VA.
    pub general_va: Known<Apparent>,
    /// What of them counts, in VA.
    pub general_demand_va: Known<Apparent>,
    /// General demand with heating or cooling, whichever makes more, in VA.
    pub with_climate_va: Known<Apparent>,
    /// Electric-vehicle supply, in VA.
    pub ev_va: Known<Apparent>,
    /// All together, in VA.
    pub total_va: Known<Apparent>,
    /// Line current, in A.
    pub line_a: Known<Current>,
    /// Smallest standard service rating, in A.
    pub min_service_a: Known<Current>,
    /// The neutral, by the standard method.
    pub neutral: Neutral,
}

/// The method for existing dwellings; `facts` holds old and new loads together.
///
/// # Errors
/// A part that its rule does not reach, or heat of more than one kind.
pub fn dwelling_existing(facts: &DwellingFacts) -> Result<DwellingExisting, NotCovered> {
    facts.check(CLAUSE)?;
    facts.climate.one_kind_of_heat(CLAUSE)?;
    let general_va = facts::all_general(facts)?;
    let general_demand_va = demand(&general_va)?;
    let mut cases = vec![general_demand_va.clone()];
    for load in in_full(&facts.climate)? {
        let what = "general demand with heating or cooling";
        cases.push(
            formula!("S_case", what, [general_demand_va, load] => general_demand_va + load, source = CLAUSE),
        );
    }
    if let Some(heat) = facts.climate.space_heat.as_ref().filter(|_| many_units(&facts.climate)) {
        let heated =
            Known::sum("heated", "general loads with space heat", &[general_va.clone(), heat.load.clone()]);
        cases.push(demand(&heated)?);
    }
    let with_climate_va = Known::largest("with_climate_va", "general demand with heating or cooling", &cases)
        .ok_or_else(|| NotCovered::new(CLAUSE, say!("no loads")))?;
    let ev_va = ev_supply::load(&nameplates(&facts.ev_supply))?;
    let total_va = Known::sum("total_va", "calculated load", &[with_climate_va.clone(), ev_va.clone()]);
    let voltage = line_voltage(CLAUSE, facts.supply)?;
    let line_a = formula!("line_a", "line current", [total_va, voltage] => total_va / voltage);
    Ok(DwellingExisting {
        general_va,
        general_demand_va,
        with_climate_va,
        ev_va,
        total_va,
        min_service_a: service_minimum::rating(&line_a)?,
        line_a,
        neutral: neutral::dwelling(facts)?,
    })
}

fn demand(general: &Known<Apparent>) -> Result<Known<Apparent>, NotCovered> {
    let first = load_rule::apparent("first", "existing-first")?;
    let rest = load_rule::ratio("rest", "existing-rest")?;
    Ok(tiers::first_and_rest("S_gd", "demand of the general loads", general, &first, &rest, CLAUSE))
}

fn many_units(climate: &Climate) -> bool {
    let least = load_rule::ratio("least", "optional-heat-count");
    let heat = climate.space_heat.as_ref();
    heat.is_some_and(|heat| least.is_ok_and(|n| heat.separately_controlled_units.value() >= n.value()))
}

/// Cooling and heat that count in full, of which the larger is taken.
fn in_full(climate: &Climate) -> Result<Vec<Known<Apparent>>, NotCovered> {
    let mut all: Vec<_> = climate.all_cooling().into_iter().collect();
    if let Some(pump) = &climate.heat_pump {
        let compressor = Some(&pump.compressor).filter(|_| !pump.interlocked);
        let parts: Vec<_> = compressor.into_iter().chain(&pump.supplementary).cloned().collect();
        all.push(Known::sum("S_hp", "heat pump and supplementary heat", &parts));
    }
    if let Some(heat) = &climate.space_heat {
        let units = &heat.separately_controlled_units;
        counted(CLAUSE, units, &Known::factor("n", "at least one", 1.0, CLAUSE))?;
        if !many_units(climate) {
            all.push(heat.load.clone());
        }
    }
    all.extend(climate.storage_heat.clone());
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{dwelling, given, near};
    use crate::us::{Item, SpaceHeat};
    use quantity::Ratio;

    fn va(x: f64) -> Known<Apparent> {
        given(Apparent::of(x))
    }

    /// 9000 VA of the house and 11,000 VA of appliances.
    fn house() -> DwellingFacts {
        let mut facts = dwelling(1500.0);
        facts.fixed_appliances = vec![Item::line_to_line(va(11_000.0))];
        facts
    }

    fn heat(load: f64, units: f64) -> Option<SpaceHeat> {
        Some(SpaceHeat {
            load: va(load),
            separately_controlled_units: given(Ratio::of(units)),
            neutral: false,
        })
    }

    /// By hand: 8000 + 0.4 x 12,000 = 12,800; cooling 5000 on top.
    #[test]
    fn added_cooling_counts_in_full() {
        let mut facts = house();
        let without = dwelling_existing(&facts).unwrap();
        near(&without.general_va, 20_000.0);
        near(&without.total_va, 12_800.0);
        facts.climate.cooling = vec![Item::line_to_line(va(5000.0)).motor()];
        let found = dwelling_existing(&facts).unwrap();
        near(&found.total_va, 17_800.0);
        near(&found.line_a, 17_800.0 / 240.0);
    }

    /// By hand: three heaters of 9000 VA in full; four join the tiers: 8000 + 0.4 x 21,000 = 16,400, less than the
    /// 17,800 with cooling.
    #[test]
    fn heat_by_the_number_of_its_units() {
        let mut facts = house();
        facts.climate.space_heat = heat(9000.0, 3.0);
        near(&dwelling_existing(&facts).unwrap().total_va, 21_800.0);
        facts.climate.space_heat = heat(9000.0, 4.0);
        near(&dwelling_existing(&facts).unwrap().total_va, 16_400.0);
        facts.climate.cooling = vec![Item::line_to_line(va(5000.0)).motor()];
        near(&dwelling_existing(&facts).unwrap().total_va, 17_800.0);
        facts.climate.storage_heat = Some(va(1.0));
        assert!(dwelling_existing(&facts).is_err());
    }
}
