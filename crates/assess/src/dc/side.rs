//! The bus as a ladder of landings with everything on it, and how it settles.

use derivation::{Known, formula};
use network::NetworkError;
use network::dc::bus::{BankString, BusOutcome, BusState, DcBus, DcUnit};
use network::dc::landing::one_string_off;
use network::dc::mismatch::worst_mismatch;
use quantity::{DcCurrent, DcVoltage, Power, Quantity, Ratio, Resistance, positive};

use super::draw::{Draw, UnitGiven, draws, one_from_bus};
use super::figures::Figures;
use super::{Bank, Landed, Landing, runs};
use crate::Case;

/// The bank on its bus.
pub(crate) struct Side<'s> {
    case: &'s Case<'s>,
    bank: &'s Bank<'s>,
    pub figures: &'s Figures,
    pub draws: Vec<Draw>,
}

impl<'s> Side<'s> {
    pub fn new(case: &'s Case<'s>, bank: &'s Bank<'s>, figures: &'s Figures) -> Self {
        Self { case, bank, figures, draws: draws(case) }
    }

    /// The demand that may last for any time.
    pub fn lasting(&self) -> Option<&Draw> {
        self.draws.iter().rev().find(|d| d.lasts.is_none())
    }

    /// The bus under a draw: the unit with the largest part at the far end, the others share the rest.
    pub fn bus(&self, draw: &Draw) -> DcBus {
        let n = self.case.formation.units().max(1);
        let (P, P_w) = (&draw.group, &draw.unit);
        let rest = if n > 1 {
            let others =
                Known::chosen("n_o", "other units", Ratio::of(f64::from(n - 1)), "counted", Vec::new());
            formula!("P_o", "part of each other unit", [P, P_w, others] => positive(P - P_w) / others)
        } else {
            P_w.clone()
        };
        self.with(|unit| if unit + 1 == n { P_w.clone() } else { rest.clone() })
    }

    /// The bus while every unit charges with a current, and all charge controllers give their highest, landed as
    /// evenly among the units. All strings take it, or also any that are left with one off.
    pub fn charging(&self, current: &Known<DcCurrent>, one_off: bool) -> DcBus {
        let with_solar = self.bank.solar.as_ref().map(|I_A| {
            let units = f64::from(self.case.formation.units().max(1));
            let n = Known::chosen("n", "units", Ratio::of(units), "counted", Vec::new());
            formula!("I_cA", "charging current at a unit's landing, with controllers", [current, I_A, n] => current + I_A / n)
        });
        let current = with_solar.as_ref().unwrap_or(current);
        let (I, V_0, V) = (current, &self.figures.low, self.charging_voltage(current, one_off));
        let power = formula!("P_c", "charging power of a unit", [I, V_0, V] => (V_0 + V) * I);
        let minus = Known::factor("minus", "into the bus", -1.0, "convention of signs");
        let into = formula!("P_u", "power of a unit, into the bus", [power, minus] => power * minus);
        self.with(|_| into.clone())
    }

    /// By how much charging lifts the terminals of a unit over the strings' open-circuit voltage at most: every current
    /// over every resistance that it can meet. So no unit is given less than its current.
    fn charging_voltage(&self, I: &Known<DcCurrent>, one_off: bool) -> Known<DcVoltage> {
        let (bank, n) = (self.bank, self.case.formation.units().max(1));
        let (R_c, R_u) = runs::cables(self.case, bank);
        let count = |symbol: &str, what: &str, n: u32| {
            Known::chosen(symbol, what, Ratio::of(f64::from(n.max(1))), "counted", Vec::new())
        };
        let taking = bank.strings.saturating_sub(u32::from(one_off));
        let (n_u, n_p) = (count("n", "units", n), count("n_p", "strings that take it", taking));
        let bar = bank.busbar.map_or(Resistance::ZERO, |bar| bar.step * f64::from(n + bank.strings));
        let R_b =
            Known::chosen("R_b", "resistance of the whole bar", bar, "all landings in a row", Vec::new());
        let R_s = &self.figures.resistance;
        formula!("dV", "rise in charging, at most", [R_s, R_c, R_u, R_b, n_u, n_p, I] =>
            ((R_s + R_c) / n_p + R_b) * (I * n_u) + R_u * I)
    }

    fn with(&self, power: impl Fn(u32) -> Known<Power>) -> DcBus {
        let (bank, n) = (self.bank, self.case.formation.units().max(1));
        let (string_cable, unit_cable) = runs::cables(self.case, bank);
        let (strings, units, landings) = landings(bank, n);
        let step = bank.busbar.map(|bar| {
            Known::catalog("R_b", "resistance from one landing to the next", bar.step, &bar.id, "step")
        });
        let segments = step.map_or_else(Vec::new, |step| vec![step; landings.saturating_sub(1)]);
        let at = |k: usize| if segments.is_empty() { 0 } else { k };
        DcBus {
            strings: strings
                .into_iter()
                .enumerate()
                .map(|(k, landing)| BankString {
                    name: format!("{}", k + 1),
                    landing: at(landing),
                    ocv: self.figures.low.clone(),
                    internal: self.figures.resistance.clone(),
                    management: None,
                    cable: string_cable.clone(),
                })
                .collect(),
            units: units
                .into_iter()
                .zip(0_u32..)
                .map(|(landing, k)| DcUnit {
                    name: format!("unit {}", k + 1),
                    landing: at(landing),
                    power: power(k),
                    cable: unit_cable.clone(),
                })
                .collect(),
            segments,
        }
    }

    /// Largest current of a string under a draw, strings as unlike as they may be.
    pub fn worst_string(&self, bus: &DcBus) -> Result<Known<DcCurrent>, NetworkError> {
        if bus.strings.len() > 1 {
            return worst_mismatch(bus, &self.figures.spread).map(|m| m.worst_current);
        }
        match bus.solve()? {
            BusOutcome::Settled(state) => Ok(state.worst_current),
            BusOutcome::NoSolution { .. } | BusOutcome::NotConverged => {
                Err(NetworkError::NoSolution("the bus has no steady voltage"))
            }
        }
    }

    /// What the others do with each string off in turn; none where the bus then has no steady voltage.
    pub fn one_off(&self, bus: &DcBus) -> Result<Option<Vec<BusState>>, NetworkError> {
        let all = one_string_off(bus)?.into_iter().map(|one| one.outcome.settled().cloned());
        Ok(all.collect())
    }

    /// The largest current of a surviving string when the one is off whose loss is worst, the others as unlike as they
    /// may be; none where the bus then has no steady voltage.
    pub fn survivors(&self, bus: &DcBus) -> Result<Option<Known<DcCurrent>>, NetworkError> {
        let mut worst: Option<(usize, f64)> = None;
        let Some(states) = self.one_off(bus)? else { return Ok(None) };
        for (off, state) in states.iter().enumerate() {
            let most = state.worst_current.value().si();
            if worst.is_none_or(|(_, before)| most > before) {
                worst = Some((off, most));
            }
        }
        let mut rest = bus.clone();
        let Some((off, _)) = worst.filter(|(off, _)| *off < rest.strings.len()) else { return Ok(None) };
        rest.strings.remove(off);
        match self.worst_string(&rest) {
            Ok(current) => Ok(Some(current)),
            Err(NetworkError::NoSolution(_)) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// The lowest voltage at a unit with any one string off; none where the bus then has no steady voltage.
    pub fn lowest_one_off(&self, bus: &DcBus) -> Result<Option<Known<DcVoltage>>, NetworkError> {
        let Some(states) = self.one_off(bus)? else { return Ok(None) };
        let volts: Vec<Known<DcVoltage>> = states.iter().filter_map(lowest).collect();
        Ok(Known::smallest("V_u", "lowest voltage at a unit, one string off", &volts))
    }
}

/// What lands on the bar of a bank, from one end to the other, as its sharing is reckoned. Charge controllers are reckoned
/// as if each unit had its part of them.
pub fn along_the_bar(bank: &Bank<'_>, units: u32) -> Vec<Landed> {
    let s = bank.strings;
    match bank.landing {
        Landing::Apart => (1..=s).map(Landed::String).chain((1..=units).map(Landed::Unit)).collect(),
        Landing::InTurn => {
            let (mut along, mut a, mut b) = (Vec::new(), 0, 0);
            while a < s || b < units {
                // whichever is behind its share comes next
                if b >= units || (a < s && a * units <= b * s) {
                    a += 1;
                    along.push(Landed::String(a));
                } else {
                    b += 1;
                    along.push(Landed::Unit(b));
                }
            }
            along
        }
    }
}

/// Landings of strings and of units, and how many there are.
fn landings(bank: &Bank<'_>, units: u32) -> (Vec<usize>, Vec<usize>, usize) {
    let along = along_the_bar(bank, units);
    let places = |strings: bool| {
        let all = along.iter().enumerate().filter(|(_, l)| matches!(l, Landed::String(_)) == strings);
        all.map(|(k, _)| k).collect()
    };
    (places(true), places(false), along.len())
}

/// The largest string current with the bank landed apart and in turn, under the demand for any time.
pub fn landing_gain(case: &Case<'_>, bank: &Bank<'_>) -> Option<(Known<DcCurrent>, Known<DcCurrent>)> {
    let figures = Figures::of(bank).ok()?;
    let worst = |landing| {
        let bank = Bank { landing, ..bank.clone() };
        let side = Side::new(case, &bank, &figures);
        let bus = side.bus(side.lasting()?);
        Some(bus.solve().ok()?.settled()?.worst_current.clone())
    };
    Some((worst(Landing::Apart)?, worst(Landing::InTurn)?))
}

/// The largest charging current of a string while every unit charges with a current, also with one string off.
pub fn charging_worst(
    case: &Case<'_>,
    bank: &Bank<'_>,
    current: &Known<DcCurrent>,
) -> Option<Result<Known<DcCurrent>, NetworkError>> {
    let figures = Figures::of(bank).ok()?;
    let side = Side::new(case, bank, &figures);
    let worst = side.worst_string(&side.charging(current, false));
    if bank.strings < 2 {
        return Some(worst);
    }
    Some(worst.and_then(|worst| match side.survivors(&side.charging(current, true))? {
        None => Err(NetworkError::NoSolution("the bus has no steady voltage with one string off")),
        Some(one_off) => Ok(if one_off.value() > worst.value() { one_off } else { worst }),
    }))
}

/// What flows on the direct-current side while the units give or take a power.
#[derive(Debug, Clone)]
pub struct DcFlow {
    /// Lowest voltage at a unit; none where the bus has no steady voltage.
    pub unit_v: Option<f64>,
    /// Voltages of the landings, least and largest.
    pub bus_v: Option<(f64, f64)>,
    /// Currents of the strings in turn, positive in discharge.
    pub strings_a: Vec<f64>,
    /// Largest current along the bar.
    pub bar_a: f64,
}

/// The side while the units give what a solved state says, at the least charge that may be used.
pub(crate) fn flow(case: &Case<'_>, given: &[UnitGiven]) -> Option<DcFlow> {
    let bank = case.bank.as_ref()?;
    let figures = Figures::of(bank).ok()?;
    let side = Side::new(case, bank, &figures);
    let none = UnitGiven { all_va: 0.0, fullest_va: 0.0 };
    settled(&side.with(|k| one_from_bus(case, given.get(k as usize).copied().unwrap_or(none))))
}

/// The side while every unit charges at its setting.
pub(crate) fn flow_charging(case: &Case<'_>) -> Option<DcFlow> {
    let bank = case.bank.as_ref()?;
    let figures = Figures::of(bank).ok()?;
    settled(&Side::new(case, bank, &figures).charging(&bank.charge, false))
}

fn settled(bus: &DcBus) -> Option<DcFlow> {
    let outcome = bus.solve().ok()?;
    let none = DcFlow { unit_v: None, bus_v: None, strings_a: Vec::new(), bar_a: 0.0 };
    let Some(state) = outcome.settled() else { return Some(none) };
    let volts: Vec<f64> = state.landings.iter().map(|v| v.value().si()).collect();
    let units = state.units.iter().map(|u| u.voltage.value().si());
    Some(DcFlow {
        unit_v: Some(units.fold(f64::INFINITY, f64::min)),
        bus_v: Some((
            volts.iter().copied().fold(f64::INFINITY, f64::min),
            volts.iter().copied().fold(0.0, f64::max),
        )),
        strings_a: state.strings.iter().map(|s| s.current.value().si()).collect(),
        bar_a: state.segments.iter().map(|a| a.value().si().abs()).fold(0.0, f64::max),
    })
}

/// The lowest voltage at a unit.
pub(crate) fn lowest(state: &BusState) -> Option<Known<DcVoltage>> {
    let volts: Vec<Known<DcVoltage>> = state.units.iter().map(|u| u.voltage.clone()).collect();
    Known::smallest("V_u", "lowest voltage at a unit", &volts)
}

/// Both ways of a run.
pub(crate) fn both(one_way: &Known<Resistance>) -> Known<Resistance> {
    let two = Known::factor("two", "there and back", 2.0, "geometry");
    formula!("R_c", "resistance of the cable, both poles", [one_way, two] => one_way * two)
}
