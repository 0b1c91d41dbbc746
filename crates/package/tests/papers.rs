//! The papers of whole sites: what print, spreadsheet and JSON say is the same, and the same again.

#![allow(clippy::unwrap_used, clippy::panic)] // functions that tests call, too

mod support;

use std::collections::{BTreeMap, BTreeSet};

use calamine::{Data, Reader, Xlsx};
use package::Papers;
use serde_json::Value;
use support::{Made, made, made_of};

fn json(papers: &Papers) -> Value {
    serde_json::from_slice(&papers["design.json"]).unwrap()
}

/// Text of a PDF without its white space, since a line break may stand anywhere.
fn text(pdf: &[u8]) -> String {
    pdf_extract::extract_text_from_mem(pdf).unwrap().split_whitespace().collect()
}

fn bare(text: &str) -> String {
    text.replace('-', "−").split_whitespace().collect()
}

#[test]
fn print_spreadsheet_and_json_say_the_same() {
    let Made { papers, .. } = made("veterinary-practice");
    let design = json(&papers);
    let report = text(&papers["report.pdf"]).replace('-', "−");
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
    let mut book: Xlsx<_> = Xlsx::new(std::io::Cursor::new(papers["schedules.xlsx"].clone())).unwrap();
    let mut numbers = 0;
    for schedule in design["schedules"].as_array().unwrap() {
        let sheet = book.worksheet_range(schedule["title"].as_str().unwrap()).unwrap();
        let id = schedule["id"].as_str().unwrap();
        let mut lines = csv::Reader::from_reader(papers[&format!("schedules/{id}.csv")].as_slice());
        let lines: Vec<csv::StringRecord> = lines.records().map(Result::unwrap).collect();
        let rows = schedule["rows"].as_array().unwrap();
        assert_eq!(lines.len(), rows.len(), "{id}");
        for (r, row) in rows.iter().enumerate() {
            for (k, cell) in row.as_array().unwrap().iter().enumerate() {
                let there = sheet.get_value((r as u32 + 1, k as u32)).unwrap_or(&Data::Empty);
                let line = &lines[r][k];
                match cell {
                    Value::Number(n) => {
                        let n = n.as_f64().unwrap();
                        assert_eq!(there.as_f64(), Some(n), "{id} row {r}");
                        assert!(matches!(there, Data::Float(_) | Data::Int(_)), "{id} row {r}: {there:?}");
                        assert_eq!(line.parse::<f64>().unwrap().to_bits(), n.to_bits(), "{id} row {r}");
                        numbers += 1;
                    }
                    Value::String(s) => {
                        assert_eq!(there.to_string(), *s, "{id} row {r}");
                        assert_eq!(line.trim_start(), s, "{id} row {r}");
                    }
                    _ => assert!(line.is_empty() && matches!(there, Data::Empty)),
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

#[test]
fn fonts_are_embedded_and_parts_can_be_found() {
    let Made { papers, .. } = made("field-station");
    for name in ["report.pdf", "booklet.pdf"] {
        let pdf = pdf_extract::Document::load_mem(&papers[name]).unwrap();
        let mut descriptors = 0;
        for object in pdf.objects.values() {
            let Ok(dict) = object.as_dict() else { continue };
            if dict.has_type(b"FontDescriptor") {
                descriptors += 1;
                let file = dict.get(b"FontFile2").or_else(|_| dict.get(b"FontFile3"));
                assert!(file.is_ok(), "{name}: a font is not embedded");
            }
        }
        assert!(descriptors >= 2, "{name}: {descriptors} fonts");
        assert!(pdf.catalog().unwrap().has(b"Outlines"), "{name} has no bookmarks");
    }
    let report = text(&papers["report.pdf"]);
    let design = json(&papers);
    for caution in design["cautions"].as_array().unwrap() {
        assert!(report.contains(&bare(caution.as_str().unwrap()).replace('−', "-")), "{caution}");
    }
}

#[test]
fn every_reference_to_a_derivation_leads_somewhere() {
    let design = made("creamery").design;
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
    let file = support::site_text("veterinary-practice");
    let changed = file.replace("\"dryer\"", "\"large dryer\"");
    assert_ne!(file, changed, "the example has a dryer");
    let (before, after) = (made_of(&file).design, made_of(&changed).design);
    // the same numbers: every margin keeps its value, and the wires their sizes
    let values = |d: &Value| -> Vec<Value> {
        d["margins"].as_array().unwrap().iter().map(|m| m["value"]["value"].clone()).collect()
    };
    assert_eq!(values(&before), values(&after));
    assert_eq!(before["wires"], after["wires"]);
    assert_eq!(before["basis"], after["basis"]);
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
    let file = support::site_text("farmhouse");
    let failing = file.replacen("count = 2\nformation", "count = 1\nformation", 1);
    assert_ne!(file, failing, "the farmhouse fixes two units");
    let Made { papers, design } = made_of(&failing);
    assert_eq!(design["construction"]["permitted"], false);
    for name in ["report.pdf", "booklet.pdf"] {
        let pages = pdf_extract::extract_text_from_mem_by_pages(&papers[name]).unwrap();
        assert!(!pages.is_empty());
        for (k, page) in pages.iter().enumerate() {
            assert!(page.contains("NOT FOR CONSTRUCTION"), "{name}, page {}", k + 1);
        }
    }
}
