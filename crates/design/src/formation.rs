//! The smallest number of units that meets every limit on the worst leg.

use assess::{Formation, assess_group};
use catalog::LegControl;
use finding::Severity;
use quantity::Leg;
use saying::say;

use crate::candidate::{self, Fixed};
use crate::{Decision, Prepared};

pub(crate) fn choose(prepared: &Prepared<'_>, fixed: &Fixed) -> (Formation, Vec<Decision>) {
    let group = &prepared.site.group;
    if let Some(per_leg) = fixed.per_leg {
        return (Formation::even(prepared.unit, prepared.site.service.system.value, per_leg), Vec::new());
    }
    let place = group.formation.fixed().map(|f| &f.place).or(group.count.fixed().map(|c| &c.place));
    let stated = group
        .formation
        .fixed()
        .and_then(|f| parse(prepared, &f.value))
        .or_else(|| group.count.fixed().map(|c| spread(prepared, c.value)));
    let chosen = stated.clone().unwrap_or_else(|| smallest(prepared));
    let decisions = explain(prepared, &chosen, stated.as_ref().and(place));
    (chosen, decisions)
}

/// `"2+2+2"` on one-leg units, `"4"` on two-leg units.
fn parse(prepared: &Prepared<'_>, text: &str) -> Option<Formation> {
    let system = prepared.site.service.system.value;
    let counts: Option<Vec<u32>> = text.split('+').map(|n| n.trim().parse().ok()).collect();
    let counts = counts?;
    if prepared.unit.leg_control == LegControl::OneLeg {
        (counts.len() == system.legs().len()).then(|| Formation::one_leg(system, counts))
    } else {
        counts.first().copied().filter(|_| counts.len() == 1).map(|n| Formation::two_leg(system, n))
    }
}

/// A number of units over the legs, the first legs taking what does not divide.
fn spread(prepared: &Prepared<'_>, units: u32) -> Formation {
    let system = prepared.site.service.system.value;
    if prepared.unit.leg_control != LegControl::OneLeg {
        return Formation::two_leg(system, units);
    }
    let legs = system.legs().len() as u32;
    let counts = (0..legs).map(|k| units / legs + u32::from(k < units % legs)).collect();
    Formation::one_leg(system, counts)
}

fn most_per_leg(prepared: &Prepared<'_>) -> u32 {
    let limits = &prepared.unit.formation;
    let legs = prepared.site.service.system.value.legs().len() as u32;
    if prepared.unit.leg_control == LegControl::OneLeg {
        limits.per_leg.min(limits.total / legs.max(1)).max(1)
    } else {
        limits.per_leg.min(limits.total).max(1)
    }
}

/// Legs do not share, so the number on each is found by itself, with the others at their largest.
fn smallest(prepared: &Prepared<'_>) -> Formation {
    let system = prepared.site.service.system.value;
    let most = most_per_leg(prepared);
    let case = candidate::bare(prepared, &Formation::even(prepared.unit, system, 1));
    let fails = |formation: &Formation, severity: &dyn Fn(Severity) -> bool| {
        assess_group(&case, formation).findings.iter().any(|f| severity(f.severity))
    };
    let any = |s: Severity| s.fails();
    let error = |s: Severity| s == Severity::Error;
    let first = |with: &dyn Fn(u32) -> Formation| {
        (1..=most)
            .find(|n| !fails(&with(*n), &any))
            .or_else(|| (1..=most).find(|n| !fails(&with(*n), &error)))
            .unwrap_or(most)
    };
    if prepared.unit.leg_control != LegControl::OneLeg {
        return Formation::two_leg(system, first(&|n| Formation::two_leg(system, n)));
    }
    let alone = |leg: Leg, n: u32| {
        let counts = system.legs().iter().map(|&l| if l == leg { n } else { most }).collect();
        Formation::one_leg(system, counts)
    };
    let mut counts: Vec<u32> = system.legs().iter().map(|&leg| first(&|n| alone(leg, n))).collect();
    if prepared.unit.formation.equal_legs {
        let largest = counts.iter().copied().max().unwrap_or(1);
        counts = vec![largest; counts.len()];
    }
    Formation::one_leg(system, counts)
}

fn explain(prepared: &Prepared<'_>, chosen: &Formation, place: Option<&derivation::Place>) -> Vec<Decision> {
    let case = candidate::bare(prepared, chosen);
    let mut decision = Decision::new(
        "units",
        say!("{chosen_units} × {unit}", chosen_units = chosen.units(), unit = prepared.unit.id),
        place,
    );
    let ledger = assess_group(&case, chosen);
    if let Some(tightest) = ledger.tightest().first() {
        decision = decision
            .because(say!(
                "tightest: {what} is {value}, {x} {limit} ({state})",
                what = tightest.what,
                value = tightest.value.amount.text,
                x = if tightest.floor { "at least" } else { "at most" },
                limit = tightest.limit.amount.text,
                state = tightest.state
            ))
            .resting_on(&tightest.value)
            .resting_on(&tightest.limit);
    }
    if prepared.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value) {
        decision = decision.because(say!("counted so that one unit may be out"));
    }
    let fewer = chosen.one_out().into_iter().filter(|less| less.units() > 0);
    for less in fewer.take(1) {
        let found = assess_group(&case, &less);
        if let Some(finding) = found.findings.iter().find(|f| f.severity.fails()) {
            let s = if less.units() == 1 { "" } else { "s" };
            decision = decision
                .not(say!("{less_units} unit{s}", less_units = less.units(), s), finding.message.clone());
        }
    }
    let formation = Decision::new("formation", chosen.to_string(), place).because(
        if prepared.unit.leg_control == LegControl::OneLeg {
            say!("each unit feeds one leg; each leg holds by itself")
        } else {
            say!("each unit feeds both legs")
        },
    );
    vec![decision, formation]
}
