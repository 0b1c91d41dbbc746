//! The commands as a user meets them: what they print, what they write, how they end.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use serde_json::Value;
use support::{EXAMPLES, Written, example, run, run_with};

fn decided(check: &Value, what: &str) -> String {
    let all = check["decisions"].as_array().unwrap();
    let one =
        all.iter().find(|d| d["what"] == what).unwrap_or_else(|| panic!("nothing decided about {what}"));
    one["value"].as_str().unwrap().to_owned()
}

#[test]
fn the_veterinary_practice_reads_as_it_should() {
    let ran = run(&["check", "examples/veterinary-practice", "--margins", "5"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("veterinary-practice", ran.out);
}

#[test]
fn the_field_station_reads_as_it_should() {
    let ran = run(&["check", "examples/field-station", "--margins", "3"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("field-station", ran.out);
}

#[test]
fn every_example_gets_the_group_that_its_story_tells() {
    for (name, formation, arrangement) in [
        ("veterinary-practice", "6", "outboard"),
        ("farmhouse", "2", "inline"),
        ("creamery", "2+2+2", "inline"),
        ("packing-shed", "3+3+3", "outboard"),
        ("field-station", "1", "islanded"),
    ] {
        let ran = run(&["check", &format!("examples/{name}"), "--json"]);
        assert_eq!(ran.status, 0, "{name}: {}", ran.err);
        let check = ran.json();
        assert_eq!(decided(&check, "formation"), formation, "{name}");
        assert_eq!(decided(&check, "arrangement"), arrangement, "{name}");
        assert_eq!(check["verdict"]["fails"], false, "{name}");
        // each decision of the main job says who decided and why
        for what in ["units", "formation", "arrangement", "bypass"] {
            let all = check["decisions"].as_array().unwrap();
            let one = all.iter().find(|d| d["what"] == what).unwrap_or_else(|| panic!("{name}: no {what}"));
            assert!(!one["reasons"].as_array().unwrap().is_empty(), "{name}: no reason for {what}");
        }
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for name in EXAMPLES {
        let folder = format!("examples/{name}");
        for args in [vec!["check", &folder, "--why"], vec!["check", &folder, "--json"]] {
            assert_eq!(run(&args).out, run(&args).out, "{args:?}");
        }
    }
    let grow = ["grow", "examples/farmhouse", "--json"];
    assert_eq!(run(&grow).out, run(&grow).out);
}

#[test]
fn the_exit_status_tells_fine_from_findings_from_bad_input() {
    assert_eq!(run(&["check", "examples/farmhouse"]).status, 0);
    // warnings and notes are allowed
    let warned = run(&["check", "examples/veterinary-practice", "--json"]);
    assert_eq!(warned.status, 0);
    assert!(warned.json()["verdict"]["warnings"].as_u64().unwrap() > 0);

    let small =
        Written::new(example("veterinary-practice").replace("\nrating = \"200 A\"", "\nrating = \"150 A\""));
    let ran = run(&["check", &small.path()]);
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert!(ran.out.contains("error[service-over-rating]"), "{}", ran.out);
    assert!(ran.out.contains("does not hold"), "{}", ran.out);

    for args in [
        vec!["check", "no/such/site"],
        vec!["check", "examples/farmhouse", "--stage", "never"],
        vec!["check", "examples/farmhouse", "--catalog", "no/such/folder"],
        vec!["check"],
        vec!["no-such-command"],
        vec!["check", "examples/farmhouse", "--no-such-flag"],
    ] {
        let ran = run(&args);
        assert_eq!(ran.status, 2, "{args:?}");
        assert!(!ran.err.is_empty(), "{args:?} says nothing");
        assert_eq!(ran.out, "", "{args:?}");
    }
    assert_eq!(run(&["--help"]).status, 0);
    assert_eq!(run(&["--version"]).status, 0);
}

#[test]
fn the_cautions_stand_in_every_help_and_every_result() {
    let caution = "Battery and service equipment can kill";
    for args in [
        vec!["--help"],
        vec!["check", "--help"],
        vec!["grow", "--help"],
        vec!["check", "examples/farmhouse"],
        vec!["check", "examples/farmhouse", "--json"],
        vec!["grow", "examples/farmhouse"],
        vec!["grow", "examples/farmhouse", "--json"],
    ] {
        let out = run(&args).out;
        let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(caution), "{args:?}:\n{out}");
    }
}

/// A picture in the documents is the sheet that is drawn now; it is written where the documents are.
fn picture_of_the_readme(sheet: &str, drawn: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join(format!("../../docs/drawings/veterinary-practice-{sheet}.svg"));
    if std::env::var_os("WATTWRIGHT_WRITE_DOCS").is_some() {
        std::fs::write(&path, drawn).unwrap();
    }
    let shown = std::fs::read_to_string(&path).unwrap();
    assert!(shown == drawn, "the picture is stale: run `cargo xtask readme`");
}

/// Words of a drawing as it was written.
fn words_of(svg: &str) -> Vec<String> {
    let texts = svg.split("<text").skip(1).filter_map(|t| t.split_once('>')?.1.split_once("</text>"));
    texts.map(|(words, _)| words.to_owned()).collect()
}

/// The packing shed with nine units, a generator, six controllers and four battery strings.
fn nine_units() -> String {
    let text = example("packing-shed");
    let array = |k: usize| {
        format!(
            "[[array]]\nid = \"roof {k}\"\ncoupling = \"DC\"\nmodule = \"demo-module-450\"\nmodules = 5\nstrings = 1\n\
             per_string = 5\ntilt = \"22 deg\"\nazimuth = \"180 deg\"\nmounting = \"roof\"\ncontroller = \"demo-mppt-100\"\n\n"
        )
    };
    let arrays: String = (1..=6).map(array).collect();
    let place = "latitude = \"40.1 deg\"\nlongitude = \"-83.2 deg\"\nutc_offset = \"-5 h\"";
    let mut text = text.replacen("altitude = \"280 ft\"", &format!("altitude = \"280 ft\"\n{place}"), 1);
    for (head, from, to) in [
        ("[group]", "count = \"choose\"", "count = 9"),
        ("[battery]", "count = \"choose\"", "model = \"demo-lfp-30k\"\ncount = 4"),
    ] {
        let (before, after) = text.split_once(head).expect("the example has it");
        assert!(after.contains(from), "{head}");
        text = format!("{before}{head}{}", after.replacen(from, to, 1));
    }
    let generator = "[generator]\nmodel = \"demo-gen-25k-208\"\ninlet = \"choose\"\nautomatic = true\n\n";
    text.replacen("[group]", &format!("{generator}{arrays}[group]"), 1)
}

/// The whole set of a large plant: every sheet there and numbered, each passes its audit (`draw` writes none that does
/// not), what is gathered is counted, and a sheet that leaves something to another one names it.
#[test]
fn a_plant_of_nine_units_with_everything_is_drawn_whole() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("site.toml"), nine_units()).unwrap();
    let out = folder.path().join("drawings");
    let site = folder.path().display().to_string();
    let ran = run(&["draw", &site, "-o", &out.display().to_string(), "--json"]);
    assert!(ran.status < 2 && ran.err.is_empty(), "{}{}", ran.out, ran.err);
    let files: Vec<String> = ran.json()["files"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|f| f.as_str().filter(|f| f.ends_with(".svg")).map(str::to_owned))
        .collect();
    let sheets: Vec<(String, Vec<String>)> =
        files.iter().map(|f| (f.clone(), words_of(&std::fs::read_to_string(out.join(f)).unwrap()))).collect();
    let sheet = |name: &str| -> &Vec<String> {
        &sheets.iter().find(|(f, _)| f.contains(name)).unwrap_or_else(|| panic!("no {name} in {files:?}")).1
    };
    for name in ["state-bypassed", "state-generator", "state-outage", "one-unit-out", "grounding"] {
        sheet(name);
    }
    for (k, (file, words)) in sheets.iter().enumerate() {
        assert!(file.starts_with(&format!("{:02}-", k + 1)), "{file}");
        let number = format!("{} of {}", k + 1, sheets.len());
        assert!(words.contains(&number), "{file}: no \"{number}\"");
    }
    let has = |name: &str, text: &str| sheet(name).iter().any(|w| w.contains(text));
    assert!(has("single-line", "9 x inverter-charger") && has("single-line", "DC side"));
    assert!(has("dc-side", "4 x battery string") && has("dc-side", "9 x "));
    for array in 1..=6 {
        assert!(has("dc-side", &format!("roof {array}")), "array {array} is on no sheet");
    }
    assert!(has("three-line-unit", "All 9 units are built alike") && has("three-line-unit", "sheet"));
    // every unit by itself where it hangs and where its cables end
    for unit in 1..=9 {
        let part = format!("unit {unit}");
        assert!(has("wall", &part) && has("links", &part), "{part}");
    }
    // designations are the same on every sheet that shows the part
    let designated = |name: &str, what: &str| {
        let found = sheet(name).iter().find(|w| w.contains(what));
        found.and_then(|w| w.split(' ').find(|w| w.starts_with('-'))).map(str::to_owned)
    };
    // devices of every array hang there, and what does not is named
    for array in 1..=6 {
        let own = |what: &str| has("wall", &format!("roof {array} {what} 1"));
        assert!(own("disconnect") && own("output device") && own("controller"), "array {array}");
        let disconnect = sheet("wall").iter().filter(|w| w.contains(&format!("roof {array} disconnect")));
        assert_eq!(disconnect.count(), 1, "array {array}");
    }
    assert!(has("wall", "Not placed: generator") && has("wall", "Not placed: battery"));
    let main = designated("single-line", "group breaker").unwrap_or_default();
    assert!(!main.is_empty() && has("wall", &format!("{main},")), "{main}");
    // every working space has its bracket
    assert!(!has("wall", "for want of room"));
    let fuse = designated("single-line", "unit DC");
    assert!(fuse.is_some());
    // its own sheet numbers the like ones
    let base = |name: Option<String>| name.map(|n| n.split('.').next().unwrap_or_default().to_owned());
    assert_eq!(base(designated("dc-side", "unit DC")), fuse);
    assert_eq!(designated("state-outage", "unit DC"), fuse);
    let input = designated("single-line", "unit input breaker").unwrap();
    assert!(input.starts_with("-Q") && has("three-line-unit", &input), "{input}");
}

#[test]
fn every_example_is_drawn_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    for name in EXAMPLES {
        let out = folder.path().join(name).display().to_string();
        let ran = run(&["draw", &format!("examples/{name}"), "-o", &out]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{name}");
        let mut files: Vec<String> = std::fs::read_dir(&out)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        files.sort();
        for sheet in ["single-line", "three-line-unit", "dc-side", "grounding", "state-outage", "wall"] {
            for ending in [".svg", ".dxf"] {
                assert!(
                    files.iter().any(|f| f.contains(sheet) && f.ends_with(ending)),
                    "{name}: {sheet}{ending}"
                );
            }
        }
        let svg = std::fs::read_to_string(folder.path().join(name).join("01-single-line.svg")).unwrap();
        // one unit alone has no links
        let alone = svg.contains(">inverter-charger<");
        assert_eq!(files.iter().any(|f| f.ends_with("links.svg")), !alone, "{name}");
        assert!(svg.contains("Not for construction until checked"));
        // units are written as print has them
        for file in files.iter().filter(|f| f.ends_with(".svg")) {
            let drawn = std::fs::read_to_string(folder.path().join(name).join(file)).unwrap();
            for words in words_of(&drawn) {
                let plain = ["mm2", "cm2", " ohm", "degC"].iter().find(|unit| words.contains(**unit));
                assert_eq!(plain, None, "{name}, {file}: {words}");
            }
            // nor is a cell of the wall's list cut for want of room
            assert!(!file.ends_with("-wall.svg") || !drawn.contains("..."), "{name}: {file}");
            // the breakers of the units are in their housing
            assert!(!file.ends_with("-wall.svg") || drawn.contains(">In group output bus -A"), "{name}");
            let iec = name == "field-station" && file.contains("single-line");
            assert!(!iec || drawn.contains("mm²"), "{file}");
        }
        if name == "veterinary-practice" {
            for (sheet, end) in [
                ("single-line", "-single-line.svg"),
                ("outage", "-state-outage-group-carries-the-panel.svg"),
                ("wall", "-wall.svg"),
            ] {
                let file = files.iter().find(|f| f.ends_with(end)).unwrap();
                let drawn = std::fs::read_to_string(folder.path().join(name).join(file)).unwrap();
                picture_of_the_readme(sheet, &drawn);
            }
        }
        // a folder with something in it stays as it is
        let again = run(&["draw", &format!("examples/{name}"), "-o", &out, "--format", "svg"]);
        assert_eq!(again.status, 2);
        assert!(again.err.contains("nothing was written"), "{}", again.err);
    }
    let all: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(all.len(), EXAMPLES.len(), "nothing half-done is left");
}

#[test]
fn a_stage_is_today_and_what_is_added_by_then() {
    let today = run(&["check", "examples/veterinary-practice", "--json"]).json();
    let later = run(&["check", "examples/veterinary-practice", "--stage", "second surgery", "--json"]).json();
    let power = |check: &Value| check["panels"]["backup"]["connected"]["value"].as_f64().unwrap();
    // the surgery light and warming table: 900 W
    assert!((power(&later) - power(&today) - 900.0).abs() < 1e-6);
}

#[test]
fn a_new_site_file_is_a_usable_one_and_overwrites_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.toml");
    let file = path.display().to_string();
    let ran = run(&["new", &file]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.lines().filter(|l| l.contains('#')).count() > 20, "the starter is commented");

    let check = run(&["check", &file, "--json"]);
    assert_ne!(check.status, 2, "{}", check.out);
    assert_eq!(check.json()["schema"], "wattwright-check/1");

    std::fs::write(&path, "mine\n").unwrap();
    let again = run(&["new", &file]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("exists already"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine\n");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "no half-written file is left behind");

    let nowhere = folder.path().join("not there").join("site.toml").display().to_string();
    assert_eq!(run(&["new", &nowhere]).status, 2);
}

#[test]
fn every_kind_of_finding_is_explained() {
    let all = run(&["explain", "--json"]).json();
    let all = all["findings"].as_array().unwrap();
    assert!(all.len() > 30);
    for kind in all {
        let id = kind["id"].as_str().unwrap();
        let ran = run(&["explain", id]);
        assert_eq!(ran.status, 0, "{id}");
        for key in ["id", "title", "why", "remedies"] {
            let words = kind[key].as_str().unwrap();
            // the text is wrapped
            let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.len() > 3 && flat(&ran.out).contains(&flat(words)), "{id}: {key}");
        }
    }
    let unknown = run(&["explain", "no-such-finding"]);
    assert_eq!((unknown.status, unknown.out.as_str()), (2, ""));
    assert!(unknown.err.contains("no-such-finding"), "{}", unknown.err);
}

/// Ids are unique over findings and rules, and every rule says its book and edition.
#[test]
fn every_rule_of_all_books_is_explained() {
    let all = run(&["explain", "--json"]).json();
    let findings: Vec<&str> =
        all["findings"].as_array().unwrap().iter().map(|k| k["id"].as_str().unwrap()).collect();
    let mut books = std::collections::BTreeSet::new();
    for rule in all["rules"].as_array().unwrap() {
        let id = rule["id"].as_str().unwrap();
        assert!(!findings.contains(&id), "{id} is a finding and a rule");
        books.insert(rule["book"].as_str().unwrap());
        let ran = run(&["explain", id]);
        assert_eq!(ran.status, 0, "{id}");
        let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        let book = format!("Book {}, {}", rule["book"].as_str().unwrap(), rule["edition"].as_str().unwrap());
        for words in [book.as_str(), rule["title"].as_str().unwrap(), rule["formula"].as_str().unwrap()] {
            assert!(words.len() > 8 && flat.contains(words), "{id}: {words}");
        }
    }
    assert_eq!(books.into_iter().collect::<Vec<_>>(), ["fire", "iec", "us"]);
}

#[test]
fn what_the_examples_find_can_be_explained() {
    let known = run(&["explain", "--json"]).json();
    let known: Vec<&str> =
        known["findings"].as_array().unwrap().iter().map(|k| k["id"].as_str().unwrap()).collect();
    for name in EXAMPLES {
        let check = run(&["check", &format!("examples/{name}"), "--json"]).json();
        for finding in check["findings"].as_array().unwrap() {
            let id = finding["id"].as_str().unwrap();
            assert!(known.contains(&id), "{name}: {id}");
        }
    }
}

#[test]
fn completions_name_the_commands() {
    for shell in ["bash", "zsh", "fish"] {
        let ran = run(&["completions", shell]);
        assert_eq!(ran.status, 0, "{shell}");
        for command in ["check", "grow", "calc", "explain", "schema"] {
            assert!(ran.out.contains(command), "{shell} does not complete {command}");
        }
    }
    assert_eq!(run(&["completions", "no-such-shell"]).status, 2);
}

#[test]
fn man_pages_are_written_once() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().display().to_string();
    assert_eq!(run(&["man", &place]).status, 0);
    for page in ["wattwright", "wattwright-check", "wattwright-grow", "wattwright-calc", "wattwright-new"] {
        let text = std::fs::read_to_string(folder.path().join(format!("{page}.1"))).unwrap();
        assert!(text.contains(".SH"), "{page} is no man page");
    }
    assert_eq!(run(&["man", &place]).status, 2, "what exists is not overwritten");
}

#[test]
fn a_calculation_runs_from_pairs_and_from_standard_input() {
    let list = run(&["calc", "--list", "--json"]).json();
    let list = list["calculations"].as_array().unwrap();
    assert!(list.len() >= 6);
    for calculation in list {
        let outputs = calculation["outputs"].as_array().unwrap();
        assert!(!outputs.is_empty(), "{} gives nothing", calculation["id"]);
        assert!(run(&["calc", "--list"]).out.contains(calculation["id"].as_str().unwrap()));
    }
    // 60 A on each leg of split-phase: nothing in the neutral, but all of one leg when the other is off
    let pairs = run(&["calc", "neutral-current", "system=120/240 V split-phase", "leg_a=60,60", "--json"]);
    let given = r#"{ "system": "120/240 V split-phase", "leg_a": [60, 60] }"#;
    let piped = run_with(&["calc", "neutral-current", "-", "--json"], given);
    assert_eq!((pairs.status, piped.status), (0, 0), "{}{}", pairs.out, piped.out);
    for outcome in [pairs.json(), piped.json()] {
        assert_eq!(outcome["outputs"]["neutral_a"]["value"], 0);
        assert_eq!(outcome["outputs"]["largest_neutral_a"]["value"], 60);
        assert_eq!(outcome["outputs"]["largest_neutral_a"]["unit"], "A");
    }
    let text = run(&["calc", "neutral-current", "system=120/240 V split-phase", "leg_a=60,60"]);
    assert!(text.out.contains("largest_neutral_a  60 A"), "{}", text.out);

    for args in [
        vec!["calc", "no-such-calculation"],
        vec!["calc", "neutral-current"],
        vec!["calc", "neutral-current", "system=120/240 V split-phase", "leg_a=60 kW,60"],
        vec!["calc", "neutral-current", "system=120/240 V split-phase", "leg_a=nan,60"],
        vec!["calc", "neutral-current", "system=120/240 V split-phase", "leg_a=60,60", "no_such_key=1"],
    ] {
        let ran = run(&args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(!ran.err.is_empty(), "{args:?} says nothing");
    }
    for text in ["", "{", "[1]", "{\"system\": 1e999}", "\u{0}"] {
        assert_eq!(run_with(&["calc", "neutral-current", "-"], text).status, 2, "{text:?}");
    }
}

#[test]
fn a_load_that_the_law_asks_for_gets_no_design() {
    let text = example("farmhouse")
        .replace("name = \"chick brooder\"", "name = \"chick brooder\"\nclass = \"legally required\"");
    let file = Written::new(text);
    for command in ["check", "grow"] {
        let ran = run(&[command, &file.path(), "--json"]);
        assert_eq!(ran.status, 1, "{}", ran.out);
        let json = ran.json();
        assert_eq!(json["verdict"]["designed"], false);
        assert!(
            json["decisions"].as_array().unwrap().is_empty()
                && json["margins"].as_array().unwrap().is_empty()
        );
        let findings = json["findings"].as_array().unwrap();
        let refusal = findings.iter().find(|f| f["id"] == "lifeline-load").expect("a refusal");
        assert_eq!(refusal["severity"], "not covered");
        let ran = run(&[command, &file.path()]);
        assert_eq!(ran.status, 1);
        assert!(ran.out.contains("not covered[lifeline-load]"), "{}", ran.out);
    }
    assert!(run(&["check", &file.path()]).out.contains("no design was made"));
}
