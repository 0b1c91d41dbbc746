//! Arrays: what their records must be before anything is decided.

use catalog::{ArrayInverter, ArrayModule, Catalog};
use derivation::Place;
use finding::{Finding, Severity};
use plant::ArraySide;
use plant::full::ArrayIn;
use quantity::{Frequency, Power, Quantity};
use reading::Decision;
use site::{Coupling, Modules, Site};

use crate::Prepared;
use crate::prepare::unknown;

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
            .at(Some(place), "this record")
            .fix("choose one that feeds this system at this frequency"),
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
pub(crate) fn part(array: &site::Array) -> String {
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

/// What is not modelled of them.
pub(crate) fn not_covered(site: &Site) -> Vec<Finding> {
    let mut found = Vec::new();
    for array in &site.arrays {
        if let Coupling::Ac { inverter, .. } = &array.coupling {
            let message = format!(
                "the array \"{}\" feeds a panel: what becomes of its power in an outage with a full or cold battery, and its strings at the inverters, are not held",
                array.id.value
            );
            found.push(
                Finding::new("array-not-covered", Severity::NotCovered, "array inverter", message)
                    .at(Some(&inverter.place), "this inverter")
                    .fix("couple the array to the DC bus"),
            );
        }
    }
    found
}
