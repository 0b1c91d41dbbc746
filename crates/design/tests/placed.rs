//! The finished design in its place: where its battery stands, and the labels of what is built.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{Design, design};
use quantity::Quantity;
use support::{Text, World, failing, ids};

fn lead(rest: &str) -> World {
    let mut text = Text::split("demo-split-5k4").load_with(
        "heat",
        "L1-L2",
        "power = \"2 kW\"\npower_factor = 1",
        "runs = \"4 h/day\"",
    );
    text.rest = format!("[battery]\nmodel = \"demo-fla-2v-1000\"\ncount = 1\n{rest}");
    text.group("count = 2").world()
}

/// Cells that give off hydrogen stand somewhere: not said, said to be elsewhere, said to be before the units' wall.
#[test]
fn hydrogen_is_not_credited_to_the_units_room_without_a_word() {
    let said = |rest: &str| {
        let world = lead(rest);
        let prepared = world.prepared();
        ids(&design(&prepared)).contains(&"battery-place-unstated")
    };
    let wall = |more: &str| format!("[wall]\nwidth = \"9 m\"\nheight = \"2.4 m\"\n{more}");
    assert!(said("") && said(&wall("")) && said(&wall("battery = false")));
    assert!(!said(&wall("battery = true")));
}

fn labels<'d>(design: &'d Design<'_>) -> Vec<&'d str> {
    design.code.labels.iter().map(|label| label.key.as_str()).collect()
}

#[test]
fn labels_follow_what_is_built() {
    let of = |text: &str| {
        let world = World::read(text);
        let prepared = world.prepared();
        labels(&design(&prepared)).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    let example = |name: &str| {
        let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
        of(&std::fs::read_to_string(path).unwrap())
    };
    let array = ["array-disconnect", "array-rapid-shutdown-switch", "array-voltage", "array-wiring"];
    let (roof, none) = (example("veterinary-practice"), example("farmhouse"));
    for key in array {
        assert!(roof.iter().any(|k| k == key) && !none.iter().any(|k| k == key), "{key}");
    }
    // chosen lead-acid cells stand under another article than lithium
    let world = lead("");
    let prepared = world.prepared();
    assert!(!labels(&design(&prepared)).contains(&"storage-disconnect"));
}

/// Devices of the units, busbar and controllers hang on the wall beside the units; those of the strings stand with the
/// battery. A record without a footprint is said, never left out.
#[test]
fn the_gear_of_the_dc_side_is_on_the_wall() {
    let path = format!("{}/../../examples/creamery/site.toml", env!("CARGO_MANIFEST_DIR"));
    let mut world = World::read(&std::fs::read_to_string(path).unwrap());
    let of = |world: &World| {
        let prepared = world.prepared();
        let design = design(&prepared);
        let wall = design.placed.as_ref().unwrap().wall.as_ref().unwrap();
        let gear: Vec<String> = wall
            .items
            .iter()
            .map(|i| &i.item)
            .chain(&wall.left_over)
            .filter(|i| i.kind == place::GearKind::DcGear)
            .map(|i| i.part.clone())
            .collect();
        let units = design.case.formation.units() as usize;
        (gear, units, failing(&design).join(" "))
    };
    let (gear, units, failing) = of(&world);
    let starts = |with: &str| gear.iter().filter(|part| part.starts_with(with)).count();
    assert_eq!((starts("unit "), starts("DC busbar"), starts("string ")), (units, 1, 0), "{gear:?}");
    assert_eq!((starts("array dairy roof controller"), starts("array barn roof controller")), (1, 1));
    assert!(!failing.contains("wall-too-small") && !failing.contains("footprint-missing"), "{failing}");
    for controller in world.catalog.controllers.values_mut() {
        controller.footprint = None;
    }
    let (gear, _, failing) = of(&world);
    assert!(gear.iter().all(|part| !part.contains("controller")) && failing.contains("footprint-missing"));
}

/// Each device of the direct-current side of the plant is on the wall, found no place on it, or is named as not placed;
/// nothing is there twice.
#[test]
fn every_device_of_an_array_is_placed_or_named() {
    let example = |name: &str| {
        let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).unwrap()
    };
    // four strings at one controller need a device each
    let strings = example("field-station").replacen(
        "\nstrings = \"choose\"\nper_string = \"choose\"",
        "\nstrings = 4\nper_string = 3",
        1,
    );
    let mut found = 0;
    for text in [example("creamery"), example("veterinary-practice"), strings] {
        let mut world = World::read(&text);
        for bare in [false, true] {
            if bare {
                for device in world.catalog.dc_devices.values_mut().filter(|d| d.id.contains("array")) {
                    device.footprint = None;
                }
            }
            let prepared = world.prepared();
            let design = design(&prepared);
            let wall = design.placed.as_ref().unwrap().wall.as_ref().unwrap();
            let placed = wall.items.iter().map(|i| &i.item.part);
            let rest = wall.left_over.iter().map(|i| &i.part).chain(wall.not_placed.iter().map(|(p, _)| p));
            let mut all: Vec<&String> = placed
                .chain(rest)
                .filter(|p| p.starts_with("array ") && !p.contains(" controller "))
                .collect();
            let count = all.len();
            all.sort();
            all.dedup();
            assert_eq!(all.len(), count, "{all:?}");
            let plant = assess::full_plant(&design.case);
            let direct = |n: plant::NodeIx| plant.nodes[n.0].kind == plant::full::NodeKind::Dc;
            let devices = plant.parts.iter().filter(|p| {
                p.kind == plant::full::PartKind::Breaker && direct(p.from) && p.id.starts_with("array ")
            });
            assert_eq!(devices.count(), count, "{all:?}");
            let named = wall.not_placed.iter().filter(|(_, why)| why.contains("no footprint")).count();
            assert_eq!(named > 0, bare, "{:?}", wall.not_placed);
            let missing = design.failing().filter(|f| f.id == "footprint-missing");
            assert_eq!(missing.count(), named);
            found += count;
        }
    }
    // two arrays at two sites, and six devices at the last, each once with and once without footprints
    assert_eq!(found, 2 * (4 + 4 + 6), "{found}");
}

/// The cable of a unit goes by way of its device to the busbar: counted is the longest of them, taken here from the plan.
#[test]
fn cables_of_units_reach_on_the_wall() {
    let path = format!("{}/../../examples/veterinary-practice/site.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let world = World::read(&text);
    let prepared = world.prepared();
    let design = design(&prepared);
    let wall = design.placed.as_ref().unwrap().wall.as_ref().unwrap();
    let middle = |part: &str| {
        let body = &wall.items.iter().find(|i| i.item.part == part).unwrap().body;
        [body.left.si() + body.width.si() / 2.0, body.bottom.si() + body.height.si() / 2.0]
    };
    let apart =
        |a: &str, b: &str| -> f64 { middle(a).iter().zip(middle(b)).map(|(a, b)| (a - b).abs()).sum() };
    let ways = (1..=design.case.formation.units()).map(|k| {
        let device = format!("unit {k} DC device");
        apart(&format!("unit {k}"), &device) + apart(&device, "DC busbar") + 0.6
    });
    let longest = ways.fold(0.0, f64::max);
    let wire = design.wires.iter().find(|w| w.role == "unit.dc.conductor").unwrap();
    let counted = wire.length.value().si();
    assert!(counted >= longest && counted < longest + 0.5, "{counted} m, {longest} m");
    // looked for with short cables: a busbar at one end of the wall would ask for twice as much
    assert!(longest > 2.0 && longest < 4.0, "{longest}");
    assert!(!ids(&design).contains(&"run-shorter-than-wall"));
    // stated shorter than that
    let short = format!("{text}\n[[conductor]]\npart = \"unit.dc.conductor\"\nlength = \"2 m\"\n");
    let world = World::read(&short);
    let prepared = world.prepared();
    assert!(ids(&crate::design(&prepared)).contains(&"run-shorter-than-wall"));
}

/// Between busbar and device nothing of the device's size is ahead: said of the longest such run, taken here from the plan,
/// and of none where the devices stand beside the bar.
#[test]
fn devices_off_the_busbar_are_said() {
    let of = |example: &str| {
        let path = format!("{}/../../examples/{example}/site.toml", env!("CARGO_MANIFEST_DIR"));
        let world = World::read(&std::fs::read_to_string(path).unwrap());
        let prepared = world.prepared();
        let design = design(&prepared);
        let wall = design.placed.as_ref().unwrap().wall.as_ref().unwrap();
        let edges = |part: &str| {
            let b = &wall.items.iter().find(|i| i.item.part == part).unwrap().body;
            [(b.left.si(), b.width.si()), (b.bottom.si(), b.height.si())]
        };
        let bar = edges("DC busbar");
        let gaps = |part: &str| -> Vec<f64> {
            let gap =
                |(a, wide): (f64, f64), (b, other): (f64, f64)| (b - a - wide).max(a - b - other).max(0.0);
            edges(part).into_iter().zip(bar).map(|(a, b)| gap(a, b)).collect()
        };
        let parts = wall.items.iter().map(|i| i.item.part.as_str());
        let devices = parts.filter(|p| p.ends_with(" DC device") || p.contains(" output device "));
        let apart = devices.map(gaps).filter(|gap| gap.iter().any(|g| *g > 0.15));
        let longest = apart.map(|gap| gap.iter().sum::<f64>() + 0.6).fold(0.0, f64::max);
        let said = design.assessed.ledger.findings.iter().find(|f| f.id == "device-off-busbar");
        let said = said.map(|f| (f.severity, f.value.as_ref().unwrap().amount.si));
        (longest, said)
    };
    let (longest, said) = of("veterinary-practice");
    let (severity, way) = said.unwrap();
    assert!((way - longest).abs() < 1e-9 && longest > 0.75, "{way} {longest}");
    assert_eq!(severity, if way > 3.048 { finding::Severity::Error } else { finding::Severity::Warning });
    assert_eq!(of("farmhouse"), (0.0, None));
}
