//! `[[panel]]`.

use quantity::{Current, Length};
use reading::Section;

use super::label::{name, need_name, words};
use crate::Panel;
use crate::facts::{Facts, Feed};

pub(super) fn panel(s: &Section<'_>, facts: &mut Facts) -> Option<Panel> {
    let ratings = Current::of(10.0)..=Current::of(6000.0);
    let id = need_name(s, "id", "id of the panel; loads and other panels name it");
    let fed_from = name(s, "fed_from", "panel that feeds it; left out, the service does");
    let busbar = s.quantity_in("busbar", "rating of its busbar", ratings.clone());
    let main_breaker = s.quantity_in("main_breaker", "rating of its main breaker", ratings);
    let free_positions = s.count("free_positions", "free breaker positions", 0..=200);
    let run = s.quantity_in("run", "length of the run that feeds it", Length::of(0.05)..=Length::of(3000.0));
    let route = words(s, "route", "route of the run, in words");
    if s.place().is_some() {
        facts.panels.define(id.as_ref());
        facts.panels.refer(fed_from.as_ref());
    }
    if let (Some(id), Some(fed_from)) = (&id, &fed_from) {
        facts.feeds.push(Feed { panel: id.value.clone(), fed_from: fed_from.clone() });
    }
    Some(Panel { id: id?, fed_from, busbar, main_breaker, free_positions, run, route })
}
