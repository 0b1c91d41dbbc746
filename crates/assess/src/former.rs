//! The neutral former of line-to-line units.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Connection, Current};
use saying::say;

use crate::{Case, Ledger, starts};

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
        say!("neutral current"),
        "outage, group carries the panel",
        &case.demand.neutral,
        &limit,
    );
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-over",
            Severity::Error,
            "neutral former",
            say!(
                "the neutral of the backup panel carries up to {value}; the neutral former forms {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&case.site.group.place), say!("this group"))
        .fix(say!("choose a larger neutral former, or spread the line-to-neutral loads"))
    });
    if !former.trips_lines {
        ledger.find(
            Finding::new(
                "neutral-former-keeps-lines",
                Severity::Error,
                "neutral former",
                say!("losing the neutral former would leave the lines live without a neutral: its contact must open the lines"),
            )
            .at(Some(&case.site.group.place), say!("this group"))
            .fix(say!("choose a neutral former whose trip contact opens the lines with it")),
        );
    }
    neutral_starts(case, former, ledger);
    beside_utility(case, former, ledger);
    // Its inrush meets the group's current limit when the island forms, also with one unit out where that is asked for.
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    let units = case.formation.units().saturating_sub(out);
    let (I_s, n_c) = (&case.rating.surge, &crate::counted(case.unit, units));
    let limit: Known<Current> =
        formula!("I_lim", "current limit that the group may count on", [I_s, n_c] => I_s * n_c);
    let inrush = Known::catalog("I_in", "inrush of the neutral former", former.inrush, &former.id, "inrush");
    let margin = Margin::below("neutral former", say!("inrush"), "island forms", &inrush, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-inrush",
            Severity::Error,
            "neutral former",
            say!(
                "energising the neutral former draws {value}; the group limits at {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&case.site.group.place), say!("this group"))
        .fix(say!("add a unit, or choose a neutral former with a smaller inrush"))
    });
}

/// While the utility is there the former stays on the group's output and works beside the service's own neutral: it
/// takes a share of the unbalance of all loads of the site, which its impedance against the service's sets. That is
/// published of neither, so the whole is held: against the former, and half of it against the units' relays, through
/// which the former's lines are fed.
fn beside_utility(case: &Case<'_>, former: &catalog::NeutralFormer, ledger: &mut Ledger) {
    if case.plant.source(plant::SourceKind::Utility).is_none() {
        return;
    }
    let whole = case.assessment.whole.as_ref().map(|whole| &whole.neutral);
    let Some(I_N) = whole else {
        ledger.find(
            Finding::new(
                "neutral-former-beside-utility",
                Severity::NotCovered,
                "neutral former",
                say!("the unbalance of the whole site is not known, and the neutral former takes a share of it while the utility is there"),
            )
            .at(Some(&case.site.group.place), say!("this group")),
        );
        return;
    };
    let limit = Known::catalog(
        "I_n",
        "continuous neutral current of the neutral former",
        former.neutral,
        &former.id,
        "neutral",
    );
    let half: Known<Current> = formula!("I_h", "line current of the neutral former", [I_N] => I_N * 0.5);
    let relays = crate::passing::limit(case);
    for (part, value, limit) in [("neutral former", I_N, &limit), ("unit.relay", &half, &relays)] {
        let margin = Margin::below(
            part,
            say!("share of the site's unbalance"),
            "utility, group beside it",
            value,
            limit,
        );
        ledger.hold(margin, |m| {
            Finding::new(
                "neutral-former-beside-utility",
                Severity::Error,
                part,
                say!(
                    "while the utility is there the neutral former may take up to all of the site's unbalance: {part} {value} of {limit}",
                    part,
                    value = m.value.amount.text,
                    limit = m.limit.amount.text
                ),
            )
            .at(Some(&case.site.group.place), say!("this group"))
            .fix(say!(
                "spread line-to-neutral loads over the legs, choose a larger neutral former, or a family that forms a neutral by itself"
            ))
        });
    }
}

/// Motors from one leg to neutral start through the neutral former: the current of the leg that starts most, since the
/// other may run up first, and what else the neutral carries, for as long as the start takes at the voltage that is
/// left.
fn neutral_starts(case: &Case<'_>, former: &catalog::NeutralFormer, ledger: &mut Ledger) {
    let to_neutral = |load: &String| {
        let mut items = case.assessment.items.iter();
        items.any(|item| item.load == *load && matches!(item.connection, Connection::LineToNeutral(_)))
    };
    for event in case.demand.starts.iter().filter(|e| e.loads.iter().any(to_neutral)) {
        let currents: Vec<Known<Current>> = event.legs.values().map(|it| it.start_current.clone()).collect();
        let what = format!("neutral with {} starting", event.name);
        let Some(I_st) = Known::largest("I_st", "starting current of the worst leg", &currents) else {
            continue;
        };
        let I_n = &case.demand.neutral;
        let value = formula!("I_ns", what.clone(), [I_st, I_n] => I_st + I_n);
        if value.value() <= former.neutral {
            continue;
        }
        let lasts = starts::longest(case, event);
        let allowed = lasts.and_then(|lasts| crate::positions::short_time(&former.short_time, lasts));
        let limit = allowed.map_or(former.neutral, |a| a.current);
        let limit = Known::catalog("I_nst", "neutral current for that time", limit, &former.id, "short_time");
        let margin = Margin::below("neutral former", what, "outage, group carries the panel", &value, &limit);
        ledger.hold(margin, |m| {
            Finding::new(
                "neutral-former-over",
                Severity::Error,
                "neutral former",
                say!(
                    "starting {event} puts {value} on the neutral former; it carries {limit} for that long",
                    event = event.name,
                    value = m.value.amount.text,
                    limit = m.limit.amount.text
                ),
            )
            .at(event.place.as_ref(), say!("this motor"))
            .fix(say!("connect the motor line to line, soft-start it, or choose a larger neutral former"))
        });
    }
}
