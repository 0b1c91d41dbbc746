//! Which transfer and bypass gear fits.

use catalog::{BypassGear, BypassKind, NeutralPole, TransferSwitch};
use derivation::Known;
use quantity::{Current, Quantity};

use crate::Prepared;

/// Current of the backup panel on its worst leg.
pub(crate) fn panel_current(prepared: &Prepared<'_>) -> Known<Current> {
    prepared.demand.worst_leg().map_or_else(
        || Known::chosen("I_p", "current of the backup panel", Current::ZERO, "no load", Vec::new()),
        |(_, lane)| lane.steady_current.clone(),
    )
}

/// The current for which gear ahead of the backup panel must be rated: the panel's main breaker, else its busbar, else
/// its demand with continuous loads at 125 %.
pub(crate) fn panel_rating(prepared: &Prepared<'_>) -> Known<Current> {
    let panel = prepared.site.panels.iter().find(|p| p.id.value == prepared.site.group.panel.value);
    let demand = panel_current(prepared);
    let stated = panel.and_then(|p| {
        p.main_breaker
            .as_ref()
            .map(|b| b.known("I_n", "main breaker of the backup panel"))
            .or_else(|| p.busbar.as_ref().map(|b| b.known("I_n", "busbar of the backup panel")))
    });
    match stated {
        Some(stated) => {
            Known::largest("I_gear", "rating asked of the gear", &[stated.clone(), demand]).unwrap_or(stated)
        }
        None => {
            let code = || Known::factor("k", "allowance for continuous loads", 1.25, "NEC 2023 215.2 (form)");
            let k = demand::amended_continuous(prepared.site).unwrap_or_else(code);
            derivation::formula!("I_gear", "rating asked of the gear", [k, demand] => demand * k)
        }
    }
}

/// Transfer switches that fit, the cheapest first.
pub(crate) fn switches<'a>(prepared: &Prepared<'a>, neutral: Option<NeutralPole>) -> Vec<&'a TransferSwitch> {
    if let Some(fixed) = prepared.site.group.transfer_switch.fixed() {
        return prepared.catalog.transfer_switches.get(&fixed.value).into_iter().collect();
    }
    let need = panel_rating(prepared).value();
    let system = prepared.site.service.system.value;
    let mut fit: Vec<&TransferSwitch> = prepared
        .catalog
        .transfer_switches
        .values()
        .filter(|s| s.systems.contains(&system) && s.rating >= need && neutral.is_none_or(|n| s.neutral == n))
        .collect();
    fit.sort_by(|a, b| {
        (a.rating.si(), a.price, &a.id)
            .partial_cmp(&(b.rating.si(), b.price, &b.id))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    fit
}

/// Bypass gear of a kind that fits, the smallest first.
pub(crate) fn bypass<'a>(
    prepared: &Prepared<'a>,
    kind: BypassKind,
    neutral: Option<NeutralPole>,
) -> Option<&'a BypassGear> {
    let need = panel_rating(prepared).value();
    let system = prepared.site.service.system.value;
    let mut fit: Vec<&BypassGear> = prepared
        .catalog
        .bypasses
        .values()
        .filter(|b| b.kind == kind && b.systems.contains(&system) && b.rating >= need)
        .filter(|b| neutral.is_none_or(|n| b.neutral == n))
        .collect();
    fit.sort_by(|a, b| {
        (a.rating.si(), a.price, &a.id)
            .partial_cmp(&(b.rating.si(), b.price, &b.id))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    fit.first().copied()
}
