//! The generator: what it gives here, against the worst leg of the backup panel.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Current, Length, Ratio, as_va, positive};

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
    let k = altitude_factor(case, set);
    let here = formula!("I_g", "current that the generator gives here", [I_g, k] => I_g * k);
    let Some(breaker) = set.breaker else { return Some(here) };
    let breaker = Known::catalog("I_br", "breaker of the generator", breaker, &set.id, "breaker");
    Known::smallest("I_g", "current that the generator gives here", &[here, breaker])
}

/// Share of its rating that the generator gives at the site's altitude.
fn altitude_factor(case: &Case<'_>, set: &catalog::Generator) -> Known<Ratio> {
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
    let k = altitude_factor(case, set);
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
                format!("the generator gives {}; the group is {}", set.system, case.system()),
            )
            .at(Some(&wish.model.place), "this generator"),
        );
        return;
    }
    let over = |m: &Margin, where_: &str| {
        let helps = case.helps_one_leg();
        let severity = if helps { Severity::Warning } else { Severity::Error };
        let tail = match (helps, case.unit.contributes) {
            (true, _) => ": the battery must help, and an empty one cannot",
            (false, true) => ": this family gives both legs the same and cannot help one leg alone",
            (false, false) => "",
        };
        let (value, limit) = (&m.value.amount.text, &m.limit.amount.text);
        let message = format!("the backup panel asks for {value}{where_}; the generator gives {limit}{tail}");
        Finding::new("generator-over", severity, "generator", message)
            .at(Some(&wish.model.place), "this generator")
            .fix("choose a larger generator, or shed loads while it runs")
    };
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        let margin =
            Margin::below("generator", format!("load, {leg}"), "generator", &lane.steady_current, &limit);
        ledger.hold(margin, |m| over(m, &format!(" on {leg}")));
    }
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return };
    let k = altitude_factor(case, set);
    let P_g = Known::catalog("P_g", "continuous power of the generator", set.power, &set.id, "power");
    let power = formula!("P_g", "power that the generator gives here", [P_g, k] => P_g * k);
    let margin = Margin::below("generator", "load, power", "generator", &total.steady_power, &power);
    ledger.hold(margin, |m| over(m, ""));
    let S_g = Known::catalog(
        "S_g",
        "continuous apparent power of the generator",
        set.apparent,
        &set.id,
        "apparent",
    );
    let apparent = formula!("S_g", "apparent power that the generator gives here", [S_g, k] => S_g * k);
    let margin =
        Margin::below("generator", "load, apparent power", "generator", &total.steady_apparent, &apparent);
    ledger.hold(margin, |m| over(m, ""));
}
