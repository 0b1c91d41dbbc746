//! The service: its demand, also while charging, and the input limit that keeps it.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::Current;

use crate::{Case, Ledger, positions};

/// Holds the service and its input limit.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    service(case, ledger);
    limit_settable(case, ledger);
    charging_limited(case, ledger);
}

fn service(case: &Case<'_>, ledger: &mut Ledger) {
    if case.layout == Layout::Islanded {
        return;
    }
    let Some(rating) = &case.site.service.rating else { return };
    let limit = rating.known("I_s", "rating of the service");
    let Some(demand) = &case.assessment.service else {
        ledger.find(
            Finding::new(
                "service-not-covered",
                Severity::NotCovered,
                "service",
                "the demand of the service was not found, so its rating could not be held",
            )
            .at(Some(&rating.place), "this rating"),
        );
        return;
    };
    let margin =
        Margin::below("service", format!("demand, {}", demand.method), "utility", &demand.current, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "service-over-rating",
            Severity::Error,
            "service",
            format!(
                "the demand of the service is {} ({}); it is rated {}",
                m.value.amount.text, demand.method, m.limit.amount.text
            ),
        )
        .at(Some(&rating.place), "this rating")
        .fix("ask for a larger service, or give the loads their coincidence (never_with, at_once)")
    });
    service_while_charging(case, &demand.current, &limit, ledger);
}

/// The service with charging on top: the chargers take what the input limit leaves beside the load that passes through
/// the units.
fn service_while_charging(
    case: &Case<'_>,
    I_d: &Known<Current>,
    rating: &Known<Current>,
    ledger: &mut Ledger,
) {
    let Some(limit) = &case.settings.input_limit else { return };
    let through = match (case.layout, case.demand.worst_leg()) {
        (Layout::Inline, Some((_, lane))) => lane.steady_current.clone(),
        _ => positions::nothing("load through the units", "the transfer switch carries it"),
    };
    let I_ch = &positions::charging(case, limit, &through);
    let with = formula!("I_sch", "demand of the service while charging", [I_d, I_ch] => I_d + I_ch);
    let margin =
        Margin::below("service", "demand while charging", "utility", &with, rating).held_by("input limit");
    let over = I_d.value() > rating.value();
    if over {
        return; // said already
    }
    ledger.hold(margin, |m| {
        Finding::new(
            "service-over-rating",
            Severity::Error,
            "service",
            format!(
                "while charging the service carries {}; it is rated {}",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(
            case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)),
            "sets the charging",
        )
        .fix("let the tool choose the input limit (input_limit = \"choose\"), or set it lower")
    });
}

/// The input limit against what the family can be set to.
fn limit_settable(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(limit) = &case.settings.input_limit else { return };
    let unit = case.unit;
    let units = match unit.input_limit.scope {
        catalog::LimitScope::Unit => f64::from(case.formation.fewest()),
        catalog::LimitScope::Group => 1.0,
    };
    let (lowest, highest) =
        (unit.input_limit.lowest * units, unit.input_limit.highest * f64::from(case.formation.fewest()));
    let place = case.site.group.input_limit.fixed().map(|i| &i.place);
    if limit.value() > highest {
        ledger.find(
            Finding::new(
                "input-limit-not-settable",
                Severity::Error,
                "group",
                format!("the input limit is {}; the family can be set to at most {highest}", limit.value()),
            )
            .at(place, "this limit"),
        );
    }
    if limit.value() < lowest {
        ledger.find(
            Finding::new(
                "input-limit-not-settable",
                Severity::Warning,
                "group",
                format!(
                    "the input limit would be {}; the family can be set to no less than {lowest}: charging from the utility must stay off",
                    limit.value()
                ),
            )
            .at(place.or(Some(&case.site.group.place)), "this group")
            .fix("ask for a larger service, or let other loads of the service make room (never_with)"),
        );
    }
}

/// Says by how much the chargers are held back.
fn charging_limited(case: &Case<'_>, ledger: &mut Ledger) {
    let most = positions::charging_most(case);
    if let Some(limit) = &case.settings.input_limit
        && most.value() > limit.value()
    {
        ledger.find(Finding::new(
            "charging-limited",
            Severity::Note,
            "group",
            format!(
                "charging from the utility is held to {} per leg by the input limit; the units could draw {}",
                limit.value(),
                most.value()
            ),
        ));
    }
}
