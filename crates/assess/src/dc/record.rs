//! What the record of a battery says by itself: of a string, of a worn and of a cold one.

use catalog::BatteryModel;
use derivation::{Known, formula};
use quantity::{DcVoltage, Quantity, Ratio, Resistance, Temperature};

/// Modules or cells of a string.
pub(super) fn series(model: &BatteryModel) -> Known<Ratio> {
    let n = Ratio::of(f64::from(model.series));
    Known::catalog("n_s", "modules in series", n, &model.id, "series")
}

/// Nominal voltage of a bank.
pub fn nominal_voltage(model: &BatteryModel) -> Known<DcVoltage> {
    let n = series(model);
    let V_1 = Known::catalog("V_1", "nominal voltage of a module", model.nominal, &model.id, "nominal");
    formula!("V", "nominal voltage of the bank", [n, V_1] => n * V_1)
}

/// Open-circuit voltage of a string at the least charge that may be used; none where the record lists none there.
pub fn lowest_open_circuit(model: &BatteryModel) -> Option<Known<DcVoltage>> {
    let least = 1.0 - model.usable.si();
    let (at, volts) = model.open_circuit.iter().rev().find(|(charge, _)| charge.si() <= least + 1e-9)?;
    let field = format!("open_circuit at {at}");
    let n = series(model);
    let V_1 = Known::catalog("V_1", "open-circuit voltage of a module", *volts, &model.id, &field);
    let what = "open-circuit voltage of a string at the least charge that may be used";
    Some(formula!("V_oc", what, [n, V_1] => n * V_1))
}

/// Resistance of a string.
pub fn string_resistance(model: &BatteryModel) -> Known<Resistance> {
    let n = series(model);
    let R_1 =
        Known::catalog("R_1", "internal resistance of a module", model.resistance, &model.id, "resistance");
    formula!("R_s", "resistance of a string", [n, R_1] => n * R_1)
}

/// Rated charge over what a worn one holds; none where the record does not say.
pub fn ageing_factor(model: &BatteryModel) -> Option<Known<Ratio>> {
    let end = model.end_of_life?;
    let end = Known::catalog("s_e", "share left at the end of life", end, &model.id, "end_of_life");
    let one = Known::factor("one", "whole", 1.0, "definition");
    Some(formula!("k_a", "factor for ageing", [one, end] => one / end))
}

/// Rated charge over what is given at the listed temperature at or below, no gain from warmth counted; none where the
/// record lists none.
pub fn cold_factor(model: &BatteryModel, at: Temperature) -> Option<Known<Ratio>> {
    let (listed, share) = model.cold.iter().rev().find(|(listed, _)| *listed <= at)?;
    let share = Known::catalog("s_T", format!("share that it gives at {listed}"), *share, &model.id, "cold");
    let one = Known::factor("one", "no gain from warmth is counted", 1.0, "at least one");
    Some(formula!("k_T", "factor for cold", [share, one] => larger(one / share, one)))
}

fn larger(a: Ratio, b: Ratio) -> Ratio {
    a.max(b)
}
