//! What the units draw and give on each leg, in the proportion in which they sit on it.

use catalog::LegControl;
use derivation::{Known, formula};
use quantity::{Current, Leg, Power, Ratio, as_va, as_w};

use crate::Case;

/// The share of the whole group that is on one leg: its units over all units, or evenly for units that span all legs.
pub(crate) fn share(case: &Case<'_>, leg: Leg) -> Known<Ratio> {
    let formation = &case.formation;
    if case.unit.leg_control != LegControl::OneLeg {
        let m = case.legs();
        return formula!("s_l", format!("share of {leg}"), [m] => 1.0 / m);
    }
    let share = f64::from(formation.on(leg)) / f64::from(formation.units().max(1));
    let why = format!("{} of {} units are on it", formation.on(leg), formation.units());
    Known::chosen("s_l", format!("share of {leg}"), Ratio::of(share), why, Vec::new())
}

/// AC current that the chargers can draw on one leg, all units together.
pub(crate) fn charging_most(case: &Case<'_>, leg: Leg) -> Known<Current> {
    let units = Ratio::of(f64::from(case.formation.units()));
    let n = Known::chosen("n", "units", units, "formation", Vec::new());
    let P_1 = Known::catalog(
        "P_1",
        "AC power of one charger",
        case.unit.charging.power,
        &case.unit.id,
        "charging power",
    );
    let (U, s_l) = (case.voltage(), share(case, leg));
    let what = format!("charging current that the units can draw on {leg}");
    formula!("I_ch", what, [n, P_1, s_l, U] => as_va(n * P_1 * s_l) / U)
}

/// Current of an export limit on one leg: every unit gives the same.
pub(crate) fn exporting(case: &Case<'_>, P_x: &Known<Power>, leg: Leg) -> Known<Current> {
    let (U, s_l) = (case.voltage(), share(case, leg));
    formula!("I_x", format!("export current on {leg}"), [P_x, s_l, U] => as_va(P_x * s_l) / U)
}

/// The largest export whose current keeps under a limit on every leg.
pub fn export_within(case: &Case<'_>, what: &str, limit: &Known<Current>) -> Known<Power> {
    let powers: Vec<Known<Power>> = case
        .system()
        .legs()
        .iter()
        .filter(|&&leg| case.formation.on(leg) > 0)
        .map(|&leg| {
            let (U, s_l) = (case.voltage(), share(case, leg));
            let reached = format!("export at which {leg} reaches the limit");
            formula!("P_l", reached, [limit, U, s_l] => as_w(limit * U / s_l))
        })
        .collect();
    Known::smallest("P_r", what, &powers)
        .unwrap_or_else(|| Known::chosen("P_r", what, Power::ZERO, "no units", Vec::new()))
}
