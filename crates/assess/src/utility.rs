//! The utility's rules: export, unbalance, and what one phase does to the group.

use derivation::Known;
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::{Apparent, Current, Leg, Power, Quantity};
use saying::say;
use site::ExportClass;

use crate::{Case, Ledger, unit_flows};

/// Holds the utility's rules.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    export(case, ledger);
    unbalance(case, ledger);
    phases(case, ledger);
}

fn export(case: &Case<'_>, ledger: &mut Ledger) {
    let P_x = &case.settings.export_limit;
    let class = case.site.utility.export.as_ref();
    if P_x.value() > Power::ZERO && case.unit.export.highest.is_none() {
        ledger.find(
            Finding::new(
                "export-impossible",
                Severity::Error,
                "group",
                say!("{unit} cannot export", unit = case.unit.id),
            )
            .at(class.map(|c| &c.place), say!("asks for export"))
            .fix(say!("choose a family that exports, or set export = \"none\"")),
        );
    }
    let limited = matches!(class.map(|c| c.value), Some(ExportClass::Limited | ExportClass::None) | None);
    let exports = case.unit.export.highest.is_some();
    if limited && exports && !case.unit.export.limit_settable && case.layout != Layout::Islanded {
        ledger.find(
            Finding::new(
                "export-limit-not-settable",
                Severity::Error,
                "group",
                say!("the utility limits export and {unit} has no export limit to set", unit = case.unit.id),
            )
            .at(class.map(|c| &c.place).or(Some(&case.site.group.unit.place)), say!("this limit"))
            .fix(say!("choose a family with a settable export limit")),
        );
    }
}

fn unbalance(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(cap) = &case.site.utility.unbalance_cap else { return };
    let Some(whole) = &case.assessment.whole else { return };
    let limit = cap.known("S_u", "unbalance that the utility accepts");
    let loads = whole.unbalance.clone();
    let unbalance = Known::sum("S_u", "difference between phases", &[loads, units_unbalance(case)]);
    let margin = Margin::below("service", say!("difference between phases"), "utility", &unbalance, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "unbalance-over-cap",
            Severity::Error,
            "service",
            say!(
                "the phases may differ by {value}; the utility accepts {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&cap.place), say!("this cap"))
        .fix(say!("spread single-phase loads (legs = \"any\"), or let some never run together (never_with)"))
    });
}

/// What charging or export of an uneven formation adds to the difference between phases.
fn units_unbalance(case: &Case<'_>) -> Known<Apparent> {
    let most = |of: &dyn Fn(Leg) -> Known<Current>| {
        let all: Vec<f64> = case.system().legs().iter().map(|&leg| of(leg).value().si()).collect();
        all.iter().copied().fold(0.0, f64::max) - all.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let export = &case.settings.export_limit;
    let limit = case.settings.input_limit.as_ref().map_or(Current::ZERO, Known::value);
    let charging = most(&|leg| unit_flows::charging_most(case, leg)).min(limit.si());
    let exporting = most(&|leg| unit_flows::exporting(case, export, leg));
    let worst = Current::of(charging.max(exporting).max(0.0));
    Known::solved(
        "S_n",
        "difference that an uneven formation adds by charging or export",
        worst * case.system().phase_voltage(),
        "largest less smallest leg of charging, or of export",
        0.0,
        vec![export.node().clone()],
    )
}

fn phases(case: &Case<'_>, ledger: &mut Ledger) {
    if case.system().legs().len() == 3 && case.unit.leaves_together && case.layout != Layout::Islanded {
        ledger.find(
            Finding::new(
                "one-phase-takes-all",
                Severity::Note,
                "group",
                say!("trouble on one phase of the utility takes the whole group off it: all three phases go on battery"),
            )
            .at(Some(&case.site.group.unit.place), say!("this family leaves together")),
        );
    }
}
