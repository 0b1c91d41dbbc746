//! The generator: what it gives here, against the worst leg of the backup panel.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Current, Quantity, Ratio};

use crate::{Case, Ledger};

/// Current that the generator gives here on its worst leg, in amperes: its rating less what its record says for every
/// 100 m above the altitude of its full rating. None without a generator.
pub fn generator_current(case: &Case<'_>) -> Option<Known<Current>> {
    let set = case.generator?;
    let I_g = Known::catalog(
        "I_g",
        "continuous current of the generator per leg",
        set.leg_current,
        &set.id,
        "leg_current",
    );
    let h = case.site.altitude.known("h", "altitude");
    let h_0 = Known::catalog("h_0", "altitude of full rating", set.full_to, &set.id, "altitude full_to");
    let a = Known::catalog("a", "loss for every 100 m", set.loss_per_100_m.share(), &set.id, "altitude loss");
    let k: Known<Ratio> = formula!("k_g", "altitude factor of the generator", [h, h_0, a] =>
        Ratio::of((1.0 - (h - h_0).max(quantity::Length::ZERO).si() / 100.0 * a.si()).max(0.0)));
    Some(formula!("I_g", "current that the generator gives here", [I_g, k] => I_g * k))
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
    for &leg in case.system().legs() {
        let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { continue };
        let margin =
            Margin::below("generator", format!("load, {leg}"), "generator", &lane.steady_current, &limit);
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
                format!(
                    "the backup panel asks for {} on {leg}; the generator gives {}{tail}",
                    m.value.amount.text, m.limit.amount.text
                ),
            )
            .at(Some(&wish.model.place), "this generator")
            .fix("choose a larger generator, or shed loads while it runs")
        });
    }
}
