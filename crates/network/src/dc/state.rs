//! Currents and voltages of a settled bus, with their derivation.

use std::sync::Arc;

use derivation::{Known, Node, formula};
use quantity::{DcCurrent, DcVoltage, Quantity, Ratio, Resistance};

use super::bus::{BankString, BusState, DcBus, StringState, UnitState};
use super::ladder::Ladder;
use super::solve::Point;
use crate::impedance::solved;

/// A total below this has no shares, in amperes.
const NOTHING_A: f64 = 1e-6;

/// Everything about a settled bus; `None` without any connected string.
pub(super) fn state(bus: &DcBus, ladder: &Ladder, point: &Point) -> Option<BusState> {
    let landings = landings(bus, point);
    let units: Vec<UnitState> = (0..bus.units.len()).map(|k| unit(bus, point, &landings, k)).collect();
    let on = || bus.strings.iter().enumerate().filter(|(k, _)| ladder.strings[*k].on);
    let currents: Vec<(usize, Known<DcCurrent>)> =
        on().map(|(k, string)| (k, string_current(k, string, &landings[string.landing]))).collect();
    let all: Vec<Known<DcCurrent>> = currents.iter().map(|(_, I)| I.clone()).collect();
    let total = Known::sum("I", "current of all strings", &all);
    let magnitude = |(k, I): &(usize, Known<DcCurrent>)| formula!(&format!("|I_{}|", k + 1), "magnitude of the string's current", [I] => abs(I));
    let magnitudes: Vec<Known<DcCurrent>> = currents.iter().map(magnitude).collect();
    let worst_current = Known::largest("I_worst", "largest current of a string", &magnitudes)?;
    let most = worst_current.value().si();
    let worst = currents.iter().find(|(_, I)| I.value().si().abs() >= most)?.0;
    let shared = total.value().si().abs() > NOTHING_A;
    let string = |(k, I): (usize, Known<DcCurrent>)| {
        let I_k = &I;
        let share = |total: &Known<DcCurrent>| -> Known<Ratio> {
            formula!(&format!("s_{}", k + 1), format!("share of string {}", k + 1), [I_k, total] => I_k / total)
        };
        StringState { string: k, share: shared.then(|| share(&total)), current: I }
    };
    let strings: Vec<StringState> = currents.into_iter().map(string).collect();
    let n = Known::factor("n", "connected strings", strings.len() as f64, "counted");
    let worst_over_equal = shared.then(|| {
        let (I_worst, I) = (&worst_current, &total);
        formula!("w", "largest current of a string over an equal part", [I_worst, n, I] => I_worst * n / abs(I))
    });
    let segments = segments(bus, &strings, &units);
    Some(BusState { landings, units, strings, segments, total, worst, worst_current, worst_over_equal })
}

fn abs(current: DcCurrent) -> DcCurrent {
    current.abs()
}

fn landings(bus: &DcBus, point: &Point) -> Vec<Known<DcVoltage>> {
    let from = bus.nodes();
    let law = "at every landing: sum of (OCV - V) / R of strings and of neighbours' (V' - V) / R = sum of P / V of units";
    let voltage = |(k, node): (usize, &usize)| {
        let what = format!("voltage of landing {}", k + 1);
        solved(&format!("V_{}", k + 1), what, point.v[*node], law, point.residual_a, from.clone())
    };
    point.nodes.landing.iter().enumerate().map(voltage).collect()
}

fn unit(bus: &DcBus, point: &Point, landings: &[Known<DcVoltage>], k: usize) -> UnitState {
    let unit = &bus.units[k];
    let landing = &landings[unit.landing];
    let voltage = if unit.cable.value().si() > 0.0 {
        let from = vec![landing.node().clone(), unit.cable.node().clone(), unit.power.node().clone()];
        let law = "larger root of U = V - R · P / U";
        let what = format!("voltage at the terminals of {}", unit.name);
        let at_terminals = point.v[point.nodes.terminal[k]];
        let residual = landing.value().si()
            - unit.cable.value().si() * unit.power.value().si() / at_terminals
            - at_terminals;
        solved(&format!("U_{}", k + 1), what, at_terminals, law, residual, from)
    } else {
        landing.clone()
    };
    let (P, U) = (&unit.power, &voltage);
    let current = formula!(&format!("I_u{}", k + 1), format!("current of {}", unit.name), [P, U] => P / U);
    UnitState { voltage, current }
}

/// The whole resistance of a string.
pub(super) fn loop_resistance(k: usize, string: &BankString) -> Known<Resistance> {
    let mut parts = vec![string.internal.clone()];
    parts.extend(string.management.iter().cloned());
    parts.push(string.cable.clone());
    Known::sum(&format!("R_{}", k + 1), format!("resistance of string {}", string.name), &parts)
}

fn string_current(k: usize, string: &BankString, landing: &Known<DcVoltage>) -> Known<DcCurrent> {
    let R = loop_resistance(k, string);
    let (OCV, V) = (&string.ocv, landing);
    let what = format!("current of string {}", string.name);
    formula!(&format!("I_{}", k + 1), what, [OCV, V, R] => (OCV - V) / R)
}

/// What strings put in and units take out on the one side of a segment has to pass it.
fn segments(bus: &DcBus, strings: &[StringState], units: &[UnitState]) -> Vec<Known<DcCurrent>> {
    (0..bus.segments.len())
        .map(|segment| {
            let mut args: Vec<(String, Arc<Node>)> = Vec::new();
            let (mut expression, mut amperes) = (String::new(), 0.0);
            let mut add = |sign: f64, I: &Known<DcCurrent>| {
                let symbol = I.node().symbol.clone();
                expression.push_str(match (expression.is_empty(), sign > 0.0) {
                    (true, true) => "",
                    (true, false) => "-",
                    (false, true) => " + ",
                    (false, false) => " - ",
                });
                expression.push_str(&symbol);
                amperes += sign * I.value().si();
                args.push((symbol, I.node().clone()));
            };
            for s in strings.iter().filter(|s| bus.strings[s.string].landing <= segment) {
                add(1.0, &s.current);
            }
            for (_, u) in bus.units.iter().zip(units).filter(|(u, _)| u.landing <= segment) {
                add(-1.0, &u.current);
            }
            if args.is_empty() {
                expression.push('0');
            }
            let symbol = format!("J_{}", segment + 1);
            let what = format!("current from landing {} to landing {}", segment + 1, segment + 2);
            let source = Some("Kirchhoff: all that enters and leaves on the one side");
            Known::formula(&symbol, what, DcCurrent::of(amperes), &expression, args, source)
        })
        .collect()
}
