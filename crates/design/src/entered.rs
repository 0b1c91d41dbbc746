//! Limits as they are entered at the units: of the whole group or each its part, and rounded so that none is set higher
//! than it is.

use assess::Case;
use catalog::{ArrayInverter, ChargeController, LimitScope, UnitModel};
use derivation::{Known, formula};
use plant::Layout;
use quantity::{Current, DcCurrent, DcVoltage, Duration, Frequency, Quantity, Ratio};

use crate::window;

/// The highest charge voltage to be entered: what units and, where published, the bank bear.
pub fn charge_ceiling(case: &Case<'_>) -> Known<DcVoltage> {
    let (_, high) = window(case.unit);
    let bank = case.bank.as_ref().map(|bank| bank.model).and_then(|model| {
        let highest = model.highest?;
        let U_1 =
            Known::catalog("U_1", "highest voltage of one module in charging", highest, &model.id, "highest");
        let series = Ratio::of(f64::from(model.series));
        let m = Known::catalog("m", "modules in series", series, &model.id, "series");
        Some(formula!("U_bank", "highest voltage of the bank in charging", [U_1, m] => U_1 * m))
    });
    let all: Vec<Known<DcVoltage>> = [Some(high.clone()), bank].into_iter().flatten().collect();
    Known::smallest("U_c", "highest charge voltage", &all).unwrap_or(high)
}

/// The current into the battery to be entered at a charge controller: all that it can give is counted.
pub fn controller_current(record: &ChargeController) -> Known<DcCurrent> {
    let what = "highest current of the controller into the battery";
    Known::catalog("I_c", what, record.current, &record.id, "current")
}

/// The frequencies up to which an array inverter gives full power, and from which on it gives nothing.
pub fn frequency_points(record: &ArrayInverter) -> Option<[Known<Frequency>; 2]> {
    let curve = record.frequency_watt.as_ref()?;
    let of = |what: &str, value, field: &str| Known::catalog("f", what, value, &record.id, field);
    Some([
        of("frequency up to which it gives full power", curve.start, "frequency_watt start"),
        of("frequency from which on it gives nothing", curve.stop, "frequency_watt stop"),
    ])
}

/// The frequency to which the units raise the island while its battery takes nothing more.
pub fn island_raised(unit: &UnitModel) -> Option<Known<Frequency>> {
    let to = unit.island_frequency.as_ref()?.raises_to;
    let what = "frequency to which the units raise the island";
    Some(Known::catalog("f_r", what, to, &unit.id, "island_frequency raises_to"))
}

/// The charging current to be entered at every unit: as the bank was decided, else what a unit gives.
pub fn charge_limit(case: &Case<'_>) -> Known<DcCurrent> {
    let what = "highest charging current of one unit";
    let current = case.unit.charging.current;
    let of_unit = || Known::catalog("I_1", what, current, &case.unit.id, "charging current");
    case.bank.as_ref().map_or_else(of_unit, |bank| bank.charge.clone())
}

/// An input limit of the group, per leg, as it is entered: as it is where the group takes one, else each unit's part.
pub fn entered_limit(case: &Case<'_>, limit: &Known<Current>) -> Known<Current> {
    match case.unit.input_limit.scope {
        LimitScope::Group => limit.clone(),
        LimitScope::Unit => {
            let most = Ratio::of(f64::from(case.formation.most().max(1)));
            let n = Known::chosen("n", "most units on a leg", most, "formation", Vec::new());
            formula!("I_1", "input limit of each unit, per leg", [limit, n] => limit / n)
        }
    }
}

/// The charger has to stay off on a source: what would be entered is under the least that the family can be set to.
pub fn charger_stays_off(case: &Case<'_>, limit: &Known<Current>) -> bool {
    entered_limit(case, limit).value() < case.unit.input_limit.lowest
}

/// State of charge below which the bank is not to be drawn at all: 1 - u, by the share that its record lets be used. None
/// without a bank, or where all of it may be used.
pub fn lowest_charge(case: &Case<'_>) -> Option<Known<Ratio>> {
    let u = usable(case)?;
    let all = Known::factor("one", "whole charge", 1.0, "definition");
    let least = formula!("s_0", "lowest state of charge", [all, u] => all - u);
    (least.value().si() > 0.0).then_some(least)
}

/// State of charge that is kept for outages while the utility is there: 1 - u + u r. None without a bank or a utility.
pub fn outage_charge(case: &Case<'_>) -> Option<Known<Ratio>> {
    let u = usable(case).filter(|_| case.layout != Layout::Islanded)?;
    let what = "share of the usable charge kept for outages";
    let r = match case.site.policy.as_ref().and_then(|p| p.outage_reserve.as_ref()) {
        Some(share) => share.clone().map(quantity::Percent::share).known("r", what),
        None => Known::assumed("r", what, Ratio::of(1.0), "all of it: the site does not say otherwise"),
    };
    let all = Known::factor("one", "whole charge", 1.0, "definition");
    Some(formula!("s_r", "state of charge kept for outages", [all, u, r] => all - u + u * r))
}

fn usable(case: &Case<'_>) -> Option<Known<Ratio>> {
    let model = case.bank.as_ref()?.model;
    Some(Known::catalog("u", "share of the charge that may be used", model.usable, &model.id, "usable"))
}

/// The shortest delay with which the transfer switch may return; none without a switch.
pub fn shortest_retransfer(case: &Case<'_>) -> Option<Known<Duration>> {
    let back = case.transfer.and(case.settings.retransfer.as_ref())?;
    let why = "site, else the range of the switch";
    Some(Known::chosen("t", "shortest return delay", back.earliest, why, Vec::new()))
}

/// A current down to a tenth of an ampere.
pub fn tenth_below(current: Current) -> Current {
    Current::of(tenth_a(current.si()))
}

/// A direct current down to a tenth of an ampere.
pub fn dc_tenth_below(current: DcCurrent) -> DcCurrent {
    DcCurrent::of(tenth_a(current.si()))
}

/// Amperes down to a tenth, but for what the arithmetic left under one.
fn tenth_a(amperes: f64) -> f64 {
    (amperes * 10.0 + 1e-9).floor() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_never_entered_higher_than_it_is() {
        for (exact, entered) in
            [(43.699_999, 43.6), (43.7, 43.7), (100.0 / 3.0, 33.3), (0.3 * 3.0 * 10.0, 9.0)]
        {
            assert_eq!(tenth_below(Current::of(exact)), Current::of(entered));
            assert_eq!(dc_tenth_below(DcCurrent::of(exact)), DcCurrent::of(entered));
        }
    }
}
