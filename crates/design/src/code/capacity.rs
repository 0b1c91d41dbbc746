//! Whether sources and service are large enough, by the clauses that ask only for a capacity.

use codebook::Capacity;
use codebook::us::service_capacity::{Service, service_capacity};
use codebook::us::stand_alone::stand_alone;
use codebook::us::standby_capacity::{Takeover, standby_capacity};
use demand::Lane;
use derivation::{Known, formula};
use plant::Layout;
use quantity::{Apparent, Current, Ratio};
use saying::{Text, say};
use tables::us::load_rule;

use super::Holding;

/// Holds them.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    if !h.us() {
        return;
    }
    if h.case.layout == Layout::Islanded {
        alone(h);
    } else {
        standby(h);
        service(h);
    }
}

/// Apparent power of all units at the site.
fn group(h: &Holding<'_, '_>) -> Known<Apparent> {
    let S_1 = &h.case.rating.apparent;
    let n =
        Known::chosen("n", "units", Ratio::of(f64::from(h.case.formation.units())), "formation", Vec::new());
    formula!("S_g", "apparent power of the group", [S_1, n] => S_1 * n)
}

fn judge(h: &mut Holding<'_, '_>, rule: &'static str, found: Result<Capacity, codebook::NotCovered>) {
    let place = h.case.count_place().clone();
    match found {
        Ok(capacity) if capacity.enough => h.passes(rule, "group"),
        Ok(capacity) => {
            let (has, asked) = (capacity.available.value(), capacity.required.value());
            h.fails(rule, "group", say!("{has} stand against {asked} asked for", has, asked), Some(&place));
        }
        Err(refused) => h.not_covered(rule, "group", refused.reason, Some(&place)),
    }
}

/// The group takes over the panel by itself.
fn standby(h: &mut Holding<'_, '_>) {
    // what lasts: shorter peaks are held against the overload times of the units, which the clause does not know
    let longest = h.case.demand.lanes.get(&Lane::Total).and_then(|lane| lane.curve.last());
    let Some(load) = longest.map(|demand| demand.apparent.clone()) else { return };
    let found = standby_capacity(&group(h), &Takeover::Automatic(load));
    judge(h, "standby-capacity", found);
}

fn alone(h: &mut Holding<'_, '_>) {
    let panel = &h.case.site.group.panel.value;
    let items = h.case.assessment.items.iter().filter(|item| item.panel == *panel);
    let loads: Vec<Known<Apparent>> = items.map(|item| item.apparent.clone()).collect();
    let found = stand_alone(&[group(h)], &loads);
    judge(h, "stand-alone", found);
}

fn service(h: &mut Holding<'_, '_>) {
    const RULE: &str = "service-capacity";
    let case = h.case;
    let Some(rating) = &case.site.service.rating else { return };
    let place = rating.place.clone();
    let rating = rating.known("I_s", "rating of the service");
    // without either, a finding of its own has said so
    let (Some(demand), Some(wire)) = (&case.assessment.service, h.wire("service.conductor")) else { return };
    let dwelling = h.held_before.iter().any(|held| held.rule == "dwelling-service");
    let conductors = if dwelling {
        // they carry less than the rating by a rule of their own, which holds them against the load
        let why = say!("conductors of a dwelling's service stand behind its rating (NEC 2023 310.12)");
        let from = vec![wire.ampacity.node().clone(), rating.node().clone()];
        Known::chosen("I_c", "what the service conductors serve", rating.value(), why, from)
    } else {
        wire.ampacity.clone()
    };
    let none = Known::chosen(
        "I_cont",
        "continuous load",
        Current::ZERO,
        "counted in the demand already",
        vec![demand.current.node().clone()],
    );
    let one_family = h.dwelling();
    let found = service_capacity(&Service {
        rating: rating.clone(),
        conductors,
        continuous: none,
        other: demand.current.clone(),
        one_family: false,
    });
    let mut failures = match found {
        Ok(found) => found.failures,
        Err(refused) => return h.not_covered(RULE, "service", refused.reason, Some(&place)),
    };
    if one_family {
        let Ok(least) = load_rule::current("I_min", "service-minimum") else {
            return h.not_covered(
                RULE,
                "service",
                say!("the table of the clause cannot be used"),
                Some(&place),
            );
        };
        let least = h.current(RULE, least);
        if rating.value() < least.value() {
            failures.push(say!(
                "a one-family dwelling needs {least} at least (230.79(C))",
                least = least.value()
            ));
        }
        h.held.push(crate::Held::new("service-minimum", "service", rating.value() >= least.value()));
    }
    if failures.is_empty() {
        h.passes(RULE, "service");
    } else {
        h.fails(RULE, "service", Text::joined(&failures, "; "), Some(&place));
    }
}
