//! Feeder or service of a building other than a dwelling.
//!
//! ## Clause and edition
//! NEC 2023; 220.14(F) and (I), 220.43(A), 220.45, 220.47, 215.2(A)(1), 230.42(A).
//! ## Applies when
//! The feeder or service of a store, an office, a warehouse or the like is calculated.
//! ## Why
//! Lighting runs all day and warms what feeds it; receptacles are many and mostly idle.
//! ## Formula
//! `S_rec = 10 kVA + 0.50 · (180 VA · n - 10 kVA)`; `S_req = S_light,req + 1.25 · (S_window + S_signs +
//! S_continuous) + S_rec + S_other`, where lighting by the table is taken as it is and connected lighting raised to 125 %;
//! `I = S_req / V`, in three phases `S_req / (sqrt(3) · V)`.
//! ## Example
//! Passing: 9000 VA of lighting, a show window of 30 ft, a sign and 80 receptacles make 28,400 VA and ask for 32,450 VA,
//! 135 A at 240 V. Failing: two and a half receptacles.
//! ## Limits of our reading
//! Unit loads are those of 2020 and later, which hold the 125 %; lighting by an older edition's larger unit loads is given
//! as connected lighting, which is raised as those editions ask. Motors, kitchens (220.56) and multioutlet assemblies come in with the other loads, their own rules applied before.
//! Loads are balanced over the lines.
//! ## Source
//! 215.2(A)(1) and Table 220.45: two sources agree; 220.14, 220.43(A), 220.47 and 230.42(A): from memory; confirm in the
//! adopted code.

use derivation::{Known, formula};
use quantity::{Apparent, Area, Current, Length, LineVoltage, Quantity, Ratio};
use saying::say;
use tables::us::load_rule;
use tables::us::overcurrent::next_standard;

use super::building_lighting;
use crate::not_covered::{all_sane, counted, sane};
use crate::{NotCovered, tiers};

const CLAUSE: &str = "NEC 2023 220.40";

/// A building.
#[derive(Debug, Clone)]
pub struct BuildingFacts {
    /// Occupancy of Table 220.42(A).
    pub occupancy: String,
    /// Floor area by the outside dimensions.
    pub area: Known<Area>,
    /// Lighting that is connected, where it is known.
    pub connected_lighting: Option<Known<Apparent>>,
    /// Length of show windows.
    pub show_window: Known<Length>,
    /// Signs and outline lighting, each.
    pub signs: Vec<Known<Apparent>>,
    /// Yokes of receptacles.
    pub receptacles: Known<Ratio>,
    /// Other load that runs for three hours or more.
    pub continuous: Known<Apparent>,
    /// Other load.
    pub other: Known<Apparent>,
    /// Voltage between the lines.
    pub line: Known<LineVoltage>,
    /// Three phases rather than one.
    pub three_phase: bool,
}

/// What it asks for.
#[derive(Debug, Clone)]
pub struct BuildingLoad {
    /// Lighting after demand, in VA.
    pub lighting_va: Known<Apparent>,
    /// Show windows, in VA.
    pub show_window_va: Known<Apparent>,
    /// Signs, each at least the smallest load, in VA.
    pub signs_va: Known<Apparent>,
    /// Receptacles after demand, in VA.
    pub receptacles_va: Known<Apparent>,
    /// All together, in VA.
    pub total_va: Known<Apparent>,
    /// The same with continuous load raised, in VA.
    pub required_va: Known<Apparent>,
    /// Current of that, in A.
    pub line_a: Known<Current>,
    /// The next standard rating, in A.
    pub device_a: Known<Current>,
}

/// Demand of receptacles outside dwellings, in VA.
///
/// # Errors
/// No whole number.
pub fn receptacles(yokes: &Known<Ratio>) -> Result<Known<Apparent>, NotCovered> {
    counted("NEC 2023 220.14(I)", yokes, &Known::factor("n_min", "none", 0.0, "counting"))?;
    let each = load_rule::apparent("each", "receptacle-load")?;
    let all = formula!("S_r", "receptacles", [yokes, each] => yokes * each, source = "NEC 2023 220.14(I)");
    let first = load_rule::apparent("first", "receptacle-first")?;
    let rest = load_rule::ratio("rest", "receptacle-rest")?;
    Ok(tiers::first_and_rest("S_rec", "demand of the receptacles", &all, &first, &rest, "NEC 2023 220.47"))
}

/// Load of a building that is no dwelling.
///
/// # Errors
/// A part that its rule does not reach, a voltage that is not above zero, or more than the largest standard rating.
pub fn building_load(facts: &BuildingFacts) -> Result<BuildingLoad, NotCovered> {
    let BuildingFacts { occupancy, line, continuous, other, show_window, .. } = facts;
    sane(CLAUSE, continuous)?;
    sane(CLAUSE, other)?;
    sane(CLAUSE, show_window)?;
    if !(line.value().si() > 0.0 && line.value().si().is_finite()) {
        return Err(NotCovered::new(CLAUSE, say!("the voltage is not above zero")));
    }
    let lighting = building_lighting::lighting(occupancy, &facts.area, facts.connected_lighting.as_ref())?;
    let lighting_va = building_lighting::demand(occupancy, &lighting)?;
    let per_ft = load_rule::apparent("per_ft", "show-window-load")?;
    let ft = Known::table("ft", "one foot", Length::of(0.3048), "constant", "", "definition", false);
    let show_window_va = formula!("S_win", "show windows", [per_ft, show_window, ft]
        => per_ft * (show_window / ft), source = "NEC 2023 220.43(A)");
    let signs_va = signs(&facts.signs)?;
    let receptacles_va = receptacles(&facts.receptacles)?;
    let lit = building_lighting::required(occupancy, &facts.area, facts.connected_lighting.as_ref())?;
    let lasting = [show_window_va.clone(), signs_va.clone(), continuous.clone()];
    let lasting = Known::sum("S_cont", "load beside lighting that runs for three hours or more", &lasting);
    let rest = Known::sum("S_rest", "other load", &[receptacles_va.clone(), other.clone()]);
    let total_va = [lighting_va.clone(), lasting.clone(), rest.clone()];
    let total_va = Known::sum("total_va", "calculated load", &total_va);
    let f = load_rule::ratio("f", "continuous-feeder")?;
    let what = "load with its continuous part raised";
    let required_va = formula!("required_va", what, [lit, f, lasting, rest] => lit + f * lasting + rest,
        source = "NEC 2023 215.2(A)(1), 230.42(A)");
    let (k, why) = if facts.three_phase { (3.0_f64.sqrt(), "three phases") } else { (1.0, "single-phase") };
    let k = Known::factor("k", why, k, "circuit theory");
    let line_a = formula!("line_a", "line current", [required_va, k, line] => required_va / (k * line));
    let device_a = next_standard(&line_a)?;
    Ok(BuildingLoad {
        lighting_va,
        show_window_va,
        signs_va,
        receptacles_va,
        total_va,
        required_va,
        line_a,
        device_a,
    })
}

/// Signs, each at least the smallest load.
fn signs(all: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    all_sane(CLAUSE, all)?;
    let floor = load_rule::apparent("floor", "sign-load")?;
    let pairs = all.iter().map(|sign| [floor.clone(), sign.clone()]);
    let each: Vec<_> = pairs.filter_map(|pair| Known::largest("S_sign", "one sign", &pair)).collect();
    Ok(Known::sum("S_signs", "signs", &each))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};

    fn va(x: f64) -> Known<Apparent> {
        given(Apparent::of(x))
    }

    fn store() -> BuildingFacts {
        BuildingFacts {
            occupancy: "retail".to_owned(),
            area: given(Area::read("3000 ft2").unwrap()),
            connected_lighting: Some(va(9000.0)),
            show_window: given(Length::read("30 ft").unwrap()),
            signs: vec![va(1200.0)],
            receptacles: given(Ratio::of(80.0)),
            continuous: va(0.0),
            other: va(0.0),
            line: given(LineVoltage::of(240.0)),
            three_phase: false,
        }
    }

    /// NEC Annex D, Example D3 (2014 edition, lighting at 3 VA for each square foot): a store of 3000 ft2 with 30 ft of show
    /// window, a sign and 80 duplex receptacles: 12,200 + 16,200 VA, 32,450 VA, 135 A.
    #[test]
    fn example_d3_store() {
        let found = building_load(&store()).unwrap();
        near(&found.receptacles_va, 12_200.0);
        near(&found.show_window_va, 6000.0);
        near(&found.total_va, 28_400.0);
        near(&found.required_va, 32_450.0);
        close(&found.line_a, 135.2, 0.05);
        near(&found.device_a, 150.0);
        let three = BuildingFacts { three_phase: true, line: given(LineVoltage::of(208.0)), ..store() };
        close(&building_load(&three).unwrap().line_a, 90.07, 0.01);
    }

    /// The same store by the table of 2020 and later, 5700 VA of lighting that hold the 125 % (note 1 to Table 220.12, 2020):
    /// 5700 + 1.25 x 7200 + 12,200 VA; with 5000 VA connected 6250 VA of lighting.
    #[test]
    fn lighting_by_the_table_is_not_raised_again() {
        let table = BuildingFacts { connected_lighting: None, ..store() };
        let found = building_load(&table).unwrap();
        near(&found.total_va, 5700.0 + 7200.0 + 12_200.0);
        near(&found.required_va, 5700.0 + 9000.0 + 12_200.0);
        let connected = BuildingFacts { connected_lighting: Some(va(5000.0)), ..store() };
        let found = building_load(&connected).unwrap();
        near(&found.lighting_va, 5700.0);
        near(&found.required_va, 6250.0 + 9000.0 + 12_200.0);
    }

    #[test]
    fn small_signs_few_receptacles_and_what_is_refused() {
        let small = BuildingFacts { signs: vec![va(300.0)], ..store() };
        near(&building_load(&small).unwrap().signs_va, 1200.0);
        near(&receptacles(&given(Ratio::of(10.0))).unwrap(), 1800.0);
        near(&receptacles(&given(Ratio::of(0.0))).unwrap(), 0.0);
        assert!(receptacles(&given(Ratio::of(2.5))).is_err());
        for bad in [va(-1.0), va(f64::NAN)] {
            assert!(building_load(&BuildingFacts { other: bad, ..store() }).is_err());
        }
        assert!(building_load(&BuildingFacts { line: given(LineVoltage::of(0.0)), ..store() }).is_err());
    }
}
