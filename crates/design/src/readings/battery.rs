//! Readings at the strings of a battery, before they are joined.

use assess::{Case, string_resistance};
use catalog::{BatteryModel, UnitModel};
use derivation::{Known, formula};
use quantity::{DcVoltage, Ratio};

use super::{Band, window};

/// Lowest voltage at which a unit goes on working: its cut-off where the record states one, never below its window.
pub fn floor(unit: &UnitModel) -> Known<DcVoltage> {
    let (low, _) = window(unit);
    let cutoff = unit.dc.cutoff.as_ref().map(|cutoff| {
        let what = "low-voltage cut-off of the unit";
        Known::catalog("U_co", what, cutoff.below, &unit.id, "dc cutoff below")
    });
    let all: Vec<_> = [Some(low.clone()), cutoff].into_iter().flatten().collect();
    Known::largest("U_low", "voltage below which the unit stops", &all).unwrap_or(low)
}

/// A string at rest: between empty and full by the record of the battery, within what the unit takes. Where the record
/// lists no open-circuit voltages only the unit's limits are left.
pub(super) fn at_rest(case: &Case<'_>) -> Band<DcVoltage> {
    let (low, (_, high)) = (floor(case.unit), window(case.unit));
    let Some(model) = case.bank.as_ref().map(|bank| bank.model) else { return (low, high) };
    let string = |listed: Option<&(Ratio, DcVoltage)>, word: &str| {
        let (charge, volts) = listed?;
        let m = series(model);
        let field = format!("open_circuit at {charge}");
        let U_1 =
            Known::catalog("U_1", format!("voltage of a module at rest, {word}"), *volts, &model.id, &field);
        Some(formula!("U_s", format!("voltage of a string at rest, {word}"), [m, U_1] => m * U_1))
    };
    let lows: Vec<_> =
        [Some(low.clone()), string(model.open_circuit.first(), "empty")].into_iter().flatten().collect();
    let charged = model.highest.map(|U_1| {
        let m = series(model);
        let U_1 = Known::catalog("U_1", "highest voltage of a module in charging", U_1, &model.id, "highest");
        formula!("U_s", "highest voltage of a string in charging", [m, U_1] => m * U_1)
    });
    let highs: Vec<_> = [Some(high.clone()), string(model.open_circuit.last(), "full"), charged]
        .into_iter()
        .flatten()
        .collect();
    (
        Known::largest("U_min", "lowest voltage of a string at rest", &lows).unwrap_or(low),
        Known::smallest("U_max", "highest voltage of a string at rest", &highs).unwrap_or(high),
    )
}

fn series(model: &BatteryModel) -> Known<Ratio> {
    Known::catalog("m", "modules in series", Ratio::of(f64::from(model.series)), &model.id, "series")
}

/// Most by which a string may differ from those it is joined to; none with one string. The smaller of the voltage that
/// drives no more than its charging current, and what the record says of modules that may be joined.
pub(super) fn differ(model: &BatteryModel, strings: u32) -> Option<Known<DcVoltage>> {
    let equal = equalising(model, strings)?;
    let stated = model.spread.map(|d| {
        let d =
            Known::catalog("d_1", "by how much modules that may be joined differ", d, &model.id, "spread");
        let m = series(model);
        formula!("d", "by how much strings that may be joined differ", [m, d] => m * d)
    });
    let all: Vec<_> = [Some(equal.clone()), stated].into_iter().flatten().collect();
    Some(Known::smallest("dU", "most difference of strings that are joined", &all).unwrap_or(equal))
}

/// Strings equalise as they are joined. The last of n meets n - 1 in parallel: the loop is R + R/(n - 1) = R n/(n - 1),
/// the least of all joinings, so its voltage at the charging current holds for every one.
fn equalising(model: &BatteryModel, strings: u32) -> Option<Known<DcVoltage>> {
    if strings < 2 {
        return None;
    }
    let R = string_resistance(model);
    let I = Known::catalog("I_b", "charging current of one string", model.charge, &model.id, "charge");
    let n = Known::chosen("n", "strings", Ratio::of(f64::from(strings)), "the bank", Vec::new());
    let one = Known::factor("one", "the string that is joined last", 1.0, "loop R (1 + 1/(n - 1))");
    Some(formula!("dU", "difference at which charging current flows into the last string", [R, I, n, one] =>
        R * I * (n / (n - one))))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used)] // helpers of tests are tests too
mod tests {
    use quantity::Quantity;

    use super::*;

    fn lfp() -> BatteryModel {
        catalog::demo().0.expect("the demo catalogue is sound").batteries["demo-lfp-30k"].clone()
    }

    /// 4 mohm and 300 A: 1.2 V by n/(n - 1). Two strings 2.4 V, four 1.6 V, eight 1.3714 V.
    #[test]
    fn the_last_string_meets_all_others_in_parallel() {
        let model = lfp();
        for (strings, volts) in [(2, 2.4), (4, 1.6), (8, 9.6 / 7.0)] {
            let found = equalising(&model, strings).unwrap().value().si();
            assert!((found - volts).abs() < 1e-9, "{strings}: {found}");
            // solved as a mesh: one string against n - 1 of them
            let R = 4e-3;
            let amperes = found / (R + R / f64::from(strings - 1));
            assert!((amperes - 300.0).abs() < 1e-6);
        }
        assert!(equalising(&model, 1).is_none());
    }

    /// The record allows 0.3 V between modules that are joined: less than what the charging current allows. Without
    /// that figure the charging current decides.
    #[test]
    fn the_makers_word_on_joining_prevails_where_it_is_stricter() {
        let mut model = lfp();
        assert!((differ(&model, 8).unwrap().value().si() - 0.3).abs() < 1e-9);
        model.spread = None;
        assert!((differ(&model, 8).unwrap().value().si() - 9.6 / 7.0).abs() < 1e-9);
    }
}
