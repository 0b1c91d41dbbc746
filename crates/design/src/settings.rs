//! Settings that follow from the design.

use assess::{Case, Settings};
use catalog::{DelayRange, LimitScope};
use derivation::{Known, formula};
use plant::Layout;
use quantity::{Current, Power, Ratio};
use site::ExportClass;

use crate::{Prepared, connection};

pub(crate) fn nothing() -> Settings {
    Settings {
        input_limit: None,
        generator_limit: None,
        export_limit: Known::chosen("P_x", "export limit", Power::ZERO, "not decided yet", Vec::new()),
        retransfer: None,
        inhibit: false,
    }
}

/// The settings of a case whose gear is chosen.
pub(crate) fn of(prepared: &Prepared<'_>, case: &Case<'_>, inhibit: bool) -> Settings {
    Settings {
        input_limit: (case.layout != Layout::Islanded).then(|| input_limit(prepared, case)),
        generator_limit: generator_limit(case),
        export_limit: export_limit(prepared, case),
        retransfer: retransfer(prepared, case),
        inhibit,
    }
}

fn retransfer(prepared: &Prepared<'_>, case: &Case<'_>) -> Option<DelayRange> {
    let switch = case.transfer?;
    Some(match &prepared.site.group.retransfer {
        Some((earliest, latest)) => {
            DelayRange { earliest: earliest.value, latest: latest.as_ref().map(|l| l.value) }
        }
        None => switch.to_first.clone(),
    })
}

/// What the units' own setting allows on one leg, in all.
fn settable(case: &Case<'_>) -> Known<Current> {
    let unit = case.unit;
    let scope = match unit.input_limit.scope {
        LimitScope::Unit => "each unit its part",
        LimitScope::Group => "the group as a whole",
    };
    let I_h = Known::catalog(
        "I_h",
        format!("highest input limit ({scope})"),
        unit.input_limit.highest,
        &unit.id,
        "input_limit highest",
    );
    let n = Known::chosen(
        "n",
        "fewest units on a leg",
        Ratio::of(f64::from(case.formation.fewest())),
        "formation",
        Vec::new(),
    );
    formula!("I_set", "highest input limit that can be set for the group", [I_h, n] => I_h * n)
}

/// The input limit: as the site fixes it, else the least of what the relays pass, what can be set, and what the
/// service has left beside its other loads.
fn input_limit(prepared: &Prepared<'_>, case: &Case<'_>) -> Known<Current> {
    if let Some(fixed) = prepared.site.group.input_limit.fixed() {
        return fixed.known("I_in", "input current limit of the group, per leg");
    }
    let mut limits = vec![assess::pass_through(case), settable(case)];
    limits.extend(assess::charging_headroom(case));
    // charging adds to what one relay passes; a limit below the load would only drain the battery
    let load = case.demand.worst_leg().map(|(_, lane)| lane.steady_current.value());
    limits.extend(assess::own_within(case).filter(|own| load.is_none_or(|load| own.value() >= load)));
    Known::smallest("I_in", "input current limit of the group, per leg", &limits)
        .unwrap_or_else(|| assess::pass_through(case))
}

fn generator_limit(case: &Case<'_>) -> Option<Known<Current>> {
    let current = assess::generator_limit(case)?;
    let mut limits = vec![current];
    match (case.inlet, &case.unit.second_input) {
        (Some(site::GeneratorInlet::SecondInput), Some(second)) => limits.push(Known::catalog(
            "I_r2",
            "rating of one second-input relay",
            second.continuous,
            &case.unit.id,
            "second_input continuous",
        )),
        _ => limits.push(assess::pass_through(case)),
    }
    Known::smallest("I_gen", "input current limit on the generator, per leg", &limits)
}

fn export_limit(prepared: &Prepared<'_>, case: &Case<'_>) -> Known<Power> {
    let utility = &prepared.site.utility;
    let class = utility.export.as_ref().map(|c| c.value);
    let none = |why: &str| Known::assumed("P_x", "export limit of the group", Power::ZERO, why);
    if case.layout == Layout::Islanded {
        return none("there is no utility");
    }
    match class {
        None => return none("the site does not say that the utility takes power back"),
        Some(ExportClass::None) => return none("the utility takes no power back"),
        Some(ExportClass::Limited | ExportClass::Full) => {}
    }
    let Some(highest) = case.unit.export.highest else {
        // the wish stands, so that the check can say that it cannot be met
        return utility.export_limit.as_ref().map_or_else(
            || none("the family cannot export"),
            |limit| limit.known("P_x", "export limit of the utility"),
        );
    };
    let P_1 = Known::catalog("P_1", "highest export of one unit", highest, &case.unit.id, "export highest");
    let n =
        Known::chosen("n", "units", Ratio::of(f64::from(case.formation.units())), "formation", Vec::new());
    let units: Known<Power> = formula!("P_n", "highest export of all units", [P_1, n] => P_1 * n);
    let relays = assess::export_within(case, "export that the relays pass", &assess::pass_through(case));
    if !case.unit.export.limit_settable {
        return units; // nothing holds it below what the units give
    }
    let mut limits = vec![units, relays];
    limits.extend(
        assess::own_within(case)
            .map(|own| assess::export_within(case, "export that the hottest relay passes", &own)),
    );
    limits.extend(
        connection::busbar_room(case)
            .map(|room| assess::export_within(case, "export that the busbar takes", &room)),
    );
    if class == Some(ExportClass::Limited)
        && let Some(limit) = &utility.export_limit
    {
        limits.push(limit.known("P_u", "export limit of the utility"));
    }
    let whole = Known::smallest("P_x", "export limit of the group", &limits)
        .unwrap_or_else(|| none("no limit known"));
    match assess::array_power(case) {
        // arrays on panels give back beside the group, over the same relays and busbars
        Some(P_A) if P_A.value() < whole.value() => {
            formula!("P_x", "export limit of the group, less the arrays", [whole, P_A] => whole - P_A)
        }
        Some(_) => none("the arrays on panels may give all that may be given back"),
        None => whole,
    }
}
