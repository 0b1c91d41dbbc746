//! Mistakes are found, all at once, at the place where they were made, and say what to write instead.

#![allow(clippy::expect_used, clippy::panic)] // functions that tests call, too

use reading::{Diagnostic, SourceText, render};

fn read(text: &str) -> (SourceText, bool, Vec<Diagnostic>) {
    let source = SourceText::new("site.toml", text);
    let (site, mistakes) = site::read(&source);
    (source, site.is_some(), mistakes)
}

#[test]
fn ten_mistakes_of_ten_kinds_are_reported_at_once_each_on_its_line() {
    let text = include_str!("ten-mistakes.toml");
    let planted: Vec<(u32, &str)> = (1..)
        .zip(text.lines())
        .filter_map(|(line, text)| text.split_once("# <- ").map(|(_, id)| (line, id)))
        .collect();
    let (source, there, mistakes) = read(text);
    let found: Vec<(u32, &str)> =
        mistakes.iter().map(|m| (m.place.as_ref().map_or(0, |place| place.line), m.id)).collect();
    let shown: Vec<String> =
        mistakes.iter().map(|m| render(m, std::slice::from_ref(&source), false)).collect();
    assert_eq!(found, planted, "{}", shown.join("\n\n"));
    assert!(!there, "a site with mistakes must not be used");
    let mut kinds: Vec<&str> = planted.iter().map(|(_, id)| *id).collect();
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), 10);
}

/// A site with nothing wrong. Each case below changes one line of it.
const SOUND: &str = r#"format = 1
[site]
name = "Sound"
altitude = "600 ft"
temperature = { lowest = "-15 degC", high = "33 degC", room = "30 degC" }
[service]
kind = "120/208 V wye"
rating = "200 A"
earthing = "US"
[utility]
export = "none"
[[panel]]
id = "main"
[[panel]]
id = "sub"
fed_from = "main"
[[panel]]
id = "backup"
fed_from = "sub"
[[load]]
name = "backup"
panel = "backup"
legs = "any"
power = "600 W"
runs = "12 h/day"
[[load]]
name = "compressor"
count = 2
panel = "backup"
legs = "L1-L2-L3"
motor = { power = "5 hp", full_load_current = "16.7 A", code_letter = "G", start = "direct" }
hourly = [0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 0.5, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0]
[demand]
method = "itemised"
[group]
unit = "demo-leg-3k6"
panel = "backup"
[wish]
bypass = true
[[stage]]
id = "soon"
after_years = 2
[[stage]]
id = "later"
after_years = 5
"#;

/// `old` becomes `new`; the only mistake is `id`, at the text `at`, and its words contain `says`.
struct Case {
    old: &'static str,
    new: &'static str,
    id: &'static str,
    at: &'static str,
    says: &'static str,
}

const fn case(
    old: &'static str,
    new: &'static str,
    id: &'static str,
    at: &'static str,
    says: &'static str,
) -> Case {
    Case { old, new, id, at, says }
}

fn assert_case(case: &Case) {
    assert_eq!(SOUND.matches(case.old).count(), 1, "\"{}\" occurs once", case.old);
    let text = SOUND.replace(case.old, case.new);
    let (source, there, mistakes) = read(&text);
    let shown: Vec<String> =
        mistakes.iter().map(|m| render(m, std::slice::from_ref(&source), false)).collect();
    let shown = format!("after {}:\n{}", case.new, shown.join("\n\n"));
    let [only] = mistakes.as_slice() else { panic!("{} mistakes {shown}", mistakes.len()) };
    assert!(!there);
    let place = only.place.as_ref().expect("a place");
    assert_eq!((only.id, &text[place.start..place.end]), (case.id, case.at), "{shown}");
    assert!(shown.contains(case.says), "\"{}\" is not said {shown}", case.says);
}

#[test]
fn the_sound_site_is_sound() {
    let (_, there, mistakes) = read(SOUND);
    assert!(there && mistakes.is_empty(), "{mistakes:?}");
}

#[test]
fn two_panels_of_one_name_point_at_both() {
    let (_, _, mistakes) = read(&format!("{SOUND}[[panel]]\nid = \"main\"\n"));
    let [only] = mistakes.as_slice() else { panic!("{mistakes:?}") };
    let line = |place: &derivation::Place| place.line;
    assert_eq!(only.id, "duplicate-name");
    assert_eq!(only.place.as_ref().map(line), Some(SOUND.lines().count() as u32 + 2));
    assert_eq!(only.also.iter().map(|(place, _)| line(place)).collect::<Vec<_>>(), [13]);
}

#[test]
fn names_and_references() {
    for case in [
        case("name = \"compressor\"", "name = \"backup\"", "duplicate-name", "\"backup\"", "two loads"),
        case("id = \"later\"", "id = \"soon\"", "duplicate-name", "\"soon\"", "two stages"),
        case(
            "fed_from = \"main\"",
            "fed_from = \"mian\"",
            "unknown-reference",
            "\"mian\"",
            "did you mean \"main\"",
        ),
        case(
            "runs = \"12 h/day\"",
            "runs = \"1 h/day\"\nnever_with = [\"compresor\"]",
            "unknown-reference",
            "\"compresor\"",
            "did you mean \"compressor\"",
        ),
        case(
            "runs = \"12 h/day\"",
            "runs = \"1 h/day\"\nnever_with = [\"backup\"]",
            "contradiction",
            "\"backup\"",
            "at_once",
        ),
        case(
            "runs = \"12 h/day\"",
            "runs = \"1 h/day\"\nstage = \"latr\"",
            "unknown-reference",
            "\"latr\"",
            "did you mean \"later\"",
        ),
        case(
            "6\"\npanel = \"backup\"",
            "6\"\npanel = \"garage\"",
            "unknown-reference",
            "\"garage\"",
            "panels are \"backup\", \"main\", \"sub\"",
        ),
        case("name = \"Sound\"", "name = \" Sound\"", "wrong-value", "\" Sound\"", "blank"),
        case("name = \"Sound\"", "name = \"So\\u001bund\"", "wrong-value", "\"So\\u001bund\"", "control"),
    ] {
        assert_case(&case);
    }
}

#[test]
fn feeds_that_run_in_a_circle_are_one_mistake_for_each_circle() {
    assert_case(&case(
        "fed_from = \"main\"",
        "fed_from = \"sub\"",
        "fed-in-a-circle",
        "\"sub\"",
        "sub from sub",
    ));
    assert_case(&case(
        "fed_from = \"main\"",
        "fed_from = \"backup\"",
        "fed-in-a-circle",
        "\"backup\"",
        "sub from backup from sub",
    ));
    let two = SOUND
        .replace("id = \"main\"\n", "id = \"main\"\nfed_from = \"main\"\n")
        .replace("id = \"sub\"\nfed_from = \"main\"", "id = \"sub\"\nfed_from = \"backup\"");
    let (_, _, mistakes) = read(&two);
    let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
    assert_eq!(ids, ["fed-in-a-circle", "fed-in-a-circle"]);
}

#[test]
fn a_long_chain_of_panels_is_no_circle() {
    let panel = |k: usize| format!("[[panel]]\nid = \"p{}\"\nfed_from = \"p{k}\"\n", k + 1);
    let chain: String = (0..30_000).map(panel).collect();
    assert!(read(&format!("{SOUND}[[panel]]\nid = \"p0\"\n{chain}")).1);
    let (_, _, mistakes) = read(&format!("{SOUND}[[panel]]\nid = \"p0\"\nfed_from = \"p30000\"\n{chain}"));
    let [only] = mistakes.as_slice() else { panic!("{} mistakes", mistakes.len()) };
    assert_eq!(only.id, "fed-in-a-circle");
}

#[test]
fn service_and_utility() {
    for case in [
        case("rating = \"200 A\"\n", "", "missing-key", "[service]", "utility = \"none\""),
        case("rating = \"200 A\"", "rating = \"9 A\"", "out-of-range", "\"9 A\"", "10.0 A to 6.00 kA"),
        case("rating = \"200 A\"", "rating = \"6.1 kA\"", "out-of-range", "\"6.1 kA\"", "10.0 A to 6.00 kA"),
        case(
            "rating = \"200 A\"",
            "rating = \"200 A\"\nfrequency = \"50 Hz\"",
            "earthing-mismatch",
            "\"US\"",
            "TN-S",
        ),
        case(
            "rating = \"200 A\"",
            "rating = \"200 A\"\nfrequency = \"55 Hz\"",
            "out-of-range",
            "\"55 Hz\"",
            "60 Hz",
        ),
        case(
            "kind = \"120/208 V wye\"",
            "kind = \"230/400 V wye\"",
            "earthing-mismatch",
            "\"US\"",
            "230/400 V wye",
        ),
        case(
            "kind = \"120/208 V wye\"",
            "kind = \"120/208 V two legs\"",
            "no-such-connection",
            "\"L1-L2-L3\"",
            "L1, L2",
        ),
        case(
            "rating = \"200 A\"",
            "rating = \"200 A\"\ntransformer = { rating = \"75 kVA\", impedance = \"31 %\" }",
            "out-of-range",
            "\"31 %\"",
            "30.0 %",
        ),
        case(
            "rating = \"200 A\"",
            "rating = \"200 A\"\ntransformer = { rating = \"0 kVA\" }",
            "out-of-range",
            "\"0 kVA\"",
            "500 VA",
        ),
        case("export = \"none\"", "export = \"limited\"", "missing-partner", "\"limited\"", "export_limit"),
        case(
            "export = \"none\"",
            "export = \"none\"\nexport_limit = \"5 kW\"",
            "contradiction",
            "\"5 kW\"",
            "limited",
        ),
        case("export = \"none\"", "export_limit = \"5 kW\"", "missing-partner", "\"5 kW\"", "limited"),
        case("altitude = \"600 ft\"", "altitude = \"-500 m\"", "out-of-range", "\"-500 m\"", "6000 m"),
        case("altitude = \"600 ft\"", "altitude = \"6,001 m\"", "out-of-range", "\"6,001 m\"", "-430 m"),
        case("lowest = \"-15 degC\"", "lowest = \"31 degC\"", "wrong-order", "\"30 degC\"", "lowest"),
    ] {
        assert_case(&case);
    }
}

#[test]
fn iec_earthing_is_accepted_with_every_system_and_off_grid_needs_no_rating() {
    for earthing in ["TN-S", "TN-C-S", "TT", "IT"] {
        for kind in ["120/208 V wye", "230/400 V wye"] {
            let text = SOUND.replace("\"US\"", &format!("\"{earthing}\"")).replace("120/208 V wye", kind);
            assert!(read(&text).1, "{earthing} with {kind}");
        }
    }
    assert!(read(&SOUND.replace("rating = \"200 A\"", "utility = \"none\"")).1);
}

#[test]
fn a_site_without_utility_neither_exports_nor_transfers() {
    let off = SOUND.replace("rating = \"200 A\"", "utility = \"none\"");
    for (old, new) in [
        ("export = \"none\"", "export = \"full\""),
        ("unit = \"demo", "arrangement = \"inline\"\nunit = \"demo"),
        ("unit = \"demo", "arrangement = \"outboard\"\nunit = \"demo"),
    ] {
        let (_, there, mistakes) = read(&off.replace(old, new));
        let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
        assert_eq!((there, ids.as_slice()), (false, ["contradiction"].as_slice()), "{new}");
        assert_eq!(mistakes[0].also.len(), 1, "it points at the word \"none\" too");
    }
    assert!(read(&off.replace("unit = \"demo", "arrangement = \"islanded\"\nunit = \"demo")).1);
}

#[test]
fn sizes_and_schedules_of_loads() {
    for case in [
        case("power = \"600 W\"", "power = \"5.1 MW\"", "out-of-range", "\"5.1 MW\"", "5.00 MW"),
        case("power = \"600 W\"", "power = \"0 W\"", "out-of-range", "\"0 W\"", "0.100 W"),
        case("power = \"600 W\"", "power = \"-600 W\"", "out-of-range", "\"-600 W\"", "5.00 MW"),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\ncurrent = \"5 A\"",
            "contradiction",
            "\"5 A\"",
            "exactly one of",
        ),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\npower_factor = 1.2",
            "out-of-range",
            "1.2",
            "0.05 to 1",
        ),
        case("power = \"600 W\"", "power = \"600 W\"\npower_factor = 0", "out-of-range", "0", "0.05 to 1"),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\nlasts = \"5 min\"",
            "missing-partner",
            "\"5 min\"",
            "rests",
        ),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\nrests = \"5 min\"",
            "missing-partner",
            "\"5 min\"",
            "lasts",
        ),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\nlasts = \"10 min\"\nrests = \"20 min\"",
            "contradiction",
            "\"12 h/day\"",
            "pauses",
        ),
        case("power = \"600 W\"", "power = \"600 W\"\nat_once = 2", "contradiction", "2", "there are only 1"),
        case("count = 2", "count = 2\nat_once = 3", "contradiction", "3", "there are only 2"),
        case(
            "power = \"600 W\"",
            "power = \"600 W\"\nin_measured = true",
            "contradiction",
            "true",
            "measured",
        ),
        case("power = \"600 W\"", "power = \"600 W\"\ngap = \"5\"", "wrong-value", "\"5\"", "unit"),
        case("legs = \"any\"", "legs = \"L4\"", "wrong-value", "\"L4\"", "any pair"),
        case("runs = \"12 h/day\"", "runs = \"0 h/day\"", "never-runs", "\"0 h/day\"", "never runs"),
        case("runs = \"12 h/day\"\n", "", "missing-key", "[[load]]", "`runs`, `hourly`, `series`"),
        case(
            "runs = \"12 h/day\"",
            "series = \"../other.csv\"",
            "wrong-value",
            "\"../other.csv\"",
            "beside the site file",
        ),
        case("runs = \"12 h/day\"", "series = \"load.xls\"", "wrong-value", "\"load.xls\"", ".csv"),
        case("runs = \"12 h/day\"", "hourly = [1, 0]", "wrong-count", "[1, 0]", "2 entries"),
        case("0.5, 1, 1, 1, 1, 0,", "5, 1, 1, 1, 1, 0,", "out-of-range", "5", "0 to 1"),
    ] {
        assert_case(&case);
    }
}

#[test]
fn motors() {
    let all = "code_letter = \"G\", start = \"direct\"";
    for (new, id, at, says) in [
        ("code_letter = \"I\", start = \"direct\"", "wrong-value", "\"I\"", "without I, O and Q"),
        ("code_letter = \"O\", start = \"direct\"", "wrong-value", "\"O\"", "without I, O and Q"),
        ("code_letter = \"Q\", start = \"direct\"", "wrong-value", "\"Q\"", "without I, O and Q"),
        ("code_letter = \"W\", start = \"direct\"", "wrong-value", "\"W\"", "A to V"),
        ("code_letter = \"g\", start = \"direct\"", "wrong-value", "\"g\"", "capital"),
        ("code_letter = \"GG\", start = \"direct\"", "wrong-value", "\"GG\"", "one capital letter"),
        (
            "code_letter = \"G\", locked_rotor_current = \"90 A\", start = \"direct\"",
            "contradiction",
            "\"90 A\"",
            "twice",
        ),
        ("code_letter = \"G\", start = \"soft\"", "missing-partner", "\"soft\"", "start_current"),
        (
            "code_letter = \"G\", start = \"direct\", start_current = \"40 A\"",
            "contradiction",
            "\"40 A\"",
            "soft",
        ),
        (
            "code_letter = \"G\", start = \"drive\", start_current = \"40 A\"",
            "contradiction",
            "\"40 A\"",
            "soft",
        ),
        ("locked_rotor_current = \"9 A\", start = \"direct\"", "contradiction", "\"9 A\"", "full-load"),
        (
            "locked_rotor_current = \"90 A\", start = \"soft\", start_current = \"99 A\"",
            "contradiction",
            "\"99 A\"",
            "locked-rotor",
        ),
        (
            "code_letter = \"G\"",
            "missing-key",
            "{ power = \"5 hp\", full_load_current = \"16.7 A\", code_letter = \"G\" }",
            "how it starts",
        ),
    ] {
        assert_case(&Case { old: all, new, id, at, says });
    }
    for letter in "ABCDEFGHJKLMNPRSTUV".chars() {
        assert!(read(&SOUND.replace("\"G\"", &format!("\"{letter}\""))).1, "code letter {letter}");
    }
}

#[test]
fn group_wishes_and_stages() {
    for case in [
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\nformation = \"2+2\"",
            "wrong-formation",
            "\"2+2\"",
            "\"2+2+2\"",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\nformation = \"2,2,2\"",
            "wrong-formation",
            "\"2,2,2\"",
            "\"2+2+2\"",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\nformation = \"2+0+2\"",
            "wrong-formation",
            "\"2+0+2\"",
            "no formation",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\ncount = 5\nformation = \"2+2+2\"",
            "wrong-formation",
            "\"2+2+2\"",
            "6 units",
        ),
        case("unit = \"demo-leg-3k6\"", "unit = \"u\"\ncount = 0", "out-of-range", "0", "1 to 99"),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\narrangement = \"islanded\"",
            "contradiction",
            "\"islanded\"",
            "without a utility",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\nbypass = \"none\"",
            "contradiction",
            "\"none\"",
            "ruled out",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\ninput_limit = \"0 A\"",
            "out-of-range",
            "\"0 A\"",
            "1.00 A",
        ),
        case(
            "unit = \"demo-leg-3k6\"",
            "unit = \"u\"\nretransfer = { earliest = \"30 s\", latest = \"20 s\" }",
            "wrong-order",
            "\"20 s\"",
            "earliest",
        ),
        case("after_years = 5", "after_years = 2", "wrong-order", "2", "do not rise"),
        case("bypass = true", "spare = \"900 %\"", "out-of-range", "\"900 %\"", "200 %"),
    ] {
        assert_case(&case);
    }
    for fits in
        ["formation = \"2+2+2\"\ncount = 6", "formation = \"3\"", "formation = \"1 + 2 + 1\"\ncount = 4"]
    {
        assert!(read(&SOUND.replace("unit = \"demo", &format!("{fits}\nunit = \"demo"))).1, "{fits}");
    }
}

#[test]
fn demand_methods_and_their_tables() {
    let measured = "[measured]\nfile = \"d.csv\"\npanel = \"main\"\non_site_generation = false\n";
    let dwelling = "[dwelling]\narea = \"1,500 ft2\"\nsmall_appliance_circuits = 2\nlaundry_circuits = 1\n";
    let with = |method: &str, table: &str| {
        SOUND.replace("method = \"itemised\"\n", &format!("method = \"{method}\"\n{table}"))
    };
    assert!(read(&with("measured", measured)).1);
    assert!(read(&with("dwelling optional", dwelling)).1);
    let european =
        with("dwelling optional", dwelling).replace("120/208", "230/400").replace("\"US\"", "\"TT\"");
    for (text, id) in [
        (european, "contradiction"),
        (with("measured", ""), "missing-partner"),
        (with("dwelling standard", ""), "missing-partner"),
        (with("itemised", dwelling), "contradiction"),
        (with("dwelling standard", &format!("{dwelling}{measured}")), "contradiction"),
        (with("measured", &measured.replace("\"main\"", "\"mains\"")), "unknown-reference"),
        (with("measured", &measured.replace("on_site_generation = false\n", "")), "missing-key"),
        (with("measured", &measured.replace("d.csv", "/etc/d.csv")), "wrong-value"),
        (with("dwelling optional", &dwelling.replace("1,500 ft2", "15,000 m2")), "out-of-range"),
        (with("dwelling optional", &format!("{dwelling}dryers = [\"5 kW\", \"0 W\"]\n")), "out-of-range"),
    ] {
        let (_, there, mistakes) = read(&text);
        let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
        assert_eq!((there, ids.as_slice()), (false, [id].as_slice()), "{text}");
        assert!(mistakes[0].place.is_some());
    }
}

#[test]
fn a_broken_table_does_not_make_every_reference_to_it_a_mistake() {
    let text = SOUND.replace("id = \"backup\"", "id = 7");
    let (_, _, mistakes) = read(&text);
    let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
    assert_eq!(ids, ["wrong-type"], "the loads on it are not at fault");
    let (_, _, mistakes) = read(&SOUND.replace("id = \"backup\"", "id = \"backup\"\nbusbar = \"1 A\""));
    let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
    assert_eq!(ids, ["out-of-range"], "the loads on it are not at fault");
}

#[test]
fn more_loads_than_the_model_is_made_for_are_refused() {
    let load = |k: usize| {
        format!(
            "[[load]]\nname = \"l{k}\"\npanel = \"main\"\nlegs = \"L1\"\npower = \"9 W\"\nruns = \"1 h/day\"\n"
        )
    };
    let more = |many: usize| format!("{SOUND}{}", (0..many).map(load).collect::<String>());
    assert!(read(&more(site::MOST_LOADS - 2)).1);
    let (_, there, mistakes) = read(&more(site::MOST_LOADS - 1));
    let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
    assert_eq!((there, ids.as_slice()), (false, ["too-many-loads"].as_slice()));
}

#[test]
fn a_conductor_run_that_comes_twice_points_at_both() {
    let one = "[[conductor]]\npart = \"backup.conductor\"\nlength = \"9 m\"\n";
    let (_, there, mistakes) = read(&format!("{SOUND}\n{one}{one}"));
    let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
    assert!(!there, "used");
    assert_eq!(ids, ["duplicate-name"]);
    assert!(read(&format!("{SOUND}\n{one}")).1, "once is sound");
}

#[test]
fn an_amendment_changes_a_figure_that_can_be_changed() {
    let with = |lines: &str| {
        let words = "reason = \"r\"\nauthority = \"a\"";
        let (_, there, mistakes) = read(&format!("{SOUND}\n[[amendment]]\n{lines}\n{words}\n"));
        assert_eq!(there, mistakes.is_empty());
        let ids: Vec<&str> = mistakes.iter().map(|m| m.id).collect();
        let labels: Vec<String> = mistakes.iter().map(|m| format!("{m:?}")).collect();
        (ids, labels.join("\n"))
    };
    assert!(with("rule = \"voltage-drop\"\nshare = \"2 %\"").0.is_empty());
    assert!(with("rule = \"working-space\"\nlength = \"4 ft\"").0.is_empty());
    assert!(with("rule = \"continuous-load\"\nshare = \"150 %\"").0.is_empty());
    assert_eq!(with("rule = \"continuous-load\"\nshare = \"90 %\"").0, ["out-of-range"]);
    // no conductor need carry more than the rating: the figure would do nothing
    assert!(with("rule = \"dwelling-service\"\nshare = \"100 %\"").0.is_empty());
    assert_eq!(with("rule = \"dwelling-service\"\nshare = \"101 %\"").0, ["out-of-range"]);
    assert!(with("rule = \"stand-alone\"\napplies = false").0.is_empty());
    let (ids, said) = with("rule = \"voltage-dorp\"\nshare = \"2 %\"");
    assert!(ids == ["unknown-rule"] && said.contains("did you mean \\\"voltage-drop\\\"?"), "{said}");
    // a figure of another kind, a rule that is not changed, a rule that protects people
    assert_eq!(with("rule = \"voltage-drop\"\ncurrent = \"2 A\"").0, ["not-amendable"]);
    assert_eq!(with("rule = \"conductor-size\"\napplies = false").0, ["not-amendable"]);
    assert_eq!(with("rule = \"island-shock-protection\"\napplies = false").0, ["not-amendable"]);
    assert_eq!(with("rule = \"voltage-drop\"").0, ["missing-key"]);
    assert_eq!(with("rule = \"voltage-drop\"\nshare = \"2 %\"\napplies = false").0, ["missing-key"]);
    assert_eq!(with("rule = \"voltage-drop\"\napplies = true").0, ["contradiction"]);
    let one = "[[amendment]]\nrule = \"stand-alone\"\napplies = false\nreason = \"r\"\nauthority = \"a\"\n";
    let (_, _, mistakes) = read(&format!("{SOUND}\n{one}{one}"));
    assert_eq!(mistakes.iter().map(|m| m.id).collect::<Vec<_>>(), ["duplicate-name"]);
}
