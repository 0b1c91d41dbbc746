//! Calculations of the IEC book: numbers by hand, through the inputs as people write them.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn outcome(id: &str, pairs: &str) -> Result<Outcome, CalcError> {
    let pairs: Vec<&str> = pairs.split("; ").collect();
    run(id, &Inputs::from_pairs(&pairs)?)
}

fn number(id: &str, pairs: &str, key: &str) -> f64 {
    let found = outcome(id, pairs).unwrap_or_else(|e| panic!("{id} {pairs}: {e}"));
    found.number(key).unwrap_or_else(|| panic!("{id}: no {key}"))
}

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-6 * expected.abs(), "{found} is not {expected}");
}

fn refused(id: &str, pairs: &str) -> String {
    match outcome(id, pairs) {
        Err(CalcError::NotCovered(why)) => why,
        other => panic!("{id} {pairs}: {other:?}"),
    }
}

#[test]
fn cables_by_hand() {
    let cable = "insulation=PVC; method=C; loaded=3; ambient=35 degC";
    near(number("cable-ampacity", &format!("{cable}; section=16 mm2"), "capacity_a"), 71.44);
    let bunched = format!("{cable}; section_mm2=16; together=bunched; beside=2");
    near(number("cable-ampacity", &bunched, "capacity_a"), 50.008);
    assert!(refused("cable-ampacity", &format!("{cable}; section_mm2=0.5")).contains("no row for 0.5 mm2"));
    let hot = "insulation=PVC; method=C; loaded=3; ambient_degc=90; section_mm2=16";
    assert!(refused("cable-ampacity", hot).contains("90"));
    let buried = "insulation=XLPE; method=D2; loaded=3; ambient_degc=20; section_mm2=16";
    assert!(refused("cable-ampacity", buried).contains("soil"));
    let soil = format!("{buried}; soil=2.5 K.m/W; together=buried; beside=1; clearance=0.25 m");
    let table = number("cable-ampacity", &soil, "table_a");
    near(number("cable-ampacity", &soil, "capacity_a"), 0.90 * table);
    let drop = "loaded=2; section_mm2=4; length=30 m; current_a=20";
    near(number("cable-voltage-drop", drop, "drop_v"), 6.75);
    near(number("cable-voltage-drop", drop, "total_pct"), 2.934_782_6);
    let direct = "build=flexible; insulation=XLPE; section_mm2=70; length_m=3; current_a=100; nominal_v=48; limit_pct=1";
    near(number("direct-voltage-drop", direct, "drop_v"), 0.208_096_32);
}

/// The choice passes the calculations that it joins.
#[test]
fn what_is_chosen_passes_the_parts() {
    let lies = "insulation=PVC; method=B2; loaded=3; ambient_degc=40; together=bunched; beside=1";
    for design in [10, 25, 48, 77] {
        let chosen = format!("device=mcb; design_a={design}; {lies}; length_m=40; power_factor=0.9");
        let get = |key| number("conductor-choice", &chosen, key);
        let (section, rated, capacity) = (get("section_mm2"), get("rated_a"), get("capacity_a"));
        near(number("cable-ampacity", &format!("{lies}; section_mm2={section}"), "capacity_a"), capacity);
        near(number("rated-current", &format!("device=mcb; design_a={design}"), "rated_a"), rated);
        let pairs = format!("device=mcb; design_a={design}; rated_a={rated}; capacity_a={capacity}");
        let held = outcome("overload-coordination", &pairs).unwrap();
        assert_eq!(held.get("holds").unwrap().json(), true);
        let pairs =
            format!("loaded=3; section_mm2={section}; length_m=40; current_a={design}; power_factor=0.9");
        near(number("cable-voltage-drop", &pairs, "total_pct"), get("drop_pct"));
        let pairs = format!("insulation=PVC; section_mm2={section}");
        near(number("conductor-resistance", &pairs, "hot_ohm_per_km"), get("hot_ohm_per_km"));
    }
    assert!(refused("conductor-choice", &format!("device=mcb; design_a=130; {lies}")).contains("125"));
}

#[test]
fn faults_by_hand() {
    near(
        number("adiabatic-withstand", "use=line-PVC; section_mm2=10; fault_a=2000; fault_s=0.2", "bears_a2s"),
        1_322_500.0,
    );
    refused("adiabatic-withstand", "use=line-PVC; section_mm2=10; fault_a=2000; fault_s=0.01");
    refused("adiabatic-withstand", "use=line-PVC; section_mm2=10; fault_a=2000");
    near(
        number(
            "protective-conductor",
            "line_mm2=70; line_insulation=PVC; use=pe-in-cable-PVC",
            "section_mm2",
        ),
        35.0,
    );
    near(number("bonding-section", "bond=main; protective_mm2=35", "section_mm2"), 25.0);
    near(
        number("neutral-section", "loaded=3; line_mm2=50; current_a=100; third_harmonic_pct=40", "neutral_a"),
        120.0,
    );
}

#[test]
fn shock_by_hand() {
    near(number("disconnection-time", "earthing=TT; to_earth_v=230", "longest_s"), 0.2);
    let tn = outcome("tn-disconnection", "loop_ohm=1.2; mcb_type=B; rated_a=32").unwrap();
    assert_eq!(tn.get("holds").unwrap().json(), true);
    near(tn.number("needed_v").unwrap(), 192.0);
    refused("tn-disconnection", "loop_ohm=1.2; mcb_type=B");
    near(number("tt-disconnection", "electrode_ohm=100; source_ohm=10; residual=30 mA", "touch_v"), 3.0);
    near(number("it-first-fault", "electrode_ohm=50; first_fault_a=0.5", "touch_v"), 25.0);
    near(number("it-second-fault", "loop_ohm=1; line_v=400; disconnecting_a=160", "needed_v"), 320.0);
    let island = "bonded=yes; loop_ohm=4; protective_ohm=2; least_a=40; most_a=40; lasts_s=10";
    let by = |more: &str| {
        let found = outcome("island-shock-protection", &format!("{island}{more}")).unwrap();
        (found.get("protected").unwrap().json(), found.get("by").unwrap().json())
    };
    assert_eq!(by("; mcb_type=C; rated_a=16"), (false.into(), "nothing".into()));
    assert_eq!(by("; residual_a=0.03"), (true.into(), "the residual current device".into()));
    refused("island-shock-protection", &format!("{island}; disconnecting_a=30"));
    refused("island-shock-protection", &island.replace("yes", "no"));
    let pair = "main_type=C; main_a=63; branch_type=B; branch_a=16";
    near(number("breaker-discrimination", &format!("{pair}; prospective_a=300"), "limit_a"), 315.0);
    refused("breaker-discrimination", &format!("{pair}; prospective_a=6000"));
}

#[test]
fn arrays_by_hand() {
    let string = "modules=10; open_circuit_v=40";
    let cold = format!("{string}; by=coefficient; coefficient_pct=-0.3; lowest_degc=-10");
    near(number("array-voltage", &cold, "highest_v"), 442.0);
    near(number("array-voltage", &format!("{string}; by=table; lowest_degc=-10"), "highest_v"), 456.0);
    near(number("array-voltage", &format!("{string}; by=unknown"), "highest_v"), 480.0);
    refused("array-voltage", &format!("{string}; by=table"));
    let array = "strings=4; short_circuit_a=10; module_most_a=20; fed_from_behind=no";
    let found = outcome("array-overcurrent", array).unwrap();
    assert_eq!(found.get("holds").unwrap().json(), false);
    near(found.number("reverse_a").unwrap(), 30.0);
    // 2 strings of 10 A and 15 A fed back against 20 A
    let fed = "strings=2; short_circuit_a=10; module_most_a=20; fed_from_behind=yes; back_feed_a=15";
    near(number("array-overcurrent", fed, "reverse_a"), 25.0);
    let supply = "strings=3; short_circuit_a=10; module_most_a=20";
    near(number("solar-supply-overcurrent", supply, "reverse_a"), 25.0);
    near(number("unbalance-derating", "rated=10 kW; line=400 V, 392 V, 408 V", "power_w"), 9500.0);
    let kind = outcome("residual-current-type", "simple_separation=no; no_dc_declared=no").unwrap();
    assert_eq!(kind.get("type").unwrap().json(), "B");
}

/// A figure that does not rest on two sources says so in what is shown.
#[test]
fn unsure_figures_say_so() {
    let text = outcome("it-first-fault", "electrode_ohm=50; first_fault_a=0.5").unwrap().text();
    assert!(text.contains("confirm in the adopted code"), "{text}");
}

/// Table B.52.4, method C, copper and PVC, two loaded: 39 A are carried by 6 mm2 (41 A), 33 A by 4 mm2 (36 A); a miniature
/// circuit breaker for 33 A is one of 40 A and asks for 6 mm2.
#[test]
fn a_conductor_for_its_current_alone() {
    let choose = |of: &str| {
        outcome("conductor-choice", &format!("insulation=PVC; method=C; loaded=2; ambient_degc=30; {of}"))
    };
    let alone = choose("device=none; design_a=33").unwrap();
    assert_eq!((alone.number("section_mm2"), alone.number("rated_a")), (Some(4.0), None));
    assert_eq!(choose("device=none; design_a=39").unwrap().number("section_mm2"), Some(6.0));
    assert_eq!(choose("device=mcb; design_a=33").unwrap().number("section_mm2"), Some(6.0));
    let set = choose("device=breaker; design_a=33; setting_a=36").unwrap();
    assert_eq!((set.number("section_mm2"), set.number("rated_a")), (Some(4.0), Some(36.0)));
    assert!(choose("device=none; design_a=33; setting_a=36").is_err());
    assert!(choose("device=mcb; design_a=33; setting_a=36").is_err());
}
