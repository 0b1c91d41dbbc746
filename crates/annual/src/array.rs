//! What the arrays of the site give: to the bus of the battery, or to a panel.

use catalog::Catalog;
use derivation::{Known, formula};
use energy::array::{Array, CellModel, supply_w};
use energy::plane::{Horizon, Incidence, Plane, SkyModel};
use finding::Finding;
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

/// What the arrays give.
#[derive(Debug, Clone, Default)]
pub(crate) struct Supply {
    /// Power behind the controllers at every step, in watts.
    pub array_w: Vec<f64>,
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
    let mut out = Supply { array_w: none, ..Supply::default() };
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
        let Coupling::Dc { controller } = &array.coupling else {
            notes.push(format!(
                "the array \"{id}\" feeds a panel, which the model of the year does not cover: it is not counted; carry times err on the short side"
            ));
            out.left_out.push(id.clone());
            continue;
        };
        let layout = design.arrays.get(id).ok_or_else(|| {
            refused(format!(
                "the array \"{id}\" has no layout whose strings stand: how many modules it has is not known"
            ))
        })?;
        let (plane, model, counted) = dc_array(array, &controller.value, *layout, around, figures)?;
        let horizon = horizon(array)?;
        let power = supply_w(&columns, SkyModel::HayDavies, &[(plane, model)], horizon.as_ref());
        out.arrays.push(counted);
        for (sum, power) in out.array_w.iter_mut().zip(power.map_err(refuse)?) {
            *sum += power;
        }
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

fn dc_array(
    array: &site::Array,
    controller: &str,
    layout: design::ArrayLayout,
    around: &Around<'_>,
    figures: &mut Figures,
) -> Result<(Plane, Array, Counted), Vec<Finding>> {
    let id = &array.id.value;
    let missing = |what: &str| refused(format!("the catalogue has no {what} of the array \"{id}\""));
    let module = around.catalog.modules.get(&array.module.value).ok_or_else(|| missing("module"))?;
    let controller = around.catalog.controllers.get(controller).ok_or_else(|| missing("controller"))?;
    let P_1 = Known::catalog("P_1", "power of a module", module.power, &module.id, "power");
    let count = |symbol: &str, what: &str, n: u32| {
        Known::chosen(symbol, what, Ratio::of(f64::from(n)), "the design's layout", Vec::new())
    };
    let n = count("n", "modules", layout.modules());
    let n_c = count("n_c", "controllers", layout.devices);
    let peak = formula!("P_a", format!("power of the array \"{id}\" under standard test conditions"),
        [P_1, n] => P_1 * n);
    let (V, I) = (
        &around.bank,
        Known::catalog("I_c", "current of a controller", controller.current, &controller.id, "current"),
    );
    let limit: Known<Power> = formula!("P_m", format!("most power through the controllers of \"{id}\""),
        [V, I, n_c] => V * (I * n_c));
    let gamma = Known::assumed(
        "gamma",
        "change of a module's power with cell temperature, per kelvin",
        Ratio::of(-0.0040),
        "crystalline silicon, the poorer end of common practice; the record has none",
    );
    let efficiency = Known::assumed(
        "eta_m",
        "efficiency of a charge controller",
        Ratio::of(0.96),
        "common practice; the record has none",
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
        device: controller.id.clone(),
        devices: layout.devices,
    };
    Ok((plane, model, counted))
}
