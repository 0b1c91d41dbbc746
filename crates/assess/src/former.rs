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
    starts(case, former, ledger);
    // Its inrush meets the group's current limit when the island forms, also with one unit out where that is asked for.
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    let units = case.formation.units().saturating_sub(out);
    let (I_s, n_c) = (&case.rating.surge, &crate::counted(case.unit, units));
    let limit: Known<Current> =
        formula!("I_lim", "current limit that the group may count on", [I_s, n_c] => I_s * n_c);
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
        .fix("add a unit, or choose a neutral former with a smaller inrush")
    });
}

/// A motor on one leg starts through the neutral former: its current and what else the neutral carries.
fn starts(case: &Case<'_>, former: &catalog::NeutralFormer, ledger: &mut Ledger) {
    for event in case.demand.starts.iter().filter(|e| e.legs.len() == 1) {
        for it in event.legs.values() {
            let (I_st, I_n) = (&it.start_current, &case.demand.neutral);
            let value =
                formula!("I_ns", format!("neutral with {} starting", event.name), [I_st, I_n] => I_st + I_n);
            if value.value() <= former.neutral {
                continue;
            }
            let allowed = crate::positions::short_time(&former.short_time, event.run_up.value());
            let limit = allowed.map_or(former.neutral, |a| a.current);
            let limit =
                Known::catalog("I_nst", "neutral current for that time", limit, &former.id, "short_time");
            let what = format!("neutral with {} starting", event.name);
            let margin =
                Margin::below("neutral former", what, "outage, group carries the panel", &value, &limit);
            ledger.hold(margin, |m| {
                Finding::new(
                    "neutral-former-over",
                    Severity::Error,
                    "neutral former",
                    format!(
                        "starting {} puts {} on the neutral former; it carries {} for that long",
                        event.name, m.value.amount.text, m.limit.amount.text
                    ),
                )
                .at(event.place.as_ref(), "this motor")
                .fix("connect the motor line to line, soft-start it, or choose a larger neutral former")
            });
        }
    }
}
