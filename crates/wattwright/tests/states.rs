//! `states` as its users see it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use support::run;

#[test]
fn the_farmhouse_reads_as_it_should() {
    let ran = run(&["states", "examples/farmhouse"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("states-farmhouse", ran.out);
}

/// In every solved corner of every state of every example: the feeder carries what the panel asks for, the neutral of a
/// panel is no larger than its two largest legs together, and Kirchhoff's law is kept.
#[test]
fn every_state_of_the_examples_has_an_answer_that_keeps_the_laws() {
    for name in ["veterinary-practice", "creamery", "packing-shed", "farmhouse", "field-station"] {
        let states = run(&["states", &format!("examples/{name}"), "--json"]).json();
        let mut solved = 0;
        for state in states["states"].as_array().unwrap() {
            for corner in state["corners"].as_array().unwrap() {
                assert!(corner["problem"].is_null(), "{name}, {}: {}", state["name"], corner["problem"]);
                assert!(corner["mismatch"]["value"].as_f64().unwrap() <= 1e-8, "{name}");
                for part in corner["parts"].as_array().unwrap() {
                    let legs = part["current"].as_object().unwrap();
                    let legs: Vec<f64> = legs.values().map(|c| c["value"].as_f64().unwrap()).collect();
                    let neutral = part["neutral"]["value"].as_f64().unwrap();
                    assert!(legs.iter().chain([&neutral]).all(|a| a.is_finite() && *a >= 0.0), "{name}");
                    solved += 1;
                }
                let part =
                    |id: &str| corner["parts"].as_array().unwrap().iter().find(|p| p["part"] == id).cloned();
                if let (Some(feeder), Some(cable)) = (part("backup.feeder"), part("backup.conductor")) {
                    assert_eq!(feeder["current"], cable["current"], "{name}: a breaker and its conductor");
                }
            }
        }
        assert!(solved > 5, "{name}");
        let tightest = states["margins"].as_array().unwrap();
        assert!(!tightest.is_empty(), "{name}");
    }
}
