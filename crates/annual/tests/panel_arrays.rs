//! A year with an array on the backup panel, and carry times against plain stepping.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use annual::{Asked, findings, make, outages, year};
use energy::year::{Design, Generator, Hour, Series, Shedding, simulate};
use support::{Nothing, replaced, with};

const CREAMERY: &str = include_str!("../../../examples/creamery/site.toml");

/// The creamery with 13 modules of 450 W behind 6 kW on its production panel, as well.
fn text() -> String {
    let more = "[[array]]\nid = \"store roof\"\ncoupling = \"AC\"\nmodule = \"demo-module-450\"\nmodules = 13\ntilt = \"18 deg\"\nazimuth = \"190 deg\"\nmounting = \"roof\"\ninverter = \"demo-ai-6k-400\"\ninverters = 1\npanel = \"production\"\nrun = \"14 m\"\n\n";
    replaced(CREAMERY, "[battery]", &format!("{more}[battery]"))
}

#[test]
fn an_array_on_the_panel_is_in_the_year_and_in_every_outage() {
    with(&text(), |design, catalog| {
        assert!(!findings(design, catalog, &Nothing).iter().any(|f| f.severity.fails()));
        let made = make(design, catalog, &Nothing, Asked { step_s: 900.0, seed: None }).unwrap();
        let store = made.arrays.iter().find(|a| a.id == "store roof").unwrap();
        assert_eq!((store.device.as_str(), store.devices, store.modules), ("demo-ai-6k-400", 1, 13));
        let most = made.panel_array_w.iter().copied().fold(0.0, f64::max);
        assert!(most > 3000.0 && most <= 6000.0, "{most}");
        assert!((made.design.panel_array.reconnect_s - 90.0).abs() < 1e-9);
        assert!((made.design.panel_array.export_limit_w - 12_000.0).abs() < 1e-6);
        // the balance closes, with its part in it
        let found = year(&made).unwrap();
        let through = found.columns.totals.throughput_wh();
        assert!(found.residual_wh.abs() < 1e-9 * through, "{} of {through}", found.residual_wh);
        let used: f64 = found.columns.panel_used_w.iter().sum::<f64>() / 4.0;
        assert!(used > 4_000_000.0 && used <= made.panel_array_w.iter().sum::<f64>() / 4.0 + 1e-6, "{used}");
        // each start by itself, with the year's own stepping
        let all = outages(&made, &[6.0], &mut |_| true).unwrap().unwrap();
        let row = all.all_loads().unwrap();
        let plain = Design { generator: Generator::NONE, shedding: Shedding::NEVER, ..made.design };
        let count = made.array_w.len();
        let (mut longer, hours) = (0, vec![Hour { utility: false, spend: false, fill: false }; 400]);
        for start in (0..count).step_by(331) {
            let cut =
                |column: &[f64]| -> Vec<f64> { (0..400).map(|k| column[(start + k) % count]).collect() };
            let [a, b, c] = [0, 1, 2].map(|t: usize| cut(&made.loads.tiers_w[t]));
            let stepped = |panel: &[f64]| {
                let array = cut(&made.array_w);
                let series = Series {
                    step_s: 900.0,
                    loads_w: [&a, &b, &c],
                    array_w: &array,
                    panel_array_w: panel,
                    hours: &hours,
                };
                let run = simulate(&plain, &series, all.year.stored_wh[start]).unwrap();
                (0..400).find(|k| run.served_w[*k] < (a[*k] + b[*k] + c[*k]) * (1.0 - 1e-9)).unwrap_or(400)
            };
            let (there, without) = (stepped(&cut(&made.panel_array_w)), stepped(&[]));
            assert_eq!(there.min(400), (row.carry.steps[start] as usize).min(400), "start {start}");
            assert!(there >= without);
            longer += usize::from(there > without);
        }
        assert!(longer > 20, "{longer}");
    });
}
