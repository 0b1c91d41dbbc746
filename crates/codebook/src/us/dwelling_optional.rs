//! Optional method for one dwelling.
//!
//! ## Clause and edition
//! NEC 2023; 220.82.
//! ## Applies when
//! One dwelling has a single three-wire supply of 120/240 V or two legs of 120/208 V whose conductors carry 100 A or
//! more.
//! ## Why
//! Measured houses draw far less than their appliances add up to; heating and cooling never run at once.
//! ## Formula
//! `S = 10 kVA + 0.40 · (S_general - 10 kVA) + max(C_1 .. C_6) + S_EV`, with C_1 cooling, C_2 a heat pump without
//! supplementary heat, C_3 compressor and 65 % of supplementary heat, C_4 65 % of space heat with fewer than four
//! separately controlled units, C_5 40 % with four or more, C_6 storage or continuous heat in full.
//! ## Example
//! Passing: 29,700 VA general and five heaters of 9000 VA in all make 21,480 VA, 89.5 A. Failing: a heat pump beside
//! baseboard heat is refused.
//! ## Limits of our reading
//! Electric-vehicle supply is not named in the clause and counts in full beside the tiers, at 7200 VA at least: never
//! too little. Heat of several kinds is refused. A heat pump's compressor also counts as cooling. A compressor that is
//! interlocked with the supplementary heat is left out of C_3 only. Neutral by 220.61, motors without their quarter
//! more.
//! ## Source
//! 220.82(A) to (C): two sources agree; the load of electric-vehicle supply: one source.

use derivation::{Known, formula};
use quantity::{Apparent, Current};
use saying::say;
use tables::us::load_rule;

use super::facts::{self, Climate, DwellingFacts, HeatPump, SpaceHeat, line_voltage, nameplates};
use super::{Neutral, ev_supply, neutral, service_minimum};
use crate::not_covered::{counted, sane};
use crate::{NotCovered, tiers};

const CLAUSE: &str = "NEC 2023 220.82";
const GENERAL: &str = "NEC 2023 220.82(B)";

/// A dwelling by the optional method.
#[derive(Debug, Clone)]
pub struct DwellingOptional {
    /// General loads at nameplate, in VA.
    pub general_va: Known<Apparent>,
    /// What of them counts, in VA.
    pub general_demand_va: Known<Apparent>,
    /// Cooling in full, in VA; none without cooling.
    pub cooling_va: Option<Known<Apparent>>,
    /// The heating and cooling selections that apply, in the order of the clause, in VA.
    pub selections_va: Vec<Known<Apparent>>,
    /// The largest of them, in VA; zero without any.
    pub heat_va: Known<Apparent>,
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

/// The optional method for one dwelling.
///
/// # Errors
/// A part that its rule does not reach, or heat of more than one kind.
pub fn dwelling_optional(facts: &DwellingFacts) -> Result<DwellingOptional, NotCovered> {
    facts.check(CLAUSE)?;
    facts.climate.one_kind_of_heat(CLAUSE)?;
    let general_va = facts::all_general(facts)?;
    let first = load_rule::apparent("first", "optional-first")?;
    let rest = load_rule::ratio("rest", "optional-rest")?;
    let what = "demand of the general loads";
    let general_demand_va = tiers::first_and_rest("S_gd", what, &general_va, &first, &rest, GENERAL);
    let selections_va = selections(&facts.climate)?;
    let what = "largest of the heating and cooling selections";
    let none = || Known::sum("S_hc", "no heating or cooling", &[]);
    let heat_va = Known::largest("heat_va", what, &selections_va).unwrap_or_else(none);
    let ev_va = ev_supply::load(&nameplates(&facts.ev_supply))?;
    let parts = [general_demand_va.clone(), heat_va.clone(), ev_va.clone()];
    let total_va = Known::sum("total_va", "calculated load", &parts);
    let voltage = line_voltage(CLAUSE, facts.supply)?;
    let line_a = formula!("line_a", "line current", [total_va, voltage] => total_va / voltage);
    Ok(DwellingOptional {
        general_va,
        general_demand_va,
        cooling_va: facts.climate.all_cooling(),
        selections_va,
        heat_va,
        ev_va,
        total_va,
        min_service_a: service_minimum::rating(&line_a)?,
        line_a,
        neutral: neutral::dwelling(facts)?,
    })
}

/// Whether conductors are large enough for the method to be used at all.
///
/// # Errors
/// They carry less than 100 A.
pub fn check_supply(ampacity: &Known<Current>) -> Result<(), NotCovered> {
    sane(CLAUSE, ampacity)?;
    let least = load_rule::current("least", "optional-supply")?;
    if ampacity.value() >= least.value() {
        return Ok(());
    }
    let reason = say!(
        "the supply conductors carry {ampacity}, the method asks for {least}: use the standard method",
        ampacity = ampacity.value(),
        least = least.value()
    );
    Err(NotCovered::new("NEC 2023 220.82(A)", reason))
}

/// The heating and cooling selections that apply.
fn selections(climate: &Climate) -> Result<Vec<Known<Apparent>>, NotCovered> {
    let mut all = Vec::new();
    if let Some(cooling) = climate.all_cooling() {
        let share = load_rule::ratio("share", "optional-cooling")?;
        let source = "NEC 2023 220.82(C)(1)";
        all.push(formula!("C_1", "cooling", [share, cooling] => share * cooling, source = source));
    }
    if let Some(pump) = &climate.heat_pump {
        all.push(heat_pump(pump)?);
    }
    if let Some(heat) = &climate.space_heat {
        all.push(space_heat(heat)?);
    }
    if let Some(heat) = &climate.storage_heat {
        let share = load_rule::ratio("share", "optional-storage")?;
        let (what, source) = ("storage or continuous heat", "NEC 2023 220.82(C)(6)");
        all.push(formula!("C_6", what, [share, heat] => share * heat, source = source));
    }
    Ok(all)
}

fn heat_pump(pump: &HeatPump) -> Result<Known<Apparent>, NotCovered> {
    let whole = load_rule::ratio("whole", "optional-heat-pump")?;
    let compressor = &pump.compressor;
    let Some(extra) = &pump.supplementary else {
        let source = "NEC 2023 220.82(C)(2)";
        return Ok(formula!("C_2", "heat pump", [whole, compressor] => whole * compressor, source = source));
    };
    let share = load_rule::ratio("share", "optional-supplementary")?;
    let source = "NEC 2023 220.82(C)(3)";
    if pump.interlocked {
        let what = "supplementary heat, compressor kept off";
        return Ok(formula!("C_3", what, [share, extra] => share * extra, source = source));
    }
    let what = "heat pump and supplementary heat";
    Ok(
        formula!("C_3", what, [whole, compressor, share, extra] => whole * compressor + share * extra, source = source),
    )
}

fn space_heat(heat: &SpaceHeat) -> Result<Known<Apparent>, NotCovered> {
    let units = &heat.separately_controlled_units;
    counted(CLAUSE, units, &Known::factor("n", "at least one", 1.0, CLAUSE))?;
    let load = &heat.load;
    let many = units.value() >= load_rule::ratio("n", "optional-heat-count")?.value();
    let (symbol, key, source) = if many {
        ("C_5", "optional-heat-many", "NEC 2023 220.82(C)(5)")
    } else {
        ("C_4", "optional-heat-few", "NEC 2023 220.82(C)(4)")
    };
    let share = load_rule::ratio("share", key)?;
    Ok(formula!(symbol, "electric space heating", [share, load] => share * load, source = source))
}

#[cfg(test)]
mod tests;
