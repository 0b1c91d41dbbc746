//! Motor starts on the group alone: the source saturates at its current limit.

use catalog::LegControl;
use demand::{StartEvent, StartLeg};
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use network::motor_start::{Held, RunningAs, Start, StartCase, motor_start};
use network::{Impedance, LoadPower, NetworkError};
use num_complex::Complex64;
use quantity::{Apparent, Current, Duration, Leg, PhaseVoltage, Quantity, Ratio, root};
use saying::{Text, say};

use crate::{Case, Formation, Ledger, counted};

/// Contactors and control relays may drop out below this share of nominal voltage (common practice, no source).
const CONTACTOR_HOLDS: f64 = 0.70;

/// One bridge (or the line-to-line bridge) that takes a start.
struct Bridge {
    name: String,
    volts: PhaseVoltage,
    units: u32,
    start: LoadPower,
    running: LoadPower,
}

/// Holds every start of a formation.
pub(crate) fn hold(case: &Case<'_>, formation: &Formation, state: &str, ledger: &mut Ledger) {
    for event in &case.demand.starts {
        let bridges = bridges(case, formation, event);
        for bridge in &bridges {
            one(case, event, bridge, state, ledger);
        }
        both_legs(case, formation, event, &bridges, (state, ledger));
    }
}

fn load_power(s_va: Complex64, known: &Known<Apparent>) -> LoadPower {
    let magnitude = libm::hypot(s_va.re, s_va.im);
    let share = if magnitude > 0.0 { (s_va.re / magnitude).clamp(0.0, 1.0) } else { 1.0 };
    let pf = Known::solved(
        "pf",
        format!("power factor of {}", known.node().what),
        Ratio::of(share),
        "pf = P / |S|",
        0.0,
        vec![known.node().clone()],
    );
    LoadPower::lagging(known.clone(), pf)
}

fn bridges(case: &Case<'_>, formation: &Formation, event: &StartEvent) -> Vec<Bridge> {
    let phase = case.system().phase_voltage();
    if case.unit.leg_control == LegControl::LineToLine {
        let total = |of: &dyn Fn(&StartLeg) -> (Complex64, Known<Apparent>), what: &str| {
            let legs: Vec<(Complex64, Known<Apparent>)> = event.legs.values().map(of).collect();
            let s: Complex64 = legs.iter().map(|(s, _)| *s).sum();
            // magnitudes, since those hold harmonics as well
            let known: Vec<Known<Apparent>> = legs.into_iter().map(|(_, known)| known).collect();
            load_power(s, &Known::sum("S", what, &known))
        };
        let volts = case.system().line_voltage().map_or(phase, |v| PhaseVoltage::of(v.si()));
        return vec![Bridge {
            name: "line to line".to_owned(),
            volts,
            units: formation.units(),
            start: total(&|l| (l.start_va, l.start_known.clone()), "starting power of both legs"),
            running: total(&|l| (l.running_va, l.running_known.clone()), "running power of both legs"),
        }];
    }
    let of_leg = |(leg, it): (&Leg, &StartLeg)| Bridge {
        name: leg.to_string(),
        volts: phase,
        units: formation.on(*leg),
        start: load_power(it.start_va, &it.start_known),
        running: load_power(it.running_va, &it.running_known),
    };
    event.legs.iter().map(of_leg).collect()
}

/// A unit of two legs whose legs add up to more than the whole is held as a whole as well.
fn both_legs(
    case: &Case<'_>,
    formation: &Formation,
    event: &StartEvent,
    bridges: &[Bridge],
    (state, ledger): (&str, &mut Ledger),
) {
    let two_leg = matches!(case.unit.leg_control, LegControl::IndependentLegs | LegControl::EqualLegs);
    let legs_exceed = case.unit.leg_apparent * 2.0 > case.unit.apparent;
    if !two_leg || !legs_exceed || formation.units() == 0 {
        return;
    }
    let held: Vec<Held> = bridges
        .iter()
        .filter(|b| b.start.apparent.value() > Apparent::ZERO)
        .filter_map(|b| match solve(case, b) {
            Ok(Start::Holds(held)) => Some(held),
            _ => None, // said by the leg itself
        })
        .collect();
    let Some(slowest) = held.iter().min_by(|a, b| a.voltage.value().si().total_cmp(&b.voltage.value().si()))
    else {
        return;
    };
    let U = &case.voltage();
    let powers: Vec<Known<Apparent>> = held
        .iter()
        .map(|h| {
            let I = &h.current;
            formula!("S_l", "apparent power of one leg during the start", [I, U] => I * U)
        })
        .collect();
    let S = Known::sum("S", "apparent power of both legs during the start", &powers);
    let rating = case.rating;
    let n_c = &counted(case.unit, formation.units());
    let S_1 = &rating.apparent;
    let continuous =
        formula!("S_c", "continuous apparent power that the group may count on", [S_1, n_c] => S_1 * n_c);
    if S.value() <= continuous.value() {
        return;
    }
    let level = rating.overload.iter().find(|o| {
        let whole = S_1.value() * (o.total_power.value() / rating.power.value()) * n_c.value();
        S.value() <= whole
    });
    let lasts = level.map_or(&rating.surge_lasts, |o| &o.lasts);
    let t = run_up(event, slowest);
    let margin = Margin::below(
        "group",
        say!("time at starting power, {event} starting, both legs", event = event.name),
        state,
        &t,
        lasts,
    );
    ledger.hold(margin, |m| {
        let message = say!(
            "starting {event} takes {value} at {s} on both legs; the group holds that for {limit}",
            event = event.name,
            value = m.value.amount.text,
            s = S.value(),
            limit = m.limit.amount.text
        );
        start_finding(case, event, "motor-start-too-long", message)
    });
}

/// Solves one start on one bridge.
fn solve(case: &Case<'_>, bridge: &Bridge) -> Result<Start, NetworkError> {
    let I_s = &case.rating.surge;
    let n_c = &counted(case.unit, bridge.units);
    let limit: Known<Current> =
        formula!("I_lim", "current limit that the group may count on", [I_s, n_c] => I_s * n_c);
    let z_1 = Known::catalog(
        "Z_1",
        "output impedance of one unit",
        case.unit.output_impedance,
        &case.unit.id,
        "output_impedance",
    );
    let source =
        Known::input("E", "nominal voltage of the bridge", bridge.volts, &case.site.service.system.place);
    let impedance = formula!("Z", "output impedance of the group", [z_1, n_c] => z_1 / n_c);
    motor_start(&StartCase {
        source,
        impedance: Impedance::resistive(impedance),
        limit,
        start: bridge.start.clone(),
        running: bridge.running.clone(),
        running_as: RunningAs::ConstantPower,
    })
}

/// Run-up time at the voltage that is left.
fn run_up(event: &StartEvent, held: &Held) -> Known<Duration> {
    let (V, t_r) = (&held.voltage, &event.run_up);
    formula!("t_s", "run-up time at the voltage that is left", [t_r, V] => t_r / (V * V))
}

/// The longest that a start takes on any bridge of the decided formation; none where one collapses.
pub(crate) fn longest(case: &Case<'_>, event: &StartEvent) -> Option<Duration> {
    let mut longest = Duration::ZERO;
    for bridge in bridges(case, &case.formation, event) {
        if bridge.units == 0 || bridge.start.apparent.value() <= Apparent::ZERO {
            continue;
        }
        match solve(case, &bridge) {
            Ok(Start::Holds(held)) => longest = longest.max(run_up(event, &held).value()),
            _ => return None,
        }
    }
    Some(longest)
}

/// Share of the overload budget that the motor starts of a lane spend within the time in which the budget recovers (a
/// day where none is stated): each start its time over the time that its current is allowed, as often as the load's
/// runs and pauses permit; without those, once. Where motors start together, the more of both counts. A start that
/// never ends spends without end; that it is refused is said elsewhere.
pub(crate) fn budget_share(case: &Case<'_>, formation: &Formation, lane: &str) -> f64 {
    let recovery = case.unit.overload_recovery.unwrap_or(Duration::of(86_400.0)).si();
    let (mut alone, mut together) = (0.0, 0.0f64);
    for event in &case.demand.starts {
        let line_to_line = case.unit.leg_control == LegControl::LineToLine;
        let bridge = bridges(case, formation, event).into_iter().find(|b| line_to_line || b.name == lane);
        let Some(bridge) = bridge.filter(|b| b.units > 0 && b.start.apparent.value() > Apparent::ZERO) else {
            continue;
        };
        let Ok(Start::Holds(held)) = solve(case, &bridge) else {
            return f64::INFINITY;
        };
        let (allowed, _) = allowed_time(case, &bridge, &held.current);
        if allowed.value() >= Duration::of(86_400.0) {
            continue;
        }
        let one = (run_up(event, &held).value() / allowed.value()).si();
        let loads =
            event.loads.iter().filter_map(|name| case.site.loads.iter().find(|l| l.name.value == *name));
        let often = |load: &site::Load| {
            let cycle =
                load.lasts.as_ref().zip(load.rests.as_ref()).map(|(run, rest)| (run.value + rest.value).si());
            cycle.map_or(1.0, |cycle| (recovery / cycle).floor() + 1.0)
        };
        if event.loads.len() == 1 {
            alone += loads.map(|load| f64::from(load.count) * often(load)).fold(0.0, f64::max) * one;
        } else {
            together = together.max(loads.map(often).fold(0.0, f64::max) * one);
        }
    }
    alone.max(together)
}

/// Motors whose runs and pauses are not stated are taken to start once within the time that the budget recovers.
pub(crate) fn once(case: &Case<'_>) -> Option<Known<Ratio>> {
    let silent = case.demand.starts.iter().flat_map(|e| &e.loads).any(|name| {
        case.site.loads.iter().any(|l| l.name.value == *name && (l.lasts.is_none() || l.rests.is_none()))
    });
    silent.then(|| {
        Known::assumed(
            "n_s",
            "starts of a motor whose runs and pauses are not stated, within the recovery time of the overload budget",
            Ratio::of(1.0),
            "it is taken to run once; state lasts and rests for motors that start often",
        )
    })
}

fn one(case: &Case<'_>, event: &StartEvent, bridge: &Bridge, state: &str, ledger: &mut Ledger) {
    if bridge.start.apparent.value().si() <= 0.0 {
        return;
    }
    if bridge.units == 0 {
        return; // no unit on the leg: refused elsewhere
    }
    match solve(case, bridge) {
        Ok(Start::Holds(held)) => held_margins(case, event, bridge, &held, state, ledger),
        Ok(Start::Collapses(collapse)) => {
            let margin = Margin::below(
                "group",
                say!("{event} starting, {bridge}", event = event.name, bridge = bridge.name),
                state,
                &collapse.least_current,
                &collapse.limit,
            );
            let left = collapse.at_voltage.value().si();
            let message = say!(
                "{event} cannot start: the voltage collapses. Even at {left} % of nominal, where {left_2} % of its torque is left, it and what runs with it ask for {least_current} on {bridge}, and the group gives {limit}",
                event = event.name,
                left = format!("{:.0}", left * 100.0),
                left_2 = format!("{:.0}", left * left * 100.0),
                least_current = collapse.least_current.value(),
                bridge = bridge.name,
                limit = collapse.limit.value()
            );
            let finding = start_finding(case, event, "motor-start-collapse", message)
                .measured(collapse.least_current.node(), collapse.limit.node())
                .in_state(state);
            ledger.margins.push(margin);
            ledger.find(finding);
        }
        Err(error) => ledger.find(
            Finding::new(
                "motor-start-not-covered",
                Severity::NotCovered,
                "group",
                say!("the start of {event} cannot be computed: {error}", event = event.name, error),
            )
            .in_state(state)
            .at(event.place.as_ref(), say!("this motor")),
        ),
    }
}

fn start_finding(case: &Case<'_>, event: &StartEvent, id: &'static str, message: Text) -> Finding {
    let finding = Finding::new(id, Severity::Error, "group", message);
    let finding = match &event.place {
        Some(place) => finding.at(Some(place), say!("this motor")),
        None => finding.at(Some(case.count_place()), say!("decides how many units share the start")),
    };
    let finding = finding.fix(if id == "motor-start-torque" {
        say!("state what the machine needs at standstill (starting_torque, less for an unloaded start), raise the start current, or use a drive")
    } else {
        say!("give the motor a soft starter or a drive (and state its current), or add a unit")
    });
    if event.loads.len() > 1 {
        finding
            .fix(say!("let controls start one motor at a time and say so: motor_starts = \"one at a time\""))
    } else {
        finding
    }
}

fn held_margins(
    case: &Case<'_>,
    event: &StartEvent,
    bridge: &Bridge,
    held: &Held,
    state: &str,
    ledger: &mut Ledger,
) {
    let V = &held.voltage;
    if event.torque_needed.value().si() > 1.0 {
        let one = Known::factor("m_1", "torque at standstill and full voltage", 1.0, "by definition");
        ledger.find(
            start_finding(
                case,
                event,
                "motor-start-torque",
                say!(
                    "{event} does not start even at full voltage: it needs {value} % of the torque that its way of starting leaves at standstill",
                    event = event.name,
                    value = format!("{:.0}", event.torque_needed.value().si() * 100.0)
                ),
            )
            .measured(event.torque_needed.node(), one.node())
            .in_state(state),
        );
        return;
    }
    let t = run_up(event, held);
    let floor = voltage_floor(case, event, &t);
    let named = format!("{} starting, {}", event.name, bridge.name);
    let margin = Margin::above("group", say!("voltage, {named}", named), state, V, &floor);
    ledger.hold(margin, |_| {
        let share = V.value().si() * 100.0;
        let message = say!(
            "starting {event} pulls {bridge} to {share} % of nominal{x} and leaves {value} % of its torque",
            event = event.name,
            bridge = bridge.name,
            share = format!("{share:.0}"),
            x = if held.limited { " (the group is at its current limit)" } else { "" },
            value = format!("{:.0}", held.torque.value().si() * 100.0)
        );
        start_finding(case, event, "motor-start-voltage", message)
    });
    let (allowed, peak_share) = allowed_time(case, bridge, &held.current);
    let margin =
        Margin::below("group", say!("time at starting current, {named}", named), state, &t, &allowed);
    ledger.hold(margin, |m| {
        let message = say!(
            "starting {event} takes {value} at {current} on {bridge}; the group holds that for {limit}",
            event = event.name,
            value = m.value.amount.text,
            current = held.current.value(),
            bridge = bridge.name,
            limit = m.limit.amount.text
        );
        start_finding(case, event, "motor-start-too-long", message)
    });
    ledger.margins.push(peak_share.margin(&named, state));
}

/// Below this voltage the start is not safe: contactors, the unit's own trip (if the start lasts as long as its
/// delay), the motor's torque.
fn voltage_floor(case: &Case<'_>, event: &StartEvent, t: &Known<Duration>) -> Known<Ratio> {
    let contactors = Known::assumed(
        "V_c",
        "voltage at which contactors hold",
        Ratio::of(CONTACTOR_HOLDS),
        "contactors may drop out below 70 % (common practice)",
    );
    let T_n = &event.torque_needed;
    let torque =
        formula!("V_t", "voltage at which the motor still has the torque it needs", [T_n] => root(T_n));
    let mut floors = vec![contactors, torque];
    if t.value() >= case.unit.under_voltage.after {
        floors.push(Known::catalog(
            "V_u",
            "under-voltage trip of the unit",
            case.unit.under_voltage.below,
            &case.unit.id,
            "under_voltage",
        ));
    }
    Known::largest("V_min", "lowest voltage at which the start is safe", &floors)
        .unwrap_or_else(|| Known::factor("V_min", "lowest voltage", 1.0, "no floor known"))
}

struct CurrentShare {
    value: Known<Current>,
    limit: Known<Current>,
}

impl CurrentShare {
    fn margin(&self, named: &str, state: &str) -> Margin {
        Margin::below("group", say!("current, {named}", named), state, &self.value, &self.limit)
    }
}

/// How long the group holds a current: by the overload list up to its last power, by the surge rating beyond.
fn allowed_time(
    case: &Case<'_>,
    bridge: &Bridge,
    current: &Known<Current>,
) -> (Known<Duration>, CurrentShare) {
    let rating = case.rating;
    let n_c = &counted(case.unit, bridge.units);
    let U =
        &Known::input("U", "nominal voltage of the bridge", bridge.volts, &case.site.service.system.place);
    let line_to_line = case.unit.leg_control == LegControl::LineToLine;
    let S_c = if line_to_line { &rating.apparent } else { &rating.leg_apparent };
    let continuous: Known<Current> =
        formula!("I_c", "continuous current that the group may count on", [S_c, n_c, U] => S_c * n_c / U);
    let I_s = &rating.surge;
    let surge: Known<Current> =
        formula!("I_lim", "current limit that the group may count on", [I_s, n_c] => I_s * n_c);
    let share = CurrentShare { value: current.clone(), limit: surge };
    if current.value() <= continuous.value() {
        let day = Known::chosen(
            "t_a",
            "allowed time",
            Duration::of(86_400.0),
            "the current is within the continuous rating",
            vec![current.node().clone(), continuous.node().clone()],
        );
        return (day, share);
    }
    // the list is ordered longest first, so the first level that reaches the current allows the longest time
    let level = rating.overload.iter().find(|o| {
        let S_o = &o.leg_apparent;
        let reach: Known<Current> =
            formula!("I_o", "overload current that the group may count on", [S_o, n_c, U] => S_o * n_c / U);
        current.value() <= reach.value()
    });
    let (lasts, why) = match level {
        Some(level) => (&level.lasts, "of the lowest listed overload that reaches the current"),
        None => (&rating.surge_lasts, "of the surge rating: the current is above every listed overload"),
    };
    let from = vec![lasts.node().clone(), current.node().clone()];
    (Known::chosen("t_a", "allowed time", lasts.value(), why, from), share)
}
