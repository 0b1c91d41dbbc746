//! Energy: the wished outage at the mean demand of the worst month, or by the sections of a duty for lead-acid.

use catalog::Chemistry;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Charge, DcCurrent, Duration, Energy, Power, Quantity, Ratio, as_va, as_w};
use saying::{Text, say};
use storage::energy::{DailyUse, bank as sized};
use storage::sections::{CapacityRating, Factors, Period, sections};

use super::draw::{Given, draws, from_bus, given};
use super::record::{ageing_factor, cold_factor, nominal_voltage};
use super::strings::strings_more as more;
use super::{Bank, unstated};
use crate::{Case, Ledger};

const DAY_H: f64 = 24.0;

/// What the bank must hold, as rated charge, or what is missing for it.
enum Needed {
    Charge(Known<Charge>),
    Missing(Text, Text),
    /// No outage is wished.
    Nothing,
    /// Not known, and said elsewhere.
    Said,
}

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, ledger: &mut Ledger) {
    match needed(case, bank) {
        Needed::Nothing => ledger.find(
            Finding::new(
                "bank-energy-open",
                Severity::Note,
                "battery",
                say!("no outage is wished: the bank is sized by power alone"),
            )
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("state `outage` among the wishes")),
        ),
        Needed::Said => {}
        Needed::Missing(what, why) => ledger.find(unstated(bank, &what, &why)),
        Needed::Charge(needed) => {
            let installed = installed(bank);
            let margin =
                Margin::above("battery", say!("rated charge"), "outage as wished", &installed, &needed);
            ledger.hold(margin, |m| {
                let short = Charge::of(m.limit.amount.si - m.value.amount.si);
                let strings = (short.si() / bank.model.capacity.si()).ceil().max(1.0);
                Finding::new(
                    "bank-energy-short",
                    Severity::Error,
                    "battery",
                    say!(
                        "the wished outage asks for {limit} at {nominal_voltage}; {value} are there",
                        limit = m.limit.amount.text,
                        nominal_voltage = nominal_voltage(bank.model).value(),
                        value = m.value.amount.text
                    ),
                )
                .at(Some(&bank.place), say!("this battery"))
                .fix(more(bank, strings, say!("a shorter outage")))
            });
            ledger.find(
                Finding::new(
                    "bank-energy-mean",
                    Severity::Note,
                    "battery",
                    say!("the energy is that of a full battery and the mean demand of the worst month, and no less than the busiest 3 h: an outage that begins with the evening's load, or with a battery that is not full, is shorter"),
                )
                .at(Some(&bank.place), say!("this battery")),
            );
        }
    }
}

/// The fewest strings that hold the energy; one where nothing can be said.
pub fn least_strings(case: &Case<'_>, bank: &Bank<'_>) -> (u32, Option<Known<Charge>>) {
    let Needed::Charge(needed) = needed(case, bank) else { return (1, None) };
    let strings = (needed.value().si() / bank.model.capacity.si() - 1e-9).ceil().clamp(1.0, 10_000.0);
    (strings as u32, Some(needed))
}

fn installed(bank: &Bank<'_>) -> Known<Charge> {
    let n = Known::chosen("n_p", "strings", Ratio::of(f64::from(bank.strings)), "counted", Vec::new());
    let C_1 =
        Known::catalog("C_1", "rated charge of a module", bank.model.capacity, &bank.model.id, "capacity");
    formula!("C", "rated charge of the bank", [n, C_1] => n * C_1)
}

/// The mean power from the bus in the month with the most energy.
fn mean_power(case: &Case<'_>) -> Option<Known<Power>> {
    const DAYS: [f64; 12] = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let means: Vec<Known<Power>> = case
        .demand
        .monthly
        .iter()
        .zip(DAYS)
        .map(|(E, days)| {
            let month =
                Known::factor("h", "hours of the month", days * DAY_H, "calendar, the shortest such month");
            let hour = Known::constant("t_1", "one hour", Duration::of(3600.0), "definition");
            formula!("P_m", "mean power of a month", [E, month, hour] => E / hour / month)
        })
        .collect();
    let P = Known::largest("P_m", "mean power of the month with the most", &means)?;
    Some(from_bus(case, &mean_given(case, P)?))
}

/// What the units give in the mean: apparent over active power as in the demand at its worst, and the fullest leg as
/// in the longest listed demand, since losses rise faster than the load.
fn mean_given(case: &Case<'_>, P: Known<Power>) -> Option<Given> {
    let total = case.demand.lanes.get(&demand::Lane::Total)?;
    let times = [None].into_iter().chain(total.curve.iter().map(|point| Some(point.lasts)));
    let all: Vec<Given> = times.filter_map(|lasts| given(case, lasts)).collect();
    let ratios = all.iter().filter(|given| given.group.value() > Power::ZERO).map(|given| {
        let (S_u, P) = (&given.apparent, &given.group);
        formula!("k", "apparent power of a unit for the group's active power", [S_u, P] => as_w(S_u) / P)
    });
    let k = Known::largest("k", "its largest", &ratios.collect::<Vec<_>>());
    let k = k.unwrap_or_else(|| Known::factor("k", "no load", 0.0, "no load"));
    let apparent = formula!("S_u", "largest part of one unit in the mean, apparent", [P, k] => as_va(P) * k);
    let full = [apparent.clone(), all.last()?.fullest.clone()];
    let fullest = Known::largest("S_f", "as full as in the longest listed demand", &full)?;
    let unit = formula!("P_u", "power of one unit in the mean", [P] => P);
    Some(Given { group: P, unit, apparent, fullest })
}

/// Energy of the busiest hours, as many as the outage lasts and the demand-duration curve reaches: an outage that begins
/// with them needs no less.
fn busiest(case: &Case<'_>, t: &Known<Duration>) -> Option<Known<Energy>> {
    let total = case.demand.lanes.get(&demand::Lane::Total)?;
    let highest = given(case, None)?;
    let last = total.curve.last().map_or_else(|| t.value(), |point| point.lasts);
    let t_b = Known::chosen(
        "t_b",
        "busiest hours",
        t.value().min(last),
        "outage, as far as the curve reaches",
        vec![t.node().clone()],
    );
    let P_b = from_bus(case, &highest);
    let mut all = vec![formula!("E_b", "energy at the highest load all the time", [P_b, t_b] => P_b * t_b)];
    for point in &total.curve {
        let mut given = given(case, Some(point.lasts))?;
        // within the window the load may be as high as it ever is, and losses rise faster than the load
        given.fullest = highest.fullest.clone();
        let P_b = from_bus(case, &given);
        let d = Known::chosen("d", "length of a window", point.lasts, "demand-duration curve", Vec::new());
        let n = covering(t_b.value(), point.lasts);
        let n =
            Known::chosen("n_w", "windows that cover it", Ratio::of(n), "counted", vec![t_b.node().clone()]);
        all.push(formula!("E_b", "energy of the windows that cover it", [P_b, d, n] => P_b * d * n));
    }
    Known::smallest("E_b", "energy of the busiest hours, at most", &all)
}

/// How many windows of a length cover a time: the mean over a window bounds its energy, not that of a part of it.
fn covering(time: Duration, window: Duration) -> f64 {
    (time.si() / window.si().max(1e-9) - 1e-9).ceil().max(1.0)
}

/// Factor for cold: rated charge over what is given at the listed temperature at or below.
fn cold(case: &Case<'_>, bank: &Bank<'_>) -> Result<Known<Ratio>, Needed> {
    let model = bank.model;
    let missing = |what: Text, why: Text| {
        Needed::Missing(say!("{what} of battery \"{model}\"", what, model = model.id), why)
    };
    let Some(lowest) = &case.site.battery.lowest else { return Err(Needed::Said) };
    cold_factor(model, lowest.value).ok_or_else(|| match model.cold.first() {
        Some((coldest, _)) => missing(
            say!("`cold` below {coldest}", coldest),
            say!(
                "what it gives at {lowest}, the lowest temperature where it stands, is not known",
                lowest = lowest.value
            ),
        ),
        None => missing(say!("`cold`"), say!("what it gives at the lowest temperature is not known")),
    })
}

fn needed(case: &Case<'_>, bank: &Bank<'_>) -> Needed {
    let Some(outage) = &case.site.wish.outage else { return Needed::Nothing };
    let model = bank.model;
    let t = outage.known("t", "outage to be carried");
    let Some(P) = mean_power(case) else {
        return Needed::Missing(say!("energy of the months"), say!("the demand gives none"));
    };
    let Some(ageing) = ageing_factor(model) else {
        let what = say!("`end_of_life` of battery \"{model}\"", model = model.id);
        return Needed::Missing(what, say!("what a worn battery holds is not known"));
    };
    let temperature = match cold(case, bank) {
        Ok(factor) => factor,
        Err(missing) => return missing,
    };
    if model.chemistry == Chemistry::FloodedLeadAcid && model.rated_currents.is_empty() {
        let what = say!("`rated_currents` of battery \"{model}\"", model = model.id);
        return Needed::Missing(what, say!("lead-acid gives less the faster it is drawn"));
    }
    let depth = Known::catalog("d", "share that may be used", model.usable, &model.id, "usable");
    let V = nominal_voltage(model);
    let by_mean: Known<Energy> = formula!("E_m", "energy of the outage at the mean", [P, t] => P * t);
    let all = [Some(by_mean.clone()), busiest(case, &t)].into_iter().flatten().collect::<Vec<_>>();
    let E = Known::largest("E", "energy from the bus, of the mean or of the busiest hours", &all)
        .unwrap_or(by_mean);
    let plain = DailyUse {
        daily: E,
        days: Known::factor("n_d", "the outage as a whole", 1.0, "as wished"),
        losses: Known::factor("l", "losses, in the power from the bus", 0.0, "counted there"),
        efficiency: Known::factor("eta", "efficiency, in the power from the bus", 1.0, "counted there"),
        depth,
        temperature: temperature.clone(),
        ageing: ageing.clone(),
        voltage: V,
    };
    let by_energy = match sized(&plain) {
        Ok(found) => found.charge,
        Err(why) => return Needed::Missing(say!("a figure in its range"), why.to_string().into()),
    };
    if model.chemistry != Chemistry::FloodedLeadAcid {
        return Needed::Charge(by_energy);
    }
    match by_sections(case, bank, &P, &t, (&temperature, &ageing)) {
        Err(why) => Needed::Missing(say!("a duty that its `rated_currents` reach"), why.into()),
        Ok(by_duty) => {
            let ways = [by_energy.clone(), by_duty];
            Needed::Charge(
                Known::largest("C", "rated charge, by energy or by duty", &ways).unwrap_or(by_energy),
            )
        }
    }
}

/// The mean current, and the highest load for its time at the end, where it hurts most. Rated hours come from the next
/// longer listed time, which is never less: the current only rises in this duty.
fn by_sections(
    case: &Case<'_>,
    bank: &Bank<'_>,
    P: &Known<Power>,
    t: &Known<Duration>,
    (temperature, ageing): (&Known<Ratio>, &Known<Ratio>),
) -> Result<Known<Charge>, String> {
    let V = Known::catalog(
        "V_low",
        "lowest working voltage of the units",
        case.unit.dc.lowest,
        &case.unit.id,
        "dc lowest",
    );
    let I_m: Known<DcCurrent> = formula!("I_m", "mean current, at the lowest voltage", [P, V] => P / V);
    let highest: Vec<_> = draws(case).into_iter().filter_map(|d| Some((d.group, d.lasts?))).collect();
    let mut all = Vec::new();
    for (P_h, lasts) in &highest {
        let I_h: Known<DcCurrent> = formula!("I_h", "current of the highest load", [P_h, V] => P_h / V);
        let I_h =
            Known::largest("I_h", "current at the end", &[I_h, I_m.clone()]).unwrap_or_else(|| I_m.clone());
        let whole = t.value();
        let last = lasts.min(whole);
        let rest = Duration::of(whole.si() - last.si());
        let time = |symbol: &str, what: &str, of: Duration| {
            Known::chosen(symbol, what, of, "of the outage", vec![t.node().clone()])
        };
        let rated = |of: Duration| rated_hours(bank, of);
        let end = Period { current: I_h, lasts: time("t_2", "at the end", last) };
        let (periods, listed) = if rest.si() > 0.0 {
            let before = Period { current: I_m.clone(), lasts: time("t_1", "before", rest) };
            (vec![before, end], vec![rated(rest)?, rated(whole)?, rated(last)?])
        } else {
            (vec![end], vec![rated(whole)?])
        };
        let factors = Factors {
            temperature: temperature.clone(),
            margin: Known::factor("k_m", "design margin", 1.0, "none asked for"),
            ageing: ageing.clone(),
        };
        let found =
            sections(&periods, &CapacityRating::Listed(listed), &factors).map_err(|why| why.to_string())?;
        all.push(found.required);
    }
    Known::largest("C_d", "rated charge by the duty", &all).ok_or_else(|| "there is no load".to_owned())
}

/// Rated ampere-hours for each ampere over a time. Beyond the longest listed time a battery gives no less than there.
fn rated_hours(bank: &Bank<'_>, of: Duration) -> Result<Known<Duration>, String> {
    let model = bank.model;
    let listed = model.rated_currents.iter().rev().find(|step| step.lasts >= of);
    let C = Known::catalog("C_1", "rated charge", model.capacity, &model.id, "capacity");
    let Some(step) = listed.or(model.rated_currents.first()) else {
        return Err("no currents are listed".to_owned());
    };
    let I = Known::catalog(
        "I_t",
        format!("current for {}", step.lasts),
        step.current,
        &model.id,
        "rated_currents",
    );
    let K = formula!("K", "rated charge for each ampere", [C, I] => C / I);
    if listed.is_some() {
        return Ok(K);
    }
    let (longest, asked) = (
        Known::catalog("t_L", "longest listed time", step.lasts, &model.id, "rated_currents"),
        Known::chosen("t", "time of the section", of, "of the duty", Vec::new()),
    );
    Ok(
        formula!("K", "rated charge for each ampere, beyond the longest listed time", [K, asked, longest] => K * (asked / longest)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Energy of a step schedule between two times, in steps.
    fn within(schedule: &[f64], from: usize, length: usize) -> f64 {
        schedule.iter().skip(from).take(length).sum()
    }

    proptest! {
        /// Whatever runs when: no window has more energy than the windows of the curve that cover it, taken at the
        /// highest mean that a window of their length has anywhere.
        #[test]
        fn no_schedule_has_more_energy_than_the_windows_that_cover_it(
            schedule in prop::collection::vec(prop_oneof![Just(0.0), 0.0..9.0_f64], 40..160),
            length in 1_usize..40,
            windows in prop::collection::vec(1_usize..40, 1..6),
        ) {
            let most = |length: usize| {
                (0..schedule.len()).map(|from| within(&schedule, from, length)).fold(0.0, f64::max)
            };
            let time = |steps: usize| Duration::of(60.0 * steps as f64);
            for window in windows {
                let n = covering(time(length), time(window));
                prop_assert!(most(length) <= most(window) * n + 1e-9);
                prop_assert!(n * window as f64 >= length as f64 && (n - 1.0) * (window as f64) < length as f64);
            }
        }
    }
}
