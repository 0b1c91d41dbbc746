//! From the text of a site file to a [`Site`]. One function reads one table; each calls all its getters before
//! the first `?`, so that every mistake is reported and the JSON Schema comes from the same code.

mod amendment;
mod array;
mod demand;
mod group;
mod label;
mod load;
mod motor;
mod panel;
mod place;
mod project;
mod rest;
mod schedule;
mod service;
mod year;

use reading::{Diagnostic, Section, SourceText, describe, read_document};
use serde_json::Value;

use crate::check;
use crate::facts::Facts;
use crate::{BatteryWish, Site, Standing, Utility, Wish};

/// Most loads that a site may have. Beyond it the search for the worst coincidence is no longer what the model
/// was made for (our own limit).
pub const MOST_LOADS: usize = 2000;

/// Reads a site file. The site is there only if there is no mistake; all mistakes are reported at once, in the
/// order of the text.
pub fn read(source: &SourceText) -> (Option<Site>, Vec<Diagnostic>) {
    let (site, mistakes) = read_document(source, |root| document(root, source));
    (site.filter(|_| mistakes.is_empty()), mistakes)
}

/// The JSON Schema of a site file, made by the code that reads it.
pub fn schema() -> Value {
    let nothing = SourceText::new("", "");
    describe("Wattwright site file", "urn:wattwright:schema:site:1", |root| document(root, &nothing))
}

fn document(root: &Section<'_>, source: &SourceText) -> Option<Site> {
    let facts = &mut Facts::default();
    let format = root.need_count("format", "version of the file format: 1", 1..=1);
    let site = root.need_section("site", "what and where the site is", |s| rest::site(s, facts));
    let project =
        root.section("project", "what the papers of the project say of themselves", project::project);
    let service = root.need_section(
        "service",
        "the electrical service; off grid, the system that the group forms",
        |s| service::service(s, facts),
    );
    let utility = root.section("utility", "the utility's rules", |s| service::utility(s, facts));
    let panels = root.list("panel", "a distribution panel, one table each", |s| panel::panel(s, facts));
    let loads = root.list("load", "a load, one table each", |s| load::load(s, facts, source));
    let demand = demand::demand(root, facts);
    let generator = root.section("generator", "a generator that the site has or wants", rest::generator);
    let group = root.need_section("group", "the inverter group", |s| group::group(s, facts));
    let battery = root.section("battery", "battery wishes", rest::battery);
    let arrays = root.list("array", "modules in one plane, one table each", |s| array::array(s, facts));
    let weather = root.section("weather", "where the weather of the year comes from", year::weather);
    let tariff = root.section("tariff", "what energy costs", year::tariff);
    let policy = root.section("policy", "how the energy of array and battery is used", year::policy);
    let wish = root.section("wish", "what the customer asked for", |s| rest::wish(s, facts));
    let room = root.section("room", "the room of the units: how heat leaves it", place::room);
    let wall = root.section("wall", "the wall for the equipment", place::wall);
    let links = root.list("link", "a link between units that is built or fixed", place::link);
    let conductors =
        root.list("conductor", "what is known or fixed of a conductor run of the plant", rest::conductor);
    rest::conductors_once(root, &conductors);
    let breakers = root.list("breaker", "a breaker of the units that is there or fixed", rest::breaker);
    rest::breakers_once(root, &breakers);
    let amendments =
        root.list("amendment", "what the place changes of a rule of the code", amendment::amendment);
    amendment::once(root, &amendments);
    let stages = root.list("stage", "a growth stage, in order of years", |s| rest::stage(s, facts));
    check::all(root, facts);
    format?;
    let (name, altitude, temperature, position, units) = site?;
    Some(Site {
        name,
        altitude,
        temperature,
        units,
        project: project.unwrap_or_default(),
        position,
        service: service?,
        utility: utility.unwrap_or(NO_RULES),
        panels,
        loads,
        demand: demand?,
        generator,
        group: group?,
        battery: battery.unwrap_or(NO_BATTERY_WISH),
        arrays,
        weather,
        tariff,
        policy,
        wish: wish.unwrap_or(NO_WISH),
        room,
        wall,
        links,
        conductors,
        breakers,
        amendments,
        stages,
    })
}

const NO_RULES: Utility = Utility {
    export: None,
    export_limit: None,
    unbalance_cap: None,
    interface_protection: None,
    metering: None,
};
const NO_BATTERY_WISH: BatteryWish = BatteryWish {
    model: None,
    count: reading::Decision::Choose,
    lowest: None,
    string_device: None,
    unit_device: None,
    precharge: None,
    place: None,
    standing: Standing { place: None, code: None, between: None, to_opening: None },
};
const NO_WISH: Wish = Wish {
    outage: None,
    one_unit_may_be_out: None,
    motor_starts: None,
    bypass: None,
    spare: None,
    grow_to: None,
};
