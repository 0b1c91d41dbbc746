//! Figures and states of some designs side by side, and what a step brings to all of them.

use super::design::Design;

macro_rules! lanes {
    ($(#[$doc:meta])* $name:ident { $($field:ident),+ $(,)? } $($same:ident),*) => {
        $(#[$doc])*
        #[derive(Debug, Clone)]
        pub(crate) struct $name<const N: usize> { $(pub $field: [f64; N],)+ $(pub $same: f64),* }
    };
}

lanes!(
    /// Figures of N designs, and what is one for all: the least input, steps an hour.
    Lanes {
        capacity, floor, reserve, charge_limit, discharge_limit, holds, into, per_into, per_out, out_rate, taper_by,
        keep, rating, peak, budget, recovery, idle,
        k1, k2, charger, array, input, relay, export, gen_power, gen_start, gen_stop, gen_warm_h, gen_least_h,
        gen_idle_l, gen_l_per_wh, shed1, shed2, back1, back2, restart, panel_export, panel_charger, panel_wait_h,
    } least_input, per_hour
);

lanes!(
    /// What a step leaves to the next: charge, heat spent, tiers on, converter up, generator on and for how
    /// long, fuel left, hours until arrays on the panel are back.
    State { stored, heat, on1, on2, up, gen_on, gen_h, fuel, wait_h }
);

/// What a step brings, the same for all designs: loads by tier and power of the arrays before scaling.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Inputs {
    pub loads: [f64; 3],
    pub array: f64,
    pub panel: f64,
    pub hours: f64,
    /// 1 where the battery may be spent on loads.
    pub spend: f64,
    /// 1 where it may be filled from the utility.
    pub fill: f64,
}

impl<const N: usize> Lanes<N> {
    /// Figures of at most N designs; empty lanes repeat the last one.
    pub fn new(designs: &[Design], hours: f64) -> Self {
        let of = |f: &dyn Fn(&Design) -> f64| -> [f64; N] {
            std::array::from_fn(|l| designs.get(l).or(designs.last()).map_or(0.0, f))
        };
        Self {
            capacity: of(&|d| d.battery.capacity_wh),
            floor: of(&|d| d.battery.floor_wh),
            reserve: of(&|d| d.battery.reserve_wh),
            charge_limit: of(&|d| d.battery.charge_limit_w),
            discharge_limit: of(&|d| d.battery.discharge_limit_w),
            holds: of(&|d| d.battery.holds_w_per_wh),
            into: of(&|d| d.battery.charge_efficiency),
            per_into: of(&|d| 1.0 / (d.battery.charge_efficiency * hours)),
            per_out: of(&|d| 1.0 / d.battery.discharge_efficiency),
            out_rate: of(&|d| d.battery.discharge_efficiency / hours),
            taper_by: of(&|d| 1.0 / (d.battery.capacity_wh - d.battery.taper_from_wh).max(1e-12)),
            keep: of(&|d| libm::pow(1.0 - d.battery.self_discharge_per_day, hours / 24.0)),
            rating: of(&|d| d.converter.rating_w),
            peak: of(&|d| d.converter.peak_w),
            budget: of(&|d| d.converter.heat_budget_wh),
            recovery: of(&|d| d.converter.heat_recovery),
            idle: of(&|d| d.converter.idle_w),
            k1: of(&|d| d.converter.loss_per_w),
            k2: of(&|d| d.converter.loss_per_w2),
            charger: of(&|d| d.converter.charger_limit_w),
            array: of(&|d| d.array_scale),
            input: of(&|d| d.utility.input_limit_w.min(d.utility.relay_limit_w)),
            relay: of(&|d| d.utility.relay_limit_w),
            export: of(&|d| d.utility.export_limit_w.min(d.utility.relay_limit_w)),
            gen_power: of(&|d| d.generator.power_w),
            gen_start: of(&|d| if d.generator.power_w > 0.0 { d.generator.start_wh } else { -1.0 }),
            gen_stop: of(&|d| d.generator.stop_wh),
            gen_warm_h: of(&|d| d.generator.warm_up_s / 3600.0),
            gen_least_h: of(&|d| d.generator.minimum_run_s / 3600.0),
            gen_idle_l: of(&|d| d.generator.idle_l_per_h),
            gen_l_per_wh: of(&|d| d.generator.l_per_kwh / 1000.0),
            shed1: of(&|d| d.shedding.shed_wh[0]),
            shed2: of(&|d| d.shedding.shed_wh[1]),
            back1: of(&|d| d.shedding.restore_wh[0]),
            back2: of(&|d| d.shedding.restore_wh[1]),
            restart: of(&|d| d.shedding.restart_wh),
            panel_export: of(&|d| d.panel_array.export_limit_w),
            panel_charger: of(&|d| if d.panel_array.charges { d.converter.charger_limit_w } else { 0.0 }),
            panel_wait_h: of(&|d| d.panel_array.reconnect_s / 3600.0),
            least_input: designs
                .iter()
                .fold(f64::INFINITY, |m, d| m.min(d.utility.input_limit_w.min(d.utility.relay_limit_w))),
            per_hour: 1.0 / hours,
        }
    }
}

impl<const N: usize> State<N> {
    /// Cool, all tiers on, generator off, the tank full.
    pub fn new(designs: &[Design], stored_wh: &[f64]) -> Self {
        Self {
            stored: std::array::from_fn(|l| stored_wh.get(l).or(stored_wh.last()).copied().unwrap_or(0.0)),
            heat: [0.0; N],
            on1: [1.0; N],
            on2: [1.0; N],
            up: [1.0; N],
            gen_on: [0.0; N],
            gen_h: [0.0; N],
            fuel: std::array::from_fn(|l| {
                designs.get(l).or(designs.last()).map_or(0.0, |d| d.generator.tank_l)
            }),
            wait_h: std::array::from_fn(|l| {
                designs.get(l).or(designs.last()).map_or(0.0, |d| d.panel_array.reconnect_s / 3600.0)
            }),
        }
    }
}
