//! The papers of whole sites: what print, spreadsheet and JSON say is the same, and the same again; the schema.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};

use serde_json::{Value, json};

use crate::testing::{Made, gathered, gathered_of, made, made_of, site_text};
use crate::{Papers, pdf};

/// A cell of a sheet.
#[derive(Debug, PartialEq)]
enum Cell {
    Number(f64),
    Text(String),
}

/// A workbook, as far as it is needed: its sheets by name, cells by row (from 1) and column (from 0).
struct Book {
    zip: zip::ZipArchive<Cursor<Vec<u8>>>,
    words: Vec<String>,
    names: Vec<String>,
}

/// The pieces of a text between two marks.
fn between<'t>(text: &'t str, from: &'t str, to: &'t str) -> Vec<&'t str> {
    text.split(from).skip(1).filter_map(|piece| piece.split(to).next()).collect()
}

fn plain(xml: &str) -> String {
    let xml = xml.split_once('>').map_or(xml, |(_, text)| text);
    xml.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

impl Book {
    fn open(bytes: &[u8]) -> Self {
        let mut zip = zip::ZipArchive::new(Cursor::new(bytes.to_vec())).unwrap();
        let words = Self::read(&mut zip, "xl/sharedStrings.xml");
        let words = between(&words, "<si><t", "</t>").into_iter().map(plain).collect();
        let names = Self::read(&mut zip, "xl/workbook.xml");
        let names =
            between(&names, "<sheet name=\"", "\"").into_iter().map(|n| plain(&format!(">{n}"))).collect();
        Self { zip, words, names }
    }

    fn read(zip: &mut zip::ZipArchive<Cursor<Vec<u8>>>, name: &str) -> String {
        let mut text = String::new();
        zip.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    }

    fn sheet(&mut self, name: &str) -> BTreeMap<(usize, usize), Cell> {
        let number = self.names.iter().position(|n| n == name).unwrap() + 1;
        let xml = Self::read(&mut self.zip, &format!("xl/worksheets/sheet{number}.xml"));
        let mut cells = BTreeMap::new();
        for cell in between(&xml, "<c r=\"", "</c>") {
            let (at, rest) = cell.split_once('"').unwrap();
            let letters = at.bytes().take_while(u8::is_ascii_uppercase).count();
            let column = at.bytes().take(letters).fold(0, |c, b| 26 * c + usize::from(b - b'A') + 1) - 1;
            let row: usize = at[letters..].parse().unwrap();
            let Some(value) = between(rest, "<v>", "</v>").first().copied() else { continue };
            let cell = if rest.split('>').next().unwrap().contains("t=\"s\"") {
                Cell::Text(self.words[value.parse::<usize>().unwrap()].clone())
            } else {
                Cell::Number(value.parse().unwrap())
            };
            cells.insert((row, column), cell);
        }
        cells
    }
}

fn json(papers: &Papers) -> Value {
    serde_json::from_slice(&papers["design.json"]).unwrap()
}

/// Text of each page as it is set, without white space, since a line may break anywhere.
fn pages(made: &Made, name: &str) -> Vec<String> {
    let (files, main) = crate::document(&made.design, &made.pictures, name).unwrap();
    pdf::texts(files, &main).unwrap().iter().map(|page| bare(page)).collect()
}

fn bare(text: &str) -> String {
    text.replace('-', "−").split_whitespace().collect()
}

#[test]
fn print_spreadsheet_and_json_say_the_same() {
    let made = made("veterinary-practice");
    let papers = &made.papers;
    let design = json(papers);
    let report = pages(&made, "report").concat();
    // every value and limit of the ledger stands in the report as its derivation writes it
    let margins = design["margins"].as_array().unwrap();
    assert!(margins.len() > 200);
    for margin in margins {
        for side in ["value", "limit"] {
            let node = &design["derivations"][margin[side]["derivation"].as_str().unwrap()];
            let shown = bare(node["text"].as_str().unwrap());
            assert!(report.contains(&shown), "{shown} of {margin}");
            assert_eq!(node["value"], margin[side]["value"]);
        }
    }
    // every cell of every schedule stands in its sheet and in its CSV, numbers as numbers
    let mut book = Book::open(&papers["schedules.xlsx"]);
    let mut numbers = 0;
    for schedule in design["schedules"].as_array().unwrap() {
        let sheet = book.sheet(&crate::book::name(schedule["id"].as_str().unwrap()));
        let id = schedule["id"].as_str().unwrap();
        let mut lines = csv::Reader::from_reader(papers[&format!("schedules/{id}.csv")].as_slice());
        let lines: Vec<csv::StringRecord> = lines.records().map(Result::unwrap).collect();
        let rows = schedule["rows"].as_array().unwrap();
        assert_eq!(lines.len(), rows.len(), "{id}");
        for (r, row) in rows.iter().enumerate() {
            for (k, cell) in row.as_array().unwrap().iter().enumerate() {
                let there = sheet.get(&(r + 2, k));
                let line = &lines[r][k];
                match cell {
                    Value::Number(n) => {
                        let n = n.as_f64().unwrap();
                        assert_eq!(there, Some(&Cell::Number(n)), "{id} row {r}");
                        assert_eq!(line.parse::<f64>().unwrap().to_bits(), n.to_bits(), "{id} row {r}");
                        numbers += 1;
                    }
                    // an empty text is an empty cell
                    Value::String(s) if s.is_empty() => assert!(line.is_empty() && there.is_none()),
                    Value::String(s) => {
                        assert_eq!(there, Some(&Cell::Text(s.clone())), "{id} row {r}");
                        assert_eq!(line.trim_start(), s.trim_start(), "{id} row {r}");
                    }
                    _ => assert!(line.is_empty() && there.is_none()),
                }
            }
        }
    }
    assert!(numbers > 300, "only {numbers} numbers compared");
}

#[test]
fn the_same_site_gives_the_same_bytes_and_no_clock_is_in_them() {
    let (one, two) = (made("farmhouse"), made("farmhouse"));
    assert_eq!(one.papers.keys().collect::<Vec<_>>(), two.papers.keys().collect::<Vec<_>>());
    for (name, bytes) in &one.papers {
        assert!(*bytes == two.papers[name], "{name} differs");
    }
    for name in ["report.pdf", "booklet.pdf"] {
        let bytes = &one.papers[name];
        assert!(!bytes.windows(13).any(|w| w == b"/CreationDate"), "{name}");
    }
}

/// How often a PDF's plain objects say something.
fn times(pdf: &[u8], word: &[u8]) -> usize {
    pdf.windows(word.len()).filter(|w| *w == word).count()
}

#[test]
fn fonts_are_embedded_parts_can_be_found_and_cautions_are_on_every_page() {
    let made = made("field-station");
    for name in ["report", "booklet"] {
        let pdf = &made.papers[&format!("{name}.pdf")];
        let fonts = times(pdf, b"/Type /FontDescriptor") + times(pdf, b"/Type/FontDescriptor");
        assert!(fonts >= 2, "{name}: {fonts} fonts");
        assert_eq!(times(pdf, b"/FontFile"), fonts, "{name}: a font is not embedded");
        assert_eq!(times(pdf, b"/ToUnicode"), times(pdf, b"/Type0"), "{name}: text that cannot be selected");
        assert!(times(pdf, b"/Outlines") > 0, "{name} has no bookmarks");
        for (k, page) in pages(&made, name).iter().enumerate() {
            for caution in dossier::CAUTIONS {
                assert!(page.contains(&bare(caution)), "{name}, page {}: {caution}", k + 1);
            }
        }
    }
}

#[test]
fn every_reference_to_a_derivation_leads_somewhere() {
    let design = gathered("creamery");
    fn walk(value: &Value, named: &mut BTreeSet<String>) {
        match value {
            Value::Object(map) => {
                for (key, inner) in map {
                    match inner.as_str() {
                        Some(name) if key == "derivation" || key == "node" => {
                            named.insert(name.to_owned());
                        }
                        _ => walk(inner, named),
                    }
                }
            }
            Value::Array(all) => all.iter().for_each(|v| walk(v, named)),
            _ => {}
        }
    }
    let mut named = BTreeSet::new();
    walk(&design, &mut named);
    let known = design["derivations"].as_object().unwrap();
    assert!(named.len() > 500, "{}", named.len());
    for name in &named {
        assert!(known.contains_key(name), "{name}");
    }
    // and the appendix has each of them once
    let order: Vec<&str> =
        design["derivation_order"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert_eq!(order.len(), known.len());
    assert_eq!(order.into_iter().collect::<BTreeSet<_>>().len(), known.len());
}

#[test]
fn a_changed_load_changes_only_what_depends_on_it() {
    let file = site_text("veterinary-practice");
    let changed = file.replace("\"dryer\"", "\"large dryer\"");
    assert_ne!(file, changed, "the example has a dryer");
    let (before, after) = (gathered_of(&file).0, gathered_of(&changed).0);
    // the same numbers: every margin keeps its value, and the wires their sizes
    let values = |d: &Value| -> Vec<Value> {
        d["margins"].as_array().unwrap().iter().map(|m| m["value"]["value"].clone()).collect()
    };
    assert_eq!(values(&before), values(&after));
    let wires = |d: &Value| -> Vec<Value> {
        let all = d["wires"].as_array().unwrap().iter();
        all.map(|w| json!([w["part"], w["size"], w["sets"], w["ampacity"]["value"]])).collect()
    };
    assert_eq!(wires(&before), wires(&after));
    // but for what names the load itself, the site states the same
    let basis = |d: &Value| d["basis"].to_string().replace("large dryer", "dryer");
    assert_eq!(basis(&before), basis(&after));
    // derivations that name no dryer and rest on none keep their names
    let rests: BTreeMap<&str, bool> = {
        fn touched<'d>(all: &'d Value, name: &'d str, seen: &mut BTreeMap<&'d str, bool>) -> bool {
            if let Some(known) = seen.get(name) {
                return *known;
            }
            let node = &all[name];
            let own = node["what"].as_str().unwrap_or_default().contains("dryer")
                || node["source"].as_str().unwrap_or_default().contains("dryer");
            let parents = node["from"].as_array().into_iter().flatten();
            let mut any = own;
            for parent in parents {
                any |= touched(all, parent["node"].as_str().unwrap_or_default(), seen);
            }
            seen.insert(name, any);
            any
        }
        let mut seen = BTreeMap::new();
        for name in before["derivations"].as_object().unwrap().keys() {
            touched(&before["derivations"], name, &mut seen);
        }
        seen
    };
    let kept = after["derivations"].as_object().unwrap();
    let untouched: Vec<&&str> =
        rests.iter().filter(|(_, touched)| !**touched).map(|(name, _)| name).collect();
    assert!(untouched.len() > 100, "{}", untouched.len());
    for name in untouched {
        assert!(kept.contains_key(*name), "{name} was renamed");
    }
}

#[test]
fn a_design_that_fails_is_marked_on_every_page() {
    let file = site_text("farmhouse");
    let failing = file.replacen("count = 2\nformation", "count = 1\nformation", 1);
    assert_ne!(file, failing, "the farmhouse fixes two units");
    let made = made_of(&failing);
    assert_eq!(made.design["construction"]["permitted"], false);
    for name in ["report", "booklet"] {
        for (k, page) in pages(&made, name).iter().enumerate() {
            assert!(page.contains("NOTFORCONSTRUCTION:"), "{name}, page {}", k + 1);
        }
    }
}

/// The part of JSON Schema that the published one uses.
fn check(schema: &Value, value: &Value, root: &Value, at: &str, wrong: &mut Vec<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.strip_prefix("#/$defs/").unwrap();
        let def = &root["$defs"][name];
        assert!(!def.is_null(), "no definition {name}");
        return check(def, value, root, at, wrong);
    }
    if let Some(several) = schema["anyOf"].as_array() {
        let mut best: Option<Vec<String>> = None;
        for one in several {
            let mut found = Vec::new();
            check(one, value, root, at, &mut found);
            if best.as_ref().is_none_or(|b| found.len() < b.len()) {
                best = Some(found);
            }
        }
        wrong.extend(best.unwrap_or_default());
        return;
    }
    if let Some(only) = schema.get("const")
        && only != value
    {
        wrong.push(format!("{at}: {value} is not {only}"));
    }
    if let Some(allowed) = schema["enum"].as_array()
        && !allowed.contains(value)
    {
        wrong.push(format!("{at}: {value} is none of {allowed:?}"));
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one.as_str()],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    let is = |kind: &str| match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        other => panic!("type {other}"),
    };
    if !types.is_empty() && !types.iter().any(|kind| is(kind)) {
        wrong.push(format!("{at}: {value} is no {types:?}"));
        return;
    }
    if let Some(map) = value.as_object() {
        for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !map.contains_key(key) {
                wrong.push(format!("{at}: {key} is missing"));
            }
        }
        for (key, inner) in map {
            let at = format!("{at}.{key}");
            match schema["properties"].get(key) {
                Some(property) => check(property, inner, root, &at, wrong),
                None if schema["additionalProperties"].is_object() => {
                    check(&schema["additionalProperties"], inner, root, &at, wrong);
                }
                // an object that is only described
                None if schema["properties"].is_null() || schema["additionalProperties"] == true => {}
                // what is written is published, too
                None => wrong.push(format!("{at} is not in the schema")),
            }
        }
    }
    if let (Some(all), Some(items)) = (value.as_array(), schema.get("items")) {
        for (k, inner) in all.iter().enumerate() {
            check(items, inner, root, &format!("{at}[{k}]"), wrong);
        }
    }
}

fn mistakes(design: &Value) -> Vec<String> {
    let schema = dossier::design_schema();
    let mut wrong = Vec::new();
    check(&schema, design, &schema, "", &mut wrong);
    wrong
}

#[test]
fn print_speaks_to_people() {
    for example in ["field-station", "creamery"] {
        let made = made(example);
        let roles = made.design["parts"].as_object().unwrap();
        assert!(roles.len() > 8);
        for name in ["report", "booklet"] {
            for (k, page) in pages(&made, name).iter().enumerate() {
                // the appendix quotes files and records as they are
                if name == "report" && page.contains("Oneentryavalue") {
                    break;
                }
                for wrong in ["0mm2", "5mm2", "6mm2", "0cm2", "`", ".toml:", "0lines", "wall,wall"] {
                    assert!(!page.contains(wrong), "{example}, {name}, page {}: {wrong}", k + 1);
                }
                for role in roles.keys().filter(|role| role.contains('.')) {
                    assert!(!page.contains(&bare(role)), "{example}, {name}, page {}: {role}", k + 1);
                }
            }
        }
    }
}

#[test]
fn designs_of_all_kinds_are_as_the_schema_says() {
    assert_eq!(dossier::design_schema()["properties"]["schema"]["const"], "wattwright-design/1");
    for example in ["veterinary-practice", "field-station"] {
        let wrong = mistakes(&gathered(example));
        assert!(wrong.is_empty(), "{example}: {:#?}", &wrong[..wrong.len().min(12)]);
    }
}

#[test]
fn what_is_not_as_the_schema_says_is_found() {
    let fine = gathered("field-station");
    let spoilt = |with: &dyn Fn(&mut Value)| {
        let mut design = fine.clone();
        with(&mut design);
        mistakes(&design).len()
    };
    assert_eq!(spoilt(&|d| d["margins"][0]["value"]["unit"] = json!(3)), 1);
    assert_eq!(spoilt(&|d| d["margins"][0]["limit_is"] = json!("wall")), 1);
    assert_eq!(spoilt(&|d| drop(d.as_object_mut().unwrap().remove("cautions"))), 1);
    assert_eq!(spoilt(&|d| d["verdict"]["fails"] = Value::Null), 1);
}
