//! The direct-current side and fault levels through the registry: each calculation once, with a hand result.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, OutputValue, run};

fn answer(id: &str, pairs: &[&str]) -> Outcome {
    run(id, &Inputs::from_pairs(pairs).unwrap()).unwrap_or_else(|e| panic!("{id}: {e}"))
}

fn number(outcome: &Outcome, key: &str, expected: f64) {
    let found = outcome.number(key).unwrap();
    assert!((found - expected).abs() <= 1e-5 * expected.abs(), "{key}: {found}, expected {expected}");
}

fn list(outcome: &Outcome, key: &str) -> Vec<f64> {
    match outcome.get(key) {
        Some(OutputValue::Numbers(all)) => all.iter().map(|(value, _)| *value).collect(),
        other => panic!("{key}: {other:?}"),
    }
}

fn flag(outcome: &Outcome, key: &str) -> bool {
    matches!(outcome.get(key), Some(OutputValue::Flag(true)))
}

#[test]
fn a_sag_and_its_edge() {
    let base = ["ocv=51.2 V", "path=20 mohm", "efficiency=92 %", "idle=40 W", "awake=3", "cutoff=44 V"];
    let held = answer("dc-sag", &[&base[..], &["output=9200 W"]].concat());
    assert!(flag(&held, "holds"));
    number(&held, "voltage_v", 46.882_857);
    let none = answer("dc-sag", &[&base[..], &["output=40 kW"]].concat());
    assert!(!flag(&none, "solution") && none.number("voltage_v").is_none());
    number(&none, "largest_draw_w", 32_768.0);
}

/// The figures of outside case BAT-07, computed by Kirchhoff's laws.
#[test]
fn a_bank_on_a_bus_and_its_faults() {
    let bank = ["string_ocv_v=52.8,52.8,52.8", "string_ohm=0.0048", "cable_ohm=0.0012,0.0016,0.0026"];
    let bus = answer("dc-bus", &[&bank[..], &["unit_w=15643.51566"]].concat());
    for (found, expected) in list(&bus, "string_a").iter().zip([109.158, 102.336, 88.506]) {
        assert!((found - expected).abs() < 1e-2);
    }
    number(&bus, "worst_of_equal_pct", 109.157_96);
    let fault = answer("bank-fault", &[&bank[..], &["units=1", "unit_ohm=0.001"]].concat());
    let place = |key| list(&fault, key)[0];
    assert!((place("landing_fault_a") - 24_185.135).abs() < 0.01);
    let parallel = 52.8 / place("landing_fault_a");
    assert!((place("unit_fault_a") - 52.8 / (parallel + 0.001)).abs() < 0.01);
    let pairs = [&bank[..], &["unit_w=1000", "unit_landing=2"]].concat();
    assert!(matches!(run("dc-bus", &Inputs::from_pairs(&pairs).unwrap()), Err(CalcError::NotCovered(_))));
}

#[test]
fn a_ripple_of_one_phase() {
    let found = answer(
        "dc-ripple",
        &["system=230 V single-phase", "load=L1", "load_va=4800", "efficiency_pct=80", "bus_v=48"],
    );
    number(&found, "mean_a", 125.0);
    number(&found, "ripple_a", 88.388_35);
}

#[test]
fn fault_levels_and_their_clearing() {
    let utility = answer(
        "utility-fault",
        &[
            "fault=line-to-line",
            "winding=centre-tapped",
            "line=240 V",
            "transformer=50 kVA",
            "impedance=2 %",
            "line_ohm=0.00525210084",
        ],
    );
    number(&utility, "least_a", 7_154.738_76);
    let generator = answer(
        "generator-fault",
        &["fault=three-phase", "phases=3", "rating=100 kVA", "line=400 V", "subtransient=12 %"],
    );
    number(&generator, "first_a", 1_202.813);
    assert!(generator.number("least_a").is_none());
    let island = answer(
        "island-fault",
        &[
            "unit_a=90,90,90",
            "unit_s=0.2",
            "between=line-to-neutral",
            "loop_v=120",
            "run_ohm=0.6",
            "run_x_ohm=0.8",
        ],
    );
    number(&island, "least_a", 120.0);
    number(&island, "lasts_s", 0.2);
    let clearing = |curve: &str| {
        answer(
            "clearing",
            &["least_a=120", "largest_a=12000", "lasts_s=0.2", curve, "rated_a=16", "interrupting_a=10000"],
        )
    };
    assert!(flag(&clearing("curve=B"), "clears") && !flag(&clearing("curve=B"), "interrupts"));
    assert!(!flag(&clearing("curve=C"), "clears"));
    let inverse = Inputs::from_pairs(&["least_a=120", "curve=inverse-time"]).unwrap();
    assert!(matches!(run("clearing", &inverse), Err(CalcError::NotCovered(_))));
}

/// By hand: 50 kVA, 2 %, 120/240 V: 208.33 A, 10,417 A line to line, 15,625 A line to neutral; over 25 ft with C = 5000:
/// f = 2 x 25 x 15,625 / (5000 x 120) = 1.302.
#[test]
fn a_fault_to_neutral_of_a_centre_tapped_transformer() {
    let unit = ["transformer_va=50000", "impedance_pct=2", "line_v=240", "run_ft=25", "run_c=5000"];
    let found = answer("fault-point-to-point", &[&unit[..], &["phases=1", "fault=neutral"]].concat());
    assert!((found.number("transformer_fault_a").unwrap() - 15_625.0).abs() < 0.1);
    let end = found.get("end_fault_a").unwrap().json()[0].as_f64().unwrap();
    assert!((end - 15_625.0 / (1.0 + 1.302_083)).abs() < 0.1, "{end}");
    let lines = answer("fault-point-to-point", &[&unit[..], &["phases=1"]].concat());
    assert!((lines.number("transformer_fault_a").unwrap() - 10_416.7).abs() < 0.1);
    let three = Inputs::from_pairs(&[&unit[..], &["phases=3", "fault=neutral"]].concat()).unwrap();
    assert!(run("fault-point-to-point", &three).is_err());
}

/// Indices with customers that were interrupted at all; cells in wind; declination; R_b, as the tests of the evaluators.
#[test]
fn what_a_designer_looks_up_beside() {
    let totals = ["customers_served=2000", "customer_interruptions=3215", "customer_min=172219.5"];
    let more = ["customers_affected=1800", "momentary_interruptions=300"];
    let found = answer("supply-indices-from-totals", &[&totals[..], &more].concat());
    let near = |key: &str, expected: f64| {
        let is = found.number(key).unwrap();
        assert!((is / expected - 1.0).abs() < 1e-6, "{key} is {is}");
    };
    near("caifi", 1.786_111_1);
    near("ctaidi_min", 95.677_5);
    near("maifi", 0.15);
    let weather = ["irradiance_w_m2=900", "ambient_degc=20", "wind_m_s=3"];
    let cell = |id: &str, of: &[&str]| answer(id, &[&weather[..], of].concat()).number("cell_degc").unwrap();
    let faiman = cell("cell-temperature-in-wind", &["u0=25", "u1=6.84"]);
    assert!((faiman - (20.0 + 900.0 / 45.52)).abs() < 1e-6);
    let king = cell("cell-temperature-by-exponent", &["a=-3.47", "b=-0.0594", "rise_k=3"]);
    // 20 + 900 exp(-3.47 - 0.1782) + 2.7 degC
    assert!((king - 46.134_159).abs() < 1e-5, "{king}");
    let day = answer("declination", &["day_of_year=44"]);
    assert!((day.number("cooper_deg").unwrap() + 13.95).abs() < 0.01);
    assert!((day.number("spencer_deg").unwrap() + 13.8).abs() < 0.5);
    let madison = ["latitude_deg=43", "day_of_year=44", "solar_h=10.5", "tilt_deg=45", "from_south_deg=15"];
    let plane = answer("incidence-angle", &madison);
    assert!((plane.number("rb").unwrap() - 1.667).abs() < 0.01, "{:?}", plane.number("rb"));
}
