//! The neutral former of line-to-line units.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::Current;

use crate::{Case, Ledger};

/// Holds the neutral former.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(former) = case.former else { return };
    let limit = Known::catalog(
        "I_n",
        "continuous neutral current of the neutral former",
        former.neutral,
        &former.id,
        "neutral",
    );
    let margin = Margin::below(
        "neutral former",
        "neutral current",
        "outage, group carries the panel",
        &case.demand.neutral,
        &limit,
    );
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-over",
            Severity::Error,
            "neutral former",
            format!(
                "the neutral of the backup panel carries up to {}; the neutral former forms {}",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(Some(&case.site.group.place), "this group")
        .fix("choose a larger neutral former, or spread the line-to-neutral loads")
    });
    if !former.trips_lines {
        ledger.find(
            Finding::new(
                "neutral-former-keeps-lines",
                Severity::Error,
                "neutral former",
                "losing the neutral former would leave the lines live without a neutral: its contact must open the lines",
            )
            .at(Some(&case.site.group.place), "this group")
            .fix("choose a neutral former whose trip contact opens the lines with it"),
        );
    }
    // Its inrush meets the group's current limit when the island forms.
    let surge = &case.rating.surge;
    let n_c = &crate::counted(case.unit, case.formation.units());
    let limit: Known<Current> =
        formula!("I_lim", "current limit that the group may count on", [surge, n_c] => surge * n_c);
    let inrush = Known::catalog("I_in", "inrush of the neutral former", former.inrush, &former.id, "inrush");
    let margin = Margin::below("neutral former", "inrush", "island forms", &inrush, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-inrush",
            Severity::Error,
            "neutral former",
            format!(
                "energising the neutral former draws {}; the group limits at {}",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(Some(&case.site.group.place), "this group")
        .fix("add a unit, or choose a neutral former with pre-magnetising")
    });
}
