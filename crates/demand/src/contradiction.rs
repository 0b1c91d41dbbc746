//! Motor data that contradict each other: one of the figures is wrong, so neither can be reckoned with.
//!
//! - What a motor takes at full load is never below its shaft power (conservation of energy).
//! - A motor at standstill takes no less than at full load, and a soft starter that allows less never gets it there.
//! - Full-load current, efficiency and power factor tell the same apparent power; more than 30 % apart is no tolerance
//!   of a nameplate (the share is common practice).

use derivation::{Known, formula};
use finding::{Finding, Severity};
use quantity::{Apparent, Connection, Quantity, as_va, electrical};
use reading::Placed;
use saying::{Text, say};
use site::{Load, Motor};

use crate::pieces::{Context, apparent_of_current};

/// Largest ratio of two ways to the same apparent power.
const APART: f64 = 1.3;

/// Says every contradiction in the data of a motor that takes `running` at full load.
pub(crate) fn findings(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    running: &Known<Apparent>,
    context: &mut Context<'_>,
) {
    let name = &load.name.value;
    let mut say = |message: Text, place, value: &Known<Apparent>, limit: &Known<Apparent>| {
        context.findings.push(
            Finding::new("motor-contradiction", Severity::Error, format!("load.{name}"), message)
                .measured(value.node(), limit.node())
                .at(Some(place), say!("this cannot be so"))
                .fix(say!(
                    "copy power, current, efficiency, power factor and locked-rotor current from the nameplate again"
                )),
        );
    };
    let at = |I: &Placed<quantity::Current>, what: &str| {
        let known = I.known("I", what.to_owned());
        apparent_of_current(
            &known,
            connection,
            context.system,
            format!("apparent power at the {what} of {name}"),
        )
    };
    let stated = motor.full_load_current.as_ref();
    let full = stated.map(|I| (I, at(I, "full-load current")));
    if let Some((I, S)) = &full {
        let least = least_apparent(load, motor);
        if S.value() < least.value() {
            let message = say!(
                "the full-load current of \"{name}\" makes {s}, and its shaft power alone asks for {least}",
                name,
                s = S.value(),
                least = least.value()
            );
            say(message, &I.place, S, &least);
        } else if let Some(named) = by_nameplate(load, motor) {
            let ratio = S.value().si() / named.value().si();
            if !(1.0 / APART..=APART).contains(&ratio) {
                let message = say!(
                    "the full-load current of \"{name}\" makes {s}, its efficiency and power factor make {named}",
                    name,
                    s = S.value(),
                    named = named.value()
                );
                say(message, &I.place, S, &named);
            }
        }
    }
    let others = [
        (&motor.locked_rotor_current, "locked-rotor current"),
        (&motor.start_current, "limit of the soft starter"),
    ];
    for (I, what) in others {
        let Some(I) = I else { continue };
        let S = at(I, what);
        if S.value() < running.value() {
            let message = say!(
                "the {what} of \"{name}\" makes {s}, less than the {running} that it takes at full load",
                what,
                name,
                s = S.value(),
                running = running.value()
            );
            say(message, &I.place, &S, running);
        }
    }
}

/// The least apparent power that a shaft power asks for: efficiency 1, and the power factor where it is stated.
fn least_apparent(load: &Load, motor: &Motor) -> Known<Apparent> {
    let P_shaft = motor.power.known("P_shaft", format!("shaft power of {}", load.name.value));
    let what = format!("least apparent power of {}", load.name.value);
    match &load.power_factor {
        Some(pf) => {
            let pf = pf.known("pf", format!("power factor of {}", load.name.value));
            formula!("S_min", what, [P_shaft, pf] => as_va(electrical(P_shaft) / pf))
        }
        None => formula!("S_min", what, [P_shaft] => as_va(electrical(P_shaft))),
    }
}

/// Apparent power by stated efficiency and power factor.
fn by_nameplate(load: &Load, motor: &Motor) -> Option<Known<Apparent>> {
    let name = &load.name.value;
    let P_shaft = motor.power.known("P_shaft", format!("shaft power of {name}"));
    let eta = motor.efficiency.as_ref()?.known("eta", format!("efficiency of {name}"));
    let what = format!("apparent power of {name} by efficiency and power factor");
    let pf = load.power_factor.as_ref()?.known("pf", format!("power factor of {name}"));
    Some(formula!("S", what, [P_shaft, eta, pf] => as_va(electrical(P_shaft) / eta / pf)))
}
