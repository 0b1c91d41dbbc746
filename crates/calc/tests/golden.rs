//! Outside check values: every case under `tests/golden` is run through its calculation as `mapping.toml` says,
//! or named there with the reason why not. A case that is neither fails.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

mod mapping;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use mapping::{Case, Mapping, Run};
use toml::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/golden")
}

fn read(path: &Path) -> toml::Table {
    let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.parse().unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// All cases of the folder, by id.
fn cases() -> BTreeMap<String, Case> {
    let mut out = BTreeMap::new();
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder()).unwrap().map(|f| f.unwrap().path()).collect();
    files.sort();
    for file in files {
        if file.extension().is_none_or(|e| e != "toml") || file.ends_with("mapping.toml") {
            continue;
        }
        for case in read(&file).get("case").and_then(Value::as_array).into_iter().flatten() {
            let case = Case::read(case);
            let id = case.id.clone();
            assert!(out.insert(id.clone(), case).is_none(), "{id} stands twice");
        }
    }
    out
}

fn mapping() -> Mapping {
    Mapping::read(&read(&folder().join("mapping.toml")))
}

#[test]
fn every_case_is_run_or_named() {
    let (cases, mapping) = (cases(), mapping());
    let run: BTreeSet<&String> = mapping.runs.iter().map(|r| &r.case).collect();
    let named: BTreeSet<&String> = mapping.unmapped.keys().collect();
    assert!(cases.len() >= 14, "the folder of cases is not there");
    for id in cases.keys() {
        assert!(
            run.contains(id) != named.contains(id),
            "{id} must be run or named under [unmapped], one of them"
        );
    }
    for id in run.union(&named) {
        assert!(cases.contains_key(*id), "mapping.toml names {id}, which no file holds");
    }
}

/// The table goes past what the harness holds back, so that a run without failures shows it as well.
#[test]
fn cases_agree() {
    let (cases, mapping) = (cases(), mapping());
    let mut failures = Vec::new();
    let mut table = format!("\n{:8} {:28} numbers  largest deviation\n", "case", "calculation");
    let (mut runs_done, mut numbers, mut worst) = (0, 0, (0.0, String::new()));
    for (id, case) in &cases {
        let runs: Vec<&Run> = mapping.runs.iter().filter(|r| r.case == *id).collect();
        if runs.is_empty() {
            let left = &mapping.unmapped[id];
            writeln!(table, "{id:8} not run: {} ({})", left.reason, left.test).unwrap();
            continue;
        }
        let mut covered = BTreeSet::new();
        for run in runs {
            let report = run.compare(case, &mut covered);
            writeln!(table, "{id:8} {:28} {:>7}  {:.1e}", run.calculation, report.compared, report.worst)
                .unwrap();
            runs_done += 1;
            numbers += report.compared;
            if report.worst > worst.0 {
                worst = (report.worst, id.clone());
            }
            assert!(report.compared > 0 || !report.failures.is_empty(), "{id}: a run compares nothing");
            failures.extend(report.failures);
        }
        for key in case.expected.keys().filter(|key| !covered.contains(*key)) {
            failures.push(format!("{id}: nothing compares {key}"));
        }
    }
    writeln!(
        table,
        "{} cases, {runs_done} runs, {numbers} numbers, {} outside their tolerance; largest deviation {:.1e} ({})",
        cases.len(),
        failures.len(),
        worst.0,
        worst.1
    )
    .unwrap();
    std::io::stdout().lock().write_all(table.as_bytes()).unwrap();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
