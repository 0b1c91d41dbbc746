//! What must be right before anything can be decided.

use catalog::{Catalog, LegControl, UnitModel, UnitRating};
use demand::{Assessment, PanelDemand};
use derivation::Place;
use finding::{Finding, Severity};
use quantity::{Quantity, VoltageSystem};
use saying::{Text, say};
use site::Site;

/// A site with everything looked up.
#[derive(Debug)]
pub struct Prepared<'a> {
    /// The site.
    pub site: &'a Site,
    /// Equipment.
    pub catalog: &'a Catalog,
    /// Demand of every panel.
    pub assessment: &'a Assessment,
    /// The unit model.
    pub unit: &'a UnitModel,
    /// What one unit can do here.
    pub rating: UnitRating,
    /// Demand of the backup panel with the spare that the site asks for.
    pub demand: PanelDemand,
    /// Frequency of the site, in hertz.
    pub frequency: quantity::Frequency,
}

/// Looks everything up.
///
/// # Errors
/// Findings for every reason why no design is made: a load class that the tool refuses, unknown equipment, a unit
/// that cannot serve the system, a room or an altitude outside its rating, nothing to carry.
pub fn prepare<'a>(
    site: &'a Site,
    catalog: &'a Catalog,
    assessment: &'a Assessment,
) -> Result<Prepared<'a>, Vec<Finding>> {
    let mut refused: Vec<Finding> =
        assessment.findings.iter().filter(|f| f.id == "lifeline-load").cloned().collect();
    let unit = catalog.units.get(&site.group.unit.value);
    if unit.is_none() {
        refused.push(unknown("unit", &site.group.unit.value, &site.group.unit.place, catalog.units.keys()));
    }
    if let Some(wish) = &site.generator
        && !catalog.generators.contains_key(&wish.model.value)
    {
        refused.push(unknown("generator", &wish.model.value, &wish.model.place, catalog.generators.keys()));
    }
    if let Some(wished) = site.group.transfer_switch.fixed()
        && !catalog.transfer_switches.contains_key(&wished.value)
    {
        refused.push(unknown(
            "transfer switch",
            &wished.value,
            &wished.place,
            catalog.transfer_switches.keys(),
        ));
    }
    if let Some(wished) = site.group.neutral_former.fixed()
        && !catalog.neutral_formers.contains_key(&wished.value)
    {
        refused.push(unknown("neutral former", &wished.value, &wished.place, catalog.neutral_formers.keys()));
    }
    refused.extend(unknown_dc(site, catalog));
    let demand = assessment.panels.get(&site.group.panel.value);
    match demand {
        None => refused.push(
            Finding::new(
                "nothing-to-carry",
                Severity::NotCovered,
                "backup panel",
                say!("the demand of the backup panel was not found"),
            )
            .at(Some(&site.group.panel.place), say!("this panel")),
        ),
        Some(demand) if demand.connected.value().si() <= 0.0 => refused.push(
            Finding::new(
                "nothing-to-carry",
                Severity::NotCovered,
                "backup panel",
                say!("the backup panel has no load"),
            )
            .at(Some(&site.group.panel.place), say!("this panel"))
            .fix(say!("give loads `panel = ...` with the id of the backup panel")),
        ),
        Some(_) => {}
    }
    let frequency = frequency(site);
    refused.extend(crate::arrays::refused(site, catalog, frequency));
    let rating = unit.and_then(|unit| {
        refused.extend(cannot_serve(site, unit, frequency));
        let room = site.temperature.room.known("T_room", "highest room temperature");
        let altitude = site.altitude.known("h", "altitude");
        match unit.rating(&room, &altitude) {
            Ok(rating) => Some(rating),
            Err(refusal) => {
                refused.push(outside(site, refusal.to_string().into()));
                None
            }
        }
    });
    let (Some(unit), Some(rating), Some(demand), true) = (unit, rating, demand, refused.is_empty()) else {
        return Err(refused);
    };
    let spare = site.wish.spare.as_ref().map_or(0.0, |s| s.value.share().si());
    let demand = if spare > 0.0 { demand.scaled(1.0 + spare) } else { demand.clone() };
    Ok(Prepared { site, catalog, assessment, unit, rating, demand, frequency })
}

fn frequency(site: &Site) -> quantity::Frequency {
    site.service.frequency.as_ref().map_or_else(|| site.service.system.value.usual_frequency(), |f| f.value)
}

/// Ids of the direct-current side that the catalogue does not have.
fn unknown_dc(site: &Site, catalog: &Catalog) -> Vec<Finding> {
    let wish = &site.battery;
    let mut refused = Vec::new();
    if let Some(id) = wish.model.as_ref().filter(|id| !catalog.batteries.contains_key(&id.value)) {
        refused.push(unknown("battery", &id.value, &id.place, catalog.batteries.keys()));
    }
    for id in [&wish.string_device, &wish.unit_device].into_iter().flatten() {
        if !catalog.dc_devices.contains_key(&id.value) {
            refused.push(unknown("DC device", &id.value, &id.place, catalog.dc_devices.keys()));
        }
    }
    refused
}

pub(crate) fn unknown<'k>(
    kind: &str,
    written: &str,
    place: &Place,
    known: impl Iterator<Item = &'k String>,
) -> Finding {
    let known: Vec<&String> = known.collect();
    let near = known
        .iter()
        .map(|id| (strsim::damerau_levenshtein(written, id), *id))
        .filter(|(distance, id)| distance * 5 <= 2 * id.len())
        .min();
    let finding = Finding::new(
        "unknown-equipment",
        Severity::Error,
        kind,
        say!("the catalogue has no {kind} \"{written}\"", kind, written),
    )
    .at(Some(place), say!("not in the catalogue"));
    match near {
        Some((_, id)) => finding.fix(say!("did you mean \"{id}\"?", id)),
        None => {
            let list = known.iter().take(12).map(|s| s.as_str()).collect::<Vec<_>>().join(", ");
            finding.fix(say!("known: {list}", list))
        }
    }
}

fn outside(site: &Site, reason: Text) -> Finding {
    Finding::new("outside-unit-rating", Severity::NotCovered, "group", reason)
        .at(Some(&site.temperature.room.place), say!("the room of the units"))
        .fix(say!("cool the room, or choose a family that is rated for it"))
}

fn cannot_serve(site: &Site, unit: &UnitModel, frequency: quantity::Frequency) -> Vec<Finding> {
    let system = site.service.system.value;
    let place = &site.group.unit.place;
    let mut refused = Vec::new();
    if !unit.forms.contains(&system) {
        let two_leg = unit.leg_control != LegControl::OneLeg;
        let wye = matches!(
            system,
            VoltageSystem::TwoLegs120_208 | VoltageSystem::Wye120_208 | VoltageSystem::Wye230_400
        );
        let why = if two_leg && wye {
            "the two legs of its output stand 180 degrees apart, those of a wye 120 degrees".to_owned()
        } else {
            let forms = unit.forms.iter().map(|s| s.to_string()).collect::<Vec<_>>().join(", ");
            format!("it forms {forms}")
        };
        refused.push(
            Finding::new(
                "unit-cannot-serve",
                Severity::Error,
                "group",
                say!("{unit} cannot serve {system}: {why}", unit = unit.id, system, why),
            )
            .at(Some(place), say!("this family"))
            .fix(say!("choose a family that forms this system")),
        );
    }
    let same = |f: &quantity::Frequency| (f.si() - frequency.si()).abs() < 0.5;
    if !unit.frequencies.iter().any(same) {
        let has = unit.frequencies.iter().map(|f| f.to_string()).collect::<Vec<_>>().join(", ");
        refused.push(
            Finding::new(
                "unit-cannot-serve",
                Severity::Error,
                "group",
                say!("{unit} works at {has}; the site has {frequency}", unit = unit.id, has, frequency),
            )
            .at(Some(place), say!("this family")),
        );
    }
    refused
}
