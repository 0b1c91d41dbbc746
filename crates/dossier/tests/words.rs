//! Papers in another language. The language of this test puts every sentence that translators are given between ‹ and ›;
//! what comes out without them could not be translated.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

use std::collections::{BTreeMap, BTreeSet};

use dossier::{Dossier, Papers, design_json};
use reading::SourceText;
use saying::Words;
use serde_json::Value;

struct NoFiles;

impl reading::Files for NoFiles {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("there is no {name}"))
    }
}

fn read(path: &str) -> String {
    std::fs::read_to_string(format!("{}/../../{path}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// Every sentence of the list in the language of the test.
fn marked() -> Words {
    let list: toml::Table = read("crates/package/words/sentences.toml").parse().unwrap();
    Words::of(list.keys().map(|template| (template.clone(), format!("‹{template}›")))).unwrap()
}

/// `design.json` of an example in a language.
fn papers(name: &str, words: &Words) -> Value {
    let source = SourceText::new("site.toml", &read(&format!("examples/{name}/site.toml")));
    let site = site::read(&source).0.expect("the example is sound");
    let catalog = catalog::demo().0.expect("the demo catalogue is sound");
    let assessment = demand::assess(&site, &NoFiles, None);
    let prepared = design::prepare(&site, &catalog, &assessment).expect("the example is not refused");
    let design = design::design(&prepared);
    let dossier = Dossier::new(&site, &assessment, Ok(&design));
    let packed = dossier::package(&design, &catalog);
    let papers = Papers {
        settings: packed.settings,
        checkout: packed.checkout,
        schedules: dossier::schedules(&dossier).into_iter().chain(packed.schedules).collect(),
        ..Papers::default()
    };
    design_json(&dossier, &papers, words)
}

/// Kinds of text in `design.json` that can be translated: a path, `*` for each of a list.
///
/// Not yet, beside names of parts, records and people: names and steps of states; what is decided and its outcome;
/// titles of clauses; what labels tell and where they go; cells of schedules; expected readings and values of settings
/// that are no template (names of systems and orders of parts); the cautions; derivations and assumptions, and with them
/// the reasons of decisions that are the source of a figure ([`SOURCES`]).
const SENTENCES: [&str; 16] = [
    "findings.*.message",
    "findings.*.fix.*",
    "margins.*.what",
    "decisions.*.reasons.*",
    "decisions.*.dropped.*.reason",
    "clauses.*.why.*",
    "settings.*.name",
    "settings.*.why",
    "settings.*.confirm",
    "checkout.*.action",
    "checkout.*.caution",
    "checkout.*.otherwise",
    "checkout.*.readings.*.what",
    "schedules.*.title",
    "schedules.*.columns.*.heading",
    "schedules.*.notes.*",
];

/// How the source of a figure begins, which some decisions give as their reason.
const SOURCES: [&str; 2] = ["assumed: ", "from "];

/// Every text at a path.
fn at<'v>(value: &'v Value, path: &str, found: &mut Vec<&'v str>) {
    let (key, rest) = path.split_once('.').unwrap_or((path, ""));
    match (key, value) {
        (_, Value::Null) => {}
        ("", Value::String(text)) => found.push(text),
        ("*", Value::Array(all)) => all.iter().for_each(|one| at(one, rest, found)),
        (key, Value::Object(map)) => at(map.get(key).expect(path), rest, found),
        (key, other) => panic!("{key}: {other}"),
    }
}

/// Words that stand outside of the marks; names of legs and designations are none.
fn outside(text: &str) -> Vec<String> {
    let mut depth = 0;
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '‹' => depth += 1,
            '›' => depth -= 1,
            c if depth == 0 => out.push(c),
            _ => {}
        }
    }
    let words = out.split(|c: char| !c.is_alphabetic());
    words.filter(|w| w.chars().filter(|c| c.is_lowercase()).count() > 2).map(str::to_owned).collect()
}

#[test]
fn every_sentence_of_the_examples_is_in_the_language() {
    let words = marked();
    let mut seen = BTreeSet::new();
    let mut left: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for name in ["veterinary-practice", "packing-shed"] {
        let papers = papers(name, &words);
        for path in SENTENCES {
            let mut found = Vec::new();
            at(&papers, path, &mut found);
            for text in found {
                seen.insert(path);
                let source = path.ends_with("reasons.*") && SOURCES.iter().any(|s| text.starts_with(s));
                if !source && !outside(text).is_empty() {
                    left.entry(path).or_default().insert(text.to_owned());
                }
            }
        }
    }
    assert_eq!(seen.len(), SENTENCES.len(), "only {seen:?} are there");
    assert!(left.is_empty(), "{left:#?}");
}
