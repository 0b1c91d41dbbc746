//! Every drawing of every layout, way of the generator, bypass and earthing passes the audit.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are tests too

use catalog::{BypassKind, Catalog, LegControl};
use derivation::Known;
use drawing::{Drawing, Facts, Item, Layer, Live, State, SymbolKind, Texts, audit, drawings, dxf, svg};
use plant::full::{ArrayIn, DcGear, FullGear, FullPlant, GeneratorIn, build_full};
use plant::{ArraySide, GeneratorGear, Layout};
use proptest::prelude::*;
use quantity::{Current, VoltageSystem};
use site::Earthing;

const FAMILIES: [(&str, VoltageSystem); 4] = [
    ("demo-split-5k4", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::Wye120_208),
    ("demo-line-6k", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::TwoLegs120_208),
];

fn plant(
    catalog: &Catalog,
    layout: Layout,
    family: usize,
    way: usize,
    bypass: Option<BypassKind>,
    earthing: Earthing,
) -> FullPlant {
    many(catalog, layout, (family, 2), way, bypass, earthing, 0)
}

fn many(
    catalog: &Catalog,
    layout: Layout,
    (family, per_leg): (usize, u8),
    way: usize,
    bypass: Option<BypassKind>,
    earthing: Earthing,
    arrays: u8,
) -> FullPlant {
    let (family, system) = FAMILIES[family];
    let unit = catalog.units.get(family).unwrap();
    let legs = u8::try_from(system.legs().len()).unwrap();
    let one_leg = unit.leg_control == LegControl::OneLeg;
    let units = if one_leg { per_leg * legs } else { per_leg };
    let switch = catalog.transfer_switches.values().next().unwrap();
    let bypass = catalog.bypasses.values().find(|b| Some(b.kind) == bypass);
    let way = match way {
        0 => None,
        1 if unit.second_input.is_some() => Some(GeneratorGear::SecondInput),
        _ if layout == Layout::Islanded => Some(GeneratorGear::OnlyInput),
        _ => Some(GeneratorGear::SourceSwitch(switch)),
    };
    let amperes = |a: f64| Known::assumed("I", "rating", Current::of(a), "test");
    build_full(&FullGear {
        system,
        earthing,
        layout,
        unit,
        units,
        unit_breakers: plant::full::UnitBreakers::default(),
        most_a_leg: per_leg,
        on_legs: if one_leg { vec![per_leg; usize::from(legs)] } else { Vec::new() },
        run: None,
        chosen: std::collections::BTreeMap::new(),
        lengths: std::collections::BTreeMap::new(),
        arrays: (0..arrays).map(|k| array(catalog, k)).collect(),
        service: Some(amperes(200.0)),
        panel: amperes(100.0),
        transfer: (layout == Layout::Outboard).then_some(switch),
        inhibit: false,
        bypass: bypass.filter(|_| layout != Layout::Islanded),
        generator: way.map(|way| GeneratorIn { model: catalog.generators.values().next().unwrap(), way }),
        former: catalog.neutral_formers.values().next(),
        strings: Vec::new(),
        bank: (per_leg != 2).then_some(DcGear {
            strings: u32::from(per_leg),
            string_rating: None,
            unit_rating: None,
            unit_lockable: false,
            bus_rating: None,
        }),
    })
}

/// Every second one on the main panel, every third one locked out; one to four inverters.
fn array(catalog: &Catalog, k: u8) -> ArrayIn<'_> {
    ArrayIn {
        id: format!("array roof of a barn {k}"),
        model: catalog.array_inverters.values().next().unwrap(),
        inverters: 1 + k % 4,
        side: if k.is_multiple_of(2) { ArraySide::Backup } else { ArraySide::Main },
        run: None,
        locked_out: k.is_multiple_of(3),
    }
}

fn texts() -> Texts {
    Texts {
        site: "A <site> & \"more\"".to_owned(),
        revision: "A".to_owned(),
        date: None,
        demo: true,
        cautions: vec!["Work is done de-energised.".to_owned()],
    }
}

/// Normal operation on the utility, and an outage with every relay open and all gear that can stand on the group there.
fn states(plant: &FullPlant) -> Vec<State> {
    let normal: Vec<u8> = plant.gear.iter().map(|g| g.normal).collect();
    let moved = plant.gear.iter().zip(&normal).map(|(g, at)| match g.id.as_str() {
        "transfer" => 1,
        id if id.ends_with("relay") => 0,
        _ => *at,
    });
    let currents_a = plant.parts.iter().map(|p| (p.role(), [123.4, 98.7, 0.0, 45.6])).collect();
    let state = |name: &str, positions: Vec<u8>, forms: bool| State {
        name: name.to_owned(),
        situation: "utility here, generator away, transfer switch on the utility".to_owned(),
        positions,
        utility: !forms,
        generator: false,
        battery: true,
        forms,
        currents_a: std::collections::BTreeMap::clone(&currents_a),
        notes: Vec::new(),
    };
    vec![state("normal", normal.clone(), false), state("outage", moved.collect(), true)]
}

/// A plant, and nothing else known.
fn without(plant: &FullPlant) -> Facts {
    Facts {
        plant: plant.clone(),
        wires: Vec::new(),
        earthing: Vec::new(),
        states: Vec::new(),
        devices: std::collections::BTreeMap::new(),
        records: std::collections::BTreeMap::new(),
        residual: std::collections::BTreeMap::new(),
        outgoing: std::collections::BTreeMap::new(),
        wall: None,
        links: None,
        units: if plant.earthing == Earthing::Us { site::Units::Us } else { site::Units::Metric },
        texts: texts(),
    }
}

fn set(plant: &FullPlant) -> Vec<Drawing> {
    drawings(&Facts { states: states(plant), ..without(plant) })
}

#[test]
fn every_shape_passes_the_audit() {
    let catalog = catalog::demo().0.unwrap();
    let mut failed = std::collections::BTreeMap::<String, usize>::new();
    let mut looked = 0;
    for layout in [Layout::Inline, Layout::Outboard, Layout::Islanded] {
        for family in 0..FAMILIES.len() {
            for way in 0..3 {
                for bypass in [None, Some(BypassKind::ManualSwitch), Some(BypassKind::InterlockedBreakers)] {
                    for earthing in [Earthing::Us, Earthing::TnCS, Earthing::TnS, Earthing::Tt, Earthing::It]
                    {
                        let plant = plant(&catalog, layout, family, way, bypass, earthing);
                        for drawing in set(&plant) {
                            for wrong in audit(&drawing.scene, &drawing.expected) {
                                *failed.entry(format!("{}: {wrong}", drawing.name)).or_default() += 1;
                            }
                            let symbols = |legend: bool| {
                                let all = drawing.scene.symbols().filter(|s| (s.count == 0) == legend);
                                all.map(|s| s.kind).collect::<std::collections::BTreeSet<_>>()
                            };
                            assert_eq!(symbols(true), symbols(false), "the legend shows what is drawn");
                            if let Some(why) = off_the_middle(&drawing) {
                                *failed.entry(why).or_default() += 1;
                            }
                            roxmltree::Document::parse(&svg(&drawing.scene)).unwrap();
                        }
                        looked += 1;
                    }
                }
            }
        }
    }
    assert_eq!(looked, 540);
    assert!(failed.is_empty(), "{failed:#?}");
}

/// A site name may have 80 characters, and states are named after all that stands in them.
#[test]
fn long_names_and_titles_keep_to_the_title_block() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 2, Some(BypassKind::ManualSwitch), Earthing::Us);
    let words = "Juniper Hollow Veterinary and Large Animal Clinic with Stables, Kennels and Barn";
    assert_eq!(words.chars().count(), 80);
    let long = "outage, generator carries the panel, bypass on the utility, transfer switch on the group";
    let very = [long; 9].join(", ");
    for (name, title) in [
        (words.to_owned(), "normal"),
        (words.to_owned(), long),
        ("W".repeat(80), long),
        ("\u{e9}".repeat(80), &very),
        (words.to_owned(), &very),
    ] {
        let mut facts = Facts { states: states(&plant), ..without(&plant) };
        facts.texts.site.clone_from(&name);
        for state in &mut facts.states {
            state.name = format!("{title}, one unit out");
        }
        for drawing in drawings(&facts) {
            let wrong = audit(&drawing.scene, &drawing.expected);
            assert!(wrong.is_empty(), "{name}, {}: {wrong:#?}", drawing.scene.title);
            // lines of the block in their order: the name, then the title, whole as far as they have room
            let block = drawing.scene.sheet.width_mm - 10.0 - 104.0 + 3.0;
            let lines = drawing.scene.items.iter().filter_map(|item| match item {
                Item::Text { at, text, size_mm }
                    if (at.0 - block).abs() < 1e-6 && at.1 < drawing.scene.sheet.height_mm - 32.0 =>
                {
                    assert!(*size_mm >= 1.8);
                    Some(text.as_str())
                }
                _ => None,
            });
            let lines: Vec<&str> = lines.collect();
            let drawn = lines.join(" ");
            let whole = format!("{name} {}", drawing.scene.title);
            if name == words && title != very {
                assert_eq!(drawn, whole);
            } else if title == very && drawing.scene.title.starts_with("State") {
                assert!(drawn.ends_with("..."), "{drawn}");
            }
        }
    }
}

/// What is not followed is named all the same: the meter, other loads, panels behind a panel. Breakers of several units
/// have their numbers.
#[test]
fn what_is_not_followed_is_named() {
    let catalog = catalog::demo().0.unwrap();
    for layout in [Layout::Inline, Layout::Outboard] {
        let plant = plant(&catalog, layout, 1, 0, Some(BypassKind::ManualSwitch), Earthing::Tt);
        let outgoing = [("utility", "meter: outside"), ("main", "other loads"), ("backup", "panel \"dock\"")];
        let one = |(at, words): &(&str, &str)| ((*at).to_owned(), vec![(*words).to_owned()]);
        let outgoing = outgoing.iter().map(one).collect();
        let set = drawings(&Facts { outgoing, ..without(&plant) });
        let wrong = audit(&set[0].scene, &set[0].expected);
        assert!(wrong.is_empty(), "{wrong:#?}");
        let texts: Vec<&String> = set[0]
            .scene
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Text { text, .. } => Some(text),
                _ => None,
            })
            .collect();
        for words in ["meter: outside", "other loads", "panel \"dock\""] {
            assert_eq!(texts.iter().filter(|t| t.as_str() == words).count(), 1, "{words}");
        }
        assert!(texts.iter().any(|t| t.contains(".1 to .")), "{texts:?}");
    }
}

/// Residual current devices stand beside the breaker and the panel that they belong to.
#[test]
fn residual_current_devices_are_drawn() {
    let catalog = catalog::demo().0.unwrap();
    for layout in [Layout::Inline, Layout::Outboard, Layout::Islanded] {
        let plant = plant(&catalog, layout, 1, 0, Some(BypassKind::ManualSwitch), Earthing::Tt);
        let residual = [("backup.feeder", "RCD 100 mA type S"), ("backup", "RCD 30 mA")];
        let residual = residual.iter().map(|(at, words)| ((*at).to_owned(), (*words).to_owned())).collect();
        let set = drawings(&Facts { residual, states: states(&plant), ..without(&plant) });
        for drawing in &set {
            let wrong = audit(&drawing.scene, &drawing.expected);
            assert!(wrong.is_empty(), "{}: {wrong:#?}", drawing.name);
        }
        let at = |words: &str| {
            let texts = set[0].scene.items.iter().filter_map(|item| match item {
                Item::Text { at, text, .. } if text.starts_with(words) => Some(*at),
                _ => None,
            });
            texts.collect::<Vec<_>>()
        };
        let feeder = set[0].scene.symbols().find(|s| s.role.as_deref() == Some("backup.feeder")).unwrap().at;
        let (own, panel) = (at("RCD 100 mA type S"), at("RCD 30 mA"));
        assert_eq!((own.len(), panel.len()), (1, 1));
        assert!((own[0].1 - feeder.1).abs() < 8.0 && (own[0].0 - feeder.0).abs() < 40.0);
        assert!((panel[0].1 - at("backup panel")[0].1).abs() < 4.0);
    }
}

/// Room above and below what is drawn, where the one is larger than the other and neither is small.
fn off_the_middle(drawing: &Drawing) -> Option<String> {
    let head = drawing.scene.sheet.height_mm - 56.0;
    let heights = drawing.scene.items.iter().flat_map(|item| match item {
        Item::Symbol(s) => vec![s.at.1 - s.half_mm().1, s.at.1 + s.half_mm().1],
        Item::Line { points, layer, .. } if *layer != Layer::Frame => points.iter().map(|p| p.1).collect(),
        _ => Vec::new(),
    });
    let drawn = heights.filter(|y| *y < head).fold((f64::MAX, f64::MIN), |a, y| (a.0.min(y), a.1.max(y)));
    let (above, below) = (drawn.0 - 10.0, head - drawn.1);
    // words at the edge count for the sheets that have no like; tables of the grounding stand below its lines
    let most =
        if drawing.name.contains("single-line") || drawing.name.contains("state") { 0.5 } else { 12.0 };
    let off = (above - below).abs() > most && above.min(below) > 8.0 && !drawing.name.contains("grounding");
    off.then(|| format!("{}: {above:.1} mm above, {below:.1} mm below", drawing.name))
}

/// Sizes of what bonds and earths stand at their bond and at the electrode; the audit misses them where they do not.
#[test]
fn the_grounding_sheet_has_the_sizes_that_are_handed_in() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::ManualSwitch), Earthing::Us);
    let sized = |role: &str, name: &str, size: &str| design::EarthConductor {
        role: role.to_owned(),
        name: name.to_owned(),
        rule: "electrode-conductor",
        size: size.to_owned(),
        why: Known::assumed("A", "area", Current::of(1.0), "test").node().clone(),
    };
    let conductors = vec![
        sized("service.bond.jumper", "main bonding jumper", "2 AWG"),
        sized("service.electrode.conductor", "grounding electrode conductor of the service", "3 AWG"),
    ];
    let sheet = |earthing: Vec<design::EarthConductor>| {
        let facts = Facts { earthing, ..without(&plant) };
        drawings(&facts).into_iter().find(|d| d.name.contains("grounding")).unwrap()
    };
    let right = sheet(conductors);
    assert_eq!(audit(&right.scene, &right.expected), Vec::<String>::new());
    for (from, role) in [("2 AWG copper", "service.bond"), ("3 AWG copper: grounding", "electrode")] {
        let mut scene = right.scene.clone();
        let mut changed = 0;
        for item in &mut scene.items {
            if let Item::Text { text, .. } = item
                && text.starts_with(from)
            {
                *text = text.replace("AWG", "mm2");
                changed += 1;
            }
        }
        assert_eq!(changed, 1, "{from}");
        let wrong = audit(&scene, &right.expected).join("\n");
        assert!(wrong.contains(&format!("{role} is drawn without \"{}", &from[..5])), "{wrong}");
    }
    // none sized: the sheet says so
    let bare = sheet(Vec::new());
    let says = |d: &Drawing, words: &str| {
        d.scene.items.iter().any(|i| matches!(i, Item::Text { text, .. } if text.contains(words)))
    };
    assert!(says(&bare, "not sized here") && !says(&right, "not sized here"));
}

/// The audit finds what is put wrong on purpose.
#[test]
fn the_audit_sees_what_is_wrong() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::ManualSwitch), Earthing::Us);
    let set = set(&plant);
    let right = &set[0];
    let wrong = |change: &dyn Fn(&mut Vec<Item>)| {
        let mut scene = right.scene.clone();
        change(&mut scene.items);
        audit(&scene, &right.expected).join("\n")
    };
    let line = |points: &[(f64, f64)], layer| Item::Line { layer, points: points.to_vec(), live: None };
    let text = |at, size_mm| Item::Text { at, size_mm, text: "words".to_owned() };
    let is = |item: &Item, role: &str| matches!(item, Item::Symbol(s) if s.role.as_deref() == Some(role));
    let of = |role: &str| right.scene.symbols().find(|s| s.role.as_deref() == Some(role)).unwrap().clone();
    let first = right.scene.items.iter().find(|i| matches!(i, Item::Text { .. })).unwrap();
    assert_eq!(wrong(&|_| {}), "");
    assert!(wrong(&|all| all.push(first.clone())).contains("lies over"));
    assert!(wrong(&|all| all.push(text((380.0, 30.0), 1.5))).contains("smaller"));
    assert!(wrong(&|all| all.push(text((430.0, 30.0), 2.0))).contains("outside"));
    let loose = line(&[(380.0, 30.0), (390.0, 30.0)], Layer::Wire);
    assert!(wrong(&|all| all.push(loose.clone())).contains("meets nothing"));
    // a wire between two nets, one that is not there, and one at a slant
    let (input, dc) = (of("unit.input"), of("unit.dc"));
    let short = line(&[input.pins()[1], (dc.pins()[0].0, input.pins()[1].1), dc.pins()[0]], Layer::Wire);
    assert!(wrong(&|all| all.push(short.clone())).contains("are drawn as one net"));
    let cut = |all: &mut Vec<Item>| {
        let pin = input.pins()[1];
        all.retain(|i| !matches!(i, Item::Line { points, .. } if points.contains(&pin)));
    };
    assert!(wrong(&cut).contains("unit.input.breaker is drawn as 2 nets"));
    assert!(
        wrong(&|all| all.push(line(&[(300.0, 30.0), (310.0, 40.0)], Layer::Wire))).contains("right angle")
    );
    // symbols: twice, left out, in the wrong position, with another count
    assert!(
        wrong(&|all| all.push(Item::Symbol(of("backup.feeder"))))
            .contains("backup.feeder: 1 in the plant, 2 drawn")
    );
    let out = wrong(&|all| all.retain(|i| !is(i, "unit.dc")));
    assert!(
        out.contains("unit.dc: 2 in the plant, 0 drawn")
            && out.contains("terminal unit.dc:1 of the plant is not drawn")
    );
    let change = |role: &'static str, to: &'static dyn Fn(&mut drawing::Symbol)| {
        wrong(&|all| {
            for item in all {
                if let Item::Symbol(s) = item
                    && s.role.as_deref() == Some(role)
                {
                    to(s);
                }
            }
        })
    };
    assert!(change("transfer.group", &|s| s.closed = true).contains("transfer.group is drawn closed"));
    assert!(change("unit.relay", &|s| s.count = 1).contains("unit.relay: 2 in the plant, 1 drawn"));
    assert!(change("service", &|s| s.terminals.reverse()).contains("as one net"));
    // no linkage, no dots
    let unlinked = wrong(&|all| all.retain(|i| !matches!(i, Item::Link { .. })));
    assert!(unlinked.contains("move together and are not linked"));
    assert!(wrong(&|all| all.retain(|i| !matches!(i, Item::Dot { .. }))).contains("without a dot"));
    // a live line that is drawn dead
    let outage = &set[2];
    let mut scene = outage.scene.clone();
    let live = scene.items.iter_mut().find_map(|i| match i {
        Item::Line { live: live @ Some(Live::Group), .. } => Some(live),
        _ => None,
    });
    *live.unwrap() = Some(Live::Dead);
    assert!(audit(&scene, &outage.expected).join("\n").contains("is drawn as Some(Dead)"));
}

/// Entities of a DXF file: type, and all pairs of code and value up to the next.
fn entities(text: &str) -> Vec<(String, Vec<(u16, String)>)> {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "codes and values come in pairs");
    let pairs = lines.chunks(2).map(|pair| (pair[0].parse::<u16>().expect("a code"), pair[1].to_owned()));
    let mut all: Vec<(String, Vec<(u16, String)>)> = Vec::new();
    for (code, value) in pairs {
        match all.last_mut() {
            _ if code == 0 => all.push((value, Vec::new())),
            Some((_, pairs)) => pairs.push((code, value)),
            None => panic!("a file starts with a section"),
        }
    }
    all
}

/// What is drawn comes back out of the file: texts at their places, lines on their layers, every layer declared.
#[test]
fn dxf_reads_back_as_it_was_drawn() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::InterlockedBreakers), Earthing::Us);
    for drawing in set(&plant) {
        let scene = &drawing.scene;
        let file = dxf(scene);
        assert!(file.is_ascii());
        let all = entities(&file);
        let value = |pairs: &[(u16, String)], code: u16| {
            pairs.iter().find(|(c, _)| *c == code).map(|(_, v)| v.clone()).unwrap_or_default()
        };
        let number = |pairs: &[(u16, String)], code: u16| value(pairs, code).parse::<f64>().unwrap();
        let of =
            |kind: &str| all.iter().filter(|(k, _)| k == kind).map(|(_, p)| p.clone()).collect::<Vec<_>>();
        let texts: Vec<(f64, f64, String)> = of("TEXT")
            .iter()
            .map(|p| (number(p, 10), scene.sheet.height_mm - number(p, 20), value(p, 1)))
            .collect();
        let drawn = scene.items.iter().filter_map(|i| match i {
            Item::Text { at, text, .. } => Some((at.0, at.1, text.clone())),
            _ => None,
        });
        for (text, drawn) in texts.iter().zip(drawn) {
            assert!((text.0 - drawn.0).abs() < 1e-3 && (text.1 - drawn.1).abs() < 1e-3, "{text:?} {drawn:?}");
            assert_eq!(text.2, drawn.2);
        }
        let strokes: usize = scene
            .items
            .iter()
            .map(|i| match i {
                Item::Symbol(s) => s.strokes().len(),
                Item::Text { .. } => 0,
                _ => 1,
            })
            .sum();
        assert_eq!(of("POLYLINE").len(), strokes);
        assert_eq!(of("SEQEND").len(), strokes);
        let layers: Vec<String> = of("LAYER").iter().map(|p| value(p, 2)).collect();
        for kind in ["POLYLINE", "VERTEX", "SEQEND", "TEXT"] {
            for entity in of(kind) {
                assert!(layers.contains(&value(&entity, 8)), "{kind} on an unknown layer");
            }
        }
        assert_eq!(all.last().unwrap().0, "EOF");
    }
}

#[test]
fn the_same_plant_gives_the_same_bytes() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::InterlockedBreakers), Earthing::Us);
    let files = || -> Vec<String> {
        set(&plant).iter().flat_map(|d| [d.name.clone(), svg(&d.scene), dxf(&d.scene)]).collect()
    };
    assert_eq!(files(), files());
    assert!(files().iter().any(|f| f.contains("A &lt;site&gt; &amp; &quot;more&quot;")));
}

#[test]
fn a_single_line_diagram_stays_as_it_was() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Inline, 1, 2, Some(BypassKind::ManualSwitch), Earthing::TnS);
    insta::assert_snapshot!("single-line", svg(&set(&plant)[0].scene));
}

/// Arrays stand on the single-line diagram while they find room there, then on sheets of their own; each part once.
#[test]
fn arrays_are_drawn() {
    let catalog = catalog::demo().0.unwrap();
    for (arrays, sheets) in [(5, 0), (8, 2), (50, 4)] {
        let plant =
            many(&catalog, Layout::Outboard, (0, 2), 1, Some(BypassKind::ManualSwitch), Earthing::Us, arrays);
        let set = set(&plant);
        assert_eq!(set.iter().filter(|d| d.name.contains("arrays")).count(), sheets, "{arrays}");
        let drawn: usize = set
            .iter()
            .filter(|d| d.name.contains("single-line") || d.name.contains("arrays"))
            .flat_map(|d| d.scene.symbols().filter(|s| s.kind == SymbolKind::Inverter))
            .map(|s| s.count)
            .sum();
        assert_eq!(drawn, plant.followers.len());
        for drawing in &set {
            assert_eq!(audit(&drawing.scene, &drawing.expected), Vec::<String>::new(), "{}", drawing.name);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any number of units, any positions of the gear, any sources: every drawing passes its audit.
    #[test]
    fn random_plants_pass_the_audit(
        layout in 0_usize..3, family in 0_usize..4, way in 0_usize..3, bypass in 0_usize..3, earthing in 0_usize..5,
        per_leg in 1_u8..=18, arrays in 0_u8..9, moved in proptest::collection::vec(0_u8..3, 200), sources in any::<[bool; 4]>(),
        amperes in 0.0_f64..2000.0,
    ) {
        let catalog = catalog::demo().0.unwrap();
        let layout = [Layout::Inline, Layout::Outboard, Layout::Islanded][layout];
        let bypass = [None, Some(BypassKind::ManualSwitch), Some(BypassKind::InterlockedBreakers)][bypass];
        let earthing = [Earthing::Us, Earthing::TnCS, Earthing::TnS, Earthing::Tt, Earthing::It][earthing];
        let plant = many(&catalog, layout, (family, per_leg), way, bypass, earthing, arrays);
        let positions = plant.gear.iter().zip(moved.iter().cycle());
        let positions = positions.map(|(g, at)| at % u8::try_from(g.positions.len()).unwrap()).collect();
        let state = State {
            name: "any state".to_owned(),
            situation: "anything".to_owned(),
            positions,
            utility: sources[0],
            generator: sources[1],
            battery: sources[2],
            forms: sources[2] && sources[3],
            currents_a: plant.parts.iter().filter(|p| !p.role().contains("dc")).map(|p| (p.role(), [amperes; 4])).collect(),
            notes: Vec::new(),
        };
        let facts = Facts { states: vec![state], ..without(&plant) };
        for drawing in drawings(&facts) {
            let wrong = audit(&drawing.scene, &drawing.expected);
            prop_assert!(wrong.is_empty(), "{}: {wrong:#?}", drawing.name);
        }
    }
}
