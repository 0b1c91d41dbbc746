//! Random years and designs.

use proptest::prelude::*;

use super::*;

pub(crate) fn design() -> Design {
    Design {
        battery: Battery {
            capacity_wh: 20_000.0,
            floor_wh: 2000.0,
            reserve_wh: 8000.0,
            charge_limit_w: 6000.0,
            discharge_limit_w: 9000.0,
            charge_efficiency: 0.97,
            discharge_efficiency: 0.96,
            taper_from_wh: 18_000.0,
            self_discharge_per_day: 0.001,
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
        },
        converter: Converter {
            rating_w: 8000.0,
            peak_w: 12_000.0,
            heat_budget_wh: 500.0,
            heat_recovery: 0.5,
            idle_w: 60.0,
            loss_per_w: 0.02,
            loss_per_w2: 3e-6,
            charger_limit_w: 5000.0,
        },
        array_scale: 1.0,
        panel_array: PanelArray { export_limit_w: 4000.0, charges: true, reconnect_s: 300.0 },
        utility: Utility { input_limit_w: 9600.0, relay_limit_w: 12_000.0, export_limit_w: 3000.0 },
        generator: Generator {
            power_w: 6000.0,
            start_wh: 4000.0,
            stop_wh: 15_000.0,
            warm_up_s: 120.0,
            minimum_run_s: 1800.0,
            idle_l_per_h: 0.6,
            l_per_kwh: 0.3,
            tank_l: 20.0,
        },
        shedding: Shedding { shed_wh: [3500.0, 6000.0], restore_wh: [6000.0, 9000.0], restart_wh: 4000.0 },
    }
}

/// Loads by tier, array, hours to spend and to fill, arrays on the panel.
type Step = (f64, f64, f64, f64, [bool; 2], f64);

/// Columns of a run, owned.
#[derive(Debug, Clone)]
pub(crate) struct Made {
    pub loads: [Vec<f64>; 3],
    pub array: Vec<f64>,
    pub panel: Vec<f64>,
    pub hours: Vec<Hour>,
    pub step_s: f64,
}

impl Made {
    pub fn series(&self) -> Series<'_> {
        let [a, b, c] = &self.loads;
        Series {
            step_s: self.step_s,
            loads_w: [a, b, c],
            array_w: &self.array,
            panel_array_w: &self.panel,
            hours: &self.hours,
        }
    }
}

pub(crate) fn made() -> impl Strategy<Value = Made> {
    let step =
        (0.0..4000.0, 0.0..4000.0, 0.0..6000.0, 0.0..9000.0_f64, any::<[bool; 2]>(), -3000.0..9000.0_f64);
    let outage = prop::collection::vec((any::<bool>(), 1usize..40), 1..8);
    let step_s = prop_oneof![Just(60.0), Just(900.0), Just(3600.0)];
    (prop::collection::vec(step, 1..200), outage, step_s, any::<bool>()).prop_map(
        |(steps, outages, step_s, on_panel)| {
            let utility: Vec<bool> = outages.iter().flat_map(|(on, n)| vec![*on; *n]).collect();
            let column = |f: &dyn Fn(&Step) -> f64| steps.iter().map(f).collect::<Vec<_>>();
            Made {
                loads: [column(&|s| s.0), column(&|s| s.1), column(&|s| s.2)],
                array: column(&|s| s.3),
                panel: if on_panel { column(&|s| s.5.max(0.0)) } else { Vec::new() },
                hours: steps
                    .iter()
                    .enumerate()
                    .map(|(k, s)| Hour { utility: utility[k % utility.len()], spend: s.4[0], fill: s.4[1] })
                    .collect(),
                step_s,
            }
        },
    )
}

pub(crate) fn designs() -> impl Strategy<Value = Design> {
    (0.05..3.0, 0.0..1.0, 0.0..1.0, 0.3..2.0, any::<[bool; 4]>()).prop_map(
        |(size, floor, taper, power, with)| {
            let mut d = design();
            d.battery.capacity_wh *= size;
            d.generator.start_wh *= size;
            d.generator.stop_wh *= size;
            d.shedding.shed_wh = d.shedding.shed_wh.map(|v| v * size);
            d.shedding.restore_wh = d.shedding.restore_wh.map(|v| v * size);
            d.shedding.restart_wh *= size;
            d.battery.floor_wh = floor * 0.3 * d.battery.capacity_wh;
            d.battery.reserve_wh = d.battery.floor_wh + 0.5 * floor * d.battery.capacity_wh;
            d.battery.taper_from_wh = d.battery.capacity_wh * if with[0] { 0.5 + taper / 2.0 } else { 1.0 };
            d.converter.rating_w *= power;
            d.converter.peak_w *= power;
            // every other one needs charge for power
            if with[0] != with[3] {
                d.battery.holds_w_per_wh = 2.0 + taper;
            }
            d.panel_array.reconnect_s = 4000.0 * floor;
            d.panel_array.charges = with[3];
            if with[1] {
                d.generator = Generator::NONE;
            }
            if with[2] {
                d.shedding = Shedding::NEVER;
            }
            if with[3] {
                (d.converter.loss_per_w2, d.battery.self_discharge_per_day) = (0.0, 0.0);
            }
            d
        },
    )
}
