//! The panels that the site describes: their demand against busbar and main breaker.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Current, Power, Ratio};
use reading::Placed;
use site::Earthing;

use crate::{Case, Ledger};

/// Holds every panel that states a rating. In the US its continuous share counts 125 % (NEC 2023 215.3), elsewhere
/// 100 %.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    let k: Known<Ratio> = if case.site.service.earthing.value == Earthing::Us {
        Known::factor("k", "allowance for continuous loads", 1.25, "NEC 2023 215.3")
    } else {
        Known::factor("k", "allowance for continuous loads", 1.0, "IEC 60364 sets none")
    };
    let mut panels: Vec<_> = case.site.panels.iter().collect();
    panels.sort_by(|a, b| a.id.value.cmp(&b.id.value));
    for panel in panels {
        let Some(demand) = case.assessment.panels.get(&panel.id.value) else { continue };
        let continuous = continuous_share(demand, &k);
        for (rating, what) in [(&panel.main_breaker, "main breaker"), (&panel.busbar, "busbar")] {
            if let Some(rating) = rating {
                one(&panel.id.value, demand, &continuous, (rating, what), ledger);
            }
        }
    }
}

/// Factor on the whole demand: only the share that is continuous counts more, and never more than all of it.
fn continuous_share(demand: &demand::PanelDemand, k: &Known<Ratio>) -> Known<Ratio> {
    let total = demand.lanes.get(&Lane::Total).map(|lane| lane.steady_power.clone());
    let Some(P) = total.filter(|p| p.value() > Power::ZERO) else { return k.clone() };
    let P_c = &demand.continuous;
    formula!("k_c", "allowance for the continuous share", [k, P_c, P] => 1.0 + (k - 1.0) * least(P_c / P, 1.0))
}

/// A number, but no more than `most`.
fn least(number: Ratio, most: f64) -> Ratio {
    number.min(Ratio::of(most))
}

fn one(
    id: &str,
    demand: &demand::PanelDemand,
    k: &Known<Ratio>,
    (rating, what): (&Placed<Current>, &str),
    ledger: &mut Ledger,
) {
    let limit = rating.known("I_n", format!("{what} of panel {id}"));
    for (lane, at) in &demand.lanes {
        let Lane::Leg(leg) = lane else { continue };
        let I = &at.steady_current;
        let value = formula!("I_p", format!("current of panel {id}, {leg}"), [I, k] => I * k);
        let margin =
            Margin::below(format!("panel.{id}"), format!("{what}, {leg}"), "all states", &value, &limit);
        ledger.hold(margin, |m| {
            Finding::new(
                "panel-over-rating",
                Severity::Error,
                format!("panel.{id}"),
                format!("panel {id} carries {} on {leg}; its {what} is rated {}", m.value.amount.text, m.limit.amount.text),
            )
            .at(Some(&rating.place), "this rating")
            .fix("move loads to another panel, let some never run together (never_with), or choose a larger panel")
        });
    }
}
