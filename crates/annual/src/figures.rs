//! From the catalogue's and the site's figures to those of the model, each with its derivation.

use std::sync::Arc;

use assess::{Case, counted, lowest_open_circuit, nominal_voltage, string_resistance};
use catalog::{BatteryModel, Chemistry, LegControl};
use demand::Lane;
use derivation::{Known, Node, formula};
use energy::EnergyError;
use energy::year::{Battery, Converter};
use finding::Finding;
use plant::Layout;
use quantity::{
    Apparent, Charge, Current, DcCurrent, DcVoltage, Duration, Energy, Power, Quantity, Ratio, as_w,
};

use crate::make::refused;

/// Every figure that was handed over.
#[derive(Debug, Clone, Default)]
pub(crate) struct Figures {
    pub nodes: Vec<Arc<Node>>,
}

impl Figures {
    /// Keeps a figure and gives its number in the unit of its kind.
    pub fn take<Q: Quantity>(&mut self, known: &Known<Q>) -> f64 {
        self.nodes.push(known.node().clone());
        known.value().si()
    }
}

/// The bank: modules and strings, and what is left of them.
#[derive(Debug, Clone)]
pub(crate) struct Bank<'a> {
    pub model: &'a BatteryModel,
    /// Strings in parallel.
    pub strings: Known<Ratio>,
    /// Rated charge over what it holds at the end of its life.
    pub worn: Known<Ratio>,
    /// Rated charge over what it gives at the lowest temperature of its room.
    pub cold: Known<Ratio>,
    /// Charge of a module at the current that the panel asks for.
    pub charge: Known<Charge>,
    /// Charging current of all units, as set.
    pub set: Option<Known<DcCurrent>>,
}

/// Efficiency of charging and discharging; common practice, since records hold none.
fn efficiencies(chemistry: Chemistry) -> (f64, f64, &'static str) {
    match chemistry {
        Chemistry::Lfp => (
            0.97,
            0.97,
            "lithium iron phosphate, at the currents of hours: common practice; the record has none",
        ),
        Chemistry::FloodedLeadAcid => (0.85, 0.93, "flooded lead-acid: common practice; the record has none"),
    }
}

impl Bank<'_> {
    /// Nominal voltage.
    pub fn voltage(&self) -> Known<DcVoltage> {
        nominal_voltage(self.model)
    }

    /// Energy from empty to full that the year is run with: worn and cold.
    pub fn capacity(&self) -> Known<Energy> {
        let (C, n, V) = (&self.charge, &self.strings, self.voltage());
        let (w, c) = (&self.worn, &self.cold);
        let C_n: Known<Charge> =
            formula!("C", "charge of the bank, worn and cold", [C, n, w, c] => C * n / w / c);
        formula!("E", "energy of the bank from empty to full", [V, C_n] => V * C_n)
    }

    /// Most charging power, at the nominal voltage: while it charges the voltage stands above.
    fn charging(&self) -> Known<Power> {
        let (m, n, V) = (self.model, &self.strings, self.voltage());
        let I = Known::catalog("I_1", "charge current of a module", m.charge, &m.id, "charge");
        formula!("P_c", "most charging power", [V, I, n] => V * (I * n))
    }

    /// Most discharging power, at the voltage that the least charge that may be used leaves under that current, so
    /// that it holds at any charge above; none where the record does not list that voltage.
    fn discharging(&self) -> Option<Known<Power>> {
        let (m, n) = (self.model, &self.strings);
        let I = Known::catalog("I_1", "discharge current of a module", m.discharge, &m.id, "discharge");
        let (V_oc, R_s) = (lowest_open_circuit(m)?, string_resistance(m));
        Some(
            formula!("P_d", "most discharging power, at the least charge that may be used", [V_oc, R_s, I, n] =>
            (V_oc - I * R_s) * (I * n)),
        )
    }

    /// The battery of the model; `reserve`: share of its energy that is kept for outages.
    ///
    /// # Errors
    /// The record does not say what it gives at the least charge that may be used.
    pub fn figures(&self, reserve: &Known<Ratio>, figures: &mut Figures) -> Result<Battery, Vec<Finding>> {
        let m = self.model;
        let E = self.capacity();
        let u = Known::catalog("u", "share of the charge that may be used", m.usable, &m.id, "usable");
        let floor = formula!("E_0", "charge below which nothing is drawn", [E, u] => E * (1.0 - u));
        // a share of what may be used, counted from the floor
        let kept = formula!("E_r", "charge kept for outages", [E, u, reserve] =>
            E * (1.0 - u) + E * u * reserve);
        let (into, out, why) = efficiencies(m.chemistry);
        let into = Known::assumed("eta_c", "energy stored over energy charged", Ratio::of(into), why);
        let out = Known::assumed("eta_d", "energy given over energy taken out", Ratio::of(out), why);
        let taper = Known::assumed(
            "s_t",
            "charge from which charging tapers, as a share",
            Ratio::of(if m.chemistry == Chemistry::Lfp { 0.95 } else { 0.80 }),
            "common practice; the record has none",
        );
        let E_t = formula!("E_t", "charge from which charging tapers", [E, taper] => E * taper);
        let lost = Known::assumed(
            "d",
            "share of the charge lost in a day",
            Ratio::of(if m.chemistry == Chemistry::Lfp { 0.001 } else { 0.002 }),
            "3 and 6 % a month: common practice; the record has none",
        );
        let missing = || {
            refused(format!(
                "the record of \"{}\" does not state `open_circuit` at the least charge that may be used: what it gives there is not known",
                m.id
            ))
        };
        let P_d = self.discharging().filter(|P| P.value() > Power::ZERO).ok_or_else(missing)?;
        Ok(Battery {
            capacity_wh: figures.take(&E),
            floor_wh: figures.take(&floor),
            reserve_wh: figures.take(&kept).min(E.value().si()),
            charge_limit_w: figures.take(&self.charging()),
            discharge_limit_w: figures.take(&P_d),
            charge_efficiency: figures.take(&into),
            discharge_efficiency: figures.take(&out),
            taper_from_wh: figures.take(&E_t),
            // the limit is that of the least charge: none above gives less
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
            self_discharge_per_day: figures.take(&lost),
        })
    }
}

/// Active power of the panel at which its worst leg carries a current, the loads shared over the legs as at their
/// highest: P = P_total I / I_leg.
pub(crate) fn panel_power(case: &Case<'_>, what: &str, I: &Known<Current>) -> Option<Known<Power>> {
    let total = &case.demand.lanes.get(&Lane::Total)?.steady_power;
    let (leg, lane) = case.demand.worst_leg()?;
    let P = total;
    let I_leg = &lane.steady_current;
    (I_leg.value().si() > 0.0 && leg.index() < 3)
        .then(|| formula!("P", format!("{what}, of the panel"), [P, I, I_leg] => P * (I / I_leg)))
}

/// Power of the whole group on an even load: current per leg times legs.
pub(crate) fn even_power(case: &Case<'_>, what: &str, I: &Known<Current>) -> Known<Power> {
    let (U, m) = (case.voltage(), case.legs());
    let S: Known<Apparent> = formula!("S", format!("{what}, all legs evenly"), [I, U, m] => U * I * m);
    formula!("P", format!("{what}, all legs evenly, power factor 1"), [S] => as_w(S))
}

/// Continuous power of the group on a load shared over the legs as the panel's at its highest: the leg that is full
/// first sets it.
pub(crate) fn rating(case: &Case<'_>) -> Option<Known<Power>> {
    let total = case.demand.lanes.get(&Lane::Total)?;
    let mut limits = Vec::new();
    for (lane, demand) in &case.demand.lanes {
        match lane {
            Lane::Leg(leg) if case.unit.leg_control != LegControl::LineToLine => {
                let (n_c, P_1) = (counted(case.unit, case.formation.on(*leg)), &case.rating.leg_power);
                let (P_t, P_leg) = (&total.steady_power, &demand.steady_power);
                if P_leg.value().si() > 0.0 {
                    limits.push(formula!("P_g", format!("power of the group as {leg} lets it"),
                        [P_1, n_c, P_t, P_leg] => P_1 * n_c * (P_t / P_leg)));
                }
            }
            Lane::Leg(_) => {}
            Lane::Total => {
                let (n_c, P_1) = (counted(case.unit, case.formation.units()), &case.rating.power);
                limits.push(formula!("P_g", "power of all units", [P_1, n_c] => P_1 * n_c));
            }
        }
    }
    Known::smallest("P_g", "continuous power of the group in its room", &limits)
}

/// The converter of the model, all units together.
///
/// # Errors
/// An efficiency curve that the model does not follow.
pub(crate) fn converter(
    case: &Case<'_>,
    bank: &Bank<'_>,
    step_s: f64,
    figures: &mut Figures,
) -> Result<Converter, EnergyError> {
    let nothing = EnergyError::NotCovered("the panel has no load on any leg");
    let P = rating(case).ok_or(nothing)?;
    let unit = case.unit;
    let units = f64::from(case.formation.units());
    let n = Known::chosen("n", "units", Ratio::of(units), "formation", Vec::new());
    // overloads that last no step are left out: a step is even
    let step = Known::chosen("t_s", "step", Duration::of(step_s), "asked for", Vec::new());
    let (mut peak, mut budgets) = (P.clone(), Vec::new());
    for over in case.rating.overload.iter().filter(|o| o.lasts.value().si() >= step_s) {
        let (P_o, P_1, t) = (&over.total_power, &case.rating.power, &over.lasts);
        let more: Known<Power> = formula!("P_o", "overload of the group", [P, P_o, P_1] => P * (P_o / P_1));
        budgets.push(formula!("H", "energy above the rating", [more, P, t] => (more - P) * t));
        peak = Known::largest("P_p", "highest power that lasts a step", &[peak, more]).unwrap_or(P.clone());
    }
    let heat = Known::smallest("H", "heat budget: the least of the overloads' energies", &budgets)
        .unwrap_or_else(|| {
            let why = "no overload lasts a step: none is counted";
            Known::chosen("H", "heat budget", Energy::ZERO, why, vec![step.node().clone()])
        });
    let recovery = unit.overload_recovery.filter(|_| heat.value().si() > 0.0).map_or(0.0, |whole| {
        // whole again after this time without load, slower under load
        (heat.value().si() / (P.value().si() * whole.si() / 3600.0)).min(1.0)
    });
    let recovery = Known::solved(
        "r_h",
        "share of what is unused below the rating that the heat budget gains back",
        Ratio::of(recovery),
        "whole again in the record's time without load, slower under load; nothing where it states none",
        0.0,
        vec![heat.node().clone(), P.node().clone()],
    );
    let idle_1 = Known::catalog("P_i", "idle loss of a unit", unit.idle, &unit.id, "idle");
    let idle = formula!("P_i", "idle loss of all units", [idle_1, n] => idle_1 * n);
    let points: Vec<(f64, f64)> = unit
        .efficiency
        .iter()
        .filter(|(share, _)| share.si() > 0.0)
        .map(|(share, efficiency)| (share.si() * unit.power.si() * units, efficiency.si()))
        .collect();
    let (loss_per_w, loss_per_w2) = Converter::losses_through(idle.value().si(), &points)?;
    let k = Known::solved(
        "k_1",
        "loss per watt",
        Ratio::of(loss_per_w),
        format!(
            "loss = {} + k1 P + k2 P^2 with k2 = {loss_per_w2:.3e} 1/W, nowhere better than the record's curve",
            idle.value()
        ),
        0.0,
        vec![idle.node().clone()],
    );
    let P_c =
        Known::catalog("P_c1", "charging power of a unit", unit.charging.power, &unit.id, "charging power");
    let I_c = Known::catalog(
        "I_c1",
        "charging current of a unit",
        unit.charging.current,
        &unit.id,
        "charging current",
    );
    let V = Known::catalog("V", "nominal direct voltage", unit.dc.nominal, &unit.id, "dc nominal");
    let by_power = formula!("P_c", "charging power of all units", [P_c, n] => P_c * n);
    let by_current = formula!("P_c", "charging power of all units, by current", [V, I_c, n] => V * (I_c * n));
    let mut limits = vec![by_power, by_current];
    if let Some(I_s) = &bank.set {
        let V_b = bank.voltage();
        limits.push(formula!("P_c", "charging power as it is set", [V_b, I_s] => V_b * I_s));
    }
    if case.layout != Layout::Inline
        && let Some(I) = &case.settings.input_limit
    {
        limits.push(even_power(case, "input limit", I));
    }
    let charger = Known::smallest("P_c", "most charging power from the AC side", &limits)
        .ok_or(EnergyError::NotCovered("no charging power"))?;
    Ok(Converter {
        rating_w: figures.take(&P),
        peak_w: figures.take(&peak).max(P.value().si()),
        heat_budget_wh: figures.take(&heat).max(0.0),
        heat_recovery: figures.take(&recovery),
        idle_w: figures.take(&idle),
        loss_per_w: figures.take(&k),
        loss_per_w2,
        charger_limit_w: figures.take(&charger),
    })
}
