//! What arrays and units may push back into the running generator. All data are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{Design, design};
use finding::{Margin, Severity};
use quantity::Quantity;
use support::{Text, World, failing, found, ids};

fn site(generator: &str, export: &str) -> World {
    let mut text = Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"4 kW\"\npower_factor = 1");
    text.group = format!("{}\ncount = 2\narrangement = \"inline\"", text.group);
    text.rest = format!(
        "[utility]\nexport = \"{export}\"\n[battery]\ncount = \"choose\"\nlowest = \"10 degC\"\n\n[generator]\nmodel = \"demo-gen-12k\"\n{generator}"
    );
    text.world()
}

fn line<'d>(design: &'d Design<'_>) -> &'d Margin {
    let all = &design.assessed.ledger.margins;
    all.iter().find(|m| m.part == "generator" && m.what == "power back into it").expect("a line")
}

/// Behind a transfer switch the units cannot tell the generator from the utility: what they may export, 5 kW each or what
/// their relays pass, is pushed into it, and only 600 W of it are borne. Kept from it they push nothing; nor through their
/// second input, nor where the utility takes nothing back.
#[test]
fn units_that_export_push_into_a_generator_on_the_utilitys_input() {
    let switch = "inlet = \"transfer switch\"";
    let world = site(switch, "full");
    let prepared = world.prepared();
    let open = design(&prepared);
    let export = open.case.settings.export_limit.value().si();
    assert!(export > 600.0, "{export}");
    let finding = found(&open, "generator-reverse-power");
    assert_eq!(finding.severity, Severity::Error);
    assert_eq!(finding.state.as_deref(), Some("generator through the units"));
    let over = quantity::Power::of(export - 600.0).to_string();
    assert!(
        finding.fixes[0].contains("no_export") && finding.fixes[0].contains(&over),
        "{:?}",
        finding.fixes
    );
    assert!((line(&open).value.amount.si - export).abs() < 1e-9);
    for (generator, utility) in [
        (format!("{switch}\nno_export = true"), "full"),
        ("inlet = \"second input\"".to_owned(), "full"),
        (switch.to_owned(), "none"),
    ] {
        let world = site(&generator, utility);
        let prepared = world.prepared();
        let found = design(&prepared);
        assert!(!ids(&found).contains(&"generator-reverse-power"), "{generator} {utility}");
        let line = line(&found);
        assert!(
            line.holds() && line.value.amount.si.abs() < 1e-9 && (line.limit.amount.si - 600.0).abs() < 1e-9
        );
    }
}

/// An array on the panel is locked out. Until its contactor has fallen off, its 6 kW meet a generator that the units take
/// at once; units that take it a second later never join the two.
#[test]
fn an_array_meets_the_generator_only_until_its_contactor_falls_off() {
    let array = "\n\n[[array]]\nid = \"roof\"\nmodule = \"demo-module-450\"\ntilt = \"20 deg\"\nazimuth = \"180 deg\"\nmounting = \"roof\"\ncoupling = \"AC\"\nmodules = 10\nstrings = 1\nper_string = 10\ninverter = \"demo-ai-6k-split\"\ninverters = 1\npanel = \"backup\"\nrun = \"20 m\"";
    let place =
        "altitude = \"0 m\"\nlatitude = \"40.1 deg\"\nlongitude = \"-83.2 deg\"\nutc_offset = \"-5 h\"";
    let mut text = Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"4 kW\"\npower_factor = 1");
    text.group = format!("{}\ncount = 2\narrangement = \"inline\"", text.group);
    text.rest = format!(
        "[utility]\nexport = \"full\"\n[battery]\ncount = \"choose\"\nlowest = \"10 degC\"\n\n[generator]\nmodel = \"demo-gen-12k\"\ninlet = \"second input\"{array}"
    );
    let mut world = World::read(&text.write().replacen("altitude = \"0 m\"", place, 1));
    let mut with = |after: Option<f64>| {
        let unit = world.catalog.units.get_mut("demo-split-5k4").unwrap();
        unit.second_input.as_mut().unwrap().closes_after = after.map(quantity::Duration::of);
        let prepared = world.prepared();
        let found = design(&prepared);
        let about: Vec<(Severity, f64)> = found
            .assessed
            .ledger
            .findings
            .iter()
            .filter(|f| f.id == "generator-reverse-power")
            .map(|f| (f.severity, f.value.as_ref().unwrap().amount.si))
            .collect();
        assert!(!failing(&found).contains(&"generator-reverse-power"));
        (about, line(&found).value.amount.si)
    };
    let (at_once, value) = with(None);
    assert_eq!(at_once, [(Severity::Warning, 6000.0)]);
    assert!((value - 6000.0).abs() < 1e-9);
    assert_eq!(with(Some(1.0)), (Vec::new(), 0.0));
}
