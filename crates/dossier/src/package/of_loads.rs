//! What the design counts on at the loads: interlocks, starts one at a time, shedding. Others provide them.

use std::collections::BTreeSet;

use assess::Case;
use saying::{Text, say};
use site::MotorStarts;

use super::checkout::{Walk, step};
use super::settings::setting;
use crate::{CheckoutStep, Setting};

/// Conditions at the loads, tried in a step of its own.
pub(super) const LOADS: &str = "loads, by others";

/// Each pair of loads that never run together, once.
fn pairs(case: &Case<'_>) -> BTreeSet<(String, String)> {
    let each = case.site.loads.iter().flat_map(|load| {
        load.never_with.iter().map(|other| {
            let (a, b) = (load.name.value.clone(), other.value.clone());
            if a < b { (a, b) } else { (b, a) }
        })
    });
    each.collect()
}

fn one_at_a_time(case: &Case<'_>) -> bool {
    case.site.wish.motor_starts.as_ref().is_some_and(|m| m.value == MotorStarts::OneAtATime)
}

pub(super) fn settings(case: &Case<'_>) -> Vec<Setting> {
    let mut all = Vec::new();
    for (a, b) in pairs(case) {
        all.push(
            setting(
                say!("interlock"),
                LOADS,
                say!("{a} and {b}", a, b),
                say!("never together"),
                say!("the demand, and with it the number of units, counts only one of them"),
            )
            .confirm(say!("who provides it, and how: ____")),
        );
    }
    if one_at_a_time(case) {
        all.push(
            setting(
                say!("controls of motors"),
                LOADS,
                say!("starts of motors"),
                say!("one at a time, also after an outage"),
                say!("the start that the group has to bear is that of one motor"),
            )
            .confirm(say!("who provides it, and how: ____")),
        );
    }
    for load in &case.site.loads {
        let Some(shed) = &load.shed else { continue };
        all.push(
            setting(
                say!("contactor"),
                LOADS,
                say!("shedding of {load}", load = load.name.value),
                say!("place {place} in the order: 1 goes first", place = shed.value),
                say!("the site states that it may go"),
            )
            .confirm(say!(
                "who provides the contactor and what opens it: ____; without one the load is never shed"
            )),
        );
    }
    let policy = case.site.policy.as_ref();
    let levels = [
        (policy.and_then(|p| p.shed_first_below.as_ref()), say!("state of charge for shedding, place 1")),
        (policy.and_then(|p| p.shed_all_below.as_ref()), say!("state of charge for shedding, every place")),
    ];
    for (level, name) in levels {
        let Some(level) = level else { continue };
        let value = say!("goes off below {level} in an outage", level = level.value);
        let why = say!("the time that an outage is carried is counted so");
        all.push(
            setting(say!("contactor"), LOADS, name, value, why)
                .confirm(say!("who provides the signal: ____")),
        );
    }
    all
}

/// Each condition tried once, before the group is loaded.
pub(super) fn tried(walk: &Walk<'_, '_>) -> Option<CheckoutStep> {
    let of: Vec<&Setting> = walk.settings.iter().filter(|s| s.group == LOADS).collect();
    if of.is_empty() {
        return None;
    }
    let s = step(
        "conditions at the loads",
        say!("Close the branch breakers of the loads below, one pair after the other, and try what the design counts on: call for both loads of a pair at once and in either order; call for every motor at once; have each contactor for shedding opened by its signal. Then open the branch breakers again."),
    )
    .caution(say!("Motors start by themselves: nobody stands at machines, and guards are on."));
    let s = of.into_iter().fold(s, |s, setting| {
        let what: Text = say!("{device}: {name}", device = setting.device, name = setting.name);
        s.see(what, setting.value.clone())
    });
    Some(
        s.otherwise(say!(
            "do not hand over: without it the group is overloaded, or carries an outage for a shorter time"
        ))
        .live("backup"),
    )
}
