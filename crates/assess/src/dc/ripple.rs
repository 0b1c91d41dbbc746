//! The alternating current at twice the line frequency that loads on single legs bring to the bus.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use network::LoadPower;
use network::dc::ripple::{RippleCase, largest_ripple};
use quantity::{Connection, Current, DcCurrent, DcVoltage, Quantity, Ratio};
use saying::say;

use super::side::{Side, lowest};
use super::{Bank, refused, unstated};
use crate::{Case, Ledger};

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    for strings in [Strings::All, Strings::OneOff] {
        if strings == Strings::All || bank.strings > 1 {
            held(case, bank, (side, strings), ledger);
        }
    }
}

/// Which strings share the ripple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Strings {
    /// All of them.
    All,
    /// Those that are left with one off.
    OneOff,
}

fn held(case: &Case<'_>, bank: &Bank<'_>, (side, strings): (&Side<'_>, Strings), ledger: &mut Ledger) {
    let (state, off) = match strings {
        Strings::All => ("outage, load of 3 h and longer", ""),
        Strings::OneOff => ("outage, load of 3 h and longer, one string off", "with one string off, "),
    };
    let I = match of_string(case, bank, side, strings) {
        Some(Ok(I)) => I,
        Some(Err(why)) => return ledger.find(refused(bank, "battery.string", "ripple", &why)),
        None => return,
    };
    if I.value().si() < 1e-6 {
        return;
    }
    let model = bank.model;
    let Some(limit) = model.ripple else {
        if strings == Strings::OneOff {
            return; // said of all of them
        }
        let what = say!("`ripple` of battery \"{model}\"", model = model.id);
        let why = say!("loads on single legs bring {i} of ripple to every string", i = I.value());
        return ledger.find(unstated(bank, &what, &why));
    };
    let limit = Known::catalog("I_r", "ripple that a module bears", limit, &model.id, "ripple");
    let margin =
        Margin::below("battery.string", say!("ripple at twice the line frequency"), state, &I, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "bank-ripple-over",
            Severity::Error,
            "battery.string",
            say!(
                "{off}a string bears {limit} of ripple; the loads bring {value}",
                off,
                limit = m.limit.amount.text,
                value = m.value.amount.text
            ),
        )
        .at(Some(&bank.place), say!("this battery"))
        .fix(say!("more strings, or loads spread over the legs"))
    });
}

/// Ripple of the string that carries most, as an upper bound: nothing is taken off for the units' capacitors, and with
/// one string off the lowest voltage and the least even share of all such cases are taken together.
pub(super) fn of_string(
    case: &Case<'_>,
    bank: &Bank<'_>,
    side: &Side<'_>,
    strings: Strings,
) -> Option<Result<Known<Current>, String>> {
    let bus = side.bus(side.lasting()?);
    // a bus without a steady voltage is said of the voltage
    let states = match strings {
        Strings::All => vec![bus.solve().ok()?.settled()?.clone()],
        Strings::OneOff => side.one_off(&bus).ok()??,
    };
    let volts: Vec<Known<DcVoltage>> = states.iter().filter_map(lowest).collect();
    let bus = Known::smallest("V_u", "lowest voltage at a unit", &volts)?;
    let mut loads = Vec::new();
    for (lane, demand) in &case.demand.lanes {
        let Lane::Leg(leg) = lane else { continue };
        // the longest listed duration: what heats
        let (P, S) = demand
            .curve
            .last()
            .map_or((&demand.steady_power, &demand.steady_apparent), |point| (&point.power, &point.apparent));
        let pf = (P.value().si() / S.value().si().max(1e-9)).clamp(0.0, 1.0);
        let pf = Known::chosen(
            "pf",
            "power factor of the leg",
            Ratio::of(pf),
            "power over apparent power",
            vec![P.node().clone(), S.node().clone()],
        );
        loads.push((Connection::LineToNeutral(*leg), LoadPower::lagging(S.clone(), pf)));
    }
    let eta = case.unit.efficiency.iter().map(|(_, eta)| *eta).reduce(|a, b| if b < a { b } else { a })?;
    let eta = Known::catalog("eta", "lowest efficiency listed", eta, &case.unit.id, "efficiency");
    let found = largest_ripple(&RippleCase { system: case.system(), loads, efficiency: eta, bus });
    let ripple = match found {
        Ok(found) => found.ripple,
        Err(error) => return Some(Err(error.to_string())),
    };
    let shared = if strings == Strings::All { bank.strings } else { bank.strings.saturating_sub(1) };
    let n = Known::chosen("n_p", "strings", Ratio::of(f64::from(shared.max(1))), "counted", Vec::new());
    let shares: Vec<Known<Ratio>> =
        states.iter().filter_map(|state| state.worst_over_equal.clone()).collect();
    let k = Known::largest("k", "largest over equal share", &shares)
        .unwrap_or_else(|| Known::factor("k", "largest over equal share", 1.0, "one string"));
    let what = "ripple of the string that carries most";
    Some(Ok(formula!("I_r", what, [ripple, n, k] => ripple / n * k, source = "shared as the direct current")))
}

/// The same number as a direct current, for sums of heat.
pub(super) fn as_direct(ripple: &Known<Current>) -> Known<DcCurrent> {
    let from = vec![ripple.node().clone()];
    Known::chosen(
        "I_r",
        "ripple of a string",
        DcCurrent::of(ripple.value().si()),
        "the same number of amperes",
        from,
    )
}
