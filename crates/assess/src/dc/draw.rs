//! What the units draw from the bus, for every duration and every motor start.

use demand::Lane;
use derivation::{Known, formula};
use quantity::{Duration, Power, Quantity, Ratio};

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

/// All of them; the last is that for any time.
pub(crate) fn draws(case: &Case<'_>) -> Vec<Draw> {
    let mut all = starts(case);
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return all };
    let steps: Vec<Option<Duration>> = total.curve.iter().map(|p| Some(p.lasts)).collect();
    // what lasts at least as long as one listed duration may go on until the next
    let first = (total.steady_power.clone(), |lane: &demand::LaneDemand| lane.steady_power.clone());
    let until = steps.first().copied().flatten();
    let unit = worst_unit(case, &first.1);
    all.push(draw(case, "outage, highest load".to_owned(), until, &first.0, &unit));
    for (k, point) in total.curve.iter().enumerate() {
        let until = steps.get(k + 1).copied().flatten();
        let unit = worst_unit(case, &|lane: &demand::LaneDemand| {
            let same = lane.curve.iter().find(|p| p.lasts == point.lasts);
            same.map_or_else(|| lane.steady_power.clone(), |p| p.power.clone())
        });
        let state = match until {
            Some(until) => format!("outage, load of {} to {until}", point.lasts),
            None => format!("outage, load of {} and longer", point.lasts),
        };
        all.push(draw(case, state, until, &point.power, &unit));
    }
    all
}

fn units(case: &Case<'_>) -> Known<Ratio> {
    let n = Ratio::of(f64::from(case.formation.units().max(1)));
    Known::chosen("n", "units", n, "formation", Vec::new())
}

fn one() -> Known<Ratio> {
    Known::factor("n", "one unit", 1.0, "counted")
}

fn draw(
    case: &Case<'_>,
    state: String,
    lasts: Option<Duration>,
    group: &Known<Power>,
    unit: &Known<Power>,
) -> Draw {
    Draw { state, lasts, group: from_bus(case, group, &units(case)), unit: from_bus(case, unit, &one()) }
}

/// The power of the unit with the largest part of the demand.
fn worst_unit(case: &Case<'_>, of: &dyn Fn(&demand::LaneDemand) -> Known<Power>) -> Known<Power> {
    let parts: Vec<Known<Power>> = case
        .demand
        .lanes
        .iter()
        .filter(|(lane, _)| matches!(lane, Lane::Total) != one_leg(case))
        .map(|(lane, demand)| {
            let n = match lane {
                Lane::Leg(leg) => case.formation.on(*leg),
                Lane::Total => case.formation.units(),
            };
            let (P, n_c) = (of(demand), counted(case.unit, n.max(1)));
            formula!("P_u", "largest part of one unit", [P, n_c] => P / n_c)
        })
        .collect();
    let none = || Known::chosen("P_u", "largest part of one unit", Power::ZERO, "no load", Vec::new());
    Known::largest("P_u", "largest part of one unit", &parts).unwrap_or_else(none)
}

fn one_leg(case: &Case<'_>) -> bool {
    case.unit.leg_control == catalog::LegControl::OneLeg
}

/// Motors at standstill beside the highest load. Their active power is what they take at nominal voltage.
fn starts(case: &Case<'_>) -> Vec<Draw> {
    let Some(total) = case.demand.lanes.get(&Lane::Total) else { return Vec::new() };
    let mut all = Vec::new();
    for event in &case.demand.starts {
        let from: Vec<_> = event.legs.values().map(|leg| leg.start_known.node().clone()).collect();
        let starting: f64 = event.legs.values().map(|leg| leg.start_va.re.max(0.0)).sum();
        let why = "active part of the motors at standstill and nominal voltage";
        let P_m = Known::chosen("P_m", "power of the starting motors", Power::of(starting), why, from);
        let P_l = &total.steady_power;
        let group = formula!("P", "power in the start", [P_m, P_l] => P_m + P_l);
        let mut parts = Vec::new();
        for (leg, starts) in event.legs.iter().filter(|_| one_leg(case)) {
            let Some(lane) = case.demand.lanes.get(&Lane::Leg(*leg)) else { continue };
            let from = vec![starts.start_known.node().clone()];
            let P_m = Known::chosen(
                "P_m",
                "power of the starting motors",
                Power::of(starts.start_va.re.max(0.0)),
                why,
                from,
            );
            let (P_l, n_c) = (&lane.steady_power, counted(case.unit, case.formation.on(*leg).max(1)));
            parts.push(formula!("P_u", "largest part of one unit", [P_m, P_l, n_c] => (P_m + P_l) / n_c));
        }
        let n_c = counted(case.unit, case.formation.units().max(1));
        parts.push(formula!("P_u", "part of one unit", [group, n_c] => group / n_c));
        let Some(unit) = Known::largest("P_u", "largest part of one unit", &parts) else { continue };
        let state = format!("outage, {} starts", event.name);
        all.push(draw(case, state, Some(event.run_up.value()), &group, &unit));
    }
    all
}

/// What `n` units draw from the bus for a power at their output. Up to the rating the lower efficiency of the two
/// loads of the catalogue round it; above, where the catalogue lists none, all losses are taken to rise with the square
/// of the load: none rises faster. The idle loss comes on top, also where an efficiency has it in it already.
pub fn from_bus(case: &Case<'_>, P: &Known<Power>, n: &Known<Ratio>) -> Known<Power> {
    let unit = case.unit;
    let P_r = Known::catalog("P_r", "continuous power of a unit", unit.power, &unit.id, "rating power");
    let idle = Known::catalog("P_i", "draw of a unit without load", unit.idle, &unit.id, "idle");
    let x = formula!("x", "load over rating", [P, P_r, n] => P / (P_r * n));
    let load = x.value().si();
    let below = unit.efficiency.iter().rev().find(|(at, _)| at.si() <= load).or(unit.efficiency.first());
    let above = unit.efficiency.iter().find(|(at, _)| at.si() >= load).or(unit.efficiency.last());
    let low = [below, above]
        .into_iter()
        .flatten()
        .map(|(_, eta)| *eta)
        .fold(Ratio::of(1.0), |a, b| if b < a { b } else { a });
    let eta =
        Known::catalog("eta", "lower efficiency of the two loads round it", low, &unit.id, "efficiency");
    let what = "power from the bus, losses included";
    if load <= 1.0 {
        return formula!("P_dc", what, [P, eta, n, idle] => P / eta + n * idle);
    }
    formula!("P_dc", what, [P, eta, x, n, idle] => P * (1.0 + (1.0 / eta - 1.0) * x) + n * idle,
        source = "losses with the square of the load above the rating: an upper bound")
}
