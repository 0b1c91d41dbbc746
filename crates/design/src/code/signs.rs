//! Labels and signs that the plant asks for, with the figures that they show.

use std::sync::Arc;

use catalog::{Chemistry, LegControl};
use codebook::NotCovered;
use codebook::iec::warning_notices::{NoticeFacts, warning_notices};
use codebook::us::labels::{LabelFacts, labels};
use derivation::{Known, Node};
use plant::Layout;
use plant::full::BondPlace;
use quantity::{Power, VoltageSystem};
use saying::say;
use site::{Array, Coupling, Mounting};
use tables::{Sign, Verification};

use super::{Holding, Label};

const RULE: &str = "labels";
const NOTICES: &str = "warning-notices";

/// Lists them. Whether a label is there is seen on site.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    let (rule, found) = if h.us() { (RULE, asked(h)) } else { (NOTICES, warning_notices(&notice_facts(h))) };
    match found {
        Ok(all) => {
            for sign in all {
                let label = Label {
                    key: sign.key.to_owned(),
                    shows: shows(h, sign.key),
                    place: sign.place.to_owned(),
                    tells: sign.tells.to_owned(),
                    clause: cited(sign.source, sign.verification),
                };
                h.work.labels.push(label);
            }
            let held = crate::Held::new(rule, "site", true);
            h.held.push(held.because(say!("listed; whether each is there is seen on site")));
        }
        Err(refused) => h.not_covered(rule, "site", refused.reason, None),
    }
}

/// The labels of the site; where a fire code of dwellings is stated beside another method of demand, also those that
/// only dwellings have.
fn asked(h: &Holding<'_, '_>) -> Result<Vec<Sign>, NotCovered> {
    let facts = facts(h);
    let mut all = labels(&facts)?;
    if h.case.site.battery.standing.code.is_some() && !facts.dwelling {
        let more = labels(&LabelFacts { dwelling: true, ..facts })?;
        let known: Vec<&str> = all.iter().map(|sign| sign.key).collect();
        let more: Vec<Sign> = more.into_iter().filter(|sign| !known.contains(&sign.key)).collect();
        all.extend(more);
    }
    Ok(all)
}

fn cited(source: String, verification: Verification) -> String {
    if verification.confirm() { format!("{source} (confirm)") } else { source }
}

/// What is chosen; before that, what is wished.
fn vented(h: &Holding<'_, '_>) -> bool {
    let case = h.case;
    let wished = || case.site.battery.model.as_ref().and_then(|m| h.prepared.catalog.batteries.get(&m.value));
    let model = case.bank.as_ref().map(|bank| bank.model).or_else(wished);
    model.is_some_and(|m| m.chemistry == Chemistry::FloodedLeadAcid)
}

fn notice_facts(h: &Holding<'_, '_>) -> NoticeFacts {
    let case = h.case;
    let utility = case.layout != Layout::Islanded;
    let exports = case.settings.export_limit.value() > Power::ZERO;
    NoticeFacts {
        array: !case.site.arrays.is_empty(),
        // units of this kind stand on a battery; where none is chosen yet its notice is asked for all the same
        battery: true,
        vented: vented(h),
        utility,
        // an array on a panel runs beside the utility, whatever is fed back
        parallel: utility && (exports || !case.arrays.is_empty()),
        generator: case.generator.is_some(),
    }
}

fn facts(h: &Holding<'_, '_>) -> LabelFacts {
    let case = h.case;
    let utility = case.layout != Layout::Islanded;
    let exports = case.settings.export_limit.value() > Power::ZERO;
    // lead-acid cells stand under Article 480; of what is not chosen yet the stricter article is taken
    let lead = vented(h);
    let own_bond = assess::prove_plant(case)
        .is_some_and(|plant| plant.bonds.iter().any(|bond| bond.place == BondPlace::Group));
    LabelFacts {
        array: !case.site.arrays.is_empty(),
        array_on_building: case.site.arrays.iter().any(on_building),
        storage: !lead,
        standby_battery: lead,
        panels: true,
        dwelling: h.dwelling(),
        utility,
        parallel: utility && exports,
        source_breaker_at_end: h.at_far_end,
        standby: utility,
        standby_bonded_elsewhere: utility && own_bond,
        single_120: case.system() == VoltageSystem::Single120
            || (case.unit.leg_control == LegControl::OneLeg && case.system().legs().len() == 1),
        managed: utility && exports && case.site.utility.export_limit.is_some(),
    }
}

/// It stands on a roof, or its circuits go to controllers beside the units.
fn on_building(array: &Array) -> bool {
    array.mounting.value != Mounting::Ground || matches!(array.coupling, Coupling::Dc { .. })
}

/// Figures that a label shows, as far as this plant has them.
fn shows(h: &Holding<'_, '_>, key: &str) -> Vec<Arc<Node>> {
    let case = h.case;
    let mut all: Vec<Arc<Node>> = Vec::new();
    match key {
        "service-fault-current" => {
            all.extend(assess::fault_current(case).map(|current| current.node().clone()));
        }
        "storage-disconnect-facts" | "storage-disconnect" | "battery-isolator" => {
            let nominal = case.unit.dc.nominal;
            let what = "nominal voltage of the battery";
            all.push(Known::catalog("U_b", what, nominal, &case.unit.id, "dc").node().clone());
        }
        "standby-sign" | "stand-alone-sign" | "source-directory" | "sources-directory" | "island-alone" => {
            all.push(case.rating.apparent.node().clone());
            all.push(case.rating.leg_apparent.node().clone());
        }
        "array-voltage" => {
            for strings in &case.strings {
                let (V, id) = (&strings.string.highest, &strings.id);
                let from = vec![V.node().clone()];
                let V = Known::chosen(
                    "V_max",
                    format!("highest voltage of {id}"),
                    V.value(),
                    "its strings",
                    from,
                );
                all.push(V.node().clone());
            }
        }
        "power-management" => all.push(case.settings.export_limit.node().clone()),
        _ => {}
    }
    all
}
