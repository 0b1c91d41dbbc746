//! The generator: what it gives here, against the worst leg of the backup panel.

use catalog::Generator;
use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Current, Duration, Length, Power, Ratio, TemperatureSpan, above, as_va, positive};
use saying::{Text, say};

use site::GeneratorWish;

use crate::{Case, Ledger};

/// Current that the generator gives here on its worst leg, in amperes: its rating less what its record says for every
/// 100 m above the altitude of its full rating, and no more than its breaker. None without a generator.
pub fn generator_current(case: &Case<'_>) -> Option<Known<Current>> {
    let set = case.generator?;
    let I_g = Known::catalog(
        "I_g",
        "continuous current of the generator per leg",
        set.leg_current,
        &set.id,
        "leg_current",
    );
    let k = derating(case, set);
    let here = formula!("I_g", "current that the generator gives here", [I_g, k] => I_g * k);
    let Some(breaker) = set.breaker else { return Some(here) };
    let breaker = Known::catalog("I_br", "breaker of the generator", breaker, &set.id, "breaker");
    Known::smallest("I_g", "current that the generator gives here", &[here, breaker])
}

/// Active power that the generator gives here: its rating less what altitude and heat take. None without a generator.
pub fn generator_power(case: &Case<'_>) -> Option<Known<Power>> {
    let set = case.generator?;
    let k = derating(case, set);
    let P_g = Known::catalog("P_g", "continuous power of the generator", set.power, &set.id, "power");
    Some(formula!("P_g", "power that the generator gives here", [P_g, k] => P_g * k))
}

/// Share of its rating that the generator gives on the site's fuel, at its altitude and high temperature. Where its
/// record says nothing of heat, that does not count, and the check says so.
fn derating(case: &Case<'_>, set: &Generator) -> Known<Ratio> {
    let k_a = air_factor(case, set);
    let stated = case.site.generator.as_ref().and_then(|g| g.run.fuel_rating.as_ref());
    let Some(stated) = stated else { return k_a };
    let k_f =
        stated.clone().map(|s| s.share()).known("k_f", "share of its rating that it gives on this fuel");
    formula!("k_g", "factor of the generator here", [k_a, k_f] => k_a * k_f)
}

/// Share of its rating that the generator gives at the site's altitude and high temperature.
fn air_factor(case: &Case<'_>, set: &Generator) -> Known<Ratio> {
    let k_h = thin_air_factor(case, set);
    let Some(heat) = &set.heat else { return k_h };
    let T = case.site.temperature.high.known("T", "high temperature outdoors");
    let T_0 = Known::catalog("T_0", "temperature of full rating", heat.full_to, &set.id, "heat full_to");
    let b = Known::catalog("b", "loss for every 10 K", heat.loss_per_10_k.share(), &set.id, "heat loss");
    let step = Known::catalog("d_T", "step of the loss", TemperatureSpan::of(10.0), &set.id, "heat loss");
    let k_T = formula!("k_T", "heat factor of the generator", [T, T_0, b, step] =>
        positive(1.0 - b * (positive(above(T, T_0)) / step)));
    formula!("k_g", "factor of the generator here", [k_h, k_T] => k_h * k_T)
}

/// Share of its rating that the generator gives at the site's altitude.
fn thin_air_factor(case: &Case<'_>, set: &Generator) -> Known<Ratio> {
    let h = case.site.altitude.known("h", "altitude");
    let h_0 = Known::catalog("h_0", "altitude of full rating", set.full_to, &set.id, "altitude full_to");
    let a = Known::catalog("a", "loss for every 100 m", set.loss_per_100_m.share(), &set.id, "altitude loss");
    let step = Known::catalog("d_h", "step of the loss", Length::of(100.0), &set.id, "altitude loss");
    formula!("k_g", "altitude factor of the generator", [h, h_0, a, step] =>
        positive(1.0 - a * (positive(h - h_0) / step)))
}

/// Current per leg to which load and charging must be held, in amperes: the least of the generator's current per leg
/// and of its power and apparent power spread evenly (chargers draw at unity power factor, so the active power
/// counts). None without a generator.
pub fn generator_limit(case: &Case<'_>) -> Option<Known<Current>> {
    let set = case.generator?;
    let leg = generator_current(case)?;
    let k = derating(case, set);
    let (U, m) = (case.voltage(), case.legs());
    let P_g = Known::catalog("P_g", "continuous power of the generator", set.power, &set.id, "power");
    let S_g = Known::catalog(
        "S_g",
        "continuous apparent power of the generator",
        set.apparent,
        &set.id,
        "apparent",
    );
    let by_power: Known<Current> =
        formula!("I_P", "current of its power, evenly", [P_g, k, U, m] => as_va(P_g * k) / U / m);
    let by_apparent: Known<Current> =
        formula!("I_S", "current of its apparent power, evenly", [S_g, k, U, m] => S_g * k / U / m);
    Known::smallest("I_gen", "current per leg to which the generator is held", &[leg, by_power, by_apparent])
}

/// Holds the generator.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    let (Some(set), Some(wish), Some(limit)) =
        (case.generator, &case.site.generator, generator_current(case))
    else {
        return;
    };
    if set.system != case.system() {
        ledger.find(
            Finding::new(
                "generator-system",
                Severity::Error,
                "generator",
                say!(
                    "the generator gives {system}; the group is {system_2}",
                    system = set.system,
                    system_2 = case.system()
                ),
            )
            .at(Some(&wish.model.place), say!("this generator")),
        );
        return;
    }
    stated(case, set, wish, ledger);
    band(case, set, wish, ledger);
    least_load(case, set, wish, ledger);
    let over = |m: &Margin, where_: Text| {
        let helps = case.helps_one_leg();
        let severity = if helps { Severity::Warning } else { Severity::Error };
        let tail = match (helps, case.unit.contributes) {
            (true, _) => say!(": the battery must help, and an empty one cannot"),
            (false, true) => say!(": this family gives both legs the same and cannot help one leg alone"),
            (false, false) => Text::default(),
        };
        let (value, limit) = (&m.value.amount.text, &m.limit.amount.text);
        let message = say!(
            "the backup panel asks for {value}{where_}; the generator gives {limit}{tail}",
            value,
            where_,
            limit,
            tail
        );
        Finding::new("generator-over", severity, "generator", message)
            .at(Some(&wish.model.place), say!("this generator"))
            .fix(say!("choose a larger generator, or shed loads while it runs"))
    };
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        let margin =
            Margin::below("generator", say!("load, {leg}", leg), "generator", &lane.steady_current, &limit);
        ledger.hold(margin, |m| over(m, say!(" on {leg}", leg)));
    }
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return };
    let (Some(power), k) = (generator_power(case), derating(case, set)) else { return };
    let margin = Margin::below("generator", say!("load, power"), "generator", &total.steady_power, &power);
    ledger.hold(margin, |m| over(m, Text::default()));
    let S_g = Known::catalog(
        "S_g",
        "continuous apparent power of the generator",
        set.apparent,
        &set.id,
        "apparent",
    );
    let apparent = formula!("S_g", "apparent power that the generator gives here", [S_g, k] => S_g * k);
    let margin = Margin::below(
        "generator",
        say!("load, apparent power"),
        "generator",
        &total.steady_apparent,
        &apparent,
    );
    ledger.hold(margin, |m| over(m, Text::default()));
}

/// Figures without which something of the generator is not covered.
fn stated(case: &Case<'_>, set: &Generator, wish: &GeneratorWish, ledger: &mut Ledger) {
    let of_set = |what: &str| say!("`{what}` of generator \"{set}\"", what, set = set.id);
    let missing = [
        (set.heat.is_none(), of_set("heat"), say!("what it gives in heat is not known")),
        (
            set.least_load.is_none(),
            of_set("least_load"),
            say!("whether it runs with too little load is not known"),
        ),
        (set.band.is_none(), of_set("band"), say!("whether the units accept it is not known")),
        (
            case.unit.accepts.is_none(),
            say!("`accepts` of unit \"{unit}\"", unit = case.unit.id),
            say!("whether the units accept the generator is not known"),
        ),
    ];
    for (_, what, why) in missing.into_iter().filter(|(missing, _, _)| *missing) {
        ledger.find(
            Finding::new(
                "generator-unstated",
                Severity::NotCovered,
                "generator",
                say!("the catalogue does not state {what}: {why}", what, why),
            )
            .at(Some(&wish.model.place), say!("this generator"))
            .fix(say!("ask the maker, and write the figure into the record")),
        );
    }
}

/// Voltage and frequency of the generator against what the units accept: outside, they drop it or never take it.
fn band(case: &Case<'_>, set: &Generator, wish: &GeneratorWish, ledger: &mut Ledger) {
    let (Some(gives), Some(accepts)) = (&set.band, &case.unit.accepts) else { return };
    let unit = &case.unit.id;
    let outside = |m: &Margin| {
        let (value, limit) = (&m.value.amount.text, &m.limit.amount.text);
        Finding::new(
            "generator-outside-window",
            Severity::Error,
            "generator",
            say!("{what} of the generator is {value}; the units accept {limit}", what = m.what, value, limit),
        )
        .at(Some(&wish.model.place), say!("this generator"))
        .fix(say!("a generator with an electronic governor and a regulator, or units that accept more"))
    };
    let state = "generator, no load to full load";
    let value = Known::catalog("dU", "swing of the voltage", gives.voltage.share(), &set.id, "band voltage");
    let limit =
        Known::catalog("dU", "swing that the units accept", accepts.voltage.share(), unit, "accepts voltage");
    ledger.hold(Margin::below("generator", say!("swing of the voltage"), state, &value, &limit), outside);
    let value = Known::catalog("f", "lowest frequency", gives.lowest, &set.id, "band lowest");
    let limit = Known::catalog("f", "lowest that the units accept", accepts.lowest, unit, "accepts lowest");
    ledger.hold(Margin::above("generator", say!("lowest frequency"), state, &value, &limit), outside);
    let value = Known::catalog("f", "highest frequency", gives.highest, &set.id, "band highest");
    let limit =
        Known::catalog("f", "highest that the units accept", accepts.highest, unit, "accepts highest");
    ledger.hold(Margin::below("generator", say!("highest frequency"), state, &value, &limit), outside);
}

/// With a full battery only the load is left: the mean of the month with the least against what the engine needs.
fn least_load(case: &Case<'_>, set: &Generator, wish: &GeneratorWish, ledger: &mut Ledger) {
    let Some(least) = set.least_load else { return };
    // the longest of each month's name, so that no month shows more than it has
    let means: Vec<Known<Power>> = case
        .demand
        .monthly
        .iter()
        .map(|E| {
            let month = Known::constant("t_m", "longest month", Duration::of(31.0 * 86_400.0), "calendar");
            formula!("P_m", "mean load of a month", [E, month] => E / month)
        })
        .collect();
    let Some(P_m) = Known::smallest("P_m", "mean load of the month with the least", &means) else { return };
    let P_g = Known::catalog("P_g", "continuous power of the generator", set.power, &set.id, "power");
    let share =
        Known::catalog("s", "share under which it must not run for long", least, &set.id, "least_load");
    let limit = formula!("P_min", "least load of the generator", [P_g, share] => P_g * share);
    let margin =
        Margin::above("generator", say!("load left once the battery is full"), "generator", &P_m, &limit);
    ledger.hold(margin, |_| {
        Finding::new(
            "generator-underloaded",
            Severity::Warning,
            "generator",
            say!(
                "once the battery is full the generator carries {p_m} on the mean of the quietest month; under {limit} it must not run for long",
                p_m = P_m.value(),
                limit = limit.value()
            ),
        )
        .at(Some(&wish.model.place), say!("this generator"))
        .fix(say!("let it stop when the battery is charged, or choose a smaller one"))
    });
}
