//! Pre-charge: how the input capacitors of the units are charged before their device closes on the bus.

use catalog::Precharge as Who;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use network::dc::precharge::{Precharge, PrechargeCase, charging_heat, precharge};
use quantity::{DcCurrent, Duration, PulseEnergy, Quantity, Resistance};
use saying::{Text, say};
use site::PrechargeGear;

use super::figures::Figures;
use super::{Bank, runs};
use crate::{Case, Ledger};

/// Who charges the capacitors of the units, and how.
#[derive(Debug, Clone)]
pub enum SoftStart {
    /// The units limit the current by themselves.
    Own,
    /// The installation does, through a resistor.
    Resistor(Box<Resistor>),
    /// Figures that nobody states: what is not known, and where it belongs.
    Open(Vec<(Text, Text)>),
}

/// A pre-charge through a resistor.
#[derive(Debug, Clone)]
pub struct Resistor {
    /// Currents, heat, times.
    pub found: Precharge,
    /// The resistor as marked.
    pub resistor: Known<Resistance>,
    /// How long it is left on before the device closes.
    pub time: Known<Duration>,
    /// What its switch and cable make.
    makes: Known<DcCurrent>,
    /// Heat of a pulse that it takes.
    pulse: Known<PulseEnergy>,
    /// Onto what the device of the unit closes.
    closes_on: Known<DcCurrent>,
}

/// Who charges the capacitors of the units; none before the bank and its gear are decided.
pub fn soft_start(case: &Case<'_>) -> Option<SoftStart> {
    let bank = case.bank.as_ref()?;
    Some(of(case, bank, &Figures::of(bank).ok()?))
}

fn of(case: &Case<'_>, bank: &Bank<'_>, figures: &Figures) -> SoftStart {
    let unit = case.unit;
    let record = |field: &str| say!("ask the maker, and write `{field}` into the record", field);
    match unit.dc.precharge {
        Some(Who::Own) => return SoftStart::Own,
        Some(Who::External) => {}
        None => {
            let message = say!(
                "the catalogue does not state who charges the capacitors of {unit} softly when its DC device is closed",
                unit = unit.id
            );
            return SoftStart::Open(vec![(message, record("precharge"))]);
        }
    }
    let asks = say!("{unit} asks the installation to charge its capacitors softly", unit = unit.id);
    let mut open = Vec::new();
    let C = unit
        .dc
        .capacitance
        .map(|c| Known::catalog("C", "highest capacitance of a unit's input", c, &unit.id, "dc capacitance"));
    if C.is_none() {
        let message = say!("{asks}, and the catalogue does not state its capacitance: `capacitance`", asks);
        open.push((message, record("capacitance")));
    }
    let makes = bank.unit_device.and_then(|device| {
        let make = device.make?;
        Some(Known::catalog("I_m", "peak current onto which the device closes", make, &device.id, "make"))
    });
    if let (Some(device), None) = (bank.unit_device, &makes) {
        let message = say!(
            "{asks}, and the catalogue does not state onto which current {device} closes: `make`",
            asks,
            device = device.id
        );
        open.push((message, record("make")));
    }
    let gear = case.site.battery.precharge.as_ref();
    if gear.is_none() {
        let heat = C.as_ref().and_then(|C| charging_heat(&figures.highest, C).ok());
        let heat =
            heat.map_or_else(Text::default, |E| say!("; each closing heats it with {e}", e = E.value()));
        let message = say!("{asks}, and the site states no resistor for it{heat}", asks, heat);
        let fix = say!("a `precharge` of [battery]: resistor, tolerance, pulse, current");
        open.push((message, fix));
    }
    if case.site.conductors.iter().all(|c| c.part.value != runs::UNIT || c.length.is_none()) {
        let message = say!(
            "{asks}, and the length of \"{unit}\" is not stated: a shorter cable than assumed lets more current through",
            asks,
            unit = runs::UNIT
        );
        open.push((
            message,
            say!("a [[conductor]] with part = \"{unit}\" and its length", unit = runs::UNIT),
        ));
    }
    match (C, makes, gear) {
        (Some(C), Some(makes), Some(gear)) if open.is_empty() => {
            let path = coldest(&runs::cables(case, bank).1);
            resistor(gear, figures, (C, makes, path)).map_or_else(
                |why| SoftStart::Open(vec![(why.into(), Text::default())]),
                |r| SoftStart::Resistor(Box::new(r)),
            )
        }
        _ => SoftStart::Open(open),
    }
}

/// The least resistance of a cable of which the highest is known.
fn coldest(hot: &Known<Resistance>) -> Known<Resistance> {
    let why = "copper: as 234.5 plus its temperature in degC; at -40 degC against at most 90 degC";
    let k = Known::factor("k_c", "cold cable over hot cable", 0.59, why);
    formula!("R_c", "resistance of the unit's cable, both poles, at its least", [hot, k] => hot * k)
}

fn resistor(
    gear: &PrechargeGear,
    figures: &Figures,
    (capacitance, closes_on, path): (Known<quantity::Capacitance>, Known<DcCurrent>, Known<Resistance>),
) -> Result<Resistor, String> {
    let resistor = gear.resistor.known("R", "resistor of the pre-charge");
    let makes = gear.current.known("I_s", "current that switch and cable of the pre-charge make");
    let case = PrechargeCase {
        voltage: figures.highest.clone(),
        capacitance,
        resistor: resistor.clone(),
        tolerance: gear
            .tolerance
            .clone()
            .map(|t| t.share())
            .known("d", "by how much the resistor may be off"),
        path,
        makes: closes_on.clone(),
        starts: makes.clone(),
        time: gear.time.as_ref().map(|t| t.known("t", "how long the resistor is left on")),
    };
    let solve = |case: &PrechargeCase| precharge(case).map_err(|why| why.to_string());
    let mut found = solve(&case)?;
    let time = match &case.time {
        Some(time) => time.clone(),
        None => {
            let time = rounded_up(&found.needs);
            found = solve(&PrechargeCase { time: Some(time.clone()), ..case })?;
            time
        }
    };
    let pulse = gear.pulse.known("E_p", "heat of a pulse that the resistor takes");
    Ok(Resistor { found, resistor, time, makes, pulse, closes_on })
}

/// A time that a person can count, no shorter.
fn rounded_up(needs: &Known<Duration>) -> Known<Duration> {
    let seconds = (needs.value().si() * 2.0 + 1e-6).ceil() / 2.0;
    let from = vec![needs.node().clone()];
    Known::chosen(
        "t",
        "how long the resistor is left on",
        Duration::of(seconds),
        "the next half second",
        from,
    )
}

pub(super) fn hold(case: &Case<'_>, bank: &Bank<'_>, figures: &Figures, ledger: &mut Ledger) {
    let part = "unit.dc";
    match of(case, bank, figures) {
        SoftStart::Own => {}
        SoftStart::Open(open) => {
            for (message, fix) in open {
                let mut finding = Finding::new("precharge-not-covered", Severity::NotCovered, part, message)
                    .at(Some(&case.site.group.unit.place), say!("this family"));
                if !fix.is_empty() {
                    finding = finding.fix(fix);
                }
                ledger.find(finding);
            }
        }
        SoftStart::Resistor(r) => {
            let place = case.site.battery.precharge.as_ref().map(|gear| &gear.resistor.place);
            let over = |m: &Margin, fix: Text| {
                let message = say!(
                    "{what}: {value} against {limit}",
                    what = m.what,
                    value = m.value.amount.text,
                    limit = m.limit.amount.text
                );
                Finding::new("precharge-over", Severity::Error, part, message)
                    .at(place, say!("this resistor"))
                    .fix(fix)
            };
            let (found, state) = (&r.found, "pre-charge");
            let margin = Margin::below(
                part,
                say!("current through the resistor at the start"),
                state,
                &found.start,
                &r.makes,
            );
            ledger.hold(margin, |m| {
                over(
                    m,
                    say!(
                        "a resistor of at least {least_resistor}, or a larger switch",
                        least_resistor = found.least_resistor.value()
                    ),
                )
            });
            let margin = Margin::below(
                part,
                say!("heat of the resistor at each closing"),
                state,
                &found.energy,
                &r.pulse,
            );
            ledger.hold(margin, |m| {
                over(m, say!("a resistor that takes {energy} in one pulse", energy = found.energy.value()))
            });
            let state = "closing after pre-charge";
            let margin = Margin::above(part, say!("time on the resistor"), state, &r.time, &found.needs);
            let longer = || {
                say!(
                    "leave the resistor on for at least {rounded_up}",
                    rounded_up = rounded_up(&found.needs).value()
                )
            };
            ledger.hold(margin, |m| over(m, longer()));
            let margin = Margin::below(
                part,
                say!("current as the device closes"),
                state,
                &found.closing,
                &r.closes_on,
            );
            ledger.hold(margin, |m| over(m, longer()));
        }
    }
}
