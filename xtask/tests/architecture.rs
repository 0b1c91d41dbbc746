//! ARCHITECTURE.md and the manifests say the same, and only the edge touches the world.

#![allow(clippy::expect_used, clippy::panic)] // functions that tests call, too

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn read(path: &str) -> String {
    fs::read_to_string(top().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Every crate of the workspace with the crates of the workspace that it depends on, not counting tests.
fn manifests() -> BTreeMap<String, BTreeSet<String>> {
    let folders =
        fs::read_dir(top().join("crates")).expect("there are crates").map(|e| e.expect("an entry").path());
    let parsed: Vec<toml::Table> = folders
        .chain([top().join("xtask")])
        .map(|folder| {
            fs::read_to_string(folder.join("Cargo.toml")).expect("a manifest").parse().expect("TOML")
        })
        .collect();
    let name = |t: &toml::Table| t["package"]["name"].as_str().expect("a name").to_owned();
    let all: BTreeSet<String> = parsed.iter().map(name).collect();
    parsed
        .iter()
        .map(|t| {
            let named = t.get("dependencies").and_then(toml::Value::as_table);
            let inner =
                named.into_iter().flat_map(|d| d.keys().cloned()).filter(|d| all.contains(d)).collect();
            (name(t), inner)
        })
        .collect()
}

/// Crates in the order of the drawing: from left to right, from top to bottom.
fn drawn(architecture: &str, crates: &BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let (_, drawing) = architecture.split_once("<!-- crates -->").expect("a drawing of the crates");
    let drawing = drawing.split("```").nth(1).expect("in a block");
    let mut order = Vec::new();
    for row in drawing.lines().skip(1).filter(|r| !r.is_empty()) {
        let row = row.get(11..).expect("a heading of eleven columns");
        // names of crates stand before the first wide gap; words about them after it
        let names = row.trim_end().split("   ").next().unwrap_or_default();
        for word in names.split([' ', '→', '·']).filter(|w| !w.is_empty()) {
            assert!(crates.contains_key(word), "no crate is called {word}");
            order.push(word.to_owned());
        }
    }
    order
}

#[test]
fn crates_depend_only_on_what_stands_before_them() {
    let crates = manifests();
    let order = drawn(&read("ARCHITECTURE.md"), &crates);
    let position = |name: &str| order.iter().position(|o| o == name);
    assert_eq!(
        order.iter().collect::<BTreeSet<_>>(),
        crates.keys().collect(),
        "drawn and built are not the same"
    );
    assert_eq!(order.len(), crates.len(), "a crate is drawn twice: {order:?}");
    let mut edges = 0;
    for (name, inner) in &crates {
        for other in inner {
            edges += 1;
            assert!(position(other) < position(name), "{name} depends on {other}, which is drawn after it");
        }
    }
    assert!(edges > crates.len(), "only {edges} dependencies found");
}

#[test]
fn every_crate_has_one_line_that_says_what_is_at_home_there() {
    let architecture = read("ARCHITECTURE.md");
    let (_, table) = architecture.split_once("\n## Crates\n").expect("a table of the crates");
    let table = table.split("\n## ").next().unwrap_or_default();
    let named: Vec<&str> = table
        .lines()
        .filter_map(|l| l.strip_prefix("| `").and_then(|l| l.split_once("` | ")).map(|(name, _)| name))
        .collect();
    assert_eq!(
        named,
        drawn(&architecture, &manifests()),
        "the table has the crates in the order of the drawing"
    );
}

/// Source files of a folder.
fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|x| x == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn only_the_edge_touches_the_world() {
    const WORLD: [&str; 9] = [
        "std::fs",
        "std::env",
        "std::process",
        "std::net",
        "std::thread",
        "SystemTime",
        "Instant::now",
        "stdin(",
        "stdout(",
    ];
    let mut seen = 0;
    for name in manifests().keys().filter(|n| !["wattwright", "xtask"].contains(&n.as_str())) {
        let mut files = Vec::new();
        sources(&top().join("crates").join(name).join("src"), &mut files);
        for path in files.iter().filter(|p| !p.ends_with("tests.rs") && !p.ends_with("testing.rs")) {
            let text = fs::read_to_string(path).expect("text");
            // modules of tests stand at the end
            let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
            seen += 1;
            for word in WORLD {
                assert!(!code.contains(word), "{} touches {word}", path.display());
            }
        }
    }
    assert!(seen > 100, "only {seen} files were looked at");
}

/// Papers write what the engine found: no crate that shows something to people has a formula of its own.
#[test]
fn papers_compute_nothing() {
    let mut seen = 0;
    for name in ["chart", "dossier", "drawing", "package"] {
        let mut files = Vec::new();
        sources(&top().join("crates").join(name).join("src"), &mut files);
        for path in files.iter().filter(|p| !p.ends_with("tests.rs") && !p.ends_with("testing.rs")) {
            let text = fs::read_to_string(path).expect("text");
            let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
            seen += 1;
            for word in ["formula!", "Known::chosen", "Known::catalog", "Known::assumed", "Known::smallest"] {
                assert!(!code.contains(word), "{} computes: {word}", path.display());
            }
        }
    }
    assert!(seen > 40, "only {seen} files were looked at");
}

#[test]
fn two_commands_are_enough_and_the_gate_runs_the_second() {
    let readme = read("README.md");
    let (_, block) = readme.split_once("<!-- commands -->\n```sh\n").expect("the commands");
    let commands: Vec<&str> = block.split("```").next().unwrap_or_default().lines().collect();
    let [first, second] = commands.as_slice() else { panic!("not two commands: {commands:?}") };
    assert!(readme.contains(&format!("\n$ {first}\n")), "the output of the first one is not shown");
    let gate = read(".ci/run");
    assert!(gate.lines().any(|l| l == format!("step {second}")), ".ci/run does not run `{second}`");
    assert!(gate.contains("set -euo pipefail"));
}
