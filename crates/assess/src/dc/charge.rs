//! Charging: what a string may take, and how cold it may be.

use codebook::fire::storage_places::Place;
use derivation::Known;
use finding::{Finding, Margin, Severity};
use saying::say;

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
            say!(
                "a string is charged with {value}; it may take {limit}",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&bank.place), say!("this battery"))
        .fix(say!(
            "a lower charging current of the units where it can be set, more strings, or fewer charge controllers"
        ))
    };
    match side.worst_string(&bus) {
        Err(error) => ledger.find(refused(bank, "battery.string", state, error.to_string())),
        Ok(I) => {
            let margin =
                Margin::below("battery.string", say!("charging current, strings unlike"), state, &I, &limit);
            ledger.hold(margin, over);
        }
    }
    if bank.strings < 2 {
        return;
    }
    let state = "charging, one string off";
    match side.survivors(&side.charging(&bank.charge, true)) {
        Ok(Some(I)) => {
            let margin =
                Margin::below("battery.string", say!("charging current of a survivor"), state, &I, &limit);
            ledger.hold(margin, over);
        }
        Ok(None) => {
            ledger.find(refused(bank, "battery.string", state, say!("no voltages of the bus were found")))
        }
        Err(error) => ledger.find(refused(bank, "battery.string", state, error.to_string())),
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
                say!(
                    "how cold the battery may get is not stated; it may not be charged under {charge_from}",
                    charge_from = model.charge_from
                ),
            )
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("state `lowest`: the lowest temperature where the battery stands")),
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
                say!(
                    "the battery may be as cold as {t}; {model} may not be charged under {limit}",
                    t = T.value(),
                    model = model.id,
                    limit = limit.value()
                ),
            )
            .in_state("charging")
            .at(Some(&lowest.place), say!("this temperature"))
            .fix(say!("a place that stays above {limit}, heat, or another chemistry", limit = limit.value())),
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
            say!(
                "the battery stands outside, where it may be as cold as {air}; all that follows holds for {lowest}",
                air = air.value,
                lowest = lowest.value
            ),
        )
        .at(Some(&lowest.place), say!("this temperature"))
        .fix(say!("state the site's lowest temperature for the battery too, or a place indoors"))
        .fix(say!("an enclosure whose heater keeps it as warm as stated, in outages too")),
    );
}
