//! `prove` as a user meets it.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use support::{EXAMPLES, Written, example, run};

#[test]
fn the_examples_hold() {
    for name in EXAMPLES {
        let ran = run(&["prove", &format!("examples/{name}"), "--json"]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{name}");
        let proof = ran.json();
        assert_eq!(proof["holds"], true, "{name}");
        let properties = proof["properties"].as_array().unwrap();
        let ids: Vec<&str> = properties.iter().map(|p| p["id"].as_str().unwrap()).collect();
        assert_eq!(ids, ["P1", "P2", "P3", "P4", "P5", "P6", "P7"], "{name}");
        assert!(properties.iter().all(|p| p["verdict"] == "holds"), "{name}");
    }
}

#[test]
fn the_farmhouse_reads_as_it_should() {
    let ran = run(&["prove", "examples/farmhouse"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("prove-farmhouse", ran.out);
}

/// Positions may all be safe while the design fails elsewhere: that is said, and the exit status is not 0.
#[test]
fn a_proof_does_not_hide_a_design_that_fails() {
    let site = "examples/creamery/site-measured.toml";
    let ran = run(&["prove", site]);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(
        ran.out.contains("the design does not hold: 4 findings fail, see `wattwright check`"),
        "{}",
        ran.out
    );
    let proof = run(&["prove", site, "--json"]).json();
    assert_eq!((&proof["holds"], &proof["check_fails"]), (&true.into(), &4.into()));
}

/// The same creamery on a TT supply: its island would stay on the supplier's earth.
#[test]
fn a_broken_property_comes_with_its_moves() {
    let site = example("creamery").replace("earthing = \"TN-C-S\"", "earthing = \"TT\"");
    let written = Written::new(site);
    let ran = run(&["prove", &written.path()]);
    assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
    let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "P5 neutral bonded as the earthing asks BROKEN, 1 move 1. normal operation: utility live, \
         generator at rest, battery holds 2. the generator starts",
        "is fed by the generator and its neutral is joined to earth in the wrong place",
        "fix: the bond at the group's distribution or in the generator",
    ] {
        assert!(flat.contains(words), "{words}\n{}", ran.out);
    }
    assert_eq!(ran.out.matches("BROKEN").count(), 1);
    assert!(ran.out.lines().all(|l| l.chars().count() <= 100), "{}", ran.out);
}

/// A family of which nobody says what it does with the neutral.
#[test]
fn what_the_catalogue_does_not_state_fails_as_not_covered() {
    let units = std::fs::read_to_string(support::top().join("catalog/units.toml")).unwrap();
    let record = units.split("[[unit]]").find(|r| r.contains("id = \"demo-split-5k4\"")).unwrap();
    let record = record.split("\n# ").next().unwrap();
    let own = record
        .replace("demo-split-5k4", "unsaid-split")
        .replace("neutral = \"solid\"\n", "")
        .replace("decides_together = true\n", "");
    let folder = tempfile::tempdir().unwrap();
    let text = format!("format = 1\ncurrency = \"USD\"\n\n[[unit]]{own}");
    std::fs::write(folder.path().join("own.toml"), text).unwrap();
    let written = Written::new(example("farmhouse").replace("demo-split-5k4", "unsaid-split"));
    let ran = run(&["prove", &written.path(), "--catalog", &folder.path().display().to_string()]);
    assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
    assert_eq!(ran.out.matches("NOT COVERED").count(), 5, "{}", ran.out);
    assert!(ran.out.contains("`neutral` of unit \"unsaid-split\""), "{}", ran.out);
}

#[test]
fn the_same_site_gives_the_same_bytes() {
    for args in [vec!["prove", "examples/veterinary-practice"], vec!["prove", "examples/creamery", "--json"]]
    {
        assert_eq!(run(&args).out, run(&args).out);
    }
}
