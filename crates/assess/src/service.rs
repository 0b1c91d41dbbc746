//! The service: its demand, also while charging, and the input limit that keeps it.

use catalog::LimitScope;
use demand::ServiceDemand;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::Current;
use saying::say;

use crate::{Case, Ledger, unit_flows};

/// Holds the service and its input limit.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    service(case, ledger);
    limit_settable(case, ledger);
    limit_below_load(case, ledger);
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
                say!("the demand of the service was not found, so its rating could not be held"),
            )
            .at(Some(&rating.place), say!("this rating")),
        );
        return;
    };
    let margin = Margin::below(
        "service",
        say!("demand, {method}", method = demand.method),
        "utility",
        &demand.current,
        &limit,
    );
    ledger.hold(margin, |m| {
        Finding::new(
            "service-over-rating",
            Severity::Error,
            "service",
            say!(
                "the demand of the service is {value} ({method}); it is rated {limit}",
                value = m.value.amount.text,
                method = demand.method,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&rating.place), say!("this rating"))
        .fix(say!("ask for a larger service, or give the loads their coincidence (never_with, at_once)"))
    });
    neutral(case, demand, &limit, ledger);
    transformer(case, demand, ledger);
}

/// The neutral of the service, by the method that gives one, else over every permitted set of loads.
fn neutral(case: &Case<'_>, demand: &ServiceDemand, rating: &Known<Current>, ledger: &mut Ledger) {
    let whole = case.assessment.whole.as_ref().map(|w| &w.neutral);
    let Some(value) = demand.neutral.as_ref().or(whole) else { return };
    let margin = Margin::below("service", say!("neutral current"), "utility", value, rating);
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-over-rating",
            Severity::Error,
            "service",
            say!(
                "the neutral of the service may carry {value}; it is rated {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(case.site.service.rating.as_ref().map(|r| &r.place), say!("this rating"))
        .fix(say!("spread line-to-neutral loads over the legs, or connect loads line to line"))
    });
}

/// A limit below the load that passes through: the battery makes up for it while it lasts, or the limit is not kept.
fn limit_below_load(case: &Case<'_>, ledger: &mut Ledger) {
    let (Some(limit), Some((leg, lane))) = (&case.settings.input_limit, case.demand.worst_leg()) else {
        return;
    };
    if case.layout != Layout::Inline || limit.value() >= lane.steady_current.value() {
        return;
    }
    let what = if case.unit.contributes {
        "the battery drains with the utility there, and when it is empty the limit is not kept"
    } else {
        "this family cannot help a source, so the limit only stops the charging"
    };
    ledger.find(
        Finding::new(
            "input-limit-below-load",
            Severity::Warning,
            "group",
            say!(
                "the input limit is {limit}; the panel asks for {steady_current} on {leg}: {what}",
                limit = limit.value(),
                steady_current = lane.steady_current.value(),
                leg,
                what
            ),
        )
        .measured(lane.steady_current.node(), limit.node())
        .at(
            case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)),
            say!("sets the limit"),
        )
        .fix(say!("move loads off the backup panel, or make room in the service")),
    );
}

/// The supply transformer against the demand of the service. It is the utility's to size, so this warns.
fn transformer(case: &Case<'_>, demand: &ServiceDemand, ledger: &mut Ledger) {
    let Some(rating) = &case.site.service.transformer_rating else { return };
    let limit = rating.known("S_t", "rating of the supply transformer");
    let (I_d, U, m) = (&demand.current, case.voltage(), case.legs());
    let S_d = formula!("S_d", "demand of the service on all legs", [I_d, U, m] => I_d * U * m);
    let margin = Margin::below("transformer", say!("demand of the service"), "utility", &S_d, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "transformer-over",
            Severity::Warning,
            "service",
            say!(
                "the demand of the service is {value}; the supply transformer is rated {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&rating.place), say!("this transformer"))
        .fix(say!("ask the utility"))
    });
}

/// The input limits on utility and generator against what the family can be set to.
fn limit_settable(case: &Case<'_>, ledger: &mut Ledger) {
    let unit = case.unit;
    let fewest = f64::from(case.formation.fewest());
    // each unit holds its own part: the leg with the most units sets what is entered
    let most = f64::from(case.formation.most());
    let units = if unit.input_limit.scope == LimitScope::Unit { most } else { 1.0 };
    let (lowest, highest) = (unit.input_limit.lowest * units, unit.input_limit.highest * fewest);
    let fixed = case.site.group.input_limit.fixed().map(|i| &i.place);
    let wish = case.site.generator.as_ref().map(|g| &g.place);
    let limits = [
        ("utility", &case.settings.input_limit, fixed.or(Some(&case.site.group.place))),
        ("generator", &case.settings.generator_limit, wish),
    ];
    for (source, limit, place) in limits {
        let Some(limit) = limit else { continue };
        if limit.value() > highest {
            let message = say!(
                "the input limit on the {source} is {limit}; the family can be set to at most {highest}",
                source,
                limit = limit.value(),
                highest
            );
            ledger.find(
                Finding::new("input-limit-not-settable", Severity::Error, "group", message)
                    .at(place, say!("sets it")),
            );
        }
        if limit.value() < lowest {
            let message = say!(
                "the input limit on the {source} would be {limit}; the family can be set to no less than {lowest}: charging from it must stay off",
                source,
                limit = limit.value(),
                lowest
            );
            ledger.find(
                Finding::new("input-limit-not-settable", Severity::Warning, "group", message)
                    .at(place, say!("sets it"))
                    .fix(say!("make room for a higher limit, or keep the charger off on this source")),
            );
        }
    }
}

/// Says by how much the chargers are held back.
fn charging_limited(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(limit) = &case.settings.input_limit else { return };
    let most: Vec<Known<Current>> =
        case.system().legs().iter().map(|&leg| unit_flows::charging_most(case, leg)).collect();
    let Some(most) = Known::largest("I_ch", "charging current that the units can draw", &most) else {
        return;
    };
    if most.value() <= limit.value() {
        return;
    }
    ledger.find(
        Finding::new(
            "charging-limited",
            Severity::Note,
            "group",
            say!(
                "charging from the utility is held to {limit} per leg by the input limit; the units could draw {most}",
                limit = limit.value(),
                most = most.value()
            ),
        )
        .at(
            case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)),
            say!("this group"),
        )
        .fix(
            say!("nothing, if the time to recharge is acceptable; else a larger service or fewer loads beside it"),
        ),
    );
}
