//! What the bridges of the group carry in the island: continuous, overload by time, peak, on every leg.

use catalog::{LegControl, OverloadRating};
use demand::{Lane, LaneDemand};
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Apparent, Duration, Leg, Power, Quantity, Ratio};
use saying::say;

use crate::heat::{self, Step};
use crate::{Case, Formation, Ledger, counted, starts};

/// How long, and which power and apparent power.
type Level = (Known<Duration>, Known<Power>, Known<Apparent>);

/// One lane of the group with what it may be counted for.
pub(crate) struct Capacity<'a> {
    pub lane: Lane,
    pub name: String,
    pub demand: &'a LaneDemand,
    pub n_c: Known<Ratio>,
    pub power: Known<Power>,
    pub apparent: Known<Apparent>,
    /// (lasts, power, apparent), longest first.
    pub overload: Vec<Level>,
}

/// The lanes that limit a group of this family: each leg, or all together for a line-to-line bridge; two-leg units
/// also all together where their legs add up to more than the whole.
pub(crate) fn capacities<'a>(case: &Case<'a>, formation: &Formation) -> Vec<Capacity<'a>> {
    let control = case.unit.leg_control;
    case.demand
        .lanes
        .iter()
        .filter(|(lane, _)| match lane {
            Lane::Leg(_) => control != LegControl::LineToLine,
            Lane::Total => control != LegControl::OneLeg,
        })
        .map(|(lane, demand)| capacity(case, formation, *lane, demand))
        .collect()
}

fn capacity<'a>(case: &Case<'a>, formation: &Formation, lane: Lane, demand: &'a LaneDemand) -> Capacity<'a> {
    let rating = case.rating;
    let n_c = match lane {
        Lane::Leg(leg) => counted(case.unit, formation.on(leg)),
        Lane::Total => counted(case.unit, formation.units()),
    };
    let (p, s) = match lane {
        Lane::Leg(_) => (&rating.leg_power, &rating.leg_apparent),
        Lane::Total => (&rating.power, &rating.apparent),
    };
    let of_lane = |o: &OverloadRating| match lane {
        Lane::Leg(_) => (o.leg_power.clone(), o.leg_apparent.clone()),
        Lane::Total => {
            let (S, P_o, P) = (&rating.apparent, &o.total_power, &rating.power);
            let s = formula!("S_o", "overload apparent power of one unit", [S, P_o, P] => S * (P_o / P));
            (o.total_power.clone(), s)
        }
    };
    let overload = rating
        .overload
        .iter()
        .map(|o| {
            let (p, s) = of_lane(o);
            let power = formula!("P_g", "overload power that the group may count on", [p, n_c] => p * n_c);
            let apparent =
                formula!("S_g", "overload apparent power that the group may count on", [s, n_c] => s * n_c);
            (o.lasts.clone(), power, apparent)
        })
        .collect();
    let name = match lane {
        Lane::Leg(leg) => leg.to_string(),
        Lane::Total => "all legs".to_owned(),
    };
    Capacity {
        lane,
        name,
        demand,
        power: formula!("P_g", "continuous power that the group may count on", [p, n_c] => p * n_c),
        apparent: formula!("S_g", "continuous apparent power that the group may count on", [s, n_c] => s * n_c),
        overload,
        n_c,
    }
}

/// The demand of a lane that can last as long as `lasts`: the listed duration at or below it, which is not less.
fn sustained(demand: &LaneDemand, lasts: Duration) -> (Known<Power>, Known<Apparent>) {
    demand
        .curve
        .iter()
        .filter(|point| point.lasts <= lasts)
        .max_by(|a, b| a.lasts.si().total_cmp(&b.lasts.si()))
        .map_or_else(
            || (demand.steady_power.clone(), demand.steady_apparent.clone()),
            |point| (point.power.clone(), point.apparent.clone()),
        )
}

/// Holds every lane of a formation against its limits in one state.
pub(crate) fn hold(case: &Case<'_>, formation: &Formation, state: &str, ledger: &mut Ledger) {
    let bare: Vec<Leg> = case.system().legs().iter().copied().filter(|&leg| formation.on(leg) == 0).collect();
    if !bare.is_empty() {
        let legs = bare.iter().map(Leg::to_string).collect::<Vec<_>>().join(", ");
        ledger.find(
            Finding::new(
                "leg-without-unit",
                Severity::Error,
                "group",
                say!("{formation} leaves {legs} without a unit", formation, legs),
            )
            .in_state(state)
            .at(Some(case.count_place()), say!("this number")),
        );
        return;
    }
    for capacity in capacities(case, formation) {
        continuous(case, &capacity, state, ledger);
        by_time(case, &capacity, state, ledger);
        budget(case, formation, &capacity, state, ledger);
        peak(case, formation, &capacity, state, ledger);
    }
}

fn too_small(case: &Case<'_>, id: &'static str, capacity: &Capacity<'_>, margin: &Margin) -> Finding {
    let over = margin.value.amount.si - margin.limit.amount.si;
    let over = if margin.value.amount.unit == "W" {
        Power::of(over).to_string()
    } else {
        Apparent::of(over).to_string()
    };
    Finding::new(
        id,
        Severity::Error,
        "group",
        say!(
            "{what} is {value}; the group may count on {limit}",
            what = margin.what,
            value = margin.value.amount.text,
            limit = margin.limit.amount.text
        ),
    )
    .at(Some(case.count_place()), say!("decides how many units share the load"))
    .fix(say!(
        "move {over} off {capacity} of the backup panel, or add a unit",
        over,
        capacity = capacity.name
    ))
}

const LONG: Duration = Duration::of(3.0 * 3600.0);

fn continuous(case: &Case<'_>, c: &Capacity<'_>, state: &str, ledger: &mut Ledger) {
    let (power, apparent) = sustained(c.demand, LONG);
    let margin = Margin::below("group", say!("continuous power, {c}", c = c.name), state, &power, &c.power);
    ledger.hold(margin, |m| too_small(case, "group-continuous-over", c, m));
    let margin = Margin::below(
        "group",
        say!("continuous apparent power, {c}", c = c.name),
        state,
        &apparent,
        &c.apparent,
    );
    ledger.hold(margin, |m| too_small(case, "group-continuous-over", c, m));
}

fn by_time(case: &Case<'_>, c: &Capacity<'_>, state: &str, ledger: &mut Ledger) {
    for (lasts, limit, limit_va) in &c.overload {
        let (power, apparent) = sustained(c.demand, lasts.value());
        let what = say!("power for {lasts}, {c}", lasts = lasts.value(), c = c.name);
        let margin = Margin::below("group", what, state, &power, limit);
        ledger.hold(margin, |m| too_small(case, "group-overload-over", c, m));
        let what = say!("apparent power for {lasts}, {c}", lasts = lasts.value(), c = c.name);
        let margin = Margin::below("group", what, state, &apparent, limit_va);
        ledger.hold(margin, |m| too_small(case, "group-overload-over", c, m));
    }
    // Nothing but a motor start may exceed the highest listed overload, however short.
    let (limit, limit_va) =
        c.overload.last().map_or((&c.power, &c.apparent), |(_, power, apparent)| (power, apparent));
    let margin =
        Margin::below("group", say!("highest power, {c}", c = c.name), state, &c.demand.steady_power, limit);
    ledger.hold(margin, |m| too_small(case, "group-overload-over", c, m));
    let margin = Margin::below(
        "group",
        say!("highest apparent power, {c}", c = c.name),
        state,
        &c.demand.steady_apparent,
        limit_va,
    );
    ledger.hold(margin, |m| too_small(case, "group-overload-over", c, m));
}

fn budget(case: &Case<'_>, formation: &Formation, c: &Capacity<'_>, state: &str, ledger: &mut Ledger) {
    let steps = |of: &dyn Fn(&Level) -> f64, first: f64| {
        let mut steps = vec![Step { above: first, lasts: None }];
        for (k, level) in c.overload.iter().enumerate() {
            if let Some(step) = steps.get_mut(k) {
                step.lasts = Some(level.0.value());
            }
            steps.push(Step { above: of(level), lasts: None });
        }
        steps
    };
    let by_power = steps(&|level| level.1.value().si(), c.power.value().si());
    let by_apparent = steps(&|level| level.2.value().si(), c.apparent.value().si());
    let recovery = case.unit.overload_recovery;
    let windows = c.demand.windows();
    let results = [
        heat::worst(&by_power, recovery, &windows, |above, window| {
            c.demand.time_above(Power::of(above), window)
        }),
        heat::worst(&by_apparent, recovery, &windows, |above, window| {
            c.demand.time_above_apparent(Apparent::of(above), window)
        }),
    ];
    let steady = results[0].max(results[1]);
    let spent = Ratio::of(steady + starts::budget_share(case, formation, &c.name));
    if spent.si().is_infinite() {
        return; // above the highest listed power (see `by_time`), or a start that collapses (see `starts`)
    }
    let levels = c.overload.iter().map(|(_, power, _)| power.node().clone());
    let loads = [c.demand.steady_power.node().clone(), c.demand.steady_apparent.node().clone()];
    let motors = case.demand.starts.iter().flat_map(|event| {
        let legs = event
            .legs
            .values()
            .flat_map(|it| [it.start_known.node().clone(), it.running_known.node().clone()]);
        std::iter::once(event.run_up.node().clone()).chain(legs)
    });
    let once = starts::once(case).map(|n| n.node().clone());
    let from: Vec<_> = std::iter::once(c.power.node().clone())
        .chain(levels)
        .chain(loads)
        .chain(motors)
        .chain(once)
        .collect();
    let value = Known::solved(
        "h",
        "share of the overload budget that the worst course of the loads spends",
        spent,
        "h = max over windows D of (sum of t(p > P_k, D) · (1/t_(k+1) - 1/t_k)) - (D - t(p > P_0, D)) / t_recovery, plus motor starts within t_recovery",
        0.0,
        from,
    );
    let limit = Known::assumed(
        "h_max",
        "overload budget",
        Ratio::of(1.0),
        "the budget is spent at 1/t_allowed of the next higher listed power",
    );
    let margin = Margin::below("group", say!("overload budget, {c}", c = c.name), state, &value, &limit);
    ledger.hold(margin, |m| {
        let message = say!(
            "the overload budget of {c} is spent {value} times over",
            c = c.name,
            value = m.value.amount.text
        );
        Finding::new("overload-budget-over", Severity::Error, "group", message)
            .at(Some(case.count_place()), say!("decides how many units share the load"))
            .fix(say!("add a unit, or let fewer loads of the backup panel run at once"))
    });
    if steady > 0.0 && recovery.is_none() {
        ledger.find(
            Finding::new(
                "overload-recovery-unknown",
                Severity::NotCovered,
                "group",
                say!(
                    "the loads overload {c} daily, and the catalogue does not state when the budget is whole again",
                    c = c.name
                ),
            )
            .in_state(state)
            .at(Some(&case.site.group.unit.place), say!("this family states no recovery time"))
            .fix(say!("ask the maker for the recovery time, or add a unit so that no overload is needed")),
        );
    }
}

fn peak(case: &Case<'_>, formation: &Formation, c: &Capacity<'_>, state: &str, ledger: &mut Ledger) {
    match c.lane {
        Lane::Leg(leg) if formation.on(leg) == 0 => return,
        // two-leg units are held leg by leg; a line-to-line bridge carries at most the larger leg's current
        Lane::Total if case.unit.leg_control != LegControl::LineToLine => return,
        _ => {}
    }
    let (I_p, n_c) = (&case.rating.peak, &c.n_c);
    let limit = formula!("I_pg", "peak current before the group trips", [I_p, n_c] => I_p * n_c);
    let margin =
        Margin::below("group", say!("peak current, {c}", c = c.name), state, &c.demand.peak_current, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "group-peak-over",
            Severity::Error,
            "group",
            say!(
                "the current peaks of {c} add to {value}; the bridges trip at {limit}",
                c = c.name,
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(case.count_place()), say!("decides how many units share the load"))
        .fix(say!("add a unit, or move loads with a high crest factor off the backup panel"))
    });
}
