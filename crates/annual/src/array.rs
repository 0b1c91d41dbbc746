//! What the arrays of the site give: to the bus of the battery, or to a panel.

use catalog::{ArrayInverter, Catalog};
use derivation::{Known, formula};
use energy::array::{Array, CellModel, supply_w};
use energy::plane::{Horizon, Incidence, Plane, SkyModel};
use finding::Finding;
use plant::ArraySide;
use quantity::{DcVoltage, Power, Quantity, Ratio};
use reading::Files;
use site::{Coupling, Mounting};

use crate::figures::Figures;
use crate::loads::DAYS;
use crate::make::{refuse, refused};
use crate::weather::weather;

/// What stands beside the case.
pub(crate) struct Around<'a> {
    pub catalog: &'a Catalog,
    pub files: &'a dyn Files,
    pub step_s: f64,
    pub seed: u64,
    /// Nominal voltage of the bank.
    pub bank: Known<DcVoltage>,
}

/// An array that is counted, with its parts as the design lays them out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counted {
    /// Id of the array.
    pub id: String,
    /// Catalogue id of its modules.
    pub module: String,
    /// How many.
    pub modules: u32,
    /// Catalogue id of its controllers or array inverters.
    pub device: String,
    /// How many.
    pub devices: u32,
}

/// What the arrays give at every step, in watts.
#[derive(Debug, Clone, Default)]
pub(crate) struct Supply {
    /// To the bus of the battery, behind the controllers.
    pub array_w: Vec<f64>,
    /// To the backup panel, behind the array inverters; empty without such an array.
    pub panel_w: Vec<f64>,
    /// To the main panel, before the group; empty without such an array.
    pub main_w: Vec<f64>,
    pub arrays: Vec<Counted>,
    /// Arrays that are not in it.
    pub left_out: Vec<String>,
}

/// What the arrays of the site give.
///
/// # Errors
/// Weather that cannot be used, an array that the model does not cover.
pub(crate) fn supply(
    design: &design::Design<'_>,
    around: &Around<'_>,
    figures: &mut Figures,
    notes: &mut Vec<String>,
) -> Result<Supply, Vec<Finding>> {
    let site = design.case.site;
    let none = vec![0.0; DAYS * (86_400.0 / around.step_s) as usize];
    let mut out = Supply { array_w: none.clone(), ..Supply::default() };
    if site.arrays.is_empty() {
        return Ok(out);
    }
    let Some(wish) = &site.weather else {
        notes.push(
            "the arrays are not counted: the site has no [weather]; carry times err on the short side"
                .to_owned(),
        );
        out.left_out.extend(site.arrays.iter().map(|a| a.id.value.clone()));
        return Ok(out);
    };
    let columns = weather(&design.case, wish, around, notes)?;
    for array in &site.arrays {
        let id = &array.id.value;
        let layout = design.arrays.get(id).ok_or_else(|| {
            refused(format!(
                "the array \"{id}\" has no layout whose strings stand: how many modules it has is not known"
            ))
        })?;
        let (column, device) = match &array.coupling {
            Coupling::Dc { controller } => {
                (&mut out.array_w, controllers(array, &controller.value, *layout, around)?)
            }
            Coupling::Ac { .. } => {
                let part = design::array_part(array);
                let on = design.case.arrays.iter().find(|a| a.id == part);
                let on =
                    on.ok_or_else(|| refused(format!("the array \"{id}\" stands on no panel of the plant")))?;
                let column = match on.side {
                    ArraySide::Backup => &mut out.panel_w,
                    ArraySide::Main => &mut out.main_w,
                };
                if column.is_empty() {
                    column.clone_from(&none);
                }
                (column, inverters(array, on.model, *layout))
            }
        };
        let (plane, model, counted) = one(array, device, *layout, around, figures)?;
        let horizon = horizon(array)?;
        let power = supply_w(&columns, SkyModel::HayDavies, &[(plane, model)], horizon.as_ref());
        out.arrays.push(counted);
        for (sum, power) in column.iter_mut().zip(power.map_err(refuse)?) {
            *sum += power;
        }
    }
    if !out.main_w.is_empty() {
        notes.push(
            "an array on the main panel gives nothing in an outage; with the utility it counts against what the backup panel buys, and what that leaves as sold: loads of other panels are not in this"
                .to_owned(),
        );
    }
    Ok(out)
}

fn horizon(array: &site::Array) -> Result<Option<Horizon>, Vec<Finding>> {
    let count = array.horizon.len();
    if count == 0 {
        return Ok(None);
    }
    let points: Vec<(f64, f64)> = array
        .horizon
        .iter()
        .enumerate()
        .map(|(k, e)| (360.0 * k as f64 / count as f64, e.value.si()))
        .collect();
    Horizon::new(&points).map(Some).map_err(refuse)
}

/// What stands between modules and bus.
struct Device {
    id: String,
    /// Most power through all of them.
    limit: Known<Power>,
    efficiency: Known<Ratio>,
}

fn count(symbol: &str, what: &str, n: u32) -> Known<Ratio> {
    Known::chosen(symbol, what, Ratio::of(f64::from(n)), "the design's layout", Vec::new())
}

fn missing(what: &str, id: &str) -> Vec<Finding> {
    refused(format!("the catalogue has no {what} of the array \"{id}\""))
}

fn controllers(
    array: &site::Array,
    controller: &str,
    layout: design::ArrayLayout,
    around: &Around<'_>,
) -> Result<Device, Vec<Finding>> {
    let id = &array.id.value;
    let record = around.catalog.controllers.get(controller).ok_or_else(|| missing("controller", id))?;
    let (V, I) = (
        &around.bank,
        Known::catalog("I_c", "current of a controller", record.current, &record.id, "current"),
    );
    let n_c = full_controllers(layout);
    let efficiency = Known::assumed(
        "eta_m",
        "efficiency of a charge controller",
        Ratio::of(0.96),
        "common practice; the record has none",
    );
    let limit = formula!("P_m", format!("most power through the controllers of \"{id}\""),
        [V, I, n_c] => V * (I * n_c));
    Ok(Device { id: record.id.clone(), limit, efficiency })
}

/// How many controllers as full as the fullest the strings make: one with fewer strings has room that the others' strings
/// do not reach.
fn full_controllers(layout: design::ArrayLayout) -> Known<Ratio> {
    if layout.short == 0 {
        return count("n_c", "controllers", layout.devices);
    }
    let (all, most) = (
        count("n_s", "strings", layout.all_strings()),
        count("n_p", "strings at the fullest controller", layout.strings),
    );
    formula!("n_c", "controllers as full as the fullest", [all, most] => all / most)
}

fn inverters(array: &site::Array, record: &ArrayInverter, layout: design::ArrayLayout) -> Device {
    let P_1 = Known::catalog("P_1", "power of an array inverter", record.power, &record.id, "power");
    let n_i = count("n_i", "array inverters", layout.devices);
    let what = format!("most power through the array inverters of \"{}\"", array.id.value);
    let limit = formula!("P_m", what, [P_1, n_i] => P_1 * n_i);
    let what = "efficiency of an array inverter at full power";
    let efficiency = Known::catalog("eta_m", what, record.efficiency, &record.id, "efficiency");
    Device { id: record.id.clone(), limit, efficiency }
}

fn one(
    array: &site::Array,
    device: Device,
    layout: design::ArrayLayout,
    around: &Around<'_>,
    figures: &mut Figures,
) -> Result<(Plane, Array, Counted), Vec<Finding>> {
    let id = &array.id.value;
    let module = around.catalog.modules.get(&array.module.value).ok_or_else(|| missing("module", id))?;
    let P_1 = Known::catalog("P_1", "power of a module", module.power, &module.id, "power");
    let n = count("n", "modules", layout.modules());
    let peak = formula!("P_a", format!("power of the array \"{id}\" under standard test conditions"),
        [P_1, n] => P_1 * n);
    let Device { id: device, limit, efficiency } = device;
    let gamma = Known::assumed(
        "gamma",
        "change of a module's power with cell temperature, per kelvin",
        Ratio::of(-0.0040),
        "crystalline silicon, the poorer end of common practice; the record has none",
    );
    let losses = match &array.losses {
        Some(losses) => losses.clone().map(|l| l.share()).known("l", format!("losses of \"{id}\"")),
        None => Known::assumed(
            "l",
            format!("losses of \"{id}\""),
            site::ASSUMED_ARRAY_LOSSES.share(),
            "dirt, mismatch, wire and age: common practice",
        ),
    };
    let albedo =
        Known::assumed("rho", "share of light that the ground gives back", Ratio::of(0.2), "common practice");
    let (u0, u1, how) = match array.mounting.value {
        Mounting::Ground => (25.0, 6.84, "free-standing: Faiman 2008"),
        Mounting::Roof => {
            (20.0, 0.0, "a gap behind the modules, no wind counted: common practice, from memory")
        }
        Mounting::FlushRoof => (15.0, 0.0, "no air behind the modules: common practice, from memory"),
    };
    let u =
        Known::assumed("u0", format!("heat given off by cells of \"{id}\", in W/m2K"), Ratio::of(u0), how);
    let model = Array {
        peak_w: figures.take(&peak),
        gamma_per_k: figures.take(&gamma),
        losses: figures.take(&losses),
        controller_limit_w: figures.take(&limit),
        controller_efficiency: figures.take(&efficiency),
        cells: CellModel::Faiman { u0_w_m2_k: figures.take(&u), u1_ws_m3_k: u1 },
    };
    let plane = Plane {
        tilt_deg: array.tilt.value.si(),
        azimuth_deg: array.azimuth.value.si(),
        albedo: figures.take(&albedo),
        incidence: Incidence::Ashrae { b0: 0.05 },
    };
    let counted = Counted {
        id: id.clone(),
        module: module.id.clone(),
        modules: layout.modules(),
        device,
        devices: layout.devices,
    };
    Ok((plane, model, counted))
}
