//! Laws of the readers that the fuzz targets look for without end, here with a fixed seed and a few hundred cases:
//! whatever the bytes are, nothing panics, there is a value or a word on why not, and nothing holds without a number.

#![allow(clippy::expect_used, clippy::panic)] // functions that tests call, too

use std::sync::LazyLock;

use catalog::Catalog;
use dossier::Dossier;
use finding::Severity;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{Config, RngSeed};
use quantity::{
    Apparent, Current, Duration, Energy, Frequency, Length, Percent, Power, Quantity, Resistance, ShaftPower,
    Temperature,
};
use reading::{Diagnostic, SourceText, decode, render};
use serde_json::Value;

const SITES: [&str; 5] = [
    include_str!("../../../examples/veterinary-practice/site.toml"),
    include_str!("../../../examples/creamery/site.toml"),
    include_str!("../../../examples/field-station/site.toml"),
    include_str!("../../../examples/packing-shed/site.toml"),
    include_str!("../../../examples/farmhouse/site.toml"),
];

static DEMO: LazyLock<Catalog> = LazyLock::new(|| {
    let (catalog, mistakes) = catalog::read(&catalog::demo_sources());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    catalog.expect("the demo catalogue is sound")
});

struct NoFiles;

impl reading::Files for NoFiles {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("{name}: not found"))
    }
}

/// The same cases in every run, so that a failure here is a failure everywhere.
fn cases(cases: u32) -> Config {
    Config { cases, rng_seed: RngSeed::Fixed(0x5eed), failure_persistence: None, ..Config::default() }
}

/// How far a text came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Came {
    Mistakes,
    Refused,
    Designed,
}

fn shown(mistakes: &[Diagnostic], source: &SourceText) {
    for mistake in mistakes {
        assert!(!mistake.message.is_empty());
        assert!(!render(mistake, std::slice::from_ref(source), false).is_empty());
    }
}

/// From bytes to a design, and what must be true on the way.
fn walk(bytes: &[u8]) -> Came {
    let source = match decode("site.toml", bytes) {
        Ok(source) => source,
        Err(refusal) => {
            assert!(!refusal.message.is_empty());
            return Came::Mistakes;
        }
    };
    let (site, mistakes) = site::read(&source);
    assert_eq!(site.is_none(), !mistakes.is_empty(), "a site or mistakes, never both or neither");
    shown(&mistakes, &source);
    let Some(site) = site else { return Came::Mistakes };
    let assessment = demand::assess(&site, &NoFiles, None);
    shown(&assessment.diagnostics, &source);
    match design::prepare(&site, &DEMO, &assessment) {
        Err(refused) => {
            assert!(!refused.is_empty(), "no design and no reason");
            assert!(
                Dossier::new(&site, &assessment, Err(refused)).fails(),
                "a site without a design is fine"
            );
            Came::Refused
        }
        Ok(prepared) => {
            let design = design::design(&prepared);
            let dossier = Dossier::new(&site, &assessment, Ok(&design));
            if !dossier.fails() {
                for margin in &design.assessed.ledger.margins {
                    let said = dossier
                        .findings
                        .iter()
                        .any(|f| f.part == margin.part && f.severity <= Severity::Warning);
                    let line = format!("{} {} {}", margin.part, margin.what, margin.state);
                    assert!(margin.share().is_some(), "fine, but no number: {line}");
                    assert!(margin.holds() || said, "fine, but neither held nor said: {line}");
                }
            }
            assert!(dossier::check_json(&dossier).is_object());
            Came::Designed
        }
    }
}

/// One change of a text.
#[derive(Debug, Clone)]
enum Change {
    Delete(Index),
    Double(Index),
    Swap(Index, Index),
    Number(Index, &'static str),
    Unit(Index, &'static str),
}

fn change() -> impl Strategy<Value = Change> {
    let number = prop::sample::select(vec![
        "0",
        "1",
        "-1",
        "2",
        "3",
        "0.001",
        "7.5",
        "80",
        "1e6",
        "1e-300",
        "1e308",
        "1e400",
        "1/2",
        "1,000",
        "0x10",
        "nan",
        "",
        "99999999999999999999",
    ]);
    let unit = prop::sample::select(vec![
        "A", "kA", "V", "W", "kW", "VA", "kVA", "hp", "s", "h", "min", "h/day", "%", "degC", "degF", "m",
        "ft", "Hz", "ohm", "kw", "Ah", "",
    ]);
    prop_oneof![
        2 => any::<Index>().prop_map(Change::Delete),
        1 => any::<Index>().prop_map(Change::Double),
        1 => (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Change::Swap(a, b)),
        5 => (any::<Index>(), number).prop_map(|(at, to)| Change::Number(at, to)),
        2 => (any::<Index>(), unit).prop_map(|(at, to)| Change::Unit(at, to)),
    ]
}

/// Lines that hold something: comments say nothing to a reader.
fn lines(text: &str) -> Vec<String> {
    text.lines()
        .filter(|l| !l.trim().is_empty() && !l.trim_start().starts_with('#'))
        .map(str::to_owned)
        .collect()
}

/// Byte ranges of the numbers of a line.
fn numbers(line: &str) -> Vec<(usize, usize)> {
    let from = line.find('=').map_or(0, |at| at + 1);
    let mut found = Vec::new();
    let mut start = None;
    for (at, c) in line.char_indices().filter(|(at, _)| *at >= from).chain([(line.len(), ' ')]) {
        let part = c.is_ascii_digit() || (start.is_some() && matches!(c, '.' | ','));
        match (part, start) {
            (true, None) => start = Some(at),
            (false, Some(s)) => {
                found.push((s, at));
                start = None;
            }
            _ => {}
        }
    }
    found
}

fn apply(lines: &mut Vec<String>, change: &Change) {
    if lines.is_empty() {
        return;
    }
    match change {
        Change::Delete(at) => {
            lines.remove(at.index(lines.len()));
        }
        Change::Double(at) => {
            let at = at.index(lines.len());
            lines.insert(at, lines[at].clone());
        }
        Change::Swap(a, b) => {
            let (a, b) = (a.index(lines.len()), b.index(lines.len()));
            lines.swap(a, b);
        }
        Change::Number(at, to) => {
            let all: Vec<(usize, (usize, usize))> = lines
                .iter()
                .enumerate()
                .flat_map(|(k, l)| numbers(l).into_iter().map(move |n| (k, n)))
                .collect();
            if !all.is_empty() {
                let (k, (start, end)) = all[at.index(all.len())];
                lines[k].replace_range(start..end, to);
            }
        }
        Change::Unit(at, to) => {
            let all: Vec<usize> = (0..lines.len())
                .filter(|k| numbers(&lines[*k]).len() == 1 && lines[*k].ends_with('"'))
                .collect();
            if !all.is_empty() {
                let line = &mut lines[all[at.index(all.len())]];
                let end = numbers(line)[0].1;
                line.replace_range(end.., &format!(" {to}\""));
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn any_bytes_are_refused_in_words(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        prop_assert_eq!(walk(&bytes), Came::Mistakes);
        if let Ok(source) = decode("catalog.toml", &bytes) {
            let (catalog, mistakes) = catalog::read(std::slice::from_ref(&source));
            prop_assert!(catalog.is_none() != mistakes.is_empty());
            shown(&mistakes, &source);
        }
    }

    #[test]
    fn a_changed_catalogue_is_one_or_is_refused_in_words(
        pick in any::<Index>(),
        changes in prop::collection::vec(change(), 1..4),
    ) {
        let mut sources = catalog::demo_sources();
        let k = pick.index(sources.len());
        let mut text = lines(sources[k].text());
        changes.iter().for_each(|c| apply(&mut text, c));
        sources[k] = SourceText::new(sources[k].name(), &text.join("\n"));
        let (catalog, mistakes) = catalog::read(&sources);
        prop_assert_eq!(catalog.is_none(), !mistakes.is_empty());
        mistakes.iter().for_each(|m| assert!(!render(m, &sources, false).is_empty()));
    }

    /// What reads is finite, and what is written of it reads again as the same to three digits.
    #[test]
    fn quantities_survive_writing(text in r"[-+]?[0-9]{1,6}(\.[0-9]{1,4})?(e[-+]?[0-9]{1,2})? ?(A|kA|mA|W|kW|MW|VA|kVA|Wh|kWh|hp|s|min|h|d|ms|m|ft|in|mm|degC|degF|K|Hz|ohm|mohm|%)") {
        again::<Apparent>(&text);
        again::<Current>(&text);
        again::<Duration>(&text);
        again::<Energy>(&text);
        again::<Frequency>(&text);
        again::<Length>(&text);
        again::<Power>(&text);
        again::<Resistance>(&text);
        again::<ShaftPower>(&text);
        again::<Temperature>(&text);
        if let Ok(percent) = text.parse::<Percent>() {
            prop_assert!(percent.share().si().is_finite());
        }
    }

    #[test]
    fn any_inputs_of_a_calculation_give_numbers_or_a_refusal(
        which in any::<Index>(),
        values in prop::collection::vec(prop_oneof![
            any::<f64>().prop_map(|v| v.to_string()),
            (0.0..1000.0).prop_map(|v: f64| v.to_string()),
            (1u32..9).prop_map(|v| v.to_string()),
            Just("120/240 V split-phase".to_owned()), Just("[60, 45]".to_owned()), Just("0".to_owned()),
        ], 12),
    ) {
        let list = calc::calculations();
        let calculation = &list[which.index(list.len())];
        let pairs: Vec<String> =
            calculation.inputs.iter().zip(values.iter().cycle()).map(|(i, v)| format!("{}={v}", i.key)).collect();
        match calc::Inputs::from_pairs(&pairs).and_then(|inputs| calc::run(calculation.id, &inputs)) {
            Ok(outcome) => {
                let none = |v: &Value| v.is_null() || v.as_array().is_some_and(|a| a.iter().any(Value::is_null));
                prop_assert!(outcome.outputs.iter().all(|o| !none(&o.value.json())), "{pairs:?}");
            }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

fn again<Q: Quantity + std::fmt::Display>(text: &str) {
    let Ok(value) = Q::read(text) else { return };
    assert!(value.si().is_finite(), "{text:?} reads as {}", value.si());
    let written = value.to_string();
    let read =
        Q::read(&written).unwrap_or_else(|e| panic!("{text:?} is written {written:?}, which reads as: {e}"));
    let slack = 0.0051 * value.si().abs() + 1e-9;
    assert!(
        (read.si() - value.si()).abs() <= slack,
        "{text:?} is written {written:?}, which is {}",
        read.si()
    );
}

/// A changed example is designed, refused, or full of mistakes; with these seeds all three come up.
#[test]
fn a_changed_site_is_designed_or_refused_in_words() {
    let mut came = Vec::new();
    let mut runner = proptest::test_runner::TestRunner::new(cases(400));
    let strategy = (any::<Index>(), prop::collection::vec(change(), 1..4));
    let seen = std::cell::RefCell::new(&mut came);
    let result = runner.run(&strategy, |(site, changes)| {
        let mut text = lines(SITES[site.index(SITES.len())]);
        changes.iter().for_each(|c| apply(&mut text, c));
        seen.borrow_mut().push(walk(text.join("\n").as_bytes()));
        Ok(())
    });
    assert!(result.is_ok(), "{}", result.err().map(|e| e.to_string()).unwrap_or_default());
    came.sort_unstable();
    came.dedup();
    assert_eq!(came, [Came::Mistakes, Came::Refused, Came::Designed]);
}
