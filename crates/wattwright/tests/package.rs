//! Packages of whole sites as files: what drawings, lists and JSON say is the same, and a changed load changes only what
//! depends on it.
#![cfg(feature = "pdf")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

#[path = "support/pdf.rs"]
mod pdf;
mod support;

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use support::{example, run};

/// Files of a package by their path inside its folder.
type Files = BTreeMap<String, Vec<u8>>;

fn packed(site: &str) -> Files {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("site.toml"), site).unwrap();
    let out = folder.path().join("out");
    let ran = run(&["package", &folder.path().display().to_string(), "-o", &out.display().to_string()]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    let mut files = Files::new();
    let mut next = vec![out.clone()];
    while let Some(folder) = next.pop() {
        for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
            if entry.path().is_dir() {
                next.push(entry.path());
            } else {
                let name = entry.path().strip_prefix(&out).unwrap().display().to_string();
                files.insert(name, std::fs::read(entry.path()).unwrap());
            }
        }
    }
    files
}

fn design(files: &Files) -> Value {
    serde_json::from_slice(&files["design.json"]).unwrap()
}

/// All words of the drawing whose name ends so, in one line.
fn drawn(files: &Files, name: &str) -> String {
    let (_, svg) = files.iter().find(|(f, _)| f.ends_with(&format!("{name}.svg"))).expect(name);
    let svg = std::str::from_utf8(svg).unwrap();
    let texts = svg.split("<text").skip(1).filter_map(|t| t.split_once('>')?.1.split_once("</text>"));
    texts.map(|(words, _)| words).collect::<Vec<_>>().join(" ")
}

fn rows<'d>(design: &'d Value, id: &str) -> Vec<&'d Vec<Value>> {
    let all = design["schedules"].as_array().unwrap();
    let found = all.iter().find(|s| s["id"] == id).unwrap_or_else(|| panic!("no schedule {id}"));
    found["rows"].as_array().unwrap().iter().map(|r| r.as_array().unwrap()).collect()
}

/// White space differs from reader to reader, and a minus from a dash.
fn bare(text: &str) -> String {
    text.replace('-', "−").split_whitespace().collect()
}

/// Report and booklet, read back from their bytes, and the JSON.
fn print_says_the_same(files: &Files, design: &Value) {
    let [report, booklet] = ["report.pdf", "booklet.pdf"].map(|name| {
        let pages = pdf::Pdf::new(&files[name]).pages();
        assert!(pages.len() > 8, "{name}");
        for (k, page) in pages.iter().enumerate() {
            let page = bare(page);
            let lost = page.split('\u{fffd}').next().filter(|before| before.len() < page.len());
            let before: Option<String> = lost.map(|b| b.chars().rev().take(40).collect());
            assert_eq!(
                before,
                None,
                "{name}, page {}: after this, backwards, a letter cannot be copied",
                k + 1
            );
            for caution in design["cautions"].as_array().unwrap() {
                assert!(page.contains(&bare(caution.as_str().unwrap())), "{name}, page {}: {caution}", k + 1);
            }
        }
        bare(&pages.concat())
    });
    let margins = design["margins"].as_array().unwrap();
    assert!(margins.len() > 100);
    for margin in margins {
        for side in ["value", "limit"] {
            let node = &design["derivations"][margin[side]["derivation"].as_str().unwrap()];
            let shown = bare(node["text"].as_str().unwrap());
            assert!(report.contains(&shown), "{shown} of {margin}");
        }
    }
    let settings = design["settings"].as_array().unwrap().iter().map(|s| &s["value"]);
    let readings =
        design["checkout"].as_array().unwrap().iter().flat_map(|s| s["readings"].as_array().unwrap());
    let expected: Vec<&Value> = settings.chain(readings.map(|r| &r["expected"])).collect();
    assert!(expected.len() > 50, "{}", expected.len());
    for text in expected {
        let shown = bare(text.as_str().unwrap());
        assert!(booklet.contains(&shown), "the booklet has no {shown}");
    }
    for schedule in design["schedules"].as_array().unwrap() {
        let id = schedule["id"].as_str().unwrap();
        // those have a table of their own, or are in the spreadsheet only
        if ["margins", "demand", "settings"].contains(&id) {
            continue;
        }
        let columns = schedule["columns"].as_array().unwrap();
        for (k, cell) in schedule["rows"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|row| row.as_array().unwrap().iter().enumerate())
        {
            let Value::String(text) = cell else { continue };
            // for programs; print has the designation
            if columns[k]["heading"] == "role path" {
                continue;
            }
            assert!(report.contains(&bare(text)), "the report has no {text} of {id}");
        }
    }
    // every drawing is in the report whole: its title block with the number of its sheet
    let drawings = design["drawings"].as_array().unwrap();
    for k in 1..=drawings.len() {
        assert!(report.contains(&bare(&format!("{k} of {}", drawings.len()))), "sheet {k}");
    }
    assert!(design["plots"].as_array().unwrap().len() == 2 && report.contains(&bare("Energy of each month")));
}

/// Sizes and lengths of the runs, places on the wall, cables, and what flows in a state: drawings, print and JSON agree.
#[test]
fn drawings_print_and_json_say_the_same() {
    let files = packed(&example("farmhouse"));
    let design = design(&files);
    print_says_the_same(&files, &design);
    let plan = drawn(&files, "single-line") + &drawn(&files, "dc-side");
    let mut runs = 0;
    for run in rows(&design, "conductors") {
        let cell = |k: usize| run[k].as_str().unwrap_or_default();
        // as the drawings write it: to a hundredth of a foot, no zeros behind
        let length = format!("{} ft", run[8].as_f64().unwrap());
        for words in [cell(4), &length] {
            assert!(plan.contains(words), "{} of {}", words, cell(0));
        }
        for earth in [cell(5), cell(6)].into_iter().filter(|size| !size.is_empty()) {
            assert!(plan.contains(earth), "{} of {}", earth, cell(0));
        }
        runs += 1;
    }
    assert!(runs >= 5, "{runs}");
    let earths = drawn(&files, "grounding");
    let conductors = design["code_work"]["conductors"].as_array().unwrap();
    assert!(conductors.iter().any(|c| c["part"] == "service.electrode.conductor"));
    for conductor in conductors {
        let size = conductor["size"].as_str().unwrap();
        assert!(earths.contains(&format!("{size} copper")), "{conductor}");
    }
    // each row of these lists is found on a sheet by its designation
    let sheets = plan.clone() + &drawn(&files, "three-line-unit");
    let letters: BTreeSet<&str> = sheets.split(' ').collect();
    let lists = rows(&design, "conductors").into_iter().chain(rows(&design, "breakers"));
    for row in lists {
        let name = row[0].as_str().expect("every part has a designation");
        // like parts are gathered there: "-Q8.1 to .6"
        let gathered = name.split_once('.').is_some_and(|(base, number)| {
            let from = format!("{base}.1");
            let number: u32 = number.parse().unwrap();
            let to = plan
                .split(from.as_str())
                .skip(1)
                .filter_map(|after| after.split_once('.')?.1.split(' ').next());
            to.filter_map(|to| to.parse::<u32>().ok()).any(|to| number <= to)
        });
        assert!(letters.contains(name) || gathered, "{name} of {} is on no sheet", row[1]);
    }
    let links = drawn(&files, "links");
    for cable in rows(&design, "cables") {
        let words = [0, 3, 4, 5].map(|k| cable[k].as_str().unwrap()).join(" ");
        assert!(links.contains(&words), "{words}");
    }
    let wall = drawn(&files, "wall");
    for item in rows(&design, "wall") {
        let inches = |k: usize| format!("{:.1}", item[k].as_f64().unwrap());
        let words = format!("{} {}", inches(2), inches(3));
        assert!(wall.contains(&words), "{words} of {}", item[0]);
    }
    // largest currents of each state, to a tenth of an ampere
    let mut currents = 0;
    let mut seen = BTreeSet::new();
    for state in design["state_details"].as_array().unwrap() {
        let name = state["name"].as_str().unwrap();
        let Some(corner) = state["corners"].as_array().unwrap().iter().find(|c| c["while"] == "load") else {
            continue;
        };
        let file = name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect::<String>();
        let file = format!("state-{}", file.replace("--", "-"));
        if !seen.insert(name) || !files.keys().any(|f| f.ends_with(&format!("{file}.svg"))) {
            continue;
        }
        let words = drawn(&files, &file);
        for part in corner["parts"].as_array().unwrap().iter().filter(|p| p["part"] == "backup.feeder") {
            for (leg, amount) in part["current"].as_object().unwrap() {
                let amperes = amount["value"].as_f64().unwrap();
                let text = format!("{leg} {amperes:.1}");
                assert!(words.contains(&text), "{name}: {text}");
                currents += 1;
            }
        }
    }
    assert!(currents >= 4, "{currents}");
}

/// A load that takes a little more: the papers that rest on no load stay as they are, byte for byte; those that do, do not.
#[test]
fn a_changed_load_changes_only_the_papers_that_depend_on_it() {
    let site = example("farmhouse");
    let (before, after) = ("power = \"1.8 kW\"", "power = \"1.81 kW\"");
    assert!(site.contains(before), "the farmhouse has such a load");
    let (one, two) = (packed(&site), packed(&site.replacen(before, after, 1)));
    assert_eq!(one.keys().collect::<Vec<_>>(), two.keys().collect::<Vec<_>>());
    let same: BTreeSet<&str> = one.iter().filter(|(f, b)| two[*f] == **b).map(|(f, _)| f.as_str()).collect();
    for name in [
        "schedules/addresses.csv",
        "schedules/breakers.csv",
        "schedules/cables.csv",
        "schedules/labels.csv",
        "schedules/panel.csv",
        "schedules/parts.csv",
        "schedules/wall.csv",
    ] {
        assert!(same.contains(name), "{name} differs");
    }
    // of the conductors only the drop follows the load
    let conductors = |files: &Files| {
        let design = design(files);
        let lists = design["schedules"].as_array().unwrap();
        let list = lists.iter().find(|s| s["id"] == "conductors").unwrap();
        let mut columns = list["columns"].as_array().unwrap().iter();
        let drop = columns.position(|c| c["heading"].as_str().unwrap().starts_with("drop")).unwrap();
        let mut all: Vec<Vec<Value>> = rows(&design, "conductors").into_iter().cloned().collect();
        all.iter_mut().for_each(|row| row[drop] = Value::Null);
        all
    };
    assert_eq!(conductors(&one), conductors(&two));
    for sheet in ["single-line", "three-line-unit", "dc-side", "grounding", "wall", "links"] {
        for ending in ["svg", "dxf"] {
            let name = format!("{sheet}.{ending}");
            assert!(same.iter().any(|f| f.ends_with(&name)), "{name} differs");
        }
    }
    for name in ["schedules/loads.csv", "schedules/demand.csv", "design.json", "report.pdf"] {
        assert!(!same.contains(name), "{name} does not show the load");
    }
}

/// Two folders, one of them given from elsewhere: not a byte differs, and no paper tells where they stand.
#[test]
fn where_the_site_stands_is_in_no_paper() {
    let site = example("farmhouse");
    let (one, other) = (packed(&site), packed(&site));
    assert!(one.keys().eq(other.keys()));
    for (name, bytes) in &one {
        assert!(other[name] == *bytes, "{name} differs");
    }
    let temporary = std::env::temp_dir().display().to_string();
    assert!(!String::from_utf8_lossy(&one["design.json"]).contains(&temporary));
    let design = design(&one);
    assert!(design["project"]["made_from"].as_array().unwrap().iter().any(|f| f["file"] == "site.toml"));
}
