//! Arrays: what their records must be before anything is decided.

use catalog::{ArrayInverter, Catalog};
use derivation::Place;
use finding::{Finding, Severity};
use quantity::{Frequency, Quantity};
use site::{Coupling, Site};

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

/// What is not modelled of them.
pub(crate) fn not_covered(site: &Site) -> Vec<Finding> {
    let mut found = Vec::new();
    for array in &site.arrays {
        if let Coupling::Ac { inverter, .. } = &array.coupling {
            let message =
                format!("the array \"{}\" feeds a panel; its currents are not modelled", array.id.value);
            found.push(
                Finding::new("array-not-covered", Severity::NotCovered, "array inverter", message)
                    .at(Some(&inverter.place), "this inverter")
                    .fix("couple the array to the DC bus"),
            );
        }
    }
    found
}
