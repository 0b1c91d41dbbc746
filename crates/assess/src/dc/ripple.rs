//! The alternating current at twice the line frequency that loads on single legs bring to the bus.

use demand::Lane;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use network::LoadPower;
use network::dc::ripple::{RippleCase, largest_ripple};
use quantity::{Connection, Current, DcCurrent, Quantity, Ratio};

use super::side::{Side, lowest};
use super::{Bank, refused, unstated};
use crate::{Case, Ledger};

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    let state = "outage, load of 3 h and longer";
    let I = match of_string(case, bank, side) {
        Some(Ok(I)) => I,
        Some(Err(why)) => return ledger.find(refused(bank, "battery.string", "ripple", &why)),
        None => return,
    };
    if I.value().si() < 1e-6 {
        return;
    }
    let model = bank.model;
    let Some(limit) = model.ripple else {
        let what = format!("`ripple` of battery \"{}\"", model.id);
        let why = format!("loads on single legs bring {} of ripple to every string", I.value());
        return ledger.find(unstated(bank, &what, &why));
    };
    let limit = Known::catalog("I_r", "ripple that a module bears", limit, &model.id, "ripple");
    let margin = Margin::below("battery.string", "ripple at twice the line frequency", state, &I, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "bank-ripple-over",
            Severity::Error,
            "battery.string",
            format!(
                "a string bears {} of ripple; the loads bring {}",
                m.limit.amount.text, m.value.amount.text
            ),
        )
        .at(Some(&bank.place), "this battery")
        .fix("more strings, or loads spread over the legs")
    });
}

/// Ripple of the string that carries most, as an upper bound: nothing is taken off for the units' capacitors.
pub(super) fn of_string(
    case: &Case<'_>,
    bank: &Bank<'_>,
    side: &Side<'_>,
) -> Option<Result<Known<Current>, String>> {
    let lasting = side.lasting()?;
    let state = side.bus(lasting).solve().ok()?.settled()?.clone();
    let bus = lowest(&state)?;
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
    let n = Known::chosen("n_p", "strings", Ratio::of(f64::from(bank.strings.max(1))), "counted", Vec::new());
    let k = state
        .worst_over_equal
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
