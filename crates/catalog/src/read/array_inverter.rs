//! Reader of array inverters.

use quantity::VoltageSystem;
use reading::Section;

use super::check;
use super::common::{amperes, delay, head, in_order, may, need, price, span, systems};
use crate::{ArrayInverter, FrequencyWatt};

pub(super) fn array_inverter(s: &Section<'_>) -> Option<ArrayInverter> {
    let head = head(s);
    let power = need(s, "power", "continuous active power", span(50.0, 5e6));
    let apparent = need(s, "apparent", "continuous apparent power", span(50.0, 5e6));
    let current = need(s, "current", "highest continuous current of one line conductor", amperes());
    let doc = "systems that it feeds, alike on all their live conductors";
    let systems = systems(s, "systems", doc);
    let frequency = need(s, "frequency", "frequency that it follows", span(49.0, 61.0));
    let tracks_from =
        need(s, "tracks_from", "lowest array voltage at which it finds the maximum power", span(1.0, 1500.0));
    let tracks_to =
        need(s, "tracks_to", "highest array voltage at which it finds the maximum power", span(1.0, 1500.0));
    let array_highest =
        need(s, "array_highest", "highest array voltage that it withstands", span(10.0, 1500.0));
    let array_current =
        need(s, "array_current", "highest direct current of the array that it uses", span(0.5, 5000.0));
    let doc = "current that it can feed back into a fault of the array; leave out if not published";
    let back_feed = may(s, "back_feed", doc, span(0.0, 5000.0));
    let doc = "from the return of a right voltage to the first power";
    let reconnect = s.need_section("reconnect", doc, delay);
    let doc = "how its power falls with rising frequency; leave out if it does not";
    let frequency_watt = s.section("frequency_watt", doc, frequency_watt);
    let efficiency = s.need_fraction("efficiency", "efficiency at full power", 0.5..=0.999);
    let breaker = need(s, "breaker", "largest breaker ahead of its output", amperes());
    let price = price(s);
    if let (Some(power), Some(apparent)) = (power, apparent) {
        check::power_within_apparent(s, "power", power, apparent);
    }
    if let (Some(from), Some(to)) = (tracks_from, tracks_to) {
        in_order(s, "tracks_to", "`tracks_to` is below `tracks_from`", from, to);
    }
    if let (Some(to), Some(highest)) = (tracks_to, array_highest) {
        in_order(s, "array_highest", "`array_highest` is below `tracks_to`", to, highest);
    }
    if let (Some(current), Some(breaker)) = (current, breaker) {
        in_order(s, "breaker", "`breaker` is below `current`", current, breaker);
    }
    if let (Some(frequency), Some(curve)) = (frequency, &frequency_watt) {
        in_order(s, "frequency_watt", "`start` is below `frequency`", frequency, curve.start);
    }
    if let (Some(systems), Some(apparent), Some(current)) = (&systems, apparent, current) {
        for system in systems {
            check::line_current(s, system.value, apparent, current);
        }
    }
    let head = head?;
    let systems: Vec<VoltageSystem> = systems?.into_iter().map(|system| system.value).collect();
    Some(ArrayInverter {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        power: power?,
        apparent: apparent?,
        current: current?,
        systems,
        frequency: frequency?,
        tracks_from: tracks_from?,
        tracks_to: tracks_to?,
        array_highest: array_highest?,
        array_current: array_current?,
        back_feed,
        reconnect: reconnect?,
        frequency_watt,
        efficiency: efficiency?.value,
        breaker: breaker?,
        price: price?,
    })
}

fn frequency_watt(s: &Section<'_>) -> Option<FrequencyWatt> {
    let start = need(s, "start", "full power up to this frequency", span(50.0, 66.0));
    let stop = need(s, "stop", "no power from this frequency on", span(50.0, 66.0));
    if let (Some(start), Some(stop)) = (start, stop) {
        in_order(s, "stop", "`stop` is below `start`", start, stop);
    }
    Some(FrequencyWatt { start: start?, stop: stop? })
}
