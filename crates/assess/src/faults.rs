//! Whether relays and transfer gear withstand the fault current that is available.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::{Current, LineVoltage, VoltageSystem};
use saying::say;

use crate::{Case, Ledger};

/// Fault current at the service: as stated, else at the transformer's terminals behind an infinite bus.
///
/// I = S / (U z) for one phase, S / (sqrt(3) U z) for three (point-to-point method, published fuse-application
/// handbooks). On split-phase the fault from one leg to neutral is taken as 1.5 times the line-to-line one (same
/// method); the cable to the service is left out, which only raises the figure.
pub fn available(case: &Case<'_>) -> Option<Known<Current>> {
    let service = &case.site.service;
    if let Some(stated) = &service.fault_current {
        return Some(stated.known("I_k", "fault current stated for the service"));
    }
    let S = service.transformer_rating.as_ref()?.known("S", "rating of the supply transformer");
    let z = service.transformer_impedance.as_ref()?;
    let z = Known::input("z", "impedance of the supply transformer", z.value.share(), &z.place);
    let what = "fault current at the transformer terminals";
    Some(match case.system() {
        VoltageSystem::Split120_240 => {
            let U = Known::input("U", "line-to-line voltage", LineVoltage::of(240.0), &service.system.place);
            let k =
                Known::factor("k", "leg-to-neutral fault against line-to-line", 1.5, "point-to-point method");
            formula!("I_k", what, [k, S, U, z] => k * (S / U / z))
        }
        VoltageSystem::Single120 | VoltageSystem::Single230 => {
            let U = case.voltage();
            formula!("I_k", what, [S, U, z] => S / U / z)
        }
        VoltageSystem::Wye120_208 | VoltageSystem::TwoLegs120_208 | VoltageSystem::Wye230_400 => {
            let U = case.voltage();
            let three = Known::factor("m", "phases", 3.0, "three-phase transformer");
            formula!("I_k", what, [S, U, z, three] => S / U / three / z)
        }
    })
}

/// Holds relays and transfer switch against it.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    if case.layout == Layout::Islanded {
        return;
    }
    let Some(I_k) = available(case) else {
        ledger.find(
            Finding::new(
                "fault-current-unknown",
                Severity::NotCovered,
                "service",
                say!("neither the fault current of the service nor its transformer is stated"),
            )
            .at(Some(&case.site.service.system.place), say!("this service"))
            .fix(say!(
                "ask the utility for the fault current at the service, or give rating and impedance of the transformer"
            )),
        );
        return;
    };
    relay(case, &I_k, ledger);
    for switch in [case.transfer, case.source_switch].into_iter().flatten() {
        let rating = Known::catalog(
            "I_cc",
            "short-circuit rating of the transfer switch",
            switch.short_circuit,
            &switch.id,
            "short_circuit",
        );
        let margin = Margin::below("transfer", say!("fault current"), "fault, utility there", &I_k, &rating);
        ledger.hold(margin, |m| over(case, "transfer", &m.value.amount.text, &m.limit.amount.text));
    }
}

fn relay(case: &Case<'_>, I_k: &Known<Current>, ledger: &mut Ledger) {
    let unit = case.unit;
    let Some(fault) = &unit.relay.fault else {
        ledger.find(
            Finding::new(
                "relay-withstand-unknown",
                Severity::NotCovered,
                "unit.relay",
                say!(
                    "the catalogue does not state what fault current the relays of {unit} withstand",
                    unit = unit.id
                ),
            )
            .at(Some(&case.site.group.unit.place), say!("this family"))
            .fix(say!(
                "ask the maker for the conditional short-circuit rating and the breaker that goes with it"
            )),
        );
        return;
    };
    let limit = Known::catalog(
        "I_cc",
        format!("conditional short-circuit rating behind a breaker of at most {}", fault.breaker),
        fault.current,
        &unit.id,
        "relay fault",
    );
    let margin = Margin::below("unit.relay", say!("fault current"), "fault, utility there", I_k, &limit);
    ledger.hold(margin, |m| over(case, "unit.relay", &m.value.amount.text, &m.limit.amount.text));
    let breaker = case.breakers.input.as_ref().map_or(unit.input_breaker, Known::value);
    if breaker > fault.breaker {
        let message = say!(
            "the breakers ahead of the units' relays are rated {breaker}; the relays withstand their fault current behind \
             one of at most {breaker_2}",
            breaker,
            breaker_2 = fault.breaker
        );
        let place = case.breakers.input.as_ref().and_then(|_| {
            let of = |wish: &&site::BreakerWish| wish.part.value == site::UnitBreaker::Input;
            case.site.breakers.iter().find(of).map(|wish| &wish.rating.place)
        });
        ledger.find(
            Finding::new("fault-over-withstand", Severity::Error, "unit.input breaker", message)
                .at(place.or(Some(&case.site.group.unit.place)), say!("their breaker"))
                .fix(say!("input breakers of at most {breaker}", breaker = fault.breaker)),
        );
    }
}

fn over(case: &Case<'_>, part: &str, value: &str, limit: &str) -> Finding {
    let place = case.site.service.fault_current.as_ref().map(|p| &p.place);
    let place = place.or(case.site.service.transformer_rating.as_ref().map(|p| &p.place));
    Finding::new(
        "fault-over-withstand",
        Severity::Error,
        part,
        say!("the fault current at the service is {value}; {part} withstands {limit}", value, part, limit),
    )
    .at(place, say!("sets the fault current"))
    .fix(say!(
        "ask the utility for the fault current at the service itself, or put a current-limiting fuse ahead (and have it shown that it protects the relays)"
    ))
}
