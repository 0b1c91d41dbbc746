//! Loads of the site file with their electrical size worked out, in the order of their names.

use std::collections::BTreeMap;

use derivation::{Known, Place, formula};
use finding::{Finding, Severity};
use num_complex::Complex64;
use quantity::{Apparent, Connection, Power, Quantity, Ratio, VoltageSystem, as_va, as_w};
use reading::Placed;
use saying::say;
use site::{Earthing, LegWish, Load, LoadSize, Schedule, Season};

use crate::assumptions::Assumptions;
use crate::coincidence::Coincidence;
use crate::duration::OnTime;
use crate::motor::{self, MotorFacts};
use crate::phasor::{ByLeg, by_leg};
use crate::sweep::Copies;

/// Duration from which on a load counts as continuous, in s (NEC 2023 article 100: three hours or more).
const CONTINUOUS_S: f64 = 10_800.0;

/// One load, ready for the sums.
#[derive(Debug, Clone)]
pub(crate) struct Piece {
    pub name: String,
    pub panel: String,
    pub at_once: u32,
    pub wish: LegWish,
    /// Instances by connection, in order of connection.
    pub placed: Vec<(Connection, u32)>,
    pub count: u32,
    /// Running power of one instance in VA.
    pub power_va: Complex64,
    pub power: Known<Power>,
    pub apparent: Known<Apparent>,
    /// Peak over RMS of the current.
    pub crest: Known<Ratio>,
    /// Peak of the current over the RMS of its fundamental.
    pub peak_over_fundamental: f64,
    /// Third harmonic as a share of the fundamental.
    pub third: f64,
    pub on: OnTime,
    /// Mean running time a day in s, for the energy of a month.
    pub daily_s: f64,
    /// Longest running time in a day in s, for the energy of the worst day.
    pub worst_day_s: f64,
    pub continuous: bool,
    pub season: Option<Season>,
    /// Share of each hour of the day in which one runs on its longest day, where that is known.
    pub hourly: Option<[f64; 24]>,
    /// Shedding priority.
    pub shed: Option<u32>,
    pub never_with: Vec<String>,
    pub in_measured: bool,
    pub motor: Option<MotorFacts>,
    pub place: Place,
}

/// What the pieces share.
pub(crate) struct Context<'a> {
    pub system: VoltageSystem,
    /// US practice: NEC tables and factors apply.
    pub us: bool,
    pub assumptions: &'a mut Assumptions,
    pub findings: &'a mut Vec<Finding>,
    /// Series of loads by file name.
    pub series: &'a BTreeMap<String, crate::series::Series>,
}

impl Context<'_> {
    /// Whether the NEC's tables apply to a site.
    pub fn is_us(system: VoltageSystem, earthing: Earthing) -> bool {
        earthing == Earthing::Us && !matches!(system, VoltageSystem::Single230 | VoltageSystem::Wye230_400)
    }
}

/// The connection by which a load's nominal voltage is told, before it is placed.
pub(crate) fn nominal(wish: LegWish) -> Connection {
    use quantity::Leg::{L1, L2};
    match wish {
        LegWish::On(connection) => connection,
        LegWish::AnyLeg => Connection::LineToNeutral(L1),
        LegWish::AnyPair => Connection::LineToLine(L1, L2),
    }
}

impl Piece {
    /// Works one load out. `None` with a finding where it cannot be connected.
    pub fn read(load: &Load, context: &mut Context<'_>) -> Option<Self> {
        let connection = nominal(load.legs.value);
        if !context.system.has(connection) {
            let name = &load.name.value;
            context.findings.push(
                Finding::new(
                    "load-not-placed",
                    Severity::NotCovered,
                    format!("load.{name}"),
                    say!(
                        "\"{name}\" asks for legs that {system} does not have",
                        name,
                        system = context.system
                    ),
                )
                .at(Some(&load.legs.place), say!("these legs do not exist here"))
                .fix(say!("connect it to legs of this service, or state another voltage system")),
            );
            return None;
        }
        let (power, apparent, motor) = match &load.size {
            LoadSize::Motor(motor) => motor::facts(load, motor, connection, context),
            LoadSize::Power(power) => {
                let (power, apparent) = by_power(load, power, context);
                (power, apparent, None)
            }
            LoadSize::Apparent(apparent) => {
                let S = apparent.known("S", format!("apparent power of {}", load.name.value));
                (power_of(&S, load, context), S, None)
            }
            LoadSize::Current(current) => {
                let name = &load.name.value;
                let I = current.known("I", format!("current of {name}"));
                let S =
                    apparent_of_current(&I, connection, context.system, format!("apparent power of {name}"));
                (power_of(&S, load, context), S, None)
            }
        };
        let third = load.third_harmonic.as_ref().map_or(0.0, |h| h.value.si().max(0.0));
        let (crest, peak_over_fundamental) = match &load.crest_factor {
            Some(crest) => {
                let crest = crest.known("k_crest", "crest factor of the current");
                let over = crest.value().si() * (1.0 + third * third).sqrt();
                (crest, over)
            }
            None => {
                let crest = sine_crest(context);
                // fundamental and third harmonic at their peaks together
                let over = crest.value().si() * (1.0 + third);
                (crest, over)
            }
        };
        let (on, daily_s) = running_time(load, &power, context);
        let worst_day_s = if on.measured.is_some() { on.within(86_400.0) } else { daily_s };
        let continuous = is_continuous(load, &on, context);
        let count = load.count;
        let placed = match load.legs.value {
            LegWish::On(connection) => vec![(connection, count)],
            LegWish::AnyLeg | LegWish::AnyPair => Vec::new(),
        };
        Some(Self {
            name: load.name.value.clone(),
            panel: load.panel.value.clone(),
            at_once: load.at_once.as_ref().map_or(count, |k| k.value.min(count)),
            wish: load.legs.value,
            placed,
            count,
            power_va: complex(power.value().si(), apparent.value().si()),
            power,
            apparent,
            crest,
            peak_over_fundamental,
            third,
            on,
            daily_s,
            worst_day_s,
            continuous,
            season: load.season.as_ref().map(|s| s.value),
            hourly: hours_of_day(load, worst_day_s, context),
            shed: load.shed.as_ref().map(|s| s.value),
            never_with: load.never_with.iter().map(|n| n.value.clone()).collect(),
            in_measured: load.in_measured.as_ref().is_some_and(|m| m.value),
            motor,
            place: load.place.clone(),
        })
    }

    /// Power of one instance on each leg by connection.
    pub fn legs_va(&self, system: VoltageSystem, connection: Connection) -> ByLeg {
        by_leg(system, connection, self.power_va).unwrap_or_default()
    }

    /// A phasor of each instance, made from its connection.
    pub fn copies(&self, with: impl Fn(Connection) -> Complex64) -> Copies {
        Copies { at_once: self.at_once, alike: self.placed.iter().map(|(c, n)| (with(*c), *n)).collect() }
    }
}

/// P + jQ from W and VA, inductive.
pub(crate) fn complex(power_w: f64, apparent_va: f64) -> Complex64 {
    Complex64::new(power_w, (apparent_va * apparent_va - power_w * power_w).max(0.0).sqrt())
}

pub(crate) fn sine_crest(context: &mut Context<'_>) -> Known<Ratio> {
    context.assumptions.take(
        "k_crest",
        "crest factor of load currents",
        Ratio::of(1.414),
        "sine-shaped current where the site states no crest factor",
    )
}

fn by_power(
    load: &Load,
    power: &Placed<Power>,
    context: &mut Context<'_>,
) -> (Known<Power>, Known<Apparent>) {
    let name = &load.name.value;
    let P = power.known("P", format!("active power of {name}"));
    let pf = stated_power_factor(load).unwrap_or_else(|| {
        context.assumptions.take(
            "pf",
            "power factor of loads given in W",
            Ratio::of(0.9),
            "common practice; a lower one asks for more VA, so state 1 for heaters",
        )
    });
    let S = formula!("S", format!("apparent power of {name}"), [P, pf] => as_va(P / pf));
    (P, S)
}

fn stated_power_factor(load: &Load) -> Option<Known<Ratio>> {
    load.power_factor.as_ref().map(|pf| pf.known("pf", format!("power factor of {}", load.name.value)))
}

fn power_of(S: &Known<Apparent>, load: &Load, context: &mut Context<'_>) -> Known<Power> {
    let pf = stated_power_factor(load).unwrap_or_else(|| {
        context.assumptions.take(
            "pf",
            "power factor of loads given in VA or A",
            Ratio::of(1.0),
            "asks for the most W; state the power factor where it is known",
        )
    });
    formula!("P", format!("active power of {}", load.name.value), [S, pf] => as_w(S * pf))
}

/// Apparent power of a current at the nominal voltage of its connection.
pub(crate) fn apparent_of_current(
    I: &Known<quantity::Current>,
    connection: Connection,
    system: VoltageSystem,
    what: String,
) -> Known<Apparent> {
    let line = system.line_voltage();
    match (connection, line) {
        (Connection::LineToLine(..), Some(volts)) => {
            let V = Known::assumed("V", "nominal line-to-line voltage", volts, system.name());
            formula!("S", what, [V, I] => V * I)
        }
        (Connection::ThreePhase, Some(volts)) => {
            let V = Known::assumed("V", "nominal line-to-line voltage", volts, system.name());
            let k = Known::factor("√3", "three phases", 3f64.sqrt(), "definition of three-phase power");
            formula!("S", what, [k, V, I] => V * I * k)
        }
        _ => {
            let V =
                Known::assumed("V", "nominal line-to-neutral voltage", system.phase_voltage(), system.name());
            formula!("S", what, [V, I] => V * I)
        }
    }
}

/// Longest times on, and the running time a day that counts for energy, in s.
fn running_time(load: &Load, power: &Known<Power>, context: &mut Context<'_>) -> (OnTime, f64) {
    let run = match (&load.lasts, &load.rests) {
        (Some(lasts), Some(rests)) => Some((lasts.value.si(), rests.value.si())),
        _ => None,
    };
    match &load.schedule {
        Schedule::Daily(daily) => {
            let daily_s = daily.value.a_day().si();
            (OnTime { daily_s, run, measured: None }, daily_s)
        }
        Schedule::Hourly(shares) => {
            let hours = shares.iter().filter(|s| s.value.si() > 0.0).count();
            let energy: f64 = shares.iter().map(|s| s.value.si().clamp(0.0, 1.0) * 3600.0).sum();
            (OnTime { daily_s: hours as f64 * 3600.0, run, measured: None }, energy)
        }
        Schedule::Series(file) => {
            let whole_day = OnTime { daily_s: 86_400.0, run: None, measured: None };
            // an unreadable file was reported with its lines; until it is mended the load counts as always on
            let Some(series) = context.series.get(&file.value) else { return (whole_day, 86_400.0) };
            let rated_w = power.value().si();
            let peak_w = series.total().peak_w();
            if peak_w > rated_w * (1.0 + 1e-9) {
                let measured = Known::input("P_max", "highest interval mean", Power::of(peak_w), &file.place);
                context.findings.push(
                    Finding::new(
                        "series-above-size",
                        Severity::NotCovered,
                        format!("load.{}", load.name.value),
                        say!(
                            "the measured series of \"{load}\" reaches {peak_w}, more than its stated size {power}",
                            load = load.name.value,
                            peak_w = Power::of(peak_w),
                            power = power.value()
                        ),
                    )
                    .measured(measured.node(), power.node())
                    .at(Some(&file.place), say!("this series is above the size of the load"))
                    .fix(say!("state at least {peak_w} as its power", peak_w = Power::of(peak_w))),
                );
                return (whole_day, 86_400.0);
            }
            let mut envelope = series.total().envelope_w();
            // below the interval nothing is known but the size itself
            let scale = if rated_w > 0.0 { peak_w / rated_w } else { 1.0 };
            for point in &mut envelope.points {
                point.1 *= scale;
            }
            // within one interval the load may run at its full size all the time
            envelope.points.insert(0, (series.interval_s * (1.0 - 1e-6), series.interval_s));
            let daily_s = if rated_w > 0.0 { series.total().mean_w() / rated_w * 86_400.0 } else { 0.0 };
            (OnTime { daily_s: 86_400.0, run: None, measured: Some(envelope.into()) }, daily_s)
        }
    }
}

/// Share of each hour in which a load runs on its longest day: as stated, or as its record has it.
fn hours_of_day(load: &Load, worst_day_s: f64, context: &Context<'_>) -> Option<[f64; 24]> {
    match &load.schedule {
        Schedule::Daily(_) => None,
        Schedule::Hourly(shares) => {
            let share = |h: usize| shares.get(h).map_or(0.0, |s| s.value.si().clamp(0.0, 1.0));
            Some(std::array::from_fn(share))
        }
        Schedule::Series(file) => {
            let series = context.series.get(&file.value)?;
            Some(crate::profile::by_record(series, &series.total(), worst_day_s))
        }
    }
}

/// Whether a load counts as continuous. A stated "no" is not believed where the stated times let it run three hours
/// or more in one go.
fn is_continuous(load: &Load, on: &OnTime, context: &mut Context<'_>) -> bool {
    let may = on.within(CONTINUOUS_S) >= CONTINUOUS_S - 1e-6;
    let Some(stated) = &load.continuous else {
        context.assumptions.take(
            "t_c",
            "running time from which a load counts as continuous",
            quantity::Duration::of(CONTINUOUS_S),
            "NEC 2023 article 100, where the site does not say whether a load is continuous",
        );
        return may;
    };
    let in_one_go = may && longest_full_s(&load.schedule).is_none_or(|full_s| full_s >= CONTINUOUS_S);
    if !stated.value && in_one_go {
        let name = &load.name.value;
        context.findings.push(
            Finding::new(
                "continuous-contradicted",
                Severity::Warning,
                format!("load.{name}"),
                say!("\"{name}\" is stated as not continuous, and by its times it may run three hours or more in one \
                     go: it is counted as continuous", name),
            )
            .by("NEC 2023 article 100")
            .at(Some(&stated.place), say!("contradicted by its times"))
            .fix(say!(
                "state its longest run and shortest pause (`lasts`, `rests`), or leave `continuous` out"
            )),
        );
    }
    stated.value || in_one_go
}

/// With an hourly profile: the longest stretch of hours in which a load runs all the time, over midnight as well.
fn longest_full_s(schedule: &Schedule) -> Option<f64> {
    let Schedule::Hourly(shares) = schedule else { return None };
    let full = |share: &&Placed<Ratio>| share.value.si() >= 1.0 - 1e-9;
    let (mut longest, mut stretch) = (0usize, 0usize);
    for share in shares.iter().chain(shares) {
        stretch = if full(&share) { stretch + 1 } else { 0 };
        longest = longest.max(stretch.min(shares.len()));
    }
    Some(longest as f64 * 3600.0)
}

/// The conflict graph of pieces, in their order.
pub(crate) fn coincidence(pieces: &[&Piece]) -> Coincidence {
    let index: BTreeMap<&str, usize> = pieces.iter().enumerate().map(|(k, p)| (p.name.as_str(), k)).collect();
    let edges: Vec<(usize, usize)> = pieces
        .iter()
        .enumerate()
        .flat_map(|(k, p)| p.never_with.iter().filter_map(|n| index.get(n.as_str())).map(move |o| (k, *o)))
        .collect();
    Coincidence::new(pieces.iter().map(|p| p.season).collect(), &edges)
}
