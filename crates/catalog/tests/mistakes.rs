//! Planted mistakes: each is one diagnostic, with its id, at the text that a person would change.

use catalog::{demo_sources, read};
use reading::{Diagnostic, SourceText};

/// One mistake: in which record, what is replaced by what, and the id and the text of the one diagnostic.
struct Planted {
    record: &'static str,
    replace: &'static str,
    with: &'static str,
    id: &'static str,
    at: &'static str,
}

const fn planted(
    record: &'static str,
    replace: &'static str,
    with: &'static str,
    id: &'static str,
    at: &'static str,
) -> Planted {
    Planted { record, replace, with, id, at }
}

const SPLIT: &str = "demo-split-5k4";
const MATCHED: &str = "demo-split-10k";
const LEG: &str = "demo-leg-3k6";

#[rustfmt::skip]
const PLANTED: &[Planted] = &[
    // words, flags, keys
    planted(SPLIT, "id = \"demo-split-5k4\"", "id = \"Demo Split\"", "bad-id", "\"Demo Split\""),
    planted(SPLIT, "id = \"demo-split-5k4\"", "id = \"demo--split\"", "bad-id", "\"demo--split\""),
    planted(SPLIT, "id = \"demo-split-5k4\"", "id = \"demo-split-10k\"", "duplicate-id", "[[unit]]"),
    planted(SPLIT, "contributes = true\n", "", "missing-key", "[[unit]]"),
    planted(SPLIT, "overload = [", "overlaod = []\noverload = [", "unknown-key", "overlaod"),
    planted(SPLIT, "\"50 A\"\nmake", "50\nmake", "wrong-value", "50"),
    planted(SPLIT, "mass = \"49 kg\"", "mass = \"49 t\"", "out-of-range", "\"49 t\""),
    planted(SPLIT, "sharing_tolerance = \"5 %\"", "sharing_tolerance = \"-5 %\"", "out-of-range", "\"-5 %\""),
    planted(SPLIT, "frequencies = [\"60 Hz\"]", "frequencies = [\"16.7 Hz\"]", "out-of-range", "\"16.7 Hz\""),
    planted(SPLIT, "frequencies = [\"60 Hz\"]", "frequencies = []", "empty-list", "[]"),
    // what it can form
    planted(SPLIT, "[\"120/240 V split-phase\"]", "[\"120/240 V split-phase\", \"120/208 V two legs\"]",
        "cannot-form", "\"120/208 V two legs\""),
    planted(SPLIT, "[\"120/240 V split-phase\"]", "[\"120/208 V wye\", \"120/240 V split-phase\"]",
        "cannot-form", "\"120/208 V wye\""),
    planted("demo-line-6k", "[\"120/240 V split-phase\"]", "[\"120/240 V split-phase\", \"120/208 V wye\"]",
        "cannot-form", "\"120/208 V wye\""),
    planted(LEG, "\"120/208 V two legs\"]", "\"230 V single-phase\"]", "cannot-form", "\"230 V single-phase\""),
    planted(LEG, "\"120/208 V two legs\"]", "\"120/208 V delta\"]", "wrong-value", "\"120/208 V delta\""),
    // ratings
    planted(SPLIT, "leg = { power = \"2.7 kW\", apparent = \"2.7 kVA\" }",
        "leg = { power = \"2.6 kW\", apparent = \"2.7 kVA\" }", "leg-rating", "{ power = \"2.6 kW\""),
    planted(SPLIT, "leg = { power = \"2.7 kW\", apparent = \"2.7 kVA\" }",
        "leg = { power = \"2.7 kW\", apparent = \"5.5 kVA\" }", "leg-rating", "{ power = \"2.7 kW\""),
    planted(LEG, "leg = { power = \"3.6 kW\"", "leg = { power = \"3.4 kW\"", "leg-rating", "{ power = \"3.4 kW\""),
    planted("demo-230-5k", "rating = { power = \"4.5 kW\", apparent = \"5 kVA\" }\nleg = { power = \"4.5 kW\", apparent = \"5 kVA\" }",
        "rating = { power = \"4.5 kW\", apparent = \"5 kVA\" }\nleg = { power = \"4.5 kW\", apparent = \"4.4 kVA\" }",
        "power-over-apparent", "\"4.5 kW\""),
    // curves
    planted(SPLIT, "{ at = \"50 degC\", factor = 0.75 }", "{ at = \"40 degC\", factor = 0.75 }",
        "temperature-curve", "{ at = \"40 degC\", factor = 0.75 }"),
    planted(SPLIT, "factor = 0.75", "factor = 0.94", "temperature-curve", "{ at = \"50 degC\", factor = 0.94 }"),
    planted(SPLIT, "factor = 0.75", "factor = 1.2", "out-of-range", "1.2"),
    planted("demo-230-3k", "{ at = \"25 degC\", factor = 1.0 },\n  { at = \"40 degC\", factor = 0.90 },\n", "",
        "temperature-curve", "[\n    { at = \"50 degC\", factor = 0.70 }"),
    planted(SPLIT, "load = 0.10", "load = 0.05", "efficiency-curve", "{ load = 0.05, efficiency = 0.90 }"),
    planted(SPLIT, "load = 1.0, efficiency = 0.90", "load = 0.9, efficiency = 0.90", "efficiency-curve",
        "{ load = 0.9, efficiency = 0.90 }"),
    planted(SPLIT, "efficiency = 0.935", "efficiency = 1.01", "out-of-range", "1.01"),
    planted(SPLIT, "highest = \"4000 m\"", "highest = \"1500 m\"", "wrong-order", "\"1500 m\""),
    planted(SPLIT, "loss_per_100_m = \"1 %\"", "loss_per_100_m = \"6 %\"", "altitude-rating", "\"6 %\""),
    // overload and surge
    planted(SPLIT, "power = \"6.75 kW\"", "power = \"5.4 kW\"", "overload-order", "{ power = \"5.4 kW\""),
    planted(SPLIT, "lasts = \"60 s\"", "lasts = \"40 min\"", "overload-order", "{ power = \"8.1 kW\""),
    planted(SPLIT, "power = \"9.72 kW\"", "power = \"14.6 kW\"", "overload-over-surge", "{ power = \"14.6 kW\""),
    planted(SPLIT, "peak = \"110 A\"", "peak = \"80 A\"", "surge-peak", "\"80 A\""),
    planted(SPLIT, "overload = [\n  { power = \"6.75 kW\", lasts = \"30 min\" },\n  { power = \"8.1 kW\", lasts = \"60 s\" },\n  { power = \"9.72 kW\", lasts = \"5 s\" },\n]\noverload_recovery = \"20 min\"\nsurge = { current = \"60 A\"",
        "overload = []\nsurge = { current = \"20 A\"", "surge-current", "\"20 A\""),
    // relay and pass-through
    planted(SPLIT, "make = \"120 A\"", "make = \"12 A\"", "relay-current", "\"12 A\""),
    planted(SPLIT, "breaking = \"500 A\"", "breaking = \"5 A\"", "relay-current", "\"5 A\""),
    planted(SPLIT, "lasts = \"60 s\" }, { current = \"150 A\"", "lasts = \"60 s\" }, { current = \"70 A\"",
        "short-time-order", "{ current = \"70 A\""),
    planted(SPLIT, "fault = { current = \"10 kA\"", "fault = { current = \"10 A\"", "wrong-order", "\"10 A\""),
    planted(SPLIT, "lowest = \"5 A\", highest = \"50 A\"", "lowest = \"5 A\", highest = \"63 A\"",
        "limit-over-relay", "{ scope = \"group\""),
    planted(MATCHED, "new = { lowest = \"1.2 mohm\"", "new = { lowest = \"2.2 mohm\"", "wrong-order", "\"2.0 mohm\""),
    planted(MATCHED, "highest = \"2.6 mohm\"", "highest = \"1.9 mohm\"", "path-resistance", "{ lowest = \"1.4 mohm\""),
    planted(MATCHED, "counts = \"matched paths\"\nnew = { lowest = \"1.2 mohm\", highest = \"2.0 mohm\" }",
        "counts = \"matched paths\"", "missing-key", "[unit.pass_through]"),
    planted(SPLIT, "{ counts = \"one relay\" }", "{ counts = \"one relay\", wiring = \"any\" }", "pass-through", "\"any\""),
    planted(SPLIT, "earliest = \"60 s\", latest = \"300 s\"", "earliest = \"60 s\", latest = \"30 s\"",
        "wrong-order", "\"30 s\""),
    // group and DC
    planted(SPLIT, "total = 12, equal", "total = 6, equal", "formation-total", "12"),
    planted(LEG, "total = 12", "total = 13", "formation-total", "13"),
    planted(SPLIT, "total = 12, equal", "total = 13, equal", "formation-total", "13"),
    planted("demo-230-3k", "\"230 V single-phase\", \"230/400 V wye\"", "\"230 V single-phase\"", "formation-total", "6"),
    planted(SPLIT, "lowest = \"42 V\"", "lowest = \"52 V\"", "wrong-order", "\"51.2 V\""),
    // other kinds
    planted("demo-module-450", "short_circuit = \"13.9 A\"", "short_circuit = \"12.9 A\"", "module-power", "\"450 W\""),
    planted("demo-module-450", "-0.0026", "0.0026", "out-of-range", "0.0026"),
    planted("demo-lfp-5k", "highest = \"57.6 V\"", "highest = \"53.0 V\"", "wrong-order", "\"53.0 V\""),
    planted("demo-fla-2v-1000", "highest = \"2.45 V\"", "highest = \"2.1 V\"", "wrong-order", "\"2.1 V\""),
    planted("demo-module-450", "open_circuit = \"41.0 V\"", "open_circuit = \"31.0 V\"", "wrong-order", "\"31.0 V\""),
    planted("demo-mppt-100", "array_lowest = \"65 V\"", "array_lowest = \"265 V\"", "wrong-order", "\"250 V\""),
    planted("demo-ai-6k-split", "current = \"25 A\"", "current = \"15 A\"", "line-current", "\"15 A\""),
    planted("demo-ai-6k-split", "systems = [\"120/240 V split-phase\"]", "systems = [\"120/240 V\"]", "wrong-value", "\"120/240 V\""),
    planted("demo-ai-6k-split", "start = \"60.5 Hz\", stop = \"62 Hz\"", "start = \"62 Hz\", stop = \"60.5 Hz\"", "wrong-order", "\"60.5 Hz\""),
    planted("demo-ai-6k-split", "power = \"6 kW\"", "power = \"7 kW\"", "power-over-apparent", "\"7 kW\""),
    planted("demo-ai-6k-split", "array_highest = \"600 V\"", "array_highest = \"400 V\"", "wrong-order", "\"400 V\""),
    planted("demo-ai-6k-split", "breaker = \"40 A\"", "breaker = \"20 A\"", "wrong-order", "\"20 A\""),
    planted("demo-lfp-5k", "usable = 0.90", "usable = 90", "out-of-range", "90"),
    planted("demo-lfp-5k", "chemistry = \"LFP\"", "chemistry = \"LFPO\"", "wrong-value", "\"LFPO\""),
    planted("demo-ats-240-125-solid", "to_first = { earliest = \"20 s\", latest = \"40 s\" }",
        "to_first = { earliest = \"20 s\", latest = \"4 s\" }", "wrong-order", "\"4 s\""),
    planted("demo-ats-240-125-solid", "short_circuit = \"10 kA\"", "short_circuit = \"100 A\"", "wrong-order", "\"100 A\""),
    planted("demo-bypass-240-125-manual", "kind = \"manual switch\"", "kind = \"manual\"", "wrong-value", "\"manual\""),
    planted("demo-cb-20-1p", "poles = 1", "poles = 5", "out-of-range", "5"),
    planted("demo-distribution-63-4", "withstand = \"25 kA\"", "withstand = \"25 A\"", "wrong-order", "\"25 A\""),
    planted("demo-distribution-63-4", "ways = 4", "ways = 0", "out-of-range", "0"),
    planted("demo-gen-12k", "power = \"12 kW\"", "power = \"14 kW\"", "power-over-apparent", "\"14 kW\""),
    planted("demo-gen-25k-208", "\"69.4 A\"", "\"40 A\"", "generator-current", "\"40 A\""),
    planted("demo-former-30", "trips_lines = true\n", "", "missing-key", "[[neutral_former]]"),
    planted("demo-cu-awg-4", "size = \"4 AWG\"", "size = \"4 mm\"", "wrong-value", "\"4 mm\""),
];

/// The demo sources with one replacement inside one record.
fn with(planted: &Planted) -> Vec<SourceText> {
    let line = format!("id = \"{}\"\n", planted.record);
    let mut done = 0;
    let sources = demo_sources()
        .iter()
        .map(|source| {
            let Some(start) = source.text().find(&line) else { return source.clone() };
            let (before, after) = source.text().split_at(start);
            assert!(after.contains(planted.replace), "{}: no {}", planted.record, planted.replace);
            done += 1;
            SourceText::new(
                source.name(),
                &(before.to_owned() + &after.replacen(planted.replace, planted.with, 1)),
            )
        })
        .collect();
    assert_eq!(done, 1, "no record {}", planted.record);
    sources
}

fn shown(mistakes: &[Diagnostic], sources: &[SourceText]) -> String {
    mistakes.iter().map(|m| reading::render(m, sources, false)).collect::<Vec<_>>().join("\n\n")
}

#[test]
fn each_planted_mistake_is_one_diagnostic_at_its_place() {
    let mut wrong = Vec::new();
    for planted in PLANTED {
        let sources = with(planted);
        let (catalog, mistakes) = read(&sources);
        let what = format!("{}: {}\n{}", planted.record, planted.with, shown(&mistakes, &sources));
        let [mistake] = mistakes.as_slice() else {
            wrong.push(format!("{} diagnostics for {what}", mistakes.len()));
            continue;
        };
        let text = mistake.place.as_ref().and_then(|place| {
            let source = sources.iter().find(|s| s.name() == &*place.file)?;
            source.text().get(place.start..place.end)
        });
        if mistake.id != planted.id || !text.is_some_and(|t| t.starts_with(planted.at) && !t.is_empty()) {
            wrong.push(format!("expected {} at {}, not at {text:?}: {what}", planted.id, planted.at));
        }
        if catalog.is_some() {
            wrong.push(format!("a catalogue in spite of {what}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

const OWN: &str = "format = 1\n\n[[breaker]]\nid = \"ours-20\"\nname = \"Ours\"\nrevision = 1\nrating = \"20 A\"\n\
                   poles = 1\ninterrupting = \"10 kA\"\nprice = 9\n";

#[test]
fn a_folder_of_ones_own_adds_to_the_demo_catalogue() {
    let mut sources = demo_sources();
    sources.push(SourceText::new("ours/breakers.toml", OWN));
    let (catalog, mistakes) = read(&sources);
    assert!(mistakes.is_empty(), "{}", shown(&mistakes, &sources));
    let catalog = catalog.unwrap();
    assert!(catalog.breakers.contains_key("ours-20") && catalog.breakers.contains_key("demo-cb-20-1p"));
}

/// No later file overrides an earlier one, not even by a record of another kind: both places are named.
#[test]
fn an_id_in_two_files_names_both_places() {
    for id in ["demo-cb-20-1p", "demo-lfp-5k"] {
        let mut sources = demo_sources();
        sources.push(SourceText::new("ours/breakers.toml", &OWN.replace("ours-20", id)));
        let (catalog, mistakes) = read(&sources);
        assert!(catalog.is_none());
        let [mistake] = mistakes.as_slice() else { panic!("{}", shown(&mistakes, &sources)) };
        assert_eq!(mistake.id, "duplicate-id");
        assert_eq!(mistake.place.as_ref().map(|p| (&*p.file, p.line)), Some(("ours/breakers.toml", 3)));
        assert!(mistake.also.first().is_some_and(|(place, _)| place.file.starts_with("demo/")));
    }
}

/// A folder that is a copy of the demo catalogue: one mistake a file, with a hint that says why, not hundreds.
#[test]
fn a_copy_of_the_demo_catalogue_says_so_once_a_file() {
    let mut sources = demo_sources();
    let files = sources.len();
    let copies: Vec<SourceText> =
        sources.iter().map(|s| SourceText::new(&s.name().replace("demo/", "mine/"), s.text())).collect();
    sources.extend(copies);
    let (catalog, mistakes) = read(&sources);
    assert!(catalog.is_none());
    assert_eq!(mistakes.len(), files, "{}", shown(&mistakes, &sources));
    for mistake in &mistakes {
        assert!(mistake.message.contains("built-in demo catalogue"), "{}", mistake.message);
        assert!(mistake.help.as_deref().is_some_and(|h| h.contains("always there")));
    }
}

#[test]
fn currencies_that_differ_are_a_mistake() {
    let mut sources = demo_sources();
    sources.push(SourceText::new(
        "ours/breakers.toml",
        &OWN.replace("format = 1", "format = 1\ncurrency = \"EUR\""),
    ));
    let (catalog, mistakes) = read(&sources);
    assert!(catalog.is_none());
    let ids: Vec<_> = mistakes.iter().map(|m| m.id).collect();
    assert_eq!(ids, ["mixed-currency"]);
}

#[test]
fn a_file_of_another_format_is_refused() {
    for text in [OWN.replace("format = 1", "format = 2"), OWN.replace("format = 1\n", "")] {
        let (catalog, mistakes) = read(&[SourceText::new("ours/breakers.toml", &text)]);
        assert!(catalog.is_none());
        assert_eq!(mistakes.len(), 1, "{mistakes:?}");
    }
}

/// What a device can do is never guessed: a key may be missing only where its absence means "not published" or
/// "not there". Every line of every unit is taken out once.
#[test]
fn no_key_of_a_unit_has_a_silent_default() {
    const MAY_BE_MISSING: [&str; 14] = [
        "currency",
        "overload_recovery",
        "second_input",
        "links",
        "make",
        "breaking",
        "short_time",
        "fault",
        "group_moves_within",
        // without these the interlock proof is not covered
        "neutral",
        "island_bond",
        "decides_together",
        // without this a generator is not covered
        "accepts",
        // without this an array on the backup panel is not covered
        "island_frequency",
    ];
    let units = demo_sources().into_iter().find(|s| s.name() == "demo/units.toml").unwrap();
    let lines: Vec<&str> = units.text().lines().collect();
    let mut refused = 0;
    for (k, line) in lines.iter().enumerate() {
        let Some((key, value)) = line.split_once(" = ") else { continue };
        if value == "[" || key.starts_with(['#', ' ']) {
            continue;
        }
        let without: Vec<&str> =
            lines.iter().enumerate().filter(|(other, _)| *other != k).map(|(_, l)| *l).collect();
        let (catalog, mistakes) = read(&[SourceText::new("units.toml", &without.join("\n"))]);
        assert_eq!(catalog.is_some(), mistakes.is_empty());
        assert_eq!(catalog.is_some(), MAY_BE_MISSING.contains(&key), "line {}: {line}", k + 1);
        refused += usize::from(catalog.is_none());
    }
    assert!(refused > 150, "only {refused} lines were tried");
}
