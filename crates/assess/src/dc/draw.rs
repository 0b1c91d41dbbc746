//! What the units draw from the bus, for every duration and every motor start.

use demand::{Lane, LaneDemand};
use derivation::{Known, formula};
use quantity::{Apparent, Duration, Power, Quantity, Ratio, as_w};

use crate::{Case, counted};

/// A demand and how long it may last at most.
#[derive(Debug, Clone)]
pub(crate) struct Draw {
    /// As people say it.
    pub state: String,
    /// The longest that it may last; none = for any time.
    pub lasts: Option<Duration>,
    /// From the bus by all units together, losses included.
    pub group: Known<Power>,
    /// From the bus by the unit that draws most.
    pub unit: Known<Power>,
}

/// What the units give at their outputs.
pub(super) struct Given {
    /// All units together.
    pub group: Known<Power>,
    /// The unit that gives most active power.
    pub unit: Known<Power>,
    /// Apparent power of the unit that gives most, its legs added up.
    pub apparent: Known<Apparent>,
    /// That unit, as if every leg of it gave what the fullest gives.
    pub fullest: Known<Apparent>,
}

/// All of them; the last is that for any time.
pub(crate) fn draws(case: &Case<'_>) -> Vec<Draw> {
    let mut all = starts(case);
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return all };
    let steps: Vec<Option<Duration>> = total.curve.iter().map(|p| Some(p.lasts)).collect();
    // what lasts at least as long as one listed duration may go on until the next
    let until = steps.first().copied().flatten();
    all.extend(given(case, None).map(|given| draw(case, "outage, highest load".to_owned(), until, &given)));
    for (k, point) in total.curve.iter().enumerate() {
        let until = steps.get(k + 1).copied().flatten();
        let state = match until {
            Some(until) => format!("outage, load of {} to {until}", point.lasts),
            None => format!("outage, load of {} and longer", point.lasts),
        };
        all.extend(given(case, Some(point.lasts)).map(|given| draw(case, state, until, &given)));
    }
    all
}

fn draw(case: &Case<'_>, state: String, lasts: Option<Duration>, given: &Given) -> Draw {
    let P_l = losses(case, given);
    let P_u = &given.unit;
    let unit = formula!("P_dc", "power of a unit from the bus, losses included", [P_u, P_l] => P_u + P_l);
    Draw { state, lasts, group: from_bus(case, given), unit }
}

pub(super) fn units(case: &Case<'_>) -> Known<Ratio> {
    let n = Ratio::of(f64::from(case.formation.units().max(1)));
    Known::chosen("n", "units", n, "formation", Vec::new())
}

/// Active and apparent power of a lane that may last so long; the highest at all without a time.
fn level(lane: &LaneDemand, lasts: Option<Duration>) -> (Known<Power>, Known<Apparent>) {
    let point = lasts.and_then(|lasts| lane.curve.iter().find(|p| p.lasts == lasts));
    point.map_or_else(
        || (lane.steady_power.clone(), lane.steady_apparent.clone()),
        |point| (point.power.clone(), point.apparent.clone()),
    )
}

/// What the units give of a demand that may last so long; of the highest at all without a time.
pub(super) fn given(case: &Case<'_>, lasts: Option<Duration>) -> Option<Given> {
    let (group, _) = level(case.demand.lanes.get(&Lane::Total)?, lasts);
    let legs = case.demand.lanes.iter().filter_map(|(lane, demand)| match lane {
        Lane::Leg(leg) => Some((*leg, level(demand, lasts))),
        Lane::Total => None,
    });
    let (legs, powers): (Vec<_>, Vec<_>) = legs.map(|(leg, (P, S))| ((leg, S), (leg, P))).unzip();
    of_units(case, group, &powers, &legs)
}

type OnLegs<Q> = [(quantity::Leg, Known<Q>)];

/// The part of one unit in what the group and each leg asks for.
fn of_units(
    case: &Case<'_>,
    group: Known<Power>,
    powers: &OnLegs<Power>,
    legs: &OnLegs<Apparent>,
) -> Option<Given> {
    let (what_P, what_S) = ("largest part of one unit", "largest part of one unit, apparent");
    if case.unit.leg_control == catalog::LegControl::OneLeg {
        let on = |leg: &quantity::Leg| counted(case.unit, case.formation.on(*leg).max(1));
        let of_P = powers.iter().map(|(leg, P)| {
            let n_c = on(leg);
            formula!("P_u", what_P, [P, n_c] => P / n_c)
        });
        let of_S = legs.iter().map(|(leg, S)| {
            let n_c = on(leg);
            formula!("S_u", what_S, [S, n_c] => S / n_c)
        });
        let unit = Known::largest("P_u", what_P, &of_P.collect::<Vec<_>>())?;
        let apparent = Known::largest("S_u", what_S, &of_S.collect::<Vec<_>>())?;
        return Some(Given { group, unit, fullest: apparent.clone(), apparent });
    }
    let n_c = counted(case.unit, case.formation.units().max(1));
    let of_legs: Vec<Known<Apparent>> = legs.iter().map(|(_, S)| S.clone()).collect();
    let S = Known::sum("S", "apparent power, leg by leg", &of_legs);
    let S_l = Known::largest("S_l", "apparent power of the fullest leg", &of_legs)?;
    let m = Known::factor("m", "legs of a unit", of_legs.len() as f64, "counted");
    let unit = formula!("P_u", what_P, [group, n_c] => group / n_c);
    Some(Given {
        unit,
        apparent: formula!("S_u", what_S, [S, n_c] => S / n_c),
        fullest: formula!("S_f", "as if all its legs were as full as the fullest", [S_l, m, n_c] => S_l * m / n_c),
        group,
    })
}

/// Motors at standstill beside the highest load. Their power is what they take at nominal voltage.
fn starts(case: &Case<'_>) -> Vec<Draw> {
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return Vec::new() };
    let why = "active part of the motors at standstill and nominal voltage";
    let active = |legs: &[&demand::StartLeg]| -> Known<Power> {
        let from = legs.iter().map(|leg| leg.start_known.node().clone()).collect();
        let starting = legs.iter().map(|leg| leg.start_va.re.max(0.0)).sum();
        Known::chosen("P_m", "power of the starting motors", Power::of(starting), why, from)
    };
    let mut all = Vec::new();
    for event in &case.demand.starts {
        let (P_m, P_l) = (active(&event.legs.values().collect::<Vec<_>>()), &total.steady_power);
        let group = formula!("P", "power in the start", [P_m, P_l] => P_m + P_l);
        let (mut powers, mut legs) = (Vec::new(), Vec::new());
        for (lane, demand) in &case.demand.lanes {
            let Lane::Leg(leg) = lane else { continue };
            let (P_l, S_l) = (&demand.steady_power, demand.steady_apparent.clone());
            let Some(start) = event.legs.get(leg) else {
                powers.push((*leg, P_l.clone()));
                legs.push((*leg, S_l));
                continue;
            };
            let (P_m, S_m, S_r) = (active(&[start]), &start.start_known, &start.running_known);
            powers.push((*leg, formula!("P", "power of a leg in the start", [P_m, P_l] => P_m + P_l)));
            let what = "apparent power of a leg in the start";
            legs.push((*leg, formula!("S", what, [S_m, S_r] => S_m + S_r)));
        }
        let Some(given) = of_units(case, group, &powers, &legs) else { continue };
        let state = format!("outage, {} starts", event.name);
        all.push(draw(case, state, Some(event.run_up.value()), &given));
    }
    all
}

/// What all units together draw from the bus: every one of them loses as much as the fullest.
pub(super) fn from_bus(case: &Case<'_>, given: &Given) -> Known<Power> {
    let (P, n, P_l) = (&given.group, units(case), losses(case, given));
    formula!("P_dc", "power from the bus, losses included", [P, n, P_l] => P + n * P_l)
}

/// What all units together draw from the bus with every load on that may be on at once; none where there is no load.
pub fn all_loads_from_bus(case: &Case<'_>) -> Option<Known<Power>> {
    given(case, None).map(|given| from_bus(case, &given))
}

/// What one unit gives in a solved state.
#[derive(Debug, Clone, Copy)]
pub(crate) struct UnitGiven {
    /// Apparent power of all its legs, added up.
    pub all_va: f64,
    /// That of its fullest leg.
    pub fullest_va: f64,
}

/// What one unit draws from the bus for what it gives, all of it taken for active power.
pub(super) fn one_from_bus(case: &Case<'_>, of: UnitGiven) -> Known<Power> {
    let solved = |symbol: &str, what: &str, va: f64| {
        Known::chosen(symbol, what, Apparent::of(va), "solved state", Vec::new())
    };
    let one_leg = case.unit.leg_control == catalog::LegControl::OneLeg;
    let legs = if one_leg { 1.0 } else { case.system().legs().len() as f64 };
    let S = solved("S_u", "apparent power of a unit", of.all_va);
    let fullest = solved("S_f", "as if all its legs were as full as the fullest", of.fullest_va * legs);
    let P = formula!("P", "power of a unit", [S] => as_w(S));
    let given = Given { group: P.clone(), unit: P.clone(), apparent: S, fullest };
    let P_l = losses(case, &given);
    formula!("P_dc", "power from the bus, losses included", [P, P_l] => P + P_l)
}

/// The same, in W.
pub(crate) fn from_bus_w(case: &Case<'_>, of: UnitGiven) -> f64 {
    one_from_bus(case, of).value().si()
}

/// Losses of the unit that gives most. They go with the current, so with the apparent power. Up to the rating by the
/// lowest efficiency that the catalogue lists round the loads from that of the unit to that of its fullest leg; above,
/// where the catalogue lists none, all losses are taken to rise with the square of the load: none rises faster. The
/// idle loss comes on top, also where an efficiency has it in it already.
fn losses(case: &Case<'_>, given: &Given) -> Known<Power> {
    let unit = case.unit;
    let P_r = Known::catalog("P_r", "continuous power of a unit", unit.power, &unit.id, "rating power");
    let idle = Known::catalog("P_i", "draw of a unit without load", unit.idle, &unit.id, "idle");
    let (S, S_f) = (&given.apparent, &given.fullest);
    let least = S.value().si() / P_r.value().si();
    let x = formula!("x", "load over rating, of the fullest leg", [S_f, P_r] => as_w(S_f) / P_r);
    let load = x.value().si().max(least);
    let below = unit.efficiency.iter().rev().find(|(at, _)| at.si() <= least).or(unit.efficiency.first());
    let above = unit.efficiency.iter().find(|(at, _)| at.si() >= load).or(unit.efficiency.last());
    let between = unit.efficiency.iter().filter(|(at, _)| (least..=load).contains(&at.si()));
    let low = between
        .chain(below)
        .chain(above)
        .map(|(_, eta)| *eta)
        .fold(Ratio::of(1.0), |a, b| if b < a { b } else { a });
    let eta = Known::catalog("eta", "lowest efficiency of the loads round it", low, &unit.id, "efficiency");
    let what = "losses of a unit";
    if load <= 1.0 {
        return formula!("P_l", what, [S, eta, idle] => as_w(S) * (1.0 / eta - 1.0) + idle);
    }
    formula!("P_l", what, [S, eta, x, idle] => as_w(S) * (1.0 / eta - 1.0) * x + idle,
        source = "losses with the square of the load above the rating: an upper bound")
}
