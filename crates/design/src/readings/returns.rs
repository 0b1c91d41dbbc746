//! When the units are back on a utility that is good again.

use assess::Case;
use derivation::Known;
use plant::Layout;
use quantity::Duration;
use saying::{Text, say};
use tables::us::grid::enter_time;

use super::us;

/// The earliest return of the units to a utility that is back: what the unit does and, where its book states one, the
/// delay that the rule of interconnection asks for before entering service (IEEE 1547-2018 4.10), the longer.
pub fn earliest_return(case: &Case<'_>) -> Known<Duration> {
    let unit = case.unit;
    let own = unit.reconnect_earliest;
    let own = Known::catalog("t_r", "earliest return of the units", own, &unit.id, "reconnect earliest");
    let rule = (us(case) && case.layout != Layout::Islanded).then(|| enter_time("delay").ok()).flatten();
    let all: Vec<_> = [Some(own.clone()), rule].into_iter().flatten().collect();
    Known::largest("t_r", "earliest return of the units to the utility", &all).unwrap_or(own)
}

/// Earliest and latest return, as people set it. A unit that is back before the rule lets it cannot be set so.
pub fn returns_by(case: &Case<'_>) -> Text {
    let first = earliest_return(case).value();
    match case.unit.reconnect_latest {
        None => say!("{first} or later; no latest time is stated", first),
        Some(last) if last > first => say!("{first} to {last}", first, last),
        Some(last) if last == first => say!("{first}, not sooner", first),
        Some(last) => say!("not before {first}, though its record says {last} at the latest", first, last),
    }
}
