//! The utility's rules: export, unbalance, and what one phase does to the group.

use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::Power;
use site::ExportClass;

use crate::{Case, Ledger};

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
                format!("{} cannot export", case.unit.id),
            )
            .at(class.map(|c| &c.place), "asks for export")
            .fix("choose a family that exports, or set export = \"none\""),
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
                format!("the utility limits export and {} has no export limit to set", case.unit.id),
            )
            .at(class.map(|c| &c.place).or(Some(&case.site.group.unit.place)), "this limit")
            .fix("choose a family with a settable export limit"),
        );
    }
}

fn unbalance(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(cap) = &case.site.utility.unbalance_cap else { return };
    let root = case.site.panels.iter().find(|p| p.fed_from.is_none()).map(|p| &p.id.value);
    let Some(demand) = root.and_then(|id| case.assessment.panels.get(id)) else { return };
    let limit = cap.known("S_u", "unbalance that the utility accepts");
    let margin = Margin::below("service", "difference between phases", "utility", &demand.unbalance, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "unbalance-over-cap",
            Severity::Error,
            "service",
            format!(
                "the phases may differ by {}; the utility accepts {}",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(Some(&cap.place), "this cap")
        .fix("spread single-phase loads (legs = \"any\"), or let some never run together (never_with)")
    });
}

fn phases(case: &Case<'_>, ledger: &mut Ledger) {
    if case.system().legs().len() == 3 && case.unit.leaves_together && case.layout != Layout::Islanded {
        ledger.find(
            Finding::new(
                "one-phase-takes-all",
                Severity::Note,
                "group",
                "trouble on one phase of the utility takes the whole group off it: all three phases go on battery",
            )
            .at(Some(&case.site.group.unit.place), "this family leaves together"),
        );
    }
}
