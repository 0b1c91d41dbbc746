//! Several dwellings on one feeder or service, by the standard method.
//!
//! ## Clause and edition
//! NEC 2023; 220.40 with 220.41 to 220.61.
//! ## Applies when
//! A single-phase three-wire feeder or service carries several dwellings of one kind.
//! ## Why
//! Not all households cook and wash at once: the tables of demand fall with the number of appliances behind the feeder.
//! ## Formula
//! As for one dwelling, with the general loads of all dwellings together in the tiers of Table 220.45, and Tables 220.54
//! and 220.55 entered with the number of all dryers and cooking appliances.
//! ## Example
//! Passing: 40 dwellings of 840 ft2 and 20 ranges up to 12 kW make 104,150 VA, 434 A, and 333 A on the neutral. Failing: a
//! three-phase service is refused.
//! ## Limits of our reading
//! Dwellings are alike. Single-phase three-wire supplies only. Laundry circuits are left out only where there are none in
//! the dwellings (210.52(F), a laundry for all). The optional method (220.84) and loads of the house are rules of their
//! own; house loads are added in full.
//! ## Source
//! The parts: two sources agree; their order in the code's Annex D, Example D4(a): from memory.

use derivation::{Known, formula};
use quantity::{Apparent, Area, Current, Ratio, VoltageSystem};
use tables::us::overcurrent::next_standard;

use super::facts::{Item, line_voltage, nameplates, neutral_nameplates};
use super::noncoincident::{Alternative, largest};
use super::{
    Neutral, dryers, fixed_appliances, general_lighting, largest_motor, neutral, ranges, small_appliance,
};
use crate::NotCovered;
use crate::not_covered::{all_sane, counted, sane};

const CLAUSE: &str = "NEC 2023 220.40";

/// Dwellings that are alike.
#[derive(Debug, Clone)]
pub struct MultifamilyFacts {
    /// The voltage system of the feeder or service.
    pub supply: VoltageSystem,
    /// How many dwellings.
    pub dwellings: Known<Ratio>,
    /// Floor area of each.
    pub area: Known<Area>,
    /// Small-appliance circuits of each.
    pub small_appliance_circuits: Known<Ratio>,
    /// Laundry circuits of each; 0 where there is a laundry for all.
    pub laundry_circuits: Known<Ratio>,
    /// Appliances fastened in place, of all dwellings together, one by one.
    pub fixed_appliances: Vec<Item>,
    /// Cooking appliances over 1.75 kW, of all together, one by one.
    pub cooking: Vec<Item>,
    /// Dryers, of all together, one by one.
    pub dryers: Vec<Item>,
    /// Space heat of all together, without neutral.
    pub heat: Known<Apparent>,
    /// Cooling of all together, without neutral.
    pub cooling: Known<Apparent>,
    /// Loads of the house, in full: those that use the neutral and those that do not.
    pub house: Vec<Item>,
}

/// The load of several dwellings.
#[derive(Debug, Clone)]
pub struct MultifamilyStandard {
    /// Lighting, small-appliance and laundry circuits of all, in VA.
    pub general_va: Known<Apparent>,
    /// What of that counts, in VA.
    pub general_demand_va: Known<Apparent>,
    /// Appliances fastened in place, in VA.
    pub fixed_va: Known<Apparent>,
    /// Cooking appliances, in VA.
    pub range_va: Known<Apparent>,
    /// Dryers, in VA.
    pub dryer_va: Known<Apparent>,
    /// Heating or cooling, whichever counts, in VA.
    pub climate_va: Known<Apparent>,
    /// All together, in VA.
    pub total_va: Known<Apparent>,
    /// Line current, in A.
    pub line_a: Known<Current>,
    /// The next standard rating, in A.
    pub device_a: Known<Current>,
    /// The neutral.
    pub neutral: Neutral,
}

/// The standard method for several dwellings.
///
/// # Errors
/// A part that its rule does not reach, or fewer than two dwellings.
pub fn multifamily_standard(facts: &MultifamilyFacts) -> Result<MultifamilyStandard, NotCovered> {
    check(facts)?;
    let general_va = general(facts)?;
    let general_demand_va = general_lighting::demand(&general_va)?;
    let fixed = nameplates(&facts.fixed_appliances);
    let share = fixed_appliances::share(&fixed)?;
    let fixed_va = fixed_appliances::demand(&fixed, share.as_ref())?;
    let range_va = ranges::demand(&nameplates(&facts.cooking))?;
    let dryer_va = dryers::demand(&nameplates(&facts.dryers))?;
    let heat = Alternative { load: facts.heat.clone(), motor: false };
    let climate = largest(&[heat, Alternative { load: facts.cooling.clone(), motor: true }])?;
    let motors: Vec<_> = facts.fixed_appliances.iter().filter(|item| item.motor).cloned().collect();
    let extra = largest_motor::addition(&nameplates(&motors))?;
    let mut parts = vec![
        general_demand_va.clone(),
        fixed_va.clone(),
        range_va.clone(),
        dryer_va.clone(),
        climate.load.clone(),
    ];
    parts.extend(nameplates(&facts.house));
    parts.extend(extra);
    let total_va = Known::sum("total_va", "calculated load", &parts);
    let voltage = line_voltage(CLAUSE, facts.supply)?;
    let line_a = formula!("line_a", "line current", [total_va, voltage] => total_va / voltage);
    let device_a = next_standard(&line_a)?;
    let mut on_neutral = vec![
        general_demand_va.clone(),
        fixed_appliances::demand(&neutral_nameplates(&facts.fixed_appliances), share.as_ref())?,
    ];
    on_neutral.extend(neutral_nameplates(&facts.house));
    on_neutral.extend(largest_motor::addition(&neutral_nameplates(&motors))?);
    let reduced = [
        ranges::demand(&neutral_nameplates(&facts.cooking))?,
        dryers::demand(&neutral_nameplates(&facts.dryers))?,
    ];
    let neutral = neutral::feeder(facts.supply, &reduced, &on_neutral)?;
    Ok(MultifamilyStandard {
        general_va,
        general_demand_va,
        fixed_va,
        range_va,
        dryer_va,
        climate_va: climate.load,
        total_va,
        line_a,
        device_a,
        neutral,
    })
}

fn check(facts: &MultifamilyFacts) -> Result<(), NotCovered> {
    counted(CLAUSE, &facts.dwellings, &Known::factor("two", "several", 2.0, CLAUSE))?;
    sane(CLAUSE, &facts.heat)?;
    sane(CLAUSE, &facts.cooling)?;
    all_sane(CLAUSE, &nameplates(&facts.house))
}

/// Lighting, small-appliance and laundry circuits of all dwellings.
fn general(facts: &MultifamilyFacts) -> Result<Known<Apparent>, NotCovered> {
    let mut parts = vec![
        general_lighting::lighting(&facts.area)?,
        small_appliance::small_appliance(&facts.small_appliance_circuits)?,
    ];
    sane(CLAUSE, &facts.laundry_circuits)?;
    if facts.laundry_circuits.value() != Ratio::ZERO {
        parts.push(small_appliance::laundry(&facts.laundry_circuits)?);
    }
    let (n, each) = (&facts.dwellings, &Known::sum("S_each", "general load of one dwelling", &parts));
    Ok(formula!("S_g", "general load of all dwellings", [n, each] => n * each, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};
    use quantity::Quantity;

    fn va(x: f64) -> Known<Apparent> {
        given(Apparent::of(x))
    }

    fn house(n: f64, cooking: usize) -> MultifamilyFacts {
        MultifamilyFacts {
            supply: VoltageSystem::Split120_240,
            dwellings: given(Ratio::of(n)),
            area: given(Area::read("840 ft2").unwrap()),
            small_appliance_circuits: given(Ratio::of(2.0)),
            laundry_circuits: given(Ratio::ZERO),
            fixed_appliances: Vec::new(),
            cooking: vec![Item::with_neutral(va(12_000.0)); cooking],
            dryers: Vec::new(),
            heat: va(0.0),
            cooling: va(0.0),
            house: Vec::new(),
        }
    }

    /// NEC Annex D, Example D4(a): 40 dwellings of 840 ft2, half of them with ranges up to 12 kW, a laundry for all: 104,150
    /// VA, 434 A, neutral 390 A and 333 A after reduction; each bank of 20: 65,590 VA, 273 A, 242 A and 229 A.
    #[test]
    fn example_d4a() {
        let all = multifamily_standard(&house(40.0, 20)).unwrap();
        near(&all.general_va, 220_800.0);
        near(&all.general_demand_va, 69_150.0);
        near(&all.range_va, 35_000.0);
        near(&all.total_va, 104_150.0);
        close(&all.line_a, 434.0, 0.5);
        near(&all.neutral.neutral_va, 93_650.0);
        close(&all.neutral.unbalanced_a, 390.0, 0.5);
        close(&all.neutral.neutral_a, 333.0, 0.5);
        let bank = multifamily_standard(&house(20.0, 10)).unwrap();
        near(&bank.total_va, 65_590.0);
        close(&bank.line_a, 273.0, 0.5);
        close(&bank.neutral.unbalanced_a, 242.0, 0.5);
        close(&bank.neutral.neutral_a, 229.0, 0.5);
    }

    /// By hand: eight water heaters of 4.5 kW at 75 % beside 10 kW of house loads; 20 kW of heat against 12 kW of cooling.
    #[test]
    fn other_loads_by_their_own_rules() {
        let mut facts = house(8.0, 0);
        let bare = multifamily_standard(&facts).unwrap().total_va.value().si();
        facts.fixed_appliances = vec![Item::line_to_line(va(4500.0)); 8];
        facts.house = vec![Item::with_neutral(va(10_000.0))];
        facts.heat = va(20_000.0);
        facts.cooling = va(12_000.0);
        let found = multifamily_standard(&facts).unwrap();
        near(&found.total_va, bare + 27_000.0 + 10_000.0 + 20_000.0);
        assert!(
            multifamily_standard(&house(1.0, 0)).is_err() && multifamily_standard(&house(2.5, 0)).is_err()
        );
        let wye = MultifamilyFacts { supply: VoltageSystem::Wye120_208, ..house(8.0, 0) };
        assert!(multifamily_standard(&wye).is_err());
    }
}
