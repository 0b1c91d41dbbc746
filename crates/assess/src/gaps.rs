//! Loads against the time without power at a transfer.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::Duration;
use saying::say;

use crate::{Case, Ledger};

/// The longest time without power when the utility fails; `None` where the transfer switch states no latest time.
pub fn longest(case: &Case<'_>) -> Option<Known<Duration>> {
    let unit = case.unit;
    let t_u =
        Known::catalog("t_u", "longest transfer of the units", unit.transfer_gap, &unit.id, "transfer_gap");
    match (case.layout, case.transfer) {
        (Layout::Outboard, Some(switch)) => {
            let latest = switch.to_second.latest?;
            let t_d = Known::catalog("t_d", "latest start of the switch", latest, &switch.id, "to_second");
            let t_m = Known::catalog("t_m", "travel of the switch", switch.travel, &switch.id, "travel");
            Some(formula!("t_gap", "longest time without power", [t_u, t_d, t_m] => t_u + t_d + t_m))
        }
        _ => Some(t_u),
    }
}

/// Holds every load of the backup panel that states what it tolerates.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    if case.layout == Layout::Islanded && case.generator.is_none() {
        return; // nothing to transfer from
    }
    gap_assumed(case, ledger);
    let on_panel = |panel: &str| panel_is_under(case, panel);
    let gap = longest(case);
    for load in case.site.loads.iter().filter(|l| on_panel(&l.panel.value)) {
        let Some(tolerates) = &load.gap else { continue };
        if !case.assessment.items.iter().any(|item| item.load == load.name.value) {
            continue; // not yet there in this stage
        }
        let part = format!("load.{}", load.name.value);
        let Some(gap) = &gap else {
            ledger.find(
                Finding::new(
                    "gap-not-covered",
                    Severity::NotCovered,
                    part,
                    say!(
                        "{load} tolerates {tolerates}; the transfer switch states no latest time",
                        load = load.name.value,
                        tolerates = tolerates.value
                    ),
                )
                .at(Some(&tolerates.place), say!("this load's tolerance"))
                .fix(say!("choose a transfer switch whose delay has a stated latest time")),
            );
            continue;
        };
        let limit = tolerates.known("t_tol", format!("time that {} tolerates", load.name.value));
        let margin = Margin::below(part.clone(), say!("time without power"), "utility fails", gap, &limit);
        ledger.hold(margin, |m| {
            Finding::new(
                "gap-not-tolerated",
                Severity::Error,
                part.clone(),
                say!(
                    "{load} tolerates {limit} without power; the transfer takes up to {value}",
                    load = load.name.value,
                    limit = m.limit.amount.text,
                    value = m.value.amount.text
                ),
            )
            .at(Some(&tolerates.place), say!("this load's tolerance"))
            .fix(match case.layout {
                Layout::Outboard => {
                    say!("choose the inline arrangement, or put an uninterruptible supply ahead of this load")
                }
                _ => say!("put an uninterruptible supply ahead of this load"),
            })
        });
    }
}

/// Loads that state no tolerance are taken to bear the transfer; that is said.
fn gap_assumed(case: &Case<'_>, ledger: &mut Ledger) {
    let silent: Vec<&str> = case
        .site
        .loads
        .iter()
        .filter(|l| l.gap.is_none() && panel_is_under(case, &l.panel.value))
        .filter(|l| case.assessment.items.iter().any(|item| item.load == l.name.value))
        .map(|l| l.name.value.as_str())
        .collect();
    if silent.is_empty() {
        return;
    }
    let gap = longest(case).map_or("an unknown time".to_owned(), |gap| gap.value().to_string());
    ledger.find(
        Finding::new(
            "gap-assumed",
            Severity::Note,
            "backup panel",
            say!(
                "no gap is stated for {silent}; they are taken to bear {gap} without power",
                silent = silent.join("; "),
                gap
            ),
        )
        .at(Some(&case.site.group.panel.place), say!("this panel"))
        .fix(say!("state `gap` for loads that an interruption harms")),
    );
}

/// Whether a panel is the backup panel or fed from it.
pub(crate) fn panel_is_under(case: &Case<'_>, panel: &str) -> bool {
    let backup = &case.site.group.panel.value;
    let mut at = panel;
    for _ in 0..=case.site.panels.len() {
        if at == backup {
            return true;
        }
        let up = case.site.panels.iter().find(|p| p.id.value == at).and_then(|p| p.fed_from.as_ref());
        match up {
            Some(up) => at = &up.value,
            None => return false,
        }
    }
    false
}
