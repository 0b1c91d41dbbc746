//! The panels that the site describes: their demand against busbar and main breaker, lines and neutral.

use derivation::Known;
use finding::{Finding, Margin, Severity};
use quantity::Current;
use reading::Placed;
use saying::{Text, say};
use site::Panel;

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
        let ratings = [(&panel.main_breaker, say!("main breaker")), (&panel.busbar, say!("busbar"))];
        if ratings.iter().all(|(rating, _)| rating.is_none()) {
            ledger.find(
                Finding::new(
                    "panel-rating-unknown",
                    Severity::Note,
                    format!("panel.{id}"),
                    say!(
                        "panel {id} states neither main breaker nor busbar: it is not held against its demand",
                        id
                    ),
                )
                .at(Some(&panel.id.place), say!("this panel"))
                .fix(say!("state `main_breaker` and `busbar`")),
            );
        }
        busbar(case, panel, ledger);
        let ahead = feed::ancestors(case).iter().any(|p| p.id.value == *id);
        let lines: Vec<(Text, Known<Current>)> = demand
            .sizing
            .iter()
            .map(|(&leg, I)| {
                (leg.to_string().into(), if ahead { feed::with_spare(case, leg, I) } else { I.clone() })
            })
            .chain([(say!("neutral"), demand.neutral.clone())])
            .collect();
        for (rating, what) in ratings {
            if let Some(rating) = rating {
                one(id, &lines, (rating, what), ledger);
            }
        }
    }
}

/// Holds a busbar against the device that protects it: the panel's own main breaker, or what stands ahead of it (NEC 2023
/// 408.36 allows either). The feeder to a backup panel without a main breaker has a device of the busbar's rating.
fn busbar(case: &Case<'_>, panel: &Panel, ledger: &mut Ledger) {
    let id = &panel.id.value;
    let backup = *id == case.site.group.panel.value;
    let Some(busbar) = &panel.busbar else { return };
    if backup && panel.main_breaker.is_none() {
        return;
    }
    let part = format!("panel.{id}");
    let by = "NEC 2023 408.36 and IEC 61439-1 (from memory)";
    let fix = say!(
        "state its `main_breaker`, the device there or where its feeder begins: no larger than the busbar"
    );
    let Some((value, at_hand)) = device(case, panel) else {
        // off grid nothing feeds a panel that does not hang on the group's
        if !case.site.service.utility.value {
            return;
        }
        ledger.find(
            Finding::new(
                "busbar-under-breaker",
                Severity::NotCovered,
                part,
                say!(
                    "no device ahead of the busbar of panel {id} is stated: whether it is protected is not known",
                    id
                ),
            )
            .at(Some(&busbar.place), say!("this busbar"))
            .by(by)
            .fix(fix),
        );
        return;
    };
    let limit = busbar.known("I_bus", format!("busbar of panel {id}"));
    let own = panel.main_breaker.is_some();
    let what = if own { say!("main breaker on its busbar") } else { say!("device ahead of its busbar") };
    let margin = Margin::below(part.clone(), what, "every state", &value, &limit);
    ledger.hold(margin, |m| {
        let (device, limit) = (&m.value.amount.text, &m.limit.amount.text);
        let (severity, message) = match (own, at_hand) {
            (true, _) => (
                Severity::Error,
                say!(
                    "the main breaker of panel {id} is rated {device} and lets more through than its busbar of {limit} carries",
                    id,
                    device,
                    limit
                ),
            ),
            (false, true) => (
                Severity::Error,
                say!(
                    "panel {id} has no main breaker, and the service ahead of it lets {device} through, more than its busbar of {limit} carries",
                    id,
                    device,
                    limit
                ),
            ),
            (false, false) => (
                Severity::NotCovered,
                say!(
                    "the device that feeds panel {id} is not stated, and what stands further ahead is rated {device}: whether its busbar of {limit} is protected is not known",
                    id,
                    device,
                    limit
                ),
            ),
        };
        let fix = if own { say!("a main breaker no larger than the busbar, or a larger panel") } else { fix };
        Finding::new("busbar-under-breaker", severity, part.clone(), message)
            .at(Some(&busbar.place), say!("this busbar"))
            .by(by)
            .fix(fix)
    });
}

/// The nearest stated device ahead of a panel's busbar, and whether nothing that is not stated can lie between.
fn device(case: &Case<'_>, panel: &Panel) -> Option<(Known<Current>, bool)> {
    let site = case.site;
    let mut at = panel;
    // no chain of a sound site is longer than its panels
    for _ in 0..=site.panels.len() {
        let id = &at.id.value;
        if let Some(breaker) = &at.main_breaker {
            return Some((
                breaker.known("I_n", format!("main breaker of panel {id}")),
                at.id.value == panel.id.value,
            ));
        }
        if *id == site.group.panel.value {
            return at.busbar.as_ref().map(|b| (b.known("I_n", format!("feeder of panel {id}")), false));
        }
        let Some(from) = &at.fed_from else {
            let rating = site.service.rating.as_ref()?;
            return Some((rating.known("I_n", "rating of the service"), at.id.value == panel.id.value));
        };
        at = site.panels.iter().find(|p| p.id.value == from.value)?;
    }
    None
}

fn one(
    id: &str,
    lines: &[(Text, Known<Current>)],
    (rating, what): (&Placed<Current>, Text),
    ledger: &mut Ledger,
) {
    let limit = rating.known("I_n", format!("{what} of panel {id}"));
    for (conductor, value) in lines {
        let part = format!("panel.{id}");
        let margin = Margin::below(
            part.clone(),
            say!("{what}, {conductor}", what, conductor),
            "all loads that may run",
            value,
            &limit,
        );
        ledger.hold(margin, |m| {
            Finding::new(
                "panel-over-rating",
                Severity::Error,
                part,
                say!(
                    "panel {id} carries {value} on {conductor}; its {what} is rated {limit}",
                    id,
                    value = m.value.amount.text,
                    conductor,
                    what,
                    limit = m.limit.amount.text
                ),
            )
            .at(Some(&rating.place), say!("this rating"))
            .fix(say!(
                "move loads to another panel, let some never run together (never_with), or choose a larger panel"
            ))
        });
    }
}
