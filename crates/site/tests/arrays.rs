//! Arrays in a site file: what is read, and the mistakes that people make.

#![allow(clippy::expect_used)] // functions that tests call, too

use quantity::Quantity;
use reading::{Decision, SourceText};
use site::{Coupling, Modules};

const DC: &str = r#"
[[array]]
id = "south"
coupling = "DC"
module = "demo-module-450"
modules = 10
strings = 2
per_string = 5
tilt = "22 deg"
azimuth = "170 deg"
mounting = "roof"
controller = "demo-mppt-100"
"#;

const AC: &str = r#"
[[array]]
id = "barn"
coupling = "AC"
module = "demo-module-450"
modules = "choose"
power = "9 kW"
strings = "choose"
per_string = "choose"
tilt = "10 deg"
azimuth = "90 deg"
mounting = "ground"
losses = "9 %"
horizon = ["0 deg", "5 deg", "9 deg", "4 deg"]
inverter = "demo-ai-6k-split"
inverters = 2
panel = "backup"
run = "12 m"
"#;

const SUN: &str = "latitude = \"40.1 deg\"\nlongitude = \"-83.2 deg\"\nutc_offset = \"-5 h\"\n";

fn text() -> String {
    let temperature = site::STARTER.lines().find(|l| l.starts_with("temperature = ")).expect("temperatures");
    site::STARTER.replace(temperature, &format!("{temperature}\n{SUN}")) + DC + AC
}

#[test]
fn what_is_written_is_read() {
    let (site, mistakes) = site::read(&SourceText::new("site.toml", &text()));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let site = site.expect("a site");
    let position = site.position.expect("a position");
    assert!((position.latitude.value.si() - 40.1).abs() < 1e-12);
    assert!((position.longitude.value.si() + 83.2).abs() < 1e-12);
    assert!((position.utc_offset.value.si() + 18_000.0).abs() < 1e-9);
    let [dc, ac] = site.arrays.as_slice() else { unreachable!("two arrays") };
    assert!(matches!(&dc.modules, Modules::Count(n) if n.value == 10));
    assert!(matches!(&dc.coupling, Coupling::Dc { controller } if controller.value == "demo-mppt-100"));
    assert!(dc.losses.is_none() && dc.horizon.is_empty());
    assert!(matches!(&ac.modules, Modules::Power(p) if (p.value.si() - 9000.0).abs() < 1e-9));
    assert_eq!(ac.horizon.len(), 4);
    let Coupling::Ac { inverters, panel, run, .. } = &ac.coupling else { unreachable!("AC") };
    assert!(matches!(inverters, Decision::Fixed(n) if n.value == 2));
    assert_eq!(panel.value, "backup");
    assert!(run.as_ref().is_some_and(|run| (run.value.si() - 12.0).abs() < 1e-12));
}

#[test]
fn each_mistake_is_the_only_one_and_is_said_where_it_is() {
    for (old, new, id, at) in [
        (SUN, "", "missing-key", "[site]"),
        ("utc_offset = \"-5 h\"\n", "", "missing-partner", "\"40.1 deg\""),
        ("\"40.1 deg\"", "\"140.1 deg\"", "out-of-range", "\"140.1 deg\""),
        ("utc_offset = \"-5 h\"", "utc_offset = \"5 h\"", "contradiction", "\"5 h\""),
        ("utc_offset = \"-5 h\"\n", "utc_offset = \"-9 h\"\n", "contradiction", "\"-9 h\""),
        ("modules = 10", "modules = 11", "contradiction", "11"),
        ("modules = 10", "modules = 10\npower = \"4.5 kW\"", "contradiction", "\"4.5 kW\""),
        ("power = \"9 kW\"\n", "", "missing-key", "[[array]]"),
        ("id = \"barn\"", "id = \"south\"", "duplicate-name", "\"south\""),
        (
            "inverters = 2\npanel = \"backup\"",
            "inverters = 2\npanel = \"bakup\"",
            "unknown-reference",
            "\"bakup\"",
        ),
        ("inverters = 2\npanel = \"backup\"", "inverters = 2", "missing-partner", "\"AC\""),
        (
            "run = \"12 m\"",
            "run = \"12 m\"\ncontroller = \"demo-mppt-100\"",
            "contradiction",
            "\"demo-mppt-100\"",
        ),
        ("controller = \"demo-mppt-100\"", "", "missing-partner", "\"DC\""),
        (
            "controller = \"demo-mppt-100\"",
            "controller = \"demo-mppt-100\"\npanel = \"backup\"",
            "contradiction",
            "\"backup\"",
        ),
        ("azimuth = \"90 deg\"", "azimuth = \"-90 deg\"", "out-of-range", "\"-90 deg\""),
        ("\"9 deg\", \"4 deg\"]", "\"9 deg\"]", "wrong-count", "[\"0 deg\", \"5 deg\", \"9 deg\"]"),
    ] {
        let sound = text();
        let array = sound.rfind("[[array]]\nid = \"south\"").expect("arrays");
        let (head, tail) =
            sound.split_at(if old.contains("deg\"\n") || old.contains("utc") || old.contains("40.1") {
                0
            } else {
                array
            });
        assert!(tail.contains(old), "{old}");
        let changed = head.to_owned() + &tail.replacen(old, new, 1);
        let (site, mistakes) = site::read(&SourceText::new("site.toml", &changed));
        assert!(site.is_none(), "{new}: used");
        assert_eq!(mistakes.len(), 1, "{old} -> {new}: {mistakes:?}");
        let mistake = &mistakes[0];
        let place = mistake.place.as_ref().expect("a place");
        assert_eq!((mistake.id, &changed[place.start..place.end]), (id, at), "{mistake:?}");
    }
}

/// Zones that people live by, the widest and those beyond the date line among them, and signs that are lost.
#[test]
fn the_clock_goes_with_the_longitude() {
    let read = |longitude: &str, clock: &str| {
        let sun =
            format!("latitude = \"30 deg\"\nlongitude = \"{longitude} deg\"\nutc_offset = \"{clock} h\"\n");
        site::read(&SourceText::new("site.toml", &text().replace(SUN, &sun))).1
    };
    for (longitude, clock) in [
        ("73.6", "8"),
        ("-157.4", "14"),
        ("-172", "13"),
        ("177", "-12"),
        ("-9", "1"),
        ("-3", "0"),
        ("84", "5.75"),
    ] {
        assert!(read(longitude, clock).is_empty(), "{longitude} {clock}");
    }
    for (longitude, clock, write) in [
        ("105.2", "-7", "\"7 h\""),
        ("-105.2", "7", "\"-7 h\""),
        ("-3", "4", "\"0 h\""),
        ("-105.2", "0", "\"-7 h\""),
    ] {
        let mistakes = read(longitude, clock);
        let [mistake] = mistakes.as_slice() else { panic!("{longitude} {clock}: {mistakes:?}") };
        assert!(mistake.help.as_ref().is_some_and(|h| h.contains(write)), "{mistake:?}");
    }
}

/// On the bus as many controllers as it takes: whole strings are enough, and the nearest number of modules that makes some
/// is told.
#[test]
fn fixed_strings_stand_at_as_many_controllers_as_it_takes() {
    let read = |modules: u32| {
        let text = text().replace("modules = 10", &format!("modules = {modules}"));
        let (_, mistakes) = site::read(&SourceText::new("site.toml", &text));
        mistakes.into_iter().filter_map(|m| m.help).collect::<Vec<_>>()
    };
    for fine in [10, 15, 20, 25, 100] {
        assert!(read(fine).is_empty(), "{fine}");
    }
    for (modules, near) in [(16, "15 modules"), (18, "20 modules"), (5, "10 modules")] {
        let help = read(modules);
        assert!(matches!(help.as_slice(), [help] if help.starts_with(near)), "{modules}: {help:?}");
    }
}
