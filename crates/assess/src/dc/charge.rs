//! Charging: what a string may take, and how cold it may be.

use codebook::fire::storage_places::Place;
use derivation::Known;
use finding::{Finding, Margin, Severity};

use super::side::Side;
use super::{Bank, refused};
use crate::{Case, Ledger};

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    current(bank, side, ledger);
    cold(case, bank, ledger);
}

fn current(bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    let state = if bank.solar.is_some() {
        "charging, all units at their setting, arrays at their highest"
    } else {
        "charging, all units at their setting"
    };
    let bus = side.charging(&bank.charge, false);
    let model = bank.model;
    let limit =
        Known::catalog("I_ch", "continuous charge current of a module", model.charge, &model.id, "charge");
    let over = |m: &Margin| {
        Finding::new(
            "bank-charge-over",
            Severity::Error,
            "battery.string",
            format!("a string is charged with {}; it may take {}", m.value.amount.text, m.limit.amount.text),
        )
        .at(Some(&bank.place), "this battery")
        .fix("a lower charging current of the units where it can be set, more strings, or fewer charge controllers")
    };
    match side.worst_string(&bus) {
        Err(error) => ledger.find(refused(bank, "battery.string", state, &error.to_string())),
        Ok(I) => {
            let margin =
                Margin::below("battery.string", "charging current, strings unlike", state, &I, &limit);
            ledger.hold(margin, over);
        }
    }
    if bank.strings < 2 {
        return;
    }
    let state = "charging, one string off";
    match side.survivors(&side.charging(&bank.charge, true)) {
        Ok(Some(I)) => {
            let margin = Margin::below("battery.string", "charging current of a survivor", state, &I, &limit);
            ledger.hold(margin, over);
        }
        Ok(None) => ledger.find(refused(bank, "battery.string", state, "no voltages of the bus were found")),
        Err(error) => ledger.find(refused(bank, "battery.string", state, &error.to_string())),
    }
}

/// The coldest place of the battery against the temperature from which it may be charged.
fn cold(case: &Case<'_>, bank: &Bank<'_>, ledger: &mut Ledger) {
    let model = bank.model;
    let Some(lowest) = &case.site.battery.lowest else {
        return ledger.find(
            Finding::new(
                "battery-temperature-unknown",
                Severity::NotCovered,
                "battery",
                format!(
                    "how cold the battery may get is not stated; it may not be charged under {}",
                    model.charge_from
                ),
            )
            .at(Some(&bank.place), "this battery")
            .fix("state `lowest`: the lowest temperature where the battery stands"),
        );
    };
    outdoors(case, lowest, ledger);
    let T = lowest.known("T", "lowest temperature where the battery stands");
    let limit = Known::catalog("T_ch", "no charging below", model.charge_from, &model.id, "charge_from");
    // degrees have no zero to take a share of, so this is no line of the ledger
    if T.value() < limit.value() {
        ledger.find(
            Finding::new(
                "battery-cold-charging",
                Severity::Error,
                "battery",
                format!(
                    "the battery may be as cold as {}; {} may not be charged under {}",
                    T.value(),
                    model.id,
                    limit.value()
                ),
            )
            .in_state("charging")
            .at(Some(&lowest.place), "this temperature")
            .fix(format!("a place that stays above {}, heat, or another chemistry", limit.value())),
        );
    }
}

/// Outside nothing but heat of its own keeps a battery warmer than the air.
fn outdoors(case: &Case<'_>, lowest: &reading::Placed<quantity::Temperature>, ledger: &mut Ledger) {
    let Some(standing) = &case.site.battery.standing.place else { return };
    let air = &case.site.temperature.lowest;
    if !matches!(standing.value, Place::ExteriorWall | Place::Outdoors) || lowest.value <= air.value {
        return;
    }
    ledger.find(
        Finding::new(
            "battery-colder-outdoors",
            Severity::Warning,
            "battery",
            format!(
                "the battery stands outside, where it may be as cold as {}; all that follows holds for {}",
                air.value, lowest.value
            ),
        )
        .at(Some(&lowest.place), "this temperature")
        .fix("state the site's lowest temperature for the battery too, or a place indoors")
        .fix("an enclosure whose heater keeps it as warm as stated, in outages too"),
    );
}
