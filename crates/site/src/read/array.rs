//! `[[array]]`.

use quantity::{Angle, Length, Power};
use reading::{Decision, Diagnostic, Placed, Section};

use super::label::{name, need_name, need_partner, percent_in, quantities_in};
use crate::facts::Facts;
use crate::{Array, Coupling, Modules, Mounting};

const DC_KEYS: [&str; 1] = ["controller"];
const AC_KEYS: [&str; 4] = ["inverter", "inverters", "panel", "run"];

#[derive(Clone, Copy, PartialEq)]
enum Bus {
    Dc,
    Ac,
}

pub(super) fn array(s: &Section<'_>, facts: &mut Facts) -> Option<Array> {
    let id = need_name(s, "id", "id of the array");
    let bus = s.need_choice(
        "coupling",
        "\"DC\": strings on charge controllers on the DC bus; \"AC\": array inverters on a panel",
        &[("DC", Bus::Dc), ("AC", Bus::Ac)],
    );
    let module = need_name(s, "module", "catalogue id of the module");
    let modules = modules(s);
    let strings = s.decide_count("strings", "strings in parallel at each controller or inverter; as many controllers as it takes, the strings spread evenly where they do not divide", 1..=400);
    let per_string = s.decide_count("per_string", "modules in series in each string", 1..=60);
    let tilt =
        s.need_quantity_in("tilt", "tilt of the modules from the horizontal", Angle::ZERO..=Angle::of(90.0));
    let azimuth = s.need_quantity_in(
        "azimuth",
        "where the modules look, in degrees clockwise from north: south is 180",
        Angle::ZERO..=Angle::of(360.0),
    );
    let mounting = s.need_choice(
        "mounting",
        "what cools them: \"ground\" = racks in the open, \"roof\" = a gap behind them, \"flush roof\" = none",
        &[("ground", Mounting::Ground), ("roof", Mounting::Roof), ("flush roof", Mounting::FlushRoof)],
    );
    let losses = percent_in(
        s,
        "losses",
        "share lost to dirt, mismatch, wire and age; left out, 14 % is assumed and said",
        0.0..=0.6,
    );
    let horizon = quantities_in(
        s,
        "horizon",
        "elevations of the horizon at even azimuths, the first to the north, clockwise; left out, open",
        Angle::ZERO..=Angle::of(89.0),
    );
    let string_run = s.quantity_in(
        "string_run",
        "length of a string's cable from its modules to the controller or inverter, one way; left out, 30 m are assumed and said",
        Length::of(0.05)..=Length::of(3000.0),
    );
    let controller = name(s, "controller", "DC: catalogue id of the charge controller");
    let inverter = name(s, "inverter", "AC: catalogue id of the array inverter");
    let inverters = s.decide_count("inverters", "AC: how many array inverters, or \"choose\"", 1..=200);
    let panel = name(s, "panel", "AC: id of the panel where the inverters connect");
    let run = s.quantity_in(
        "run",
        "AC: length of the run from the inverters to the panel",
        Length::of(0.05)..=Length::of(3000.0),
    );
    if s.place().is_some() {
        facts.arrays.define(id.as_ref());
        facts.panels.refer(panel.as_ref());
    }
    few_elevations(s, &horizon);
    keys_belong(s, bus.as_ref());
    let (modules, strings, per_string, inverters) = (modules?, strings?, per_string?, inverters?);
    adds_up(s, &modules, &strings, &per_string, bus.as_ref().map(|bus| (bus.value, &inverters)));
    let bus = bus?;
    let coupling = match bus.value {
        Bus::Dc => Coupling::Dc { controller: controller? },
        Bus::Ac => Coupling::Ac { inverter: inverter?, inverters, panel: panel?, run },
    };
    Some(Array {
        id: id?,
        module: module?,
        modules,
        strings,
        per_string,
        tilt: tilt?,
        azimuth: azimuth?,
        mounting: mounting?,
        losses,
        horizon,
        string_run,
        coupling,
        coupling_place: bus.place,
        place: s.place()?,
    })
}

/// A number, or `"choose"` with a power.
fn modules(s: &Section<'_>) -> Option<Modules> {
    let count = s.decide_count("modules", "how many modules, or \"choose\" with a `power`", 1..=20_000);
    let power = s.quantity_in(
        "power",
        "power wished for under standard test conditions, with modules = \"choose\"",
        Power::of(50.0)..=Power::of(5e6),
    );
    match (count?, power) {
        (Decision::Fixed(count), None) if !s.has("power") => Some(Modules::Count(count)),
        (Decision::Choose, Some(power)) => Some(Modules::Power(power)),
        (Decision::Choose, None) => {
            if let Some(place) = s.place().filter(|_| !s.has("power")) {
                s.mistake(
                    Diagnostic::new("missing-key", "this array does not say how large it is")
                        .at(&place, "expected `modules`, or `power` with modules = \"choose\"")
                        .help("write modules = 20, or modules = \"choose\" and power = \"9 kW\""),
                );
            }
            None
        }
        (Decision::Fixed(_), _) => {
            let message = "a number of modules stands beside a power";
            let help = "keep the number, or write modules = \"choose\"";
            super::label::contradiction(s, "power", "modules", message, help);
            None
        }
    }
}

/// A horizon of fewer points than the quarters of the sky is a slip.
fn few_elevations(s: &Section<'_>, horizon: &[Placed<Angle>]) {
    if (1..4).contains(&horizon.len()) {
        let message = format!("a horizon of {} elevations", horizon.len());
        s.mistake_at("horizon", "wrong-count", message, "give at least 4: north, east, south, west");
    }
}

fn keys_belong(s: &Section<'_>, bus: Option<&Placed<Bus>>) {
    let Some(bus) = bus else { return };
    let (word, foreign, needed): (_, &[&str], &[&str]) = match bus.value {
        Bus::Dc => ("DC", &AC_KEYS, &DC_KEYS),
        Bus::Ac => ("AC", &DC_KEYS, &["inverter", "panel"]),
    };
    for key in foreign.iter().filter(|key| s.has(key)) {
        let message = format!("`{key}` has no meaning for an array coupled to {word}");
        super::label::contradiction(s, key, "coupling", &message, "drop it, or correct the coupling");
    }
    for key in needed {
        need_partner(s, "coupling", key, &format!("an array coupled to {word} needs it"));
    }
}

/// Numbers that are all fixed must multiply to each other.
fn adds_up(
    s: &Section<'_>,
    modules: &Modules,
    strings: &Decision<u32>,
    per_string: &Decision<u32>,
    coupled: Option<(Bus, &Decision<u32>)>,
) {
    let (Modules::Count(modules), Some(strings), Some(per_string)) =
        (modules, strings.fixed(), per_string.fixed())
    else {
        return;
    };
    let at_each = u64::from(strings.value) * u64::from(per_string.value);
    let wrong = |message: String, help: String| {
        s.mistake(
            Diagnostic::new("contradiction", message)
                .at(&modules.place, "this number")
                .also(&strings.place, "strings at each")
                .also(&per_string.place, "modules in each string")
                .help(help),
        );
    };
    let all = u64::from(modules.value);
    match coupled {
        Some((Bus::Ac, Decision::Fixed(inverters))) => {
            let product = u64::from(inverters.value) * at_each;
            if product != all {
                let message = format!("{all} modules, but the strings hold {product}");
                wrong(message, "correct one of them, or leave one to the tool: \"choose\"".to_owned());
            }
        }
        // as many controllers as it takes: whole strings, and enough for one controller
        Some((Bus::Dc, _)) => {
            let p = u64::from(per_string.value.max(1));
            if all < at_each {
                let message = format!("{all} modules, but the strings of one controller hold {at_each}");
                let help =
                    format!("{at_each} modules fit; or fewer strings, or leave one to the tool: \"choose\"");
                wrong(message, help);
            } else if all % p != 0 {
                let (below, over) = (all / p * p, all.div_ceil(p) * p);
                let message = format!("{all} modules do not stand in whole strings of {p}");
                let near = if all - below <= over - all { below } else { over };
                wrong(
                    message,
                    format!("{near} modules do; or leave one of the numbers to the tool: \"choose\""),
                );
            }
        }
        _ => {}
    }
}
