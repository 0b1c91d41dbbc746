//! What instruments should show at the check-out of a design, each figure with its derivation. The papers only say in
//! which order, and how, it is read.

mod arrays;
mod battery;
mod residual;
mod returns;

use std::ops::Mul;

use assess::{Case, SoftStart, soft_start};
use catalog::{LegControl, UnitModel};
use derivation::{Known, formula};
use plant::Layout;
use quantity::{
    Apparent, Current, DcCurrent, DcVoltage, Duration, Frequency, Leg, LineVoltage, PhaseVoltage, Power,
    Quantity, Ratio,
};
use site::{Earthing, ExportClass};

use crate::Design;

pub use arrays::{AcArrayReadings, Insulation, StringReadings, VoltageAt};
pub use battery::floor;
pub use residual::{OpensIn, ResidualReadings, residual_devices};
pub use returns::{earliest_return, returns_by};

/// Share of the voltage to neutral that may stand across an open breaker between two sides in step (common practice).
const IN_STEP_SHARE: f64 = 0.02;
/// Share of the nominal battery voltage that may be left when a disconnect closes (common practice).
const PRECHARGED_SHARE: f64 = 0.05;

/// Lowest and highest of a reading.
pub type Band<Q> = (Known<Q>, Known<Q>);

/// Voltages and frequency of a source.
#[derive(Debug, Clone)]
pub struct SourceReadings {
    /// Each leg to neutral.
    pub phase: Band<PhaseVoltage>,
    /// Between lines; none where there is one leg.
    pub line: Option<Band<LineVoltage>>,
    /// Frequency.
    pub frequency: Band<Frequency>,
}

/// One leg with the assessed demand on it.
#[derive(Debug, Clone)]
pub struct LegReadings {
    /// Leg.
    pub leg: Leg,
    /// At the backup panel.
    pub panel: Known<Current>,
    /// The most of one unit; none where one carries the leg alone, or its legs are not read by themselves.
    pub unit: Option<Known<Current>>,
}

/// Everything that is computed for a check-out.
#[derive(Debug, Clone)]
pub struct Readings {
    /// Each battery string at its disconnect, at rest.
    pub battery: Band<DcVoltage>,
    /// Largest difference between strings that are to be paralleled; none without a bank or with one string.
    pub strings_differ: Option<Known<DcVoltage>>,
    /// Strings of the bank in parallel, where it is decided.
    pub strings: Option<u32>,
    /// Across an open disconnect when pre-charge is over, at most.
    pub precharged: Known<DcVoltage>,
    /// How the capacitors of the units are charged before their disconnect closes.
    pub soft_start: Option<SoftStart>,
    /// Direct current of all units awake without load.
    pub idle: Known<DcCurrent>,
    /// The service, the group by itself, a generator.
    pub source: SourceReadings,
    /// Across an open output breaker of units in step, at most.
    pub in_step: Known<PhaseVoltage>,
    /// Longest gap at the panel when the utility goes; none where nobody states it.
    pub gap: Option<Known<Duration>>,
    /// Earliest return of the units to the utility: what the unit does and what the rule of interconnection asks for.
    pub units_back: Known<Duration>,
    /// Earliest return of the transfer switch, where one is set.
    pub switch_back: Option<Known<Duration>>,
    /// Time within which output towards a dead utility ceases, where a standard of this book states it.
    pub ceases: Option<Known<Duration>>,
    /// Most by which the phases may differ towards the utility, where it says so.
    pub unbalance: Option<Known<Apparent>>,
    /// Most that may flow to the utility with every array running.
    pub given_back: Known<Power>,
    /// The legs under the assessed demand.
    pub legs: Vec<LegReadings>,
    /// Residual current devices that the site states, by the IEC book.
    pub residual: Vec<ResidualReadings>,
    /// Strings of arrays.
    pub arrays: Vec<StringReadings>,
    /// Arrays on panels.
    pub ac_arrays: Vec<AcArrayReadings>,
}

/// Computes them.
pub fn readings(design: &Design<'_>) -> Readings {
    let case = &design.case;
    Readings {
        battery: battery::at_rest(case),
        strings_differ: case.bank.as_ref().and_then(|bank| battery::differ(bank.model, bank.strings)),
        strings: case.bank.as_ref().map(|bank| bank.strings),
        precharged: precharged(case),
        soft_start: soft_start(case),
        idle: idle(case),
        source: source(case),
        in_step: in_step(case),
        gap: gap(case),
        units_back: earliest_return(case),
        switch_back: case.settings.retransfer.as_ref().map(|range| {
            Known::chosen("t", "earliest return of the switch", range.earliest, "as set", Vec::new())
        }),
        ceases: (case.layout != Layout::Islanded && us(case)).then(ceases),
        unbalance: case
            .site
            .utility
            .unbalance_cap
            .as_ref()
            .map(|cap| cap.known("S_u", "difference between phases that the utility accepts")),
        given_back: given_back(case),
        legs: legs(case),
        residual: residual_devices(case),
        arrays: case.strings.iter().map(arrays::strings).collect(),
        ac_arrays: case.arrays.iter().map(|array| arrays::on_panel(case, array)).collect(),
    }
}

/// The export setting is that of the group alone: arrays on panels give back beside it. A limit of the utility, and its
/// no, hold for all together.
fn given_back(case: &Case<'_>) -> Known<Power> {
    let group = &case.settings.export_limit;
    let utility = &case.site.utility;
    let Some(arrays) = assess::array_power(case) else { return group.clone() };
    match utility.export.as_ref().map(|class| class.value) {
        Some(ExportClass::Full) => {
            Known::sum("P_u", "most that group and arrays give back", &[group.clone(), arrays])
        }
        Some(ExportClass::Limited) => match &utility.export_limit {
            Some(limit) => limit.known("P_u", "export limit of the utility"),
            None => group.clone(),
        },
        Some(ExportClass::None) | None => {
            let why = "the utility takes no power back, from arrays either";
            Known::assumed("P_u", "export of group and arrays", Power::ZERO, why)
        }
    }
}

fn us(case: &Case<'_>) -> bool {
    case.site.service.earthing.value == Earthing::Us
}

/// Lowest and highest working voltage of a unit's direct-current side.
pub fn window(unit: &UnitModel) -> Band<DcVoltage> {
    let of = |symbol, what: &str, value, field| Known::catalog(symbol, what, value, &unit.id, field);
    (
        of("U_min", "lowest working voltage of the unit", unit.dc.lowest, "dc lowest"),
        of("U_max", "highest working voltage of the unit", unit.dc.highest, "dc highest"),
    )
}

/// A band round a nominal value: lowest and highest.
pub(crate) fn band<Q>(symbol: &str, what: &str, nominal: &Known<Q>, tolerance: &Known<Ratio>) -> Band<Q>
where
    Q: Quantity + Mul<f64, Output = Q>,
{
    let t = tolerance.value().si();
    let of = |factor: f64, word: &str, expression: &str| {
        let args =
            vec![("nominal".to_owned(), nominal.node().clone()), ("t".to_owned(), tolerance.node().clone())];
        Known::formula(symbol, format!("{word} {what}"), nominal.value() * factor, expression, args, None)
    };
    (of(1.0 - t, "lowest", "nominal * (1 - t)"), of(1.0 + t, "highest", "nominal * (1 + t)"))
}

fn source(case: &Case<'_>) -> SourceReadings {
    let tolerance = if us(case) {
        let source = "ANSI C84.1, range A (from memory, confirm)";
        Known::factor("t", "tolerance of the service voltage", 0.05, source)
    } else {
        Known::factor("t", "tolerance of the supply voltage", 0.10, "IEC 60038 (from memory, confirm)")
    };
    let place = &case.site.service.system.place;
    let line =
        case.system().line_voltage().map(|v| Known::input("U_LL", "nominal voltage between lines", v, place));
    let f = match &case.site.service.frequency {
        Some(f) => f.known("f", "frequency of the site"),
        None => Known::assumed(
            "f",
            "frequency of the site",
            case.system().usual_frequency(),
            "the usual one of this system",
        ),
    };
    let t_f =
        Known::factor("t_f", "tolerance of frequency", 0.01, "common practice, confirm with the utility");
    SourceReadings {
        phase: band("U", "voltage to neutral", &case.voltage(), &tolerance),
        line: line.map(|line| band("U_LL", "voltage between lines", &line, &tolerance)),
        frequency: band("f", "frequency", &f, &t_f),
    }
}

fn in_step(case: &Case<'_>) -> Known<PhaseVoltage> {
    let U = case.voltage();
    let s = Known::factor("s", "share of it across sides in step", IN_STEP_SHARE, "common practice");
    formula!("dU", "most across an open breaker between sides in step", [U, s] => U * s)
}

fn nominal(case: &Case<'_>) -> Known<DcVoltage> {
    Known::catalog("U_dc", "nominal DC voltage", case.unit.dc.nominal, &case.unit.id, "dc nominal")
}

fn precharged(case: &Case<'_>) -> Known<DcVoltage> {
    let nominal = nominal(case);
    let why = "common practice, confirm with the maker";
    let s = Known::factor("s", "share of the battery voltage that may be left", PRECHARGED_SHARE, why);
    formula!("dU", "voltage across the disconnect before it closes", [nominal, s] => nominal * s)
}

fn counted(what: &str, n: u32) -> Known<Ratio> {
    Known::chosen("n", what, Ratio::of(f64::from(n)), "formation", Vec::new())
}

fn idle(case: &Case<'_>) -> Known<DcCurrent> {
    let P_0 =
        Known::catalog("P_0", "draw of one unit awake without load", case.unit.idle, &case.unit.id, "idle");
    let (n, U) = (counted("units", case.formation.units()), nominal(case));
    formula!("I_0", "DC current of all units awake without load", [P_0, n, U] => P_0 * n / U)
}

fn gap(case: &Case<'_>) -> Option<Known<Duration>> {
    match (case.layout, case.transfer) {
        (Layout::Outboard, Some(t)) => {
            let latest = t.to_second.latest?;
            let t_2 = Known::catalog("t_2", "latest move to the group", latest, &t.id, "to_second latest");
            let t_v = Known::catalog("t_v", "travel of the switch", t.travel, &t.id, "travel");
            Some(formula!("t", "longest gap", [t_2, t_v] => t_2 + t_v))
        }
        _ => {
            let unit = case.unit;
            Some(Known::catalog("t", "longest transfer", unit.transfer_gap, &unit.id, "transfer_gap"))
        }
    }
}

/// From memory.
pub(crate) fn ceases() -> Known<Duration> {
    let source = "IEEE 1547-2018 8.1 (from memory, confirm)";
    Known::constant("t_i", "time within which output ceases", Duration::of(2.0), source)
}

fn legs(case: &Case<'_>) -> Vec<LegReadings> {
    let unit = case.unit;
    let each = case.demand.lanes.iter().filter_map(|(lane, demand)| {
        let demand::Lane::Leg(leg) = lane else { return None };
        let I = &demand.steady_current;
        let units = case.formation.on(*leg);
        let read = units > 1 && unit.leg_control != LegControl::LineToLine;
        let one = read.then(|| {
            let n_c = assess::counted(unit, units);
            formula!("I_1", "most of one unit", [I, n_c] => I / n_c)
        });
        Some(LegReadings { leg: *leg, panel: I.clone(), unit: one })
    });
    each.collect()
}
