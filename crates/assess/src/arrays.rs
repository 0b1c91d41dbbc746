//! Arrays on a panel: what the island must take of them, and what they give back to the utility.

use catalog::LegControl;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::full::ArrayIn;
use plant::{ArraySide, Layout};
use quantity::{Apparent, Current, Energy, Leg, Power, Ratio, as_va};
use saying::{Text, say};
use site::ExportClass;

use crate::{Bank, Case, Ledger, unit_flows};

/// Highest power of all arrays on panels together; none without any.
pub fn power(case: &Case<'_>) -> Option<Known<Power>> {
    let each: Vec<Known<Power>> = case.arrays.iter().map(highest).collect();
    (!each.is_empty()).then(|| Known::sum("P_A", "highest power of all arrays on panels", &each))
}

/// Highest power of one array on a panel.
pub(crate) fn highest(array: &ArrayIn<'_>) -> Known<Power> {
    let model = array.model;
    let P_1 = Known::catalog("P_1", "power of one array inverter", model.power, &model.id, "power");
    let n = inverters(array);
    formula!("P_a", format!("highest power of {}", array.id), [P_1, n] => P_1 * n)
}

fn inverters(array: &ArrayIn<'_>) -> Known<Ratio> {
    let n = Ratio::of(f64::from(array.inverters));
    Known::chosen("n", format!("inverters of {}", array.id), n, "design", Vec::new())
}

/// Highest current per line of the arrays that `counts` takes.
fn current(case: &Case<'_>, what: &str, counts: impl Fn(&ArrayIn<'_>) -> bool) -> Option<Known<Current>> {
    let each = case.arrays.iter().filter(|a| counts(a)).map(|array| {
        let model = array.model;
        let I_1 = Known::catalog("I_1", "current of one array inverter", model.current, &model.id, "current");
        let n = inverters(array);
        formula!("I_a", format!("highest current of {}", array.id), [I_1, n] => I_1 * n)
    });
    let each: Vec<Known<Current>> = each.collect();
    (!each.is_empty()).then(|| Known::sum("I_A", what, &each))
}

/// Holds the arrays on panels.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    if case.arrays.is_empty() {
        return;
    }
    absorption(case, ledger);
    curtailment(case, ledger);
    if case.layout != Layout::Islanded {
        export(case, ledger);
        service(case, ledger);
        transformer(case, ledger);
    }
}

/// In the island the units must take what the loads leave of an array: with a load just gone, all of it. What they can
/// take for any time is what their chargers draw; where every inverter falls off with rising frequency, only until that
/// has happened, so then their rated current counts. Both with one unit out where the site asks for that.
fn absorption(case: &Case<'_>, ledger: &mut Ledger) {
    let backup = |a: &ArrayIn<'_>| a.side == ArraySide::Backup;
    let what = "highest current of the arrays on the backup panel, per line";
    let Some(I_A) = current(case, what, backup) else { return };
    let curtailed = case.arrays.iter().filter(|a| backup(a)).all(|a| a.model.frequency_watt.is_some());
    let limits: Vec<Known<Current>> = case
        .system()
        .legs()
        .iter()
        .map(|&leg| if curtailed { rated(case, leg) } else { charging(case, leg) })
        .collect();
    let Some(limit) = Known::smallest("I_ab", "what the units take on the weakest leg", &limits) else {
        return;
    };
    let state = "outage, load just gone";
    let margin = Margin::below("group", say!("array current to absorb"), state, &I_A, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "array-over-absorption",
            Severity::Error,
            "group",
            say!(
                "in an outage the arrays may give {value} on each line; the units take {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(place(case), say!("this array"))
        .by("common practice")
        .fix(say!(
            "a smaller array on the backup panel, more units, or an array on the main panel or on the DC bus"
        ))
    });
}

/// A full battery takes nothing, nor does a cold one that its management keeps from charging. Then only the frequency
/// of the island holds an array back: every array inverter behind the group must be off at or under the frequency to
/// which the units raise it.
fn curtailment(case: &Case<'_>, ledger: &mut Ledger) {
    let state = "outage, full battery";
    let behind: Vec<&ArrayIn<'_>> = case.arrays.iter().filter(|a| a.side == ArraySide::Backup).collect();
    let over = |part: &str, message: Text| {
        Finding::new("array-over-absorption", Severity::Error, part, message)
            .in_state(state)
            .by("common practice")
            .fix(say!(
                "array inverters that are off at a frequency to which the units raise the island, or an array on the main panel or on the DC bus"
            ))
            .at(place(case), say!("this array"))
    };
    for array in &behind {
        let Some(curve) = array.model.frequency_watt else {
            let message = say!(
                "{model} does not fall off with frequency: nothing takes its power when the battery is full",
                model = array.model.id
            );
            ledger.find(over(&array.id, message));
            continue;
        };
        let Some(island) = &case.unit.island_frequency else {
            let message = say!(
                "the catalogue does not state to which frequency {unit} raises its island: whether {array} is off with a full battery is not known",
                unit = case.unit.id,
                array = array.id
            );
            ledger.find(
                Finding::new("array-not-covered", Severity::NotCovered, &array.id, message)
                    .in_state(state)
                    .at(place(case), say!("this array"))
                    .fix(say!("ask the maker for `island_frequency`, and write it into the record")),
            );
            continue;
        };
        let (unit, model) = (case.unit, array.model);
        let f_r = Known::catalog(
            "f_r",
            "frequency to which the units raise the island",
            island.raises_to,
            &unit.id,
            "island_frequency raises_to",
        );
        let f_0 = Known::catalog(
            "f_0",
            "frequency from which the array inverter gives nothing",
            curve.stop,
            &model.id,
            "frequency_watt stop",
        );
        let margin = Margin::below(&array.id, say!("frequency at which the array is off"), state, &f_0, &f_r);
        ledger.hold(margin, |m| {
            let message = say!(
                "{model} gives nothing only from {value}; the units raise the island to {limit}",
                model = model.id,
                value = m.value.amount.text,
                limit = m.limit.amount.text
            );
            over(&array.id, message)
        });
        let message = say!(
            "the island goes up to {raises_to} while the array is held back: that the loads bear it is not looked at",
            raises_to = island.raises_to
        );
        ledger.find(Finding::new("outside-scope", Severity::OutsideScope, &array.id, message));
    }
    if behind.is_empty() || case.bank.is_some() || case.site.battery.place.is_some() {
        return;
    }
    ledger.find(
        Finding::new(
            "array-not-covered",
            Severity::NotCovered,
            "battery",
            say!("an array on the backup panel feeds a battery of which the site says nothing: what it takes is not known"),
        )
        .at(place(case), say!("this array"))
        .fix(say!("a [battery] table")),
    );
}

/// Until the arrays are off their power flows into a full bank. How far that lifts it is the maker's word: so much bank
/// for so much array.
pub(crate) fn full_bank(case: &Case<'_>, bank: &Bank<'_>, ledger: &mut Ledger) {
    let each = case.arrays.iter().filter(|a| a.side == ArraySide::Backup).map(highest);
    let each: Vec<Known<Power>> = each.collect();
    if each.is_empty() {
        return;
    }
    let unit = case.unit;
    // without any frequency at all it is not covered for that
    let Some(island) = &unit.island_frequency else { return };
    let Some(least) = island.least_bank else {
        return ledger.find(
            Finding::new(
                "array-not-covered",
                Severity::NotCovered,
                "battery",
                say!(
                    "the catalogue does not state how large a bank {unit} asks for behind an array: how far a full one is lifted until the array is off is not known",
                    unit = unit.id
                ),
            )
            .at(place(case), say!("this array"))
            .fix(say!("ask the maker for `least_bank` of `island_frequency`, and write it into the record")),
        );
    };
    let model = bank.model;
    let (U, Q) = (
        Known::catalog("U_1", "nominal voltage of a module", model.nominal, &model.id, "nominal"),
        Known::catalog("Q_1", "rated charge of a module", model.capacity, &model.id, "capacity"),
    );
    let n_s =
        Known::catalog("n_s", "modules in series", Ratio::of(f64::from(model.series)), &model.id, "series");
    let n_p = Known::chosen("n_p", "strings", Ratio::of(f64::from(bank.strings)), "design", Vec::new());
    let E: Known<Energy> = formula!("E", "rated energy of the bank", [U, Q, n_s, n_p] => U * Q * n_s * n_p);
    let P_A = Known::sum("P_A", "highest power of the arrays on the backup panel", &each);
    let t = Known::catalog(
        "t_b",
        "energy of the bank over the power of the arrays, at least",
        least,
        &unit.id,
        "island_frequency least_bank",
    );
    let least: Known<Energy> =
        formula!("E_min", "least rated energy behind these arrays", [P_A, t] => P_A * t);
    let margin =
        Margin::above("battery", say!("bank behind arrays on the panel"), "outage, full battery", &E, &least);
    ledger.hold(margin, |m| {
        let message = say!(
            "the bank has {value}; behind these arrays the units ask for {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        );
        Finding::new("array-over-absorption", Severity::Error, "battery", message)
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("more strings, or a smaller array on the backup panel"))
    });
}

/// Share of the units of a leg that are in service.
fn in_service(case: &Case<'_>) -> Known<Ratio> {
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    let all = case.formation.fewest().max(1);
    let share = f64::from(all.saturating_sub(out)) / f64::from(all);
    Known::chosen(
        "s_n",
        "share of the units in service",
        Ratio::of(share),
        "formation, one out if wished",
        Vec::new(),
    )
}

fn charging(case: &Case<'_>, leg: Leg) -> Known<Current> {
    let (I_ch, s_n) = (unit_flows::charging_most(case, leg), in_service(case));
    formula!("I_ab", format!("current that the chargers take on {leg}"), [I_ch, s_n] => I_ch * s_n)
}

fn rated(case: &Case<'_>, leg: Leg) -> Known<Current> {
    let (S_1, U, s_n) = (&case.rating.leg_apparent, case.voltage(), in_service(case));
    let n = Known::chosen(
        "n",
        format!("units on {leg}"),
        Ratio::of(f64::from(case.formation.on(leg))),
        "formation",
        Vec::new(),
    );
    let what = format!("rated current of the units on {leg}");
    if case.unit.leg_control == LegControl::LineToLine {
        let m = case.legs();
        return formula!("I_ab", what, [S_1, n, s_n, U, m] => S_1 * n * s_n / U / m);
    }
    formula!("I_ab", what, [S_1, n, s_n, U] => S_1 * n * s_n / U)
}

/// What the utility takes: arrays and group together.
fn export(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(P_A) = power(case) else { return };
    let utility = &case.site.utility;
    let P_x = &case.settings.export_limit;
    let out = Known::sum("P_out", "export of arrays and group", &[P_A, P_x.clone()]);
    let none = || Known::assumed("P_u", "what the utility takes back", Power::ZERO, "no export is agreed");
    let limit = match utility.export.as_ref().map(|class| class.value) {
        Some(ExportClass::Full) => return,
        Some(ExportClass::Limited) => utility
            .export_limit
            .as_ref()
            .map_or_else(none, |limit| limit.known("P_u", "export limit of the utility")),
        Some(ExportClass::None) | None => none(),
    };
    let margin = Margin::below("service", say!("export of arrays and group"), "utility", &out, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "array-over-export",
            Severity::Error,
            "service",
            say!(
                "arrays and group may export {value}; the utility takes {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(place(case), say!("nothing here holds this array back"))
        .fix(say!("a smaller array, another agreement with the utility, or an array on the DC bus"))
    });
}

/// What the service carries back.
fn service(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(rating) = &case.site.service.rating else { return };
    let Some(I_A) = current(case, "highest current of the arrays, per line", |_| true) else { return };
    let most =
        case.system().legs().iter().map(|&leg| unit_flows::exporting(case, &case.settings.export_limit, leg));
    let mut all: Vec<Known<Current>> = vec![I_A];
    all.extend(Known::largest("I_x", "export of the group on its largest leg", &most.collect::<Vec<_>>()));
    let out = Known::sum("I_out", "current of arrays and group back to the utility", &all);
    let limit = rating.known("I_s", "rating of the service");
    let margin = Margin::below("service", say!("current exporting with arrays"), "utility", &out, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "array-over-service",
            Severity::Error,
            "service",
            say!(
                "arrays and group may give back {value}; the service is rated {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(place(case), say!("this array"))
        .fix(say!("a smaller array, or a lower export limit"))
    });
}

/// What the supply transformer carries back. It is the utility's to size, so this warns.
fn transformer(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(rating) = &case.site.service.transformer_rating else { return };
    let each = case.arrays.iter().map(|array| {
        let model = array.model;
        let S_1 = Known::catalog(
            "S_1",
            "apparent power of one array inverter",
            model.apparent,
            &model.id,
            "apparent",
        );
        let n = inverters(array);
        formula!("S_a", format!("apparent power of {}", array.id), [S_1, n] => S_1 * n)
    });
    let P_x = &case.settings.export_limit;
    let group = formula!("S_x", "export of the group", [P_x] => as_va(P_x));
    let all: Vec<Known<Apparent>> = each.chain([group]).collect();
    let out = Known::sum("S_out", "export of arrays and group", &all);
    let limit = rating.known("S_t", "rating of the supply transformer");
    let margin = Margin::below("transformer", say!("export of arrays and group"), "utility", &out, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "transformer-over",
            Severity::Warning,
            "service",
            say!(
                "arrays and group may give back {value}; the supply transformer is rated {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(place(case), say!("this array"))
        .fix(say!("ask the utility"))
    });
}

fn place<'c>(case: &'c Case<'_>) -> Option<&'c derivation::Place> {
    let on_panel = |a: &&site::Array| matches!(a.coupling, site::Coupling::Ac { .. });
    case.site.arrays.iter().find(on_panel).map(|a| &a.place)
}
