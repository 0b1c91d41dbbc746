//! Household ranges and other cooking appliances over 1.75 kW.
//!
//! ## Clause and edition
//! NEC 2023; 220.55.
//! ## Applies when
//! Household cooking appliances rated over 1.75 kW are on a service or feeder calculated by the standard method.
//! ## Why
//! No cook runs all burners and the oven at full heat at once, and many cooks less so.
//! ## Formula
//! `S = S_C(n)`, column C of Table 220.55, for n appliances not over 12 kW. Notes 1 and 2: times
//! `1 + 0.05 · whole(mean - 12 kW)`, the mean taken with at least 12 kW for each and a major fraction of a kW as a
//! whole one. On a three-phase feeder the table is entered with twice the most between any two lines; half of that is a
//! line's, three times that the whole. Note 3: instead, appliances up to 8.75 kW by the shares of columns A and B of their nameplates.
//! ## Example
//! Passing: one range of 12 kW counts 8000 VA, one of 14 kW 8800 VA. Failing: a range of 30 kW is refused.
//! ## Limits of our reading
//! kW is taken as kVA, as the clause does for ranges. Where both column C and Note 3 may be used, the smaller counts.
//! Small appliances beside ranges over 12 kW are added by Note 3, never averaged in. Note 4 (branch circuits) and Note 5
//! (schools) are not read. Single-phase ranges on a three-phase feeder: those between the two lines that have most of them
//! are to be given.
//! ## Source
//! 220.55, Table 220.55 and Notes 1 to 3: two sources agree.

use derivation::{Known, formula};
use quantity::{Apparent, Ratio};
use saying::say;
use tables::us::dwelling::{RangeShare, range_demand, range_share};
use tables::us::load_rule;

use crate::NotCovered;
use crate::not_covered::{all_sane, number_of};

const CLAUSE: &str = "NEC 2023 220.55";
/// Rounding of a computed mean that must not lose a step.
const ROUNDING: f64 = 1e-9;

/// Demand of cooking appliances, in VA; zero without any.
///
/// # Errors
/// An appliance is not over 1.75 kW, over 27 kW, or no number.
pub fn demand(nameplates: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    all_sane(CLAUSE, nameplates)?;
    in_range(nameplates)?;
    let small_up_to = load_rule::apparent("small_up_to", "range-small")?;
    let (small, large): (Vec<_>, Vec<_>) =
        nameplates.iter().cloned().partition(|r| r.value() <= small_up_to.value());
    let mut ways = Vec::new();
    if small.is_empty() || within_column_c(nameplates)? {
        ways.push(by_column_c(nameplates)?);
    }
    if !small.is_empty() {
        let parts = [by_nameplate(&small)?, by_column_c(&large)?];
        ways.push(Known::sum("S_N3", "cooking by Note 3", &parts));
    }
    Known::smallest("S_range", "cooking appliances", &ways)
        .ok_or_else(|| NotCovered::new(CLAUSE, say!("no way of the table applies")))
}

/// Demand of single-phase cooking appliances on a three-phase four-wire feeder, in VA, from those between the two lines that
/// have most of them: the table is entered with twice these, and three halves of its demand count.
///
/// # Errors
/// As [`demand`].
pub fn three_phase_demand(between_two_lines: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    let twice: Vec<_> = between_two_lines.iter().chain(between_two_lines).cloned().collect();
    let of_two = demand(&twice)?;
    let halves = Known::factor("k", "three lines of which the table's demand is two", 1.5, CLAUSE);
    let what = "cooking appliances on three phases";
    Ok(formula!("S_3ph", what, [halves, of_two] => halves * of_two, source = CLAUSE))
}

fn in_range(nameplates: &[Known<Apparent>]) -> Result<(), NotCovered> {
    let over = load_rule::apparent("over", "range-over")?.value();
    let largest = load_rule::apparent("largest", "range-largest")?.value();
    for nameplate in nameplates {
        let text = &nameplate.node().amount.text;
        if nameplate.value() <= over {
            let reason =
                say!("{text} is not over 1.75 kW: count it with the appliances fastened in place", text);
            return Err(NotCovered::new(CLAUSE, reason));
        }
        if nameplate.value() > largest {
            return Err(NotCovered::new(CLAUSE, say!("{text} is over the 27 kW that the notes reach", text)));
        }
    }
    Ok(())
}

fn within_column_c(nameplates: &[Known<Apparent>]) -> Result<bool, NotCovered> {
    let limit = load_rule::apparent("limit", "range-column-c")?.value();
    Ok(nameplates.iter().all(|r| r.value() <= limit))
}

/// Column C, raised by Notes 1 and 2 where an appliance is over 12 kW. Zero of none.
fn by_column_c(nameplates: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    if nameplates.is_empty() {
        return Ok(Known::sum("S_C", "no cooking appliances", nameplates));
    }
    let number = number_of("number of cooking appliances", nameplates);
    let column_c = range_demand(&number)?;
    if within_column_c(nameplates)? {
        return Ok(column_c);
    }
    let base = load_rule::apparent("base", "range-column-c")?;
    let pairs = nameplates.iter().map(|nameplate| [base.clone(), nameplate.clone()]);
    let each: Vec<_> = pairs.filter_map(|pair| Known::largest("S_r", "at least 12 kW", &pair)).collect();
    let sum = Known::sum("sum", "ratings, each at least 12 kW", &each);
    let mean = formula!("mean", "mean rating", [sum, number] => sum / number);
    let kva = Known::table("kva", "one kVA", Apparent::of(1000.0), "constant", "", "definition", false);
    let what = "whole kW over 12, major fraction as one";
    let steps = formula!("steps", what, [mean, base, kva] => whole((mean - base) / kva));
    let step = load_rule::ratio("step", "range-step")?;
    let what = "range demand by column C and Notes 1 and 2";
    Ok(formula!("S_C", what, [column_c, step, steps] => column_c * (1.0 + step * steps), source = CLAUSE))
}

/// A half and more counts as a whole.
fn whole(value: Ratio) -> Ratio {
    use quantity::Quantity as _;
    Ratio::of((value.si() + 0.5 + ROUNDING).floor())
}

/// Note 3: the shares of columns A and B of the nameplates of appliances up to 8.75 kW.
fn by_nameplate(small: &[Known<Apparent>]) -> Result<Known<Apparent>, NotCovered> {
    let from_b = load_rule::apparent("from_b", "range-column-b")?.value();
    let (a, b): (Vec<_>, Vec<_>) = small.iter().cloned().partition(|r| r.value() < from_b);
    let mut parts = Vec::new();
    for (group, column) in [(a, RangeShare::A), (b, RangeShare::B)] {
        if group.is_empty() {
            continue;
        }
        let share = range_share(&number_of("number in this column", &group), column)?;
        let sum = Known::sum("sum", "nameplates in this column", &group);
        parts.push(formula!("S_col", "cooking in this column", [share, sum] => share * sum, source = CLAUSE));
    }
    Ok(Known::sum("S_small", "cooking appliances up to 8.75 kW", &parts))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, near};

    fn total(kw: &[f64]) -> Known<Apparent> {
        let va: Vec<f64> = kw.iter().map(|kw| kw * 1000.0).collect();
        demand(&all(&va)).unwrap()
    }

    #[test]
    fn one_range_and_the_step_of_note_1() {
        near(&total(&[12.0]), 8000.0);
        near(&total(&[9.0]), 8000.0);
        near(&total(&[12.4]), 8000.0);
        // the major fraction: half a kW counts as one
        near(&total(&[12.5]), 8400.0);
        near(&total(&[14.0]), 8800.0);
        near(&total(&[]), 0.0);
    }

    /// Note 2 by hand: (12 + 14 + 16) / 3 = 14 kW, 2 kW over, 14 kVA + 10 %; the 9 kW one is taken as 12.
    #[test]
    fn unequal_ranges_by_their_mean() {
        near(&total(&[9.0, 14.0, 16.0]), 15_400.0);
    }

    /// Note 3 by hand: a 4 kW cooktop 80 % = 3.2; two of 5 and 3 kW 80 % each of their own column.
    #[test]
    fn small_appliances_by_their_nameplate_where_that_is_less() {
        near(&total(&[4.0]), 3200.0);
        // column B reaches through 8.75 kW: 0.8 x 8.75
        near(&total(&[8.75]), 7000.0);
        near(&total(&[5.0, 3.0]), 6400.0);
        // beside a range of 16 kW: 0.8 x 5 + 8 x 1.2
        near(&total(&[5.0, 16.0]), 13_600.0);
        // column C for two (11 kVA) is less than 0.8 x 8 + 8
        near(&total(&[8.0, 12.0]), 11_000.0);
    }

    /// NEC Annex D, Example D5(a): 20 ranges up to 12 kW on 208Y/120 V, seven between two lines at most: 14 in the table,
    /// 29,000 VA, 43,500 VA on three phases.
    #[test]
    fn three_phases_by_example_d5a() {
        near(&three_phase_demand(&all(&[12_000.0; 7])).unwrap(), 43_500.0);
        near(&three_phase_demand(&[]).unwrap(), 0.0);
        assert!(three_phase_demand(&all(&[30_000.0])).is_err());
    }

    #[test]
    fn what_the_notes_do_not_reach_is_refused() {
        for kw in [27.5, 1.75, 1.0, f64::NAN, -3.0] {
            assert!(demand(&all(&[kw * 1000.0])).is_err(), "{kw}");
        }
        assert!(demand(&all(&[27_000.0])).is_ok());
    }
}
