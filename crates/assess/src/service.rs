//! The service: its demand, also while charging, and the input limit that keeps it.

use demand::ServiceDemand;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::{Current, Leg, Ratio, positive};
use site::Earthing;

use crate::{Case, Ledger, positions, unit_flows};

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
    service_while_charging(case, demand, &limit, ledger);
    transformer(case, demand, ledger);
}

/// How much charging counts on the service: it runs for three hours or more (NEC 2023 230.42(A)(1)); the IEC books set
/// no such factor.
fn charging_factor(case: &Case<'_>) -> Known<Ratio> {
    if case.site.service.earthing.value == Earthing::Us {
        Known::factor("k", "allowance for a continuous load", 1.25, "NEC 2023 230.42(A)(1)")
    } else {
        Known::factor("k", "allowance for a continuous load", 1.0, "IEC 60364 sets none")
    }
}

/// What the service carries beside the group's input on a leg, where the loads are known one by one and the backup
/// panel's load comes through that input (inline).
fn beside(case: &Case<'_>, leg: Leg) -> Option<Known<Current>> {
    let inline = case.layout == Layout::Inline;
    case.assessment.service.as_ref().filter(|_| inline).and_then(|s| s.beside.get(&leg).cloned())
}

/// The largest input limit, per leg, that the service leaves room for.
///
/// Inline the group's input carries load and charging together, up to the limit; beside it flow at most the other
/// loads of the leg: limit <= (I_s - I_b) / k. Otherwise the whole demand may flow while the chargers draw up to the
/// limit: limit <= (I_s - I_d) / k. None without a utility, a rating, or a demand.
pub fn headroom(case: &Case<'_>) -> Option<Known<Current>> {
    if case.layout == Layout::Islanded {
        return None;
    }
    let I_s = case.site.service.rating.as_ref()?.known("I_s", "rating of the service");
    let demand = case.assessment.service.as_ref()?;
    let k = charging_factor(case);
    let room: Vec<Known<Current>> = case
        .system()
        .legs()
        .iter()
        .map(|&leg| match beside(case, leg) {
            Some(I_b) => {
                let what = format!("room of the service for the group's input, {leg}");
                formula!("I_r", what, [I_s, I_b, k] => positive(I_s - I_b) / k)
            }
            None => {
                let I_d = demand.legs.get(&leg).unwrap_or(&demand.current);
                let what = format!("room of the service for charging, {leg}");
                formula!("I_r", what, [I_s, I_d, k] => positive(I_s - I_d) / k)
            }
        })
        .collect();
    Known::smallest("I_r", "room of the service for charging", &room)
}

/// The service with charging on top, on every leg.
fn service_while_charging(
    case: &Case<'_>,
    demand: &ServiceDemand,
    rating: &Known<Current>,
    ledger: &mut Ledger,
) {
    let Some(limit) = &case.settings.input_limit else { return };
    if demand.current.value() > rating.value() {
        return; // said already
    }
    let k = charging_factor(case);
    for &leg in case.system().legs() {
        let most = unit_flows::charging_most(case, leg);
        let with = match beside(case, leg) {
            Some(I_b) => {
                let load = positions::panel_current(case, leg);
                let all = Known::sum("I_all", "load and all chargers", &[load, most]);
                let I_in = Known::smallest("I_in", "input of the group", &[all, limit.clone()]);
                let I_in = I_in.unwrap_or_else(|| limit.clone());
                formula!("I_sch", format!("demand while charging, {leg}"), [I_b, k, I_in] => I_b + k * I_in)
            }
            None => {
                let I_d = demand.legs.get(&leg).unwrap_or(&demand.current);
                let I_ch = Known::smallest("I_ch", "charging", &[most, limit.clone()]);
                let I_ch = I_ch.unwrap_or_else(|| limit.clone());
                formula!("I_sch", format!("demand while charging, {leg}"), [I_d, k, I_ch] => I_d + k * I_ch)
            }
        };
        let margin =
            Margin::below("service", format!("demand while charging, {leg}"), "utility", &with, rating)
                .held_by("input limit");
        ledger.hold(margin, |m| {
            Finding::new(
                "service-over-rating",
                Severity::Error,
                "service",
                format!(
                    "while charging the service carries {} on {leg}; it is rated {}",
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
            format!(
                "the input limit is {}; the panel asks for {} on {leg}: {what}",
                limit.value(),
                lane.steady_current.value()
            ),
        )
        .measured(lane.steady_current.node(), limit.node())
        .at(
            case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)),
            "sets the limit",
        )
        .fix("move loads off the backup panel, or make room in the service"),
    );
}

/// The supply transformer against the demand of the service. It is the utility's to size, so this warns.
fn transformer(case: &Case<'_>, demand: &ServiceDemand, ledger: &mut Ledger) {
    let Some(rating) = &case.site.service.transformer_rating else { return };
    let limit = rating.known("S_t", "rating of the supply transformer");
    let (I_d, U, m) = (&demand.current, case.voltage(), case.legs());
    let S_d = formula!("S_d", "demand of the service on all legs", [I_d, U, m] => I_d * U * m);
    let margin = Margin::below("transformer", "demand of the service", "utility", &S_d, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "transformer-over",
            Severity::Warning,
            "service",
            format!(
                "the demand of the service is {}; the supply transformer is rated {}",
                m.value.amount.text, m.limit.amount.text
            ),
        )
        .at(Some(&rating.place), "this transformer")
        .fix("ask the utility")
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
            format!(
                "charging from the utility is held to {} per leg by the input limit; the units could draw {}",
                limit.value(),
                most.value()
            ),
        )
        .at(
            case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)),
            "this group",
        )
        .fix(
            "nothing, if the time to recharge is acceptable; else a larger service or fewer loads beside it",
        ),
    );
}
