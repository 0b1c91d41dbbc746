//! `[[panel]]`.

use quantity::{Current, Length, Resistance};
use reading::Section;

use super::label::{contradiction, name, need_name, need_partner, words};
use crate::facts::{Facts, Feed};
use crate::{BranchBreaker, Opposite, Panel};

const CURVES: [(&str, char); 3] = [("B", 'B'), ("C", 'C'), ("D", 'D')];

pub(super) fn panel(s: &Section<'_>, facts: &mut Facts) -> Option<Panel> {
    let ratings = Current::of(10.0)..=Current::of(6000.0);
    let id = need_name(s, "id", "id of the panel; loads and other panels name it");
    let fed_from = name(s, "fed_from", "panel that feeds it; left out, the service does");
    let busbar = s.quantity_in("busbar", "rating of its busbar", ratings.clone());
    let main_breaker = s.quantity_in("main_breaker", "rating of its main breaker", ratings);
    let free_positions = s.count("free_positions", "free breaker positions", 0..=200);
    let run = s.quantity_in("run", "length of the run that feeds it", Length::of(0.05)..=Length::of(3000.0));
    let route = words(s, "route", "route of the run, in words");
    let rcd = s.quantity_in(
        "rcd",
        "rated residual current of the devices ahead of all its final circuits; the largest where several do it",
        Current::of(0.003)..=Current::of(3.0),
    );
    let rcd_delayed = s.flag("rcd_delayed", "some of these devices are time-delayed (type S)");
    need_partner(s, "rcd_delayed", "rcd", "say which residual current they have");
    let feeder_rcd = s.quantity_in(
        "feeder_rcd",
        "rated residual current of the device ahead of its feeder, behind the bond of the island",
        Current::of(0.003)..=Current::of(30.0),
    );
    let feeder_rcd_delayed = s.flag("feeder_rcd_delayed", "that device is time-delayed (type S)");
    need_partner(s, "feeder_rcd_delayed", "feeder_rcd", "say which residual current it has");
    let branch_breaker = s.section("branch_breaker", "the largest branch breaker of the panel", branch);
    let main_breaker_curve =
        s.choice("main_breaker_curve", "type of its main breaker by IEC 60898-1", &CURVES);
    let final_loop = s.quantity_in(
        "final_loop",
        "highest loop impedance of its final circuits, as measured at their far ends",
        Resistance::of(0.001)..=Resistance::of(5000.0),
    );
    let opposite = s.choice(
        "opposite",
        "what stands opposite its live parts; left out, live parts are taken",
        &[("nothing", Opposite::Nothing), ("grounded", Opposite::Grounded), ("live", Opposite::Live)],
    );
    if s.place().is_some() {
        facts.panels.define(id.as_ref());
        facts.panels.refer(fed_from.as_ref());
    }
    if let (Some(id), Some(fed_from)) = (&id, &fed_from) {
        facts.feeds.push(Feed { panel: id.value.clone(), fed_from: fed_from.clone() });
    }
    Some(Panel {
        id: id?,
        fed_from,
        busbar,
        main_breaker,
        free_positions,
        run,
        route,
        rcd,
        rcd_delayed,
        feeder_rcd,
        feeder_rcd_delayed,
        branch_breaker,
        main_breaker_curve,
        final_loop,
        opposite,
    })
}

fn branch(s: &Section<'_>) -> Option<BranchBreaker> {
    let rating = s.need_quantity_in("rating", "its rated current", Current::of(0.5)..=Current::of(6000.0));
    let curve = s.choice("curve", "its type by IEC 60898-1, where it has one", &CURVES);
    let model = name(s, "model", "catalogue id of such a breaker");
    if s.has("curve") && s.has("model") {
        let message = "the catalogue says which type a breaker of it is";
        contradiction(s, "curve", "model", message, "keep one of them");
    }
    Some(BranchBreaker { rating: rating?, curve, model })
}
