//! Inputs that contradict each other or name what does not exist: refused, or said to fail.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn pairs(id: &str, pairs: &[&str]) -> Result<Outcome, CalcError> {
    run(id, &Inputs::from_pairs(pairs)?)
}

#[test]
fn what_cannot_be_is_refused_with_the_reason() {
    let refused: [(&str, &[&str], &str); 17] = [
        (
            "motor-circuit",
            &["motor_hp=5", "motor_v=230", "phases=1", "motor_kind=wound-rotor"],
            "does not run on phases=1",
        ),
        (
            "motor-circuit",
            &["motor_hp=5", "motor_v=230", "phases=3", "motor_kind=single-phase"],
            "does not run on phases=3",
        ),
        (
            "motor-circuit",
            &["motor_hp=5", "motor_v=230", "phases=3", "motor_kind=dc-constant-voltage"],
            "alternating-current",
        ),
        ("motor-feeder", &["full_load_a=40;28", "largest_device_a=30"], "below the largest motor"),
        (
            "extraterrestrial-day",
            &["latitude_deg=43", "day_of_year=105", "declination=cooper", "from_h=11", "to_h=10"],
            "change them over",
        ),
        (
            "string-window",
            &[
                "vmp_v=40",
                "vmp_pct_per_degc=-0.4",
                "hot_cell_degc=70",
                "cold_cell_degc=-10",
                "window_low_v=400",
                "window_high_v=200",
            ],
            "change them over",
        ),
        (
            "overload-coordination",
            &["device=mcb", "design_a=20", "rated_a=33", "capacity_a=50"],
            "the next is 40",
        ),
        ("overload-coordination", &["device=mcb", "design_a=150", "rated_a=200", "capacity_a=250"], "125"),
        ("tn-disconnection", &["loop_ohm=0.5", "mcb_type=B", "rated_a=33"], "not a standard rating"),
        (
            "breaker-discrimination",
            &["main_type=C", "main_a=64", "branch_type=B", "branch_a=16", "prospective_a=100"],
            "not a standard rating",
        ),
        (
            "cable-voltage-drop",
            &["loaded=2", "section_mm2=2.7", "length_m=30", "current_a=16"],
            "no nominal section",
        ),
        (
            "protective-conductor",
            &["line_mm2=37", "line_insulation=PVC", "use=pe-in-cable-PVC"],
            "no nominal section",
        ),
        ("disconnection-time", &["earthing=TN", "to_earth_v=1100"], "no low voltage"),
        (
            "cable-ampacity",
            &[
                "insulation=PVC",
                "method=C",
                "loaded=2",
                "ambient_degc=30",
                "soil_k_m_per_w=2.5",
                "section_mm2=4",
            ],
            "lies in no soil",
        ),
        (
            "voltage-drop",
            &["circuit=two-wire", "current_a=500", "run_ft=1500", "source_v=120", "size=12"],
            "cannot flow",
        ),
        (
            "voltage-drop",
            &["circuit=dc", "current_a=500", "run_ft=1500", "source_v=48", "size=12"],
            "cannot flow",
        ),
        (
            "service-capacity",
            &["rating_a=200", "conductor_a=175", "continuous_a=0", "sized_by_310_12=yes"],
            "one-family",
        ),
    ];
    for (id, inputs, why) in refused {
        match pairs(id, inputs) {
            Err(error @ CalcError::NotCovered(_)) => {
                assert!(error.to_string().contains(why), "{id} {inputs:?}: {error}");
            }
            other => panic!("{id} {inputs:?}: {other:?}"),
        }
    }
}

/// 1.25 x 1.25 x 9 A: a device of 15 A, which does not protect a conductor of 10 A.
#[test]
fn a_string_that_its_device_does_not_protect_fails() {
    let strings = |ampacity: &str| {
        let inputs = ["isc_a=9", "strings=3", "series_fuse_a=15", "feed_back_a=0", ampacity];
        pairs("string-overcurrent", &inputs).unwrap()
    };
    let small = strings("ampacity_a=10");
    assert_eq!(small.get("holds").unwrap().json(), false);
    assert!(small.number("device_a").is_none() && small.get("failures").is_some());
    let fine = strings("ampacity_a=30");
    assert_eq!((fine.get("holds").unwrap().json(), fine.number("device_a")), (true.into(), Some(15.0)));
}

/// By hand: 800 x cos 60 + 100 = 500 W/m2.
#[test]
fn light_that_does_not_belong_together_is_said() {
    let plane = |ghi: &str| {
        let inputs = [
            "tilt_deg=30",
            "azimuth_deg=180",
            "zenith_deg=60",
            "sun_azimuth_deg=180",
            "dni_w_m2=800",
            "dhi_w_m2=100",
            "extra_w_m2=1361",
            ghi,
        ];
        pairs("plane-irradiance", &inputs).unwrap()
    };
    assert!(plane("ghi_w_m2=500").get("note").is_none());
    assert!(plane("ghi_w_m2=800").get("note").is_some());
    assert!((plane("ghi_w_m2=800").number("closure_w_m2").unwrap() - 300.0).abs() < 1e-6);
}

/// Half an hour after midnight, 15 degrees west of the meridian: the evening before.
#[test]
fn solar_time_stays_within_its_day() {
    let inputs = ["day_of_year=100", "standard_h=0.5", "longitude_west_deg=90", "meridian_west_deg=75"];
    let found = pairs("solar-time", &inputs).unwrap();
    assert_eq!(found.number("day_shift"), Some(-1.0));
    let hour = found.number("solar_h").unwrap();
    assert!((23.0..24.0).contains(&hour), "{hour}");
}
