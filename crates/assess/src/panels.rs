//! The panels that the site describes: their demand against busbar and main breaker, lines and neutral.

use derivation::Known;
use finding::{Finding, Margin, Severity};
use quantity::Current;
use reading::Placed;

use crate::{Case, Ledger, feed};

/// Holds every panel; the backup panel with the spare that the site asks for.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    let mut panels: Vec<_> = case.site.panels.iter().collect();
    panels.sort_by(|a, b| a.id.value.cmp(&b.id.value));
    for panel in panels {
        let id = &panel.id.value;
        let backup = *id == case.site.group.panel.value;
        let assessed = case.assessment.panels.get(id);
        let demand = if backup { Some(case.demand) } else { assessed };
        let Some(demand) = demand else { continue };
        let ratings = [(&panel.main_breaker, "main breaker"), (&panel.busbar, "busbar")];
        if ratings.iter().all(|(rating, _)| rating.is_none()) {
            ledger.find(
                Finding::new(
                    "panel-rating-unknown",
                    Severity::Note,
                    format!("panel.{id}"),
                    format!(
                        "panel {id} states neither main breaker nor busbar: it is not held against its demand"
                    ),
                )
                .at(Some(&panel.id.place), "this panel")
                .fix("state `main_breaker` and `busbar`"),
            );
        }
        if let (Some(breaker), Some(busbar)) = (&panel.main_breaker, &panel.busbar) {
            let value = breaker.known("I_n", format!("main breaker of panel {id}"));
            let limit = busbar.known("I_bus", format!("busbar of panel {id}"));
            let margin = Margin::below(
                format!("panel.{id}"),
                "main breaker on its busbar",
                "every state",
                &value,
                &limit,
            );
            ledger.hold(margin, |m| {
                Finding::new(
                    "busbar-under-breaker",
                    Severity::Error,
                    format!("panel.{id}"),
                    format!(
                        "the main breaker of panel {id} is rated {} and lets more through than its busbar of {} carries",
                        m.value.amount.text, m.limit.amount.text
                    ),
                )
                .at(Some(&busbar.place), "this busbar")
                .by("NEC 2023 408.36 and IEC 61439-1 (from memory)")
                .fix("a main breaker no larger than the busbar, or a larger panel")
            });
        }
        let ahead = feed::ancestors(case).iter().any(|p| p.id.value == *id);
        let lines: Vec<(String, Known<Current>)> = demand
            .sizing
            .iter()
            .map(|(&leg, I)| {
                (leg.to_string(), if ahead { feed::with_spare(case, leg, I) } else { I.clone() })
            })
            .chain([("neutral".to_owned(), demand.neutral.clone())])
            .collect();
        for (rating, what) in ratings {
            if let Some(rating) = rating {
                one(id, &lines, (rating, what), ledger);
            }
        }
    }
}

fn one(
    id: &str,
    lines: &[(String, Known<Current>)],
    (rating, what): (&Placed<Current>, &str),
    ledger: &mut Ledger,
) {
    let limit = rating.known("I_n", format!("{what} of panel {id}"));
    for (conductor, value) in lines {
        let part = format!("panel.{id}");
        let margin = Margin::below(
            part.clone(),
            format!("{what}, {conductor}"),
            "all loads that may run",
            value,
            &limit,
        );
        ledger.hold(margin, |m| {
            Finding::new(
                "panel-over-rating",
                Severity::Error,
                part,
                format!(
                    "panel {id} carries {} on {conductor}; its {what} is rated {}",
                    m.value.amount.text, m.limit.amount.text
                ),
            )
            .at(Some(&rating.place), "this rating")
            .fix("move loads to another panel, let some never run together (never_with), or choose a larger panel")
        });
    }
}
