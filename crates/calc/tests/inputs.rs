//! How inputs are read: forms that are taken, and what is said of those that are not.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;

use calc::{CalcError, InputError, Inputs, calculations, run};

fn pairs(id: &str, pairs: &[&str]) -> Result<calc::Outcome, CalcError> {
    run(id, &Inputs::from_pairs(pairs)?)
}

fn errors(id: &str, of: &[&str]) -> Vec<InputError> {
    match pairs(id, of) {
        Err(CalcError::Inputs(errors)) => errors,
        other => panic!("{other:?}"),
    }
}

#[test]
fn numbers_quantities_lists_and_json_say_the_same() {
    let forms = [
        pairs("relay-sharing", &["path_ohm=0.0021,0.0024,0.003", "total_a=150"]),
        pairs("relay-sharing", &["path=2.1 mohm, 2.4 mohm, 3 mohm", "total=0.15 kA"]),
        pairs("relay-sharing", &["path_ohm=[0.0021, \"2.4 mohm\", 3e-3]", "total_a=150 A"]),
        run(
            "relay-sharing",
            &Inputs::from_json(r#"{"path_ohm": [0.0021, 0.0024, 0.003], "total_a": 150}"#).unwrap(),
        ),
    ];
    assert!(
        matches!(&forms[2], Err(CalcError::Inputs(e)) if e.len() == 1),
        "a list of mixed units is refused"
    );
    let by_unit =
        pairs("split-transformer-halves", &["rating=10 kVA", "leg=50 A, 30 A", "leg_v=120"]).unwrap();
    assert_eq!(by_unit.number("worst_half_pct"), Some(120.0));
    for form in [&forms[0], &forms[1], &forms[3]] {
        assert_eq!(
            form.as_ref().unwrap().get("path_a").unwrap().json().to_string(),
            "[58.2524272,50.9708738,40.776699]"
        );
    }
}

#[test]
fn everything_wrong_is_named_at_once() {
    let found =
        errors("motor-start", &["source_v=120", "output_ohm=-1", "limt_a=60", "start=9000", "start_pf=NaN"]);
    let said: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "output_ohm is -1, it must be from 0 to 1000 ohm",
            "there is no input \"limt_a\"; did you mean \"limit_a\"?",
            "\"start\" says no unit: write start_va=9000, or start with a unit (start=5.4 kVA)",
            "start_pf: \"NaN\" is not a number; write a number, for example \"0.95\"",
            "\"limit_a\" is missing: current limit of all units on the leg together, RMS, in A",
        ]
    );
}

#[test]
fn no_number_comes_in_by_a_back_door() {
    for value in ["NaN", "inf", "-inf", "1e400", "", "5 V", "0x10", "--5"] {
        let pair = format!("relay_a={value}");
        assert!(pairs("relay-matched-limit", &[&pair, "paths=2", "spread=1.5"]).is_err(), "{value}");
    }
    for json in [
        "[1]",
        "{\"relay_a\": null}",
        "{\"relay_a\": 50, \"relay_a\": 60}",
        "{\"relay_a\": [[50]]}",
        "{} x",
        "",
    ] {
        assert!(Inputs::from_json(json).is_err(), "{json}");
    }
    assert!(matches!(
        errors("relay-matched-limit", &["relay_a=50", "relay=50 A", "paths=2", "spread=2"])[0],
        InputError::Twice { .. }
    ));
    assert!(
        matches!(pairs("relay-matched-limt", &[]), Err(CalcError::NoSuchCalculation { nearest: Some(n), .. }) if n == "relay-matched-limit")
    );
}

/// Every result is told by a graph whose names hold, and read again gives the same bytes.
#[test]
fn results_as_text_and_json() {
    let outcome = pairs("relay-matched-limit", &["relay=50 A", "paths=3", "spread=1.5"]).unwrap();
    let json = outcome.json();
    assert_eq!(json["schema"], "wattwright-calc/1");
    assert_eq!(json["inputs"]["relay_a"], "50 A");
    let name = json["outputs"]["limit_a"]["derivation"].as_str().unwrap();
    assert_eq!(json["derivations"][name]["with_numbers"], "50.0 A · (1 + (3 - 1) / 1.5)");
    let text = outcome.text();
    assert!(text.contains("limit_a           116.667 A"), "{text}");
    assert!(
        text.contains("I_max = I_r · (1 + (n - 1) / r) = 50.0 A · (1 + (3 - 1) / 1.5) = 117 A"),
        "{text}"
    );
    assert!(text.contains("[arguments:1:7]"), "{text}");
}

/// Keys end in their unit's suffix, nothing is declared twice, defaults can be read.
#[test]
fn declarations_are_sound() {
    let mut ids = BTreeSet::new();
    for calculation in calculations() {
        assert!(ids.insert(calculation.id), "{} twice", calculation.id);
        assert!(!calculation.purpose.is_empty() && !calculation.outputs.is_empty());
        let mut keys = BTreeSet::new();
        for input in &calculation.inputs {
            assert!(input.key.ends_with(input.measure.suffix), "{} {}", calculation.id, input.key);
            assert!(keys.insert((input.stem(), input.measure.unit)), "{} {}", calculation.id, input.key);
            assert!(!(input.default.is_some() && input.optional));
        }
        let mut keys = BTreeSet::new();
        for output in &calculation.outputs {
            assert!(output.key.ends_with(output.measure.suffix), "{} {}", calculation.id, output.key);
            assert!(keys.insert(output.key), "{} {}", calculation.id, output.key);
        }
        let none = run(calculation.id, &Inputs::default());
        let Err(CalcError::Inputs(missing)) = none else { panic!("{}: runs without inputs", calculation.id) };
        assert!(
            missing.iter().all(|e| matches!(e, InputError::Missing { .. })),
            "{}: {missing:?}",
            calculation.id
        );
    }
}

#[test]
fn a_start_that_collapses_gives_no_voltage() {
    let start = [
        "source_v=120",
        "output_ohm=0.05",
        "limit_a=60",
        "start_va=12000",
        "start_pf=0.3",
        "running_va=6000",
    ];
    let outcome = pairs("motor-start", &start).unwrap();
    assert_eq!(outcome.get("collapses").unwrap().json(), true);
    assert!(outcome.get("voltage_pct").is_none());
    assert!(outcome.number("least_current_a").unwrap() > 60.0);
}

#[test]
fn units_of_the_demo_catalogue_are_rated_in_their_room() {
    let wrong = pairs("unit-rating", &["unit=demo-splt", "room=30 degC", "altitude=5,100 ft"]);
    assert!(wrong.is_err_and(|e| e.to_string().contains("perhaps \"demo-")));
}

/// A comma means thousands in a single value, so a list must not take "1,200" for two loads of 1 and 200.
#[test]
fn a_comma_that_could_part_thousands_is_refused_in_a_list() {
    for refused in ["1,200", "4500,1,200", "12,000,000", "1,200.5", "100,200", "-1,200", "1,200 VA"] {
        let key = format!("nameplate_va={refused}");
        let all = errors("dryer-demand", &[&key]);
        assert!(all[0].to_string().contains("may part thousands"), "{refused}: {}", all[0]);
    }
    let said = errors("dryer-demand", &["nameplate_va=5,500"])[0].to_string();
    assert!(said.contains("(5500)") && said.contains("(5;500)"), "{said}");
    let sum =
        |text: &str| pairs("dryer-demand", &[&format!("nameplate_va={text}")]).unwrap().number("demand_va");
    // two dryers count in full
    assert_eq!(sum("5500;6500"), Some(12_000.0));
    assert_eq!(sum("5,500; 6,500"), Some(12_000.0));
    assert_eq!(sum("5500,6500"), Some(12_000.0));
    assert_eq!(sum("[5500, 6500]"), Some(12_000.0));
    assert_eq!(sum("5.5 kVA, 6.5 kVA"), Some(12_000.0));
    let spaced = pairs("relay-sharing", &["path_ohm=2, 100", "total_a=51"]).unwrap();
    assert_eq!(spaced.get("path_a").unwrap().json().to_string(), "[50,1]");
    let json = Inputs::from_json(r#"{"full_load_a": "1,200"}"#).unwrap();
    assert!(run("motor-feeder", &json).is_err());
}
