//! The panels that the site describes: their demand against busbar and main breaker, lines and neutral.

use demand::PanelDemand;
use derivation::Known;
use finding::{Finding, Margin, Severity};
use quantity::Current;
use reading::Placed;

use crate::{Case, Ledger};

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
        for (rating, what) in ratings {
            if let Some(rating) = rating {
                one(id, demand, (rating, what), ledger);
            }
        }
    }
}

fn one(id: &str, demand: &PanelDemand, (rating, what): (&Placed<Current>, &str), ledger: &mut Ledger) {
    let limit = rating.known("I_n", format!("{what} of panel {id}"));
    let legs = demand.sizing.iter().map(|(leg, current)| (leg.to_string(), current));
    let all: Vec<(String, &Known<Current>)> = legs.chain([("neutral".to_owned(), &demand.neutral)]).collect();
    for (conductor, value) in all {
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
