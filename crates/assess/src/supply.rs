//! What stands before the group: service, generator, and what the utility allows.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::{Current, Power, Quantity, Ratio};
use site::ExportClass;

use crate::{Case, Ledger, positions};

/// Holds service, generator and the utility's rules.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    service(case, ledger);
    limit_settable(case, ledger);
    generator(case, ledger);
    export(case, ledger);
    unbalance(case, ledger);
    phases(case, ledger);
    former(case, ledger);
}

fn service(case: &Case<'_>, ledger: &mut Ledger) {
    if case.layout == Layout::Islanded {
        return;
    }
    let Some(rating) = &case.site.service.rating else { return };
    let limit = rating.known("I_s", "rating of the service");
    let Some(demand) = &case.assessment.service else {
        ledger.find(
            Finding::new(
                "service-not-covered",
                Severity::NotCovered,
                "service",
                "the demand of the service was not found, so its rating could not be held",
            )
            .at(Some(&rating.place), "this rating"),
        );
        return;
    };
    let margin = Margin::below("service", format!("demand, {}", demand.method), "utility", &demand.current, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "service-over-rating",
            Severity::Error,
            "service",
            format!("the demand of the service is {} ({}); it is rated {}", m.value.amount.text, demand.method, m.limit.amount.text),
        )
        .at(Some(&rating.place), "this rating")
        .fix("ask for a larger service, or give the loads their coincidence (never_with, at_once)")
    });
    service_while_charging(case, &demand.current, &limit, ledger);
}

/// The service with charging on top: the chargers take what the input limit leaves beside the load that passes through
/// the units.
fn service_while_charging(case: &Case<'_>, I_d: &Known<Current>, rating: &Known<Current>, ledger: &mut Ledger) {
    let Some(limit) = &case.settings.input_limit else { return };
    let through = match (case.layout, case.demand.worst_leg()) {
        (Layout::Inline, Some((_, lane))) => lane.steady_current.clone(),
        _ => positions::nothing("load through the units", "the transfer switch carries it"),
    };
    let I_ch = &positions::charging(case, limit, &through);
    let with = formula!("I_sch", "demand of the service while charging", [I_d, I_ch] => I_d + I_ch);
    let margin = Margin::below("service", "demand while charging", "utility", &with, rating).held_by("input limit");
    let over = I_d.value() > rating.value();
    if over {
        return; // said already
    }
    ledger.hold(margin, |m| {
        Finding::new(
            "service-over-rating",
            Severity::Error,
            "service",
            format!("while charging the service carries {}; it is rated {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(&case.site.group.place)), "sets the charging")
        .fix("let the tool choose the input limit (input_limit = \"choose\"), or set it lower")
    });
}

/// The input limit against what the family can be set to.
fn limit_settable(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(limit) = &case.settings.input_limit else { return };
    let unit = case.unit;
    let units = match unit.input_limit.scope {
        catalog::LimitScope::Unit => f64::from(case.formation.fewest()),
        catalog::LimitScope::Group => 1.0,
    };
    let (lowest, highest) =
        (unit.input_limit.lowest * units, unit.input_limit.highest * f64::from(case.formation.fewest()));
    let place = case.site.group.input_limit.fixed().map(|i| &i.place);
    if limit.value() > highest {
        ledger.find(
            Finding::new(
                "input-limit-not-settable",
                Severity::Error,
                "group",
                format!("the input limit is {}; the family can be set to at most {highest}", limit.value()),
            )
            .at(place, "this limit"),
        );
    }
    if limit.value() < lowest {
        ledger.find(
            Finding::new(
                "input-limit-not-settable",
                Severity::Warning,
                "group",
                format!(
                    "the input limit would be {}; the family can be set to no less than {lowest}: charging from the utility must stay off",
                    limit.value()
                ),
            )
            .at(place.or(Some(&case.site.group.place)), "this group")
            .fix("ask for a larger service, or let other loads of the service make room (never_with)"),
        );
    }
}

/// What a generator gives here on its worst leg: derated by 1 % (or as its record says) for every 100 m above the
/// altitude of its full rating.
pub fn generator_current(case: &Case<'_>) -> Option<Known<Current>> {
    let set = case.generator?;
    let I_g = Known::catalog("I_g", "continuous current of the generator per leg", set.leg_current, &set.id, "leg_current");
    let h = case.site.altitude.known("h", "altitude");
    let h_0 = Known::catalog("h_0", "altitude of full rating", set.full_to, &set.id, "altitude full_to");
    let a = Known::catalog("a", "loss for every 100 m", set.loss_per_100_m.share(), &set.id, "altitude loss");
    let k: Known<Ratio> = formula!("k_g", "altitude factor of the generator", [h, h_0, a] =>
        Ratio::of((1.0 - (h - h_0).max(quantity::Length::ZERO).si() / 100.0 * a.si()).max(0.0)));
    Some(formula!("I_g", "current that the generator gives here", [I_g, k] => I_g * k))
}

fn generator(case: &Case<'_>, ledger: &mut Ledger) {
    let (Some(set), Some(wish), Some(limit)) = (case.generator, &case.site.generator, generator_current(case)) else {
        return;
    };
    if set.system != case.system() {
        ledger.find(
            Finding::new(
                "generator-system",
                Severity::Error,
                "generator",
                format!("the generator gives {}; the group is {}", set.system, case.system()),
            )
            .at(Some(&wish.model.place), "this generator"),
        );
        return;
    }
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        let margin = Margin::below("generator", format!("load, {leg}"), "generator", &lane.steady_current, &limit);
        let helps = case.helps_one_leg();
        ledger.hold(margin, |m| {
            let severity = if helps { Severity::Warning } else { Severity::Error };
            let tail = match (helps, case.unit.contributes) {
                (true, _) => ": the battery must help, and an empty one cannot",
                (false, true) => ": this family gives both legs the same and cannot help one leg alone",
                (false, false) => "",
            };
            Finding::new(
                "generator-over",
                severity,
                "generator",
                format!("the backup panel asks for {} on {leg}; the generator gives {}{tail}", m.value.amount.text, m.limit.amount.text),
            )
            .at(Some(&wish.model.place), "this generator")
            .fix("choose a larger generator, or shed loads while it runs")
        });
    }
}

fn export(case: &Case<'_>, ledger: &mut Ledger) {
    let P_x = &case.settings.export_limit;
    let class = case.site.utility.export.as_ref();
    if P_x.value() > Power::ZERO && case.unit.export.highest.is_none() {
        ledger.find(
            Finding::new("export-impossible", Severity::Error, "group", format!("{} cannot export", case.unit.id))
                .at(class.map(|c| &c.place), "asks for export")
                .fix("choose a family that exports, or set export = \"none\""),
        );
    }
    let limited = matches!(class.map(|c| c.value), Some(ExportClass::Limited | ExportClass::None) | None);
    let exports = case.unit.export.highest.is_some();
    if limited && exports && !case.unit.export.limit_settable && case.layout != Layout::Islanded {
        ledger.find(
            Finding::new(
                "export-limit-not-settable",
                Severity::Error,
                "group",
                format!("the utility limits export and {} has no export limit to set", case.unit.id),
            )
            .at(class.map(|c| &c.place).or(Some(&case.site.group.unit.place)), "this limit")
            .fix("choose a family with a settable export limit"),
        );
    }
}

fn unbalance(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(cap) = &case.site.utility.unbalance_cap else { return };
    let root = case.site.panels.iter().find(|p| p.fed_from.is_none()).map(|p| &p.id.value);
    let Some(demand) = root.and_then(|id| case.assessment.panels.get(id)) else { return };
    let limit = cap.known("S_u", "unbalance that the utility accepts");
    let margin = Margin::below("service", "difference between phases", "utility", &demand.unbalance, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "unbalance-over-cap",
            Severity::Error,
            "service",
            format!("the phases may differ by {}; the utility accepts {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(Some(&cap.place), "this cap")
        .fix("spread single-phase loads (legs = \"any\"), or let some never run together (never_with)")
    });
}

fn phases(case: &Case<'_>, ledger: &mut Ledger) {
    if case.system().legs().len() == 3 && case.unit.leaves_together && case.layout != Layout::Islanded {
        ledger.find(
            Finding::new(
                "one-phase-takes-all",
                Severity::Note,
                "group",
                "trouble on one phase of the utility takes the whole group off it: all three phases go on battery",
            )
            .at(Some(&case.site.group.unit.place), "this family leaves together"),
        );
    }
    let most = positions::charging_most(case);
    if let Some(limit) = &case.settings.input_limit
        && most.value() > limit.value()
    {
        ledger.find(Finding::new(
            "charging-limited",
            Severity::Note,
            "group",
            format!("charging from the utility is held to {} per leg by the input limit; the units could draw {}", limit.value(), most.value()),
        ));
    }
}

fn former(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(former) = case.former else { return };
    let limit = Known::catalog("I_n", "continuous neutral current of the neutral former", former.neutral, &former.id, "neutral");
    let margin = Margin::below("neutral former", "neutral current", "outage, group carries the panel", &case.demand.neutral, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-over",
            Severity::Error,
            "neutral former",
            format!("the neutral of the backup panel carries up to {}; the neutral former forms {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(Some(&case.site.group.place), "this group")
        .fix("choose a larger neutral former, or spread the line-to-neutral loads")
    });
    if !former.trips_lines {
        ledger.find(
            Finding::new(
                "neutral-former-keeps-lines",
                Severity::Error,
                "neutral former",
                "losing the neutral former would leave the lines live without a neutral: its contact must open the lines",
            )
            .at(Some(&case.site.group.place), "this group")
            .fix("choose a neutral former whose trip contact opens the lines with it"),
        );
    }
    // Its inrush meets the group's current limit when the island forms.
    let surge = &case.rating.surge;
    let n_c = &crate::counted(case.unit, case.formation.units());
    let limit: Known<Current> = formula!("I_lim", "current limit that the group may count on", [surge, n_c] => surge * n_c);
    let inrush = Known::catalog("I_in", "inrush of the neutral former", former.inrush, &former.id, "inrush");
    let margin = Margin::below("neutral former", "inrush", "island forms", &inrush, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "neutral-former-inrush",
            Severity::Error,
            "neutral former",
            format!("energising the neutral former draws {}; the group limits at {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(Some(&case.site.group.place), "this group")
        .fix("add a unit, or choose a neutral former with pre-magnetising")
    });
}
