//! The margin ledger of the examples is complete: every rated part of the full plant has its lines.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use std::collections::BTreeSet;

use design::design;
use support::World;

/// A part's id without the number of its unit.
fn role(id: &str) -> String {
    id.split('.').filter(|piece| piece.parse::<u8>().is_err()).collect::<Vec<_>>().join(".")
}

/// What the ledger calls it: relays and service have their own names.
fn named(role: &str) -> &str {
    match role {
        "unit.second relay" => "unit.generator relay",
        "service.conductor" => "service",
        other => other,
    }
}

const ON_PANEL: &str = "[[array]]\nid = \"store roof\"\ncoupling = \"AC\"\nmodule = \"demo-module-450\"\nmodules = 26\ntilt = \"18 deg\"\nazimuth = \"190 deg\"\nmounting = \"roof\"\ninverter = \"demo-ai-6k-400\"\ninverters = 2\npanel = \"production\"\nrun = \"14 m\"\n\n";

#[test]
fn every_rated_part_of_the_plant_has_its_lines() {
    for name in ["veterinary-practice", "creamery", "packing-shed", "farmhouse", "field-station"] {
        let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        // one of them with an array on its panel as well
        let more = if name == "creamery" { ON_PANEL } else { "" };
        let world = World::read(&text.replacen("[battery]", &format!("{more}[battery]"), 1));
        let prepared = world.prepared();
        let design = design(&prepared);
        let held: BTreeSet<&str> = design.assessed.ledger.margins.iter().map(|m| m.part.as_str()).collect();
        let (plant, _) = assess::prove(&design.case, false).expect("a plant");
        let mut rated = 0;
        let of_array = |p: &plant::full::Part| p.id.starts_with("array ") && p.direct.is_some();
        for part in plant.parts.iter().filter(|p| p.rating.is_some() || of_array(p)) {
            let role = role(&part.id);
            // a bypass that is two breakers in the plant is one piece of gear to people
            assert!(held.contains(named(&role)), "{name}: {role} has no line");
            rated += 1;
        }
        assert!(rated >= 6, "{name}: only {rated} rated parts");
        let without = design.assessed.ledger.margins.iter().find(|m| m.share().is_none());
        assert!(without.is_none(), "{name}: {:?} has no number", without.map(|m| (&m.part, &m.what)));
    }
}
