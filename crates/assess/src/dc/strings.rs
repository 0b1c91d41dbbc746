//! Voltage and string currents for every duration and every start, and with one string off.

use catalog::{DcDevice, DcShortTime};
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use network::dc::bus::BusOutcome;
use quantity::{DcCurrent, DcVoltage, Duration, Quantity};
use saying::{Text, say};

use super::draw::Draw;
use super::side::{Side, lowest};
use super::{Bank, refused};
use crate::{Case, Ledger};

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, ledger: &mut Ledger) {
    for draw in &side.draws {
        voltage(case, bank, side, draw, ledger);
    }
    for draw in worst_of_each(side, bank) {
        currents(bank, side, draw, ledger);
    }
    if bank.strings < 2 {
        return ledger.find(
            Finding::new(
                "bank-one-string",
                Severity::Warning,
                "battery",
                say!("the bank is one string: with it off, nothing carries the panel in an outage"),
            )
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("a second string")),
        );
    }
    let worst = worst_of_each(side, bank);
    for &draw in &worst {
        one_off(bank, side, draw, ledger);
    }
    voltage_one_off(case, bank, side, &worst, ledger);
}

/// Below which voltage a unit switches off when it lasts so long.
fn floor(case: &Case<'_>, lasts: Option<Duration>) -> Known<DcVoltage> {
    let (unit, dc) = (case.unit, &case.unit.dc);
    match &dc.cutoff {
        Some(cutoff) if lasts.is_none_or(|lasts| lasts >= cutoff.after) => Known::catalog(
            "V_c",
            "low-voltage cut-off of the units",
            cutoff.below,
            &unit.id,
            "dc cutoff below",
        ),
        _ => Known::catalog("V_c", "lowest working voltage of the units", dc.lowest, &unit.id, "dc lowest"),
    }
}

fn voltage(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, draw: &Draw, ledger: &mut Ledger) {
    let bus = side.bus(draw);
    let state = match bus.solve() {
        Err(error) => return ledger.find(refused(bank, "dc.bus", &draw.state, error.to_string())),
        Ok(BusOutcome::NotConverged) => {
            return ledger.find(refused(
                bank,
                "dc.bus",
                &draw.state,
                say!("no voltages of the bus were found"),
            ));
        }
        Ok(BusOutcome::NoSolution { largest_share }) => {
            let share = 100.0 * largest_share.value().si();
            return ledger.find(
                Finding::new(
                    "bank-collapses",
                    Severity::Error,
                    "dc.bus",
                    say!(
                        "the bus has no steady voltage with {group} drawn: {share} % of it is the most",
                        group = draw.group.value(),
                        share = format!("{share:.0}")
                    ),
                )
                .in_state(draw.state.clone())
                .at(Some(&bank.place), say!("this battery"))
                .fix(more(bank, 1.0 / largest_share.value().si().max(0.05))),
            );
        }
        Ok(BusOutcome::Settled(state)) => state,
    };
    let Some(V) = lowest(&state) else { return };
    let limit = floor(case, draw.lasts);
    let margin = Margin::above("dc.bus", say!("voltage at a unit"), draw.state.clone(), &V, &limit);
    ledger.hold(margin, |m| sags(bank, side, "an", m));
}

/// How many strings more, in words, where the present ones are so many times too few.
fn more(bank: &Bank<'_>, times: f64) -> Text {
    let now = f64::from(bank.strings);
    let add = ((now * times).ceil() - now).max(1.0);
    strings_more(bank, add, say!("less load"))
}

/// So many strings more, or another way; where its maker forbids that many in parallel, that.
pub(super) fn strings_more(bank: &Bank<'_>, add: f64, or: Text) -> Text {
    let model = bank.model;
    if f64::from(bank.strings) + add > f64::from(model.parallel) {
        return say!(
            "a larger module, or {or}: {add} strings would be needed, and {model} allows {parallel} in parallel",
            or,
            add = f64::from(bank.strings) + add,
            model = model.id,
            parallel = model.parallel
        );
    }
    let s = if add > 1.0 { "s" } else { "" };
    if model.series > 1 {
        say!(
            "{add} string{s} more ({from} of {model}), or {or}",
            add = format!("{add:.0}"),
            s,
            from = format!("{:.0}", add * f64::from(model.series)),
            model = model.id,
            or
        )
    } else {
        say!("{add} module{s} more, or {or}", add = format!("{add:.0}"), s, or)
    }
}

/// What a string gives for a time.
pub(super) fn discharge_limit(bank: &Bank<'_>, lasts: Option<Duration>) -> Known<DcCurrent> {
    let model = bank.model;
    let all = Known::catalog(
        "I_d",
        "continuous discharge current of a module",
        model.discharge,
        &model.id,
        "discharge",
    );
    pulse(&model.pulse, lasts).map_or(all, |step| {
        let what = say!("discharge current of a module for {lasts}", lasts = step.lasts);
        Known::catalog("I_d", what, step.current, &model.id, "pulse")
    })
}

/// What a device carries for a time.
pub(super) fn carries(device: &DcDevice, lasts: Option<Duration>) -> Known<DcCurrent> {
    let rating = Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating");
    pulse(&device.short_time, lasts).map_or(rating, |step| {
        let what = say!("current that the device carries for {lasts}", lasts = step.lasts);
        Known::catalog("I_n", what, step.current, &device.id, "short_time")
    })
}

/// The highest current listed for no shorter time.
fn pulse(list: &[DcShortTime], lasts: Option<Duration>) -> Option<&DcShortTime> {
    let lasts = lasts?;
    list.iter().rev().find(|step| step.lasts >= lasts)
}

/// Of draws that are held against the same limit the highest.
fn worst_of_each<'a>(side: &'a Side<'_>, bank: &Bank<'_>) -> Vec<&'a Draw> {
    let key = |draw: &Draw| {
        let device = bank.string_device.map_or(0.0, |d| carries(d, draw.lasts).value().si());
        (discharge_limit(bank, draw.lasts).value().si().to_bits(), device.to_bits())
    };
    let mut worst: Vec<&Draw> = Vec::new();
    for draw in &side.draws {
        match worst.iter_mut().find(|other| key(other) == key(draw)) {
            None => worst.push(draw),
            Some(other) if draw.group.value() >= other.group.value() => *other = draw,
            Some(_) => {}
        }
    }
    worst
}

fn currents(bank: &Bank<'_>, side: &Side<'_>, draw: &Draw, ledger: &mut Ledger) {
    let I = match side.worst_string(&side.bus(draw)) {
        Ok(I) => I,
        Err(error) => return ledger.find(refused(bank, "battery.string", &draw.state, error.to_string())),
    };
    let limit = discharge_limit(bank, draw.lasts);
    let what = say!("string current, strings unlike");
    let margin = Margin::below("battery.string", what, draw.state.clone(), &I, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "bank-discharge-over",
            Severity::Error,
            "battery.string",
            say!(
                "a string gives {value}; it may give {limit} for as long",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&bank.place), say!("this battery"))
        .fix(more(bank, m.value.amount.si / m.limit.amount.si))
    });
    let Some(device) = bank.string_device else { return };
    let limit = carries(device, draw.lasts);
    let margin =
        Margin::below("battery.string.device", say!("string current"), draw.state.clone(), &I, &limit);
    ledger.hold(margin, |m| {
        Finding::new(
            "dc-device-opens",
            Severity::Error,
            "battery.string.device",
            say!(
                "{value} of a string opens its device, which carries {limit} for as long",
                value = m.value.amount.text,
                limit = m.limit.amount.text
            ),
        )
        .at(Some(&bank.place), say!("this battery"))
        .fix(say!("a device of at least {value}", value = m.value.amount.text))
    });
}

/// The others take over what the string that is off gave: they hold, or one after the other goes.
fn one_off(bank: &Bank<'_>, side: &Side<'_>, draw: &Draw, ledger: &mut Ledger) {
    let state = format!("{}, one string off", draw.state);
    let survivors = match side.survivors(&side.bus(draw)) {
        Err(error) => return ledger.find(refused(bank, "battery.string", &state, error.to_string())),
        Ok(survivors) => survivors,
    };
    let Some(I_off) = survivors else {
        return ledger.find(trips(bank, say!("the others have no steady voltage"), 2.0).in_state(state));
    };
    let mut limits = vec![discharge_limit(bank, draw.lasts)];
    limits.extend(bank.string_device.map(|device| carries(device, draw.lasts)));
    let Some(limit) = Known::smallest("I_max", "what a string and its device carry for as long", &limits)
    else {
        return;
    };
    let margin = Margin::below("battery.string", say!("current of a survivor"), state, &I_off, &limit);
    ledger.hold(margin, |m| {
        let what = say!(
            "each of the others then gives up to {value} and may give {limit}",
            value = m.value.amount.text,
            limit = m.limit.amount.text
        );
        trips(bank, what, m.value.amount.si / m.limit.amount.si)
    });
}

/// What sags too far. The sag falls with the number of strings, cables apart.
fn sags(bank: &Bank<'_>, side: &Side<'_>, begins: &str, m: &Margin) -> Finding {
    let room = (side.figures.low.value().si() - m.limit.amount.si).max(1e-3);
    let sag = side.figures.low.value().si() - m.value.amount.si;
    let (there, least) = (&m.value.amount.text, &m.limit.amount.text);
    let message = say!(
        "{begins} almost empty battery sags to {there} at the units; they switch off under {least}",
        begins,
        there,
        least
    );
    let finding = Finding::new("bank-sags", Severity::Error, "dc.bus", message);
    finding.at(Some(&bank.place), say!("this battery")).fix(more(bank, sag / room))
}

/// The lowest voltage with one string off, of the draws that are held against the same limit.
fn voltage_one_off(case: &Case<'_>, bank: &Bank<'_>, side: &Side<'_>, said: &[&Draw], ledger: &mut Ledger) {
    let mut worst: Vec<(String, Known<DcVoltage>, Known<DcVoltage>)> = Vec::new();
    for draw in &side.draws {
        let state = format!("{}, one string off", draw.state);
        let V = match side.lowest_one_off(&side.bus(draw)) {
            Err(error) => return ledger.find(refused(bank, "dc.bus", &state, error.to_string())),
            Ok(Some(V)) => V,
            Ok(None) if said.iter().any(|other| other.state == draw.state) => continue,
            Ok(None) => {
                ledger.find(trips(bank, say!("the others have no steady voltage"), 2.0).in_state(state));
                continue;
            }
        };
        let limit = floor(case, draw.lasts);
        match worst.iter_mut().find(|(_, _, other)| other.value() == limit.value()) {
            None => worst.push((state, V, limit)),
            Some(other) if V.value() <= other.1.value() => *other = (state, V, limit),
            Some(_) => {}
        }
    }
    for (state, V, limit) in worst {
        let margin = Margin::above("dc.bus", say!("voltage at a unit"), state, &V, &limit);
        ledger.hold(margin, |m| sags(bank, side, "with one string off, an", m));
    }
}

fn trips(bank: &Bank<'_>, what: Text, times: f64) -> Finding {
    Finding::new(
        "bank-survivors-trip",
        Severity::Error,
        "battery.string",
        say!("with one string off, {what}: they trip one after the other", what),
    )
    .at(Some(&bank.place), say!("this battery"))
    .fix(more(bank, times))
}

/// Largest lasting current of a string with its ripple, as heat.
pub(super) fn lasting_heat(side: &Side<'_>, ripple: Option<&Known<DcCurrent>>) -> Option<Known<DcCurrent>> {
    let I = side.worst_string(&side.bus(side.lasting()?)).ok()?;
    let Some(r) = ripple else { return Some(I) };
    Some(formula!("I_rms", "direct and alternating current of a string, as heat", [I, r] => together(I, r)))
}

fn together(direct: DcCurrent, alternating: DcCurrent) -> DcCurrent {
    DcCurrent::of(libm::hypot(direct.si(), alternating.si()))
}
