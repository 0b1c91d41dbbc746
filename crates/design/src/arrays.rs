//! Arrays: what their records must be before anything is decided, where they stand, and what is not modelled of them.

mod circuits;
mod hold;
mod protection;
mod strings;

use catalog::{ArrayInverter, ArrayModule, Catalog, ChargeController};
use derivation::{Known, Place, formula};
use finding::{Finding, Severity};
use plant::full::ArrayIn;
use plant::{ArraySide, Layout};
use quantity::{DcCurrent, Frequency, Power, Quantity};
use reading::Decision;
use saying::{Text, say};
use site::{Coupling, Modules, Site};

use crate::Prepared;
use crate::prepare::unknown;

pub(crate) use circuits::{on_the_bus, strings};
pub(crate) use hold::settle;
pub use strings::Layout as ArrayLayout;

/// Equipment that is not in the catalogue, and array inverters that cannot feed the system.
pub(crate) fn refused(site: &Site, catalog: &Catalog, frequency: Frequency) -> Vec<Finding> {
    let mut found = Vec::new();
    for array in &site.arrays {
        let module = &array.module;
        if !catalog.modules.contains_key(&module.value) {
            found.push(unknown("module", &module.value, &module.place, catalog.modules.keys()));
        }
        match &array.coupling {
            Coupling::Dc { controller } => {
                if !catalog.controllers.contains_key(&controller.value) {
                    let known = catalog.controllers.keys();
                    found.push(unknown("controller", &controller.value, &controller.place, known));
                }
            }
            Coupling::Ac { inverter, .. } => match catalog.array_inverters.get(&inverter.value) {
                None => {
                    let known = catalog.array_inverters.keys();
                    found.push(unknown("array inverter", &inverter.value, &inverter.place, known));
                }
                Some(record) => found.extend(cannot_feed(site, record, frequency, &inverter.place)),
            },
        }
    }
    found
}

fn cannot_feed(site: &Site, record: &ArrayInverter, frequency: Frequency, place: &Place) -> Option<Finding> {
    let system = site.service.system.value;
    let why = if !record.systems.contains(&system) {
        let systems = record.systems.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        format!("{} feeds {systems}; the site has {system}", record.id)
    } else if (record.frequency.si() - frequency.si()).abs() >= 0.5 {
        format!("{} follows {}; the site has {frequency}", record.id, record.frequency)
    } else {
        return None;
    };
    Some(
        Finding::new("array-inverter-unfit", Severity::Error, "array inverter", why)
            .at(Some(place), say!("this record"))
            .fix(say!("choose one that feeds this system at this frequency")),
    )
}

/// Arrays on panels as they stand in the plant; `generator` says whether there is one to be locked out from.
pub(crate) fn on_panels<'a>(prepared: &Prepared<'a>, generator: bool) -> Vec<ArrayIn<'a>> {
    let mut all = Vec::new();
    for array in &prepared.site.arrays {
        let Coupling::Ac { inverter, inverters, panel, run } = &array.coupling else { continue };
        let (Some(model), Some(module)) = (
            prepared.catalog.array_inverters.get(&inverter.value),
            prepared.catalog.modules.get(&array.module.value),
        ) else {
            continue;
        };
        let side =
            if behind_group(prepared.site, &panel.value) { ArraySide::Backup } else { ArraySide::Main };
        let count = match inverters {
            Decision::Fixed(count) => count.value,
            Decision::Choose => needed(peak(array, module), model.power),
        };
        all.push(ArrayIn {
            id: part(array),
            model,
            inverters: u8::try_from(count).unwrap_or(u8::MAX),
            side,
            run: run.as_ref().map(|run| run.known("l", "length of the run to the array inverters")),
            locked_out: generator && side == ArraySide::Backup,
        });
    }
    all
}

/// What the parts of an array begin with; a point would part them.
pub fn part(array: &site::Array) -> String {
    format!("array {}", array.id.value.replace('.', "-"))
}

/// Power of the modules under standard test conditions.
fn peak(array: &site::Array, module: &ArrayModule) -> Power {
    match &array.modules {
        Modules::Count(count) => module.power * f64::from(count.value),
        Modules::Power(power) => power.value,
    }
}

/// The fewest inverters that together take a power.
fn needed(power: Power, one: Power) -> u32 {
    (1..200).find(|n| one * f64::from(*n) >= power).unwrap_or(200)
}

/// Whether a panel is the backup panel or fed from it.
fn behind_group(site: &Site, panel: &str) -> bool {
    let mut at = Some(panel);
    // no chain of a sound site is longer than its panels
    for _ in 0..=site.panels.len() {
        let Some(id) = at else { return false };
        if id == site.group.panel.value {
            return true;
        }
        let here = site.panels.iter().find(|p| p.id.value == id);
        at = here.and_then(|p| p.fed_from.as_ref()).map(|from| from.value.as_str());
    }
    false
}

/// Where an array on a panel is not modelled, or has no source to follow.
pub(crate) fn not_covered(prepared: &Prepared<'_>, layout: Layout) -> Vec<Finding> {
    let site = prepared.site;
    let mut found = Vec::new();
    for (k, array) in site.arrays.iter().enumerate() {
        if site.arrays.iter().take(k).any(|before| part(before) == part(array)) {
            let message =
                say!("another array has parts of the same names as \"{array}\"", array = array.id.value);
            found.push(
                Finding::new("array-not-covered", Severity::NotCovered, part(array), message)
                    .at(Some(&array.id.place), say!("this id"))
                    .fix(say!("an id that differs by more than a point")),
            );
        }
    }
    for array in &site.arrays {
        let Coupling::Ac { panel, .. } = &array.coupling else { continue };
        let not_covered = |message: Text, fix: Text| {
            Finding::new("array-not-covered", Severity::NotCovered, part(array), message)
                .at(Some(&panel.place), say!("this panel"))
                .fix(fix)
        };
        let backup = behind_group(site, &panel.value);
        let below = site.panels.iter().any(|p| p.id.value == panel.value && p.fed_from.is_some());
        if panel.value != site.group.panel.value && (backup || below) {
            let message = say!(
                "the array feeds \"{panel}\", which another panel feeds: what flows back through that panel's feeder is not held",
                panel = panel.value
            );
            found.push(not_covered(
                message,
                say!("the array on the backup panel or on the first panel behind the service"),
            ));
        }
        if backup && adds_up(prepared) {
            let message = say!(
                "pass-through of several relays is counted as adding up; how an array behind them shares over the relays is not held"
            );
            found.push(not_covered(message, say!("one relay's pass-through, or the array on the DC bus")));
        }
        if !backup && layout == Layout::Islanded {
            found.push(
                Finding::new(
                    "array-without-utility",
                    Severity::Error,
                    part(array),
                    say!(
                        "the array feeds \"{panel}\", and no utility stands behind that panel: it never finds a voltage",
                        panel = panel.value
                    ),
                )
                .at(Some(&panel.place), say!("this panel"))
                .fix(say!("the array on the backup panel or on the DC bus")),
            );
        }
    }
    found
}

/// Several relays count together.
fn adds_up(prepared: &Prepared<'_>) -> bool {
    matches!(prepared.unit.pass_through, catalog::PassThrough::Matched { .. })
        && prepared.site.group.matched_wiring.as_ref().is_some_and(|w| w.value)
}

/// The charge controllers of every array: what their parts begin with, record and number.
pub(crate) fn controllers<'a>(prepared: &Prepared<'a>) -> Vec<(String, &'a ChargeController, u32)> {
    let mut all = Vec::new();
    for array in &prepared.site.arrays {
        let Coupling::Dc { controller } = &array.coupling else { continue };
        let Some(model) = prepared.catalog.controllers.get(&controller.value) else { continue };
        all.push((part(array), model, hold::layout(prepared, array).map_or(1, |layout| layout.devices)));
    }
    all
}

/// What the charge controllers give at most, together, and how many there are; none without any. Where an array's
/// layout cannot be found it counts with one controller, and has a finding of its own.
pub(crate) fn solar(prepared: &Prepared<'_>) -> (u32, Option<Known<DcCurrent>>) {
    let (mut number, mut each) = (0, Vec::new());
    for (part, model, n) in controllers(prepared) {
        number += n;
        let n = strings::count("n", "controllers", n);
        let I_1 = Known::catalog(
            "I_1",
            "highest current of a controller into the battery",
            model.current,
            &model.id,
            "current",
        );
        each.push(formula!("I_a", format!("highest charging current of {part}"), [I_1, n] => I_1 * n));
    }
    (
        number,
        (!each.is_empty())
            .then(|| Known::sum("I_A", "highest charging current of all arrays on the bus", &each)),
    )
}
