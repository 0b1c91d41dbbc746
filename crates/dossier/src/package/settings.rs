//! Every setting that the design implies.

use std::sync::Arc;

use assess::Case;
use catalog::{LegControl, LimitScope};
use derivation::Node;
use design::{
    Design, charge_ceiling, charge_limit, charger_stays_off, dc_tenth_below, earliest_return, entered_limit,
    floor, lowest_charge, outage_charge, returns_by, shortest_retransfer, tenth_below,
};
use plant::Layout;
use quantity::{Duration, Quantity};
use saying::{Text, say};

use super::{grid, of_arrays, of_loads};
use crate::Setting;

const EVERY: Text = Text::plain("every unit");

/// One setting.
pub(super) fn setting(
    device: impl Into<Text>,
    group: &'static str,
    name: impl Into<Text>,
    value: impl Into<Text>,
    why: impl Into<Text>,
) -> Setting {
    Setting {
        device: device.into(),
        group,
        name: name.into(),
        value: value.into(),
        why: why.into(),
        from: None,
        confirm: None,
    }
}

impl Setting {
    pub(super) fn resting_on(mut self, node: &Arc<Node>) -> Self {
        self.from = Some(node.clone());
        self
    }

    pub(super) fn confirm(mut self, what: impl Into<Text>) -> Self {
        self.confirm = Some(what.into());
        self
    }
}

pub(super) fn of(design: &Design<'_>) -> Vec<Setting> {
    let case = &design.case;
    let mut all = roles(design);
    all.extend(direct(case));
    all.extend(sources(case));
    all.extend(transfer(case));
    all.extend(grid::settings(case));
    all.extend(of_arrays::settings(case));
    all.extend(of_loads::settings(case));
    // what belongs together beside each other: people count a group at the device
    let mut groups: Vec<&'static str> = Vec::new();
    for setting in &all {
        if !groups.contains(&setting.group) {
            groups.push(setting.group);
        }
    }
    all.sort_by_key(|setting| groups.iter().position(|group| *group == setting.group));
    all
}

fn roles(design: &Design<'_>) -> Vec<Setting> {
    let case = &design.case;
    let Some(placed) = &design.placed else { return Vec::new() };
    let plant = assess::full_plant(case);
    let mut all = Vec::new();
    let several = case.formation.units() > 1;
    for unit in &plant.units {
        let part = format!("unit {}", unit.number);
        let lead = placed.links.lead == part;
        if several {
            let role = if lead { say!("lead unit") } else { say!("follower") };
            let why = if lead {
                say!("one unit leads; it sits where the link cable begins")
            } else {
                say!("it follows the lead unit in voltage, phase and limits")
            };
            all.push(setting(&part, "roles", say!("role"), role, why));
        }
        if case.unit.leg_control == LegControl::OneLeg && case.system().legs().len() > 1 {
            let legs: Vec<String> = unit.legs.iter().map(ToString::to_string).collect();
            all.push(setting(
                &part,
                "roles",
                say!("leg"),
                legs.join(" and "),
                say!("formation {formation}", formation = case.formation),
            ));
        }
        for link in &placed.links.links {
            for device in link.devices.iter().filter(|d| d.part == part) {
                if let Some(address) = device.address {
                    let why = say!("place on link {link}; no other unit has it", link = link.name);
                    all.push(setting(
                        &part,
                        "roles",
                        say!("address on {link}", link = link.name),
                        address.to_string(),
                        why,
                    ));
                }
                if device.terminated {
                    let why = say!("it is an end of link {link}", link = link.name);
                    all.push(setting(
                        &part,
                        "roles",
                        say!("terminator on {link}", link = link.name),
                        say!("in"),
                        why,
                    ));
                }
            }
        }
    }
    let frequency =
        case.site.service.frequency.as_ref().map_or_else(|| case.system().usual_frequency(), |f| f.value);
    all.push(setting(
        EVERY,
        "roles",
        say!("system"),
        case.system().name(),
        say!("the service; off grid, what the group forms"),
    ));
    all.push(setting(
        EVERY,
        "roles",
        say!("frequency"),
        frequency.to_string(),
        say!("the service; off grid, what the group forms"),
    ));
    all
}

fn direct(case: &Case<'_>) -> Vec<Setting> {
    let (low, high) = (floor(case.unit), charge_ceiling(case));
    let mut all = Vec::new();
    let maker = say!("the battery maker's figure for this model and temperature; it prevails");
    all.push(
        setting(
            EVERY,
            "battery",
            say!("low-battery cut-off"),
            say!("not below {low}", low = low.value()),
            say!("below it the unit stops by itself; the battery's own lowest voltage may be higher"),
        )
        .resting_on(low.node())
        .confirm(&maker),
    );
    all.push(
        setting(
            EVERY,
            "battery",
            say!("charge voltages"),
            say!("as the battery's maker states, at most {high}", high = high.value()),
            say!("the lower of what the unit and, where published, the battery bears"),
        )
        .resting_on(high.node())
        .confirm(&maker),
    );
    all.extend(charges(case));
    let I = charge_limit(case);
    let (why, confirm) = match &case.bank {
        Some(_) => (say!("what every string bears with mismatch and with one string off"), maker),
        None => (
            say!("what a unit gives; no battery is decided, and its own limit may be lower"),
            say!("the battery's charging current limit; the lower one counts"),
        ),
    };
    let value = say!("at most {tenth} for each unit", tenth = dc_tenth_below(I.value()));
    all.push(
        setting(EVERY, "battery", say!("charging current limit"), value, why)
            .resting_on(I.node())
            .confirm(confirm),
    );
    all
}

/// How far the battery is drawn: what the outage and the year rest on.
fn charges(case: &Case<'_>) -> Vec<Setting> {
    let how = say!(
        "how the family sets it: by state of charge, or as the battery's maker states for it in volts under load"
    );
    let percent =
        |s: &derivation::Known<quantity::Ratio>| format!("{:.0} %", (s.value().si() * 100.0 - 1e-9).ceil());
    let lowest = lowest_charge(case).map(|s| {
        setting(
            EVERY,
            "battery",
            say!("lowest state of charge"),
            say!("nothing is drawn below {charge}", charge = percent(&s)),
            say!("the record lets no more be used; the cut-off by voltage lies below it"),
        )
        .resting_on(s.node())
        .confirm(&how)
    });
    let kept = outage_charge(case).map(|s| {
        setting(
            EVERY,
            "battery",
            say!("state of charge kept for outages"),
            say!("not drawn below {charge} while the utility is there", charge = percent(&s)),
            say!("the time that an outage is carried rests on it"),
        )
        .resting_on(s.node())
        .confirm(&how)
    });
    lowest.into_iter().chain(kept).collect()
}

/// What is entered for charging from a source: a limit, or that the charger is off where no limit can be low enough.
fn charging(case: &Case<'_>, limit: &derivation::Known<quantity::Current>, utility: bool) -> Setting {
    let set = entered_limit(case, limit);
    let group = if utility { "utility" } else { "generator" };
    let source = if utility { say!("utility") } else { say!("generator") };
    if charger_stays_off(case, limit) {
        return setting(
            EVERY,
            group,
            say!("charger from the {source}", source),
            say!("off"),
            say!(
                "its limit would be {down} where it is entered; the family can be set to no less than {lowest}",
                down = tenth_below(set.value()),
                lowest = case.unit.input_limit.lowest
            ),
        )
        .resting_on(set.node());
    }
    let down = tenth_below(set.value());
    let value =
        if case.unit.leg_control == LegControl::OneLeg && case.unit.input_limit.scope == LimitScope::Unit {
            say!("{down} on its leg", down)
        } else {
            say!("{down} on each leg", down)
        };
    setting(EVERY, group, say!("input current limit, {source}", source), value, entered_at(case))
        .resting_on(set.node())
}

/// Where a limit of the whole group is entered.
fn entered_at(case: &Case<'_>) -> Text {
    match case.unit.input_limit.scope {
        LimitScope::Group => say!("at the lead unit, for the whole group"),
        LimitScope::Unit => say!("at every unit, its part"),
    }
}

fn sources(case: &Case<'_>) -> Vec<Setting> {
    let mut all = Vec::new();
    if let Some(limit) = &case.settings.input_limit {
        all.push(charging(case, limit, true));
        let export = &case.settings.export_limit;
        let none = export.value().si() <= 0.0;
        let value = if none {
            say!("none: export off")
        } else {
            say!("{export} for the group", export = export.value())
        };
        all.push(
            setting(
                EVERY,
                "utility",
                say!("export limit"),
                value,
                say!("the least of what utility, units, relays and busbars take"),
            )
            .resting_on(export.node())
            .confirm(say!("the utility's approval")),
        );
    }
    if let Some(generator) = case.generator {
        let why = say!(
            "what they give back would drive the engine; the site states that they are kept from it, or their second input is set so"
        );
        all.push(
            setting(EVERY, "generator", say!("power back to the generator"), say!("none"), why).confirm(
                say!(
                    "the manual of the units, and a trial with {generator} at low load",
                    generator = generator.id
                ),
            ),
        );
    }
    if let (Some(limit), Some(generator)) = (&case.settings.generator_limit, case.generator) {
        all.push(charging(case, limit, false));
        let automatic =
            case.site.generator.as_ref().and_then(|g| g.automatic.as_ref()).is_some_and(|a| a.value);
        let value =
            if automatic { say!("automatic, by the battery's state of charge") } else { say!("by hand") };
        all.push(
            setting(&generator.id, "generator", say!(
                "start and stop"
            ), value, say!("whether it starts by itself is what the site states"))
                .confirm(say!(
                    "levels at which it starts and stops: not computed here; they depend on the battery and on how long it is to run"
                )),
        );
    }
    all
}

fn transfer(case: &Case<'_>) -> Vec<Setting> {
    let mut all = Vec::new();
    if let Some(switch) = case.transfer {
        let range = |from: Duration, to: Option<Duration>| match to {
            Some(to) => say!("{from} to {to}", from, to),
            None => say!("{from} or later", from),
        };
        if let (Some(back), Some(shortest)) = (&case.settings.retransfer, shortest_retransfer(case)) {
            all.push(
                setting(
                    say!("transfer switch"),
                    "transfer",
                    say!("delay before it returns to the utility"),
                    range(back.earliest, back.latest),
                    say!("the range with which every order of moves was looked at"),
                )
                .resting_on(shortest.node()),
            );
        }
        all.push(setting(
            say!("transfer switch"),
            "transfer",
            say!("delay before it leaves the utility"),
            range(switch.to_second.earliest, switch.to_second.latest),
            say!("record {switch}", switch = switch.id),
        ));
        let value = if case.settings.inhibit {
            say!("wired: auxiliary contact to every unit")
        } else {
            say!("not used")
        };
        all.push(setting(
            EVERY,
            "transfer",
            say!("input inhibit"),
            value,
            say!("it holds the units off their input while the switch is on the group"),
        ));
    }
    if case.layout != Layout::Islanded {
        all.push(
            setting(
                EVERY,
                "utility",
                say!("delay before the units return to the utility"),
                returns_by(case),
                say!("what the unit does and what the rule of interconnection asks for, the longer"),
            )
            .resting_on(earliest_return(case).node()),
        );
    }
    all
}
