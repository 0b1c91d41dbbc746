//! Wall and links as sheets: what is planned passes the audit, whatever the gear, and what is drawn wrong does not.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are tests too

use std::collections::BTreeMap;

use catalog::{Catalog, LinkShape};
use derivation::Known;
use drawing::{Drawing, Facts, Item, Texts, audit, drawings};
use place::link::{LinkCase, LinkPlan};
use place::wall::{WallCase, WallPlan};
use place::{GearKind, link, wall};
use plant::Layout;
use plant::full::{FullGear, build_full};
use proptest::prelude::*;
use quantity::{Current, Length, PhaseVoltage, VoltageSystem};
use reading::SourceText;
use site::{Earthing, Site, Units};

fn site_of(rest: &str) -> Site {
    let text = format!(
        "format = 1\n[site]\nname = \"Test\"\naltitude = \"0 m\"\n\
         temperature = {{ lowest = \"-10 degC\", high = \"35 degC\", room = \"40 degC\" }}\n\
         [service]\nkind = \"120/240 V split-phase\"\nrating = \"200 A\"\nfault_current = \"4 kA\"\nearthing = \"US\"\n\
         [[panel]]\nid = \"main\"\n[[panel]]\nid = \"backup\"\nfed_from = \"main\"\n\
         [[load]]\nname = \"heat\"\npanel = \"backup\"\nlegs = \"any\"\npower = \"1 kW\"\nruns = \"2 h/day\"\n\
         [group]\nunit = \"demo-split-5k4\"\npanel = \"backup\"\n{rest}\n"
    );
    site::read(&SourceText::new("site.toml", &text)).0.unwrap_or_else(|| panic!("not read:\n{text}"))
}

/// Gear of a wall: units, then one of each kind, then battery modules.
fn gear(catalog: &Catalog, units: u32, batteries: u32) -> Vec<place::Item> {
    let unit = &catalog.units["demo-split-5k4"];
    let item = |part: String, kind| place::Item {
        part,
        record: unit.id.clone(),
        name: unit.name.clone(),
        kind,
        footprint: unit.footprint.clone(),
        place: None,
    };
    let mut all: Vec<place::Item> = (1..=units).map(|k| item(format!("unit {k}"), GearKind::Unit)).collect();
    all.push(item("backup panel".to_owned(), GearKind::Panel));
    all.push(item("transfer switch".to_owned(), GearKind::TransferSwitch));
    all.extend((1..=batteries).map(|k| item(format!("battery {k}"), GearKind::Battery)));
    all
}

fn wall_of(catalog: &Catalog, site: &Site, units: u32, batteries: u32) -> WallPlan {
    wall::plan(&WallCase {
        site,
        items: gear(catalog, units, batteries),
        without_footprint: Vec::new(),
        elsewhere: Vec::new(),
        cables: Vec::new(),
        to_ground: Known::assumed("U", "voltage to ground", PhaseVoltage::of(120.0), "test"),
        gas: None,
        depth: wall::Depth::AsTheCode,
    })
    .expect("there is gear")
}

/// Units in a row, half a metre apart; without a place where the last word says so.
fn links_of(catalog: &Catalog, site: &Site, shape: LinkShape, units: u32, placed: bool) -> LinkPlan {
    let mut unit = catalog.units["demo-split-10k"].clone();
    for link in &mut unit.links {
        link.shape = shape;
        link.several = true;
    }
    let port = |k: u32| placed.then(|| (Length::of(0.5 * f64::from(k)), Length::of(1.0)));
    link::plan(&LinkCase { site, unit: &unit, units, ports: (0..units).map(port).collect() })
}

fn facts(catalog: &Catalog, wall: Option<WallPlan>, links: Option<LinkPlan>, units: Units) -> Facts {
    let amperes = |a: f64| Known::assumed("I", "rating", Current::of(a), "test");
    let plant = build_full(&FullGear {
        system: VoltageSystem::Split120_240,
        earthing: if units == Units::Us { Earthing::Us } else { Earthing::TnS },
        layout: Layout::Inline,
        unit: &catalog.units["demo-split-5k4"],
        units: 1,
        unit_breakers: plant::full::UnitBreakers::default(),
        most_a_leg: 1,
        on_legs: Vec::new(),
        run: None,
        chosen: BTreeMap::new(),
        lengths: BTreeMap::new(),
        arrays: Vec::new(),
        strings: Vec::new(),
        service: Some(amperes(200.0)),
        panel: amperes(100.0),
        transfer: None,
        inhibit: false,
        bypass: None,
        generator: None,
        former: None,
        bank: None,
    });
    let texts = Texts { site: "Test".to_owned(), revision: "A".to_owned(), ..Texts::default() };
    Facts {
        plant,
        wires: Vec::new(),
        earthing: Vec::new(),
        states: Vec::new(),
        devices: BTreeMap::new(),
        records: BTreeMap::new(),
        residual: BTreeMap::new(),
        outgoing: BTreeMap::new(),
        wall,
        links,
        units,
        texts,
    }
}

fn sheets(facts: &Facts, name: &str) -> Vec<Drawing> {
    drawings(facts).into_iter().filter(|d| d.name.contains(name)).collect()
}

/// A sheet with something changed, held against what it has to show.
fn spoilt(right: &Drawing, change: &dyn Fn(&mut Vec<Item>)) -> String {
    let mut scene = right.scene.clone();
    change(&mut scene.items);
    audit(&scene, &right.expected).join("\n")
}

/// Writes another text where one stands.
fn reworded(items: &mut [Item], from: &str, to: &str) {
    let mut found = 0;
    for item in items {
        if let Item::Text { text, .. } = item
            && text == from
        {
            to.clone_into(text);
            found += 1;
        }
    }
    assert!(found > 0, "no text \"{from}\"");
}

#[test]
fn the_audit_sees_what_is_wrong_on_the_wall() {
    let (catalog, site) = (
        catalog::demo().0.unwrap(),
        site_of(
            "[wall]\nwidth = \"4 m\"\nheight = \"2.4 m\"\nin_front = \"2 m\"\nstuds = \"16 in\"\nfixing = \"60 kg\"\n\
             obstacle = [{ kind = \"window\", left = \"3.2 m\", bottom = \"1 m\", width = \"0.6 m\", height = \"1 m\" }]",
        ),
    );
    let plan = wall_of(&catalog, &site, 3, 0);
    assert!(plan.left_over.is_empty(), "{:?}", plan.held.findings);
    let all = sheets(&facts(&catalog, Some(plan), None, Units::Us), "wall");
    let [right] = all.as_slice() else { panic!("one sheet") };
    let wrong = |change: &dyn Fn(&mut Vec<Item>)| spoilt(right, change);
    let of = |item: &Item, part: &str| matches!(item, Item::Outline { role, .. } if role == part);
    let moved = |part: &'static str, by: (f64, f64)| {
        wrong(&|all| {
            for item in all.iter_mut().filter(|i| of(i, part)) {
                if let Item::Outline { points, .. } = item {
                    points.iter_mut().for_each(|p| *p = (p.0 + by.0, p.1 + by.1));
                }
            }
        })
    };
    assert_eq!(wrong(&|_| {}), "");
    // 2 mm on paper at 1/2 in = 1 ft are 48 mm on the wall
    for by in [(2.0, 0.0), (0.0, -2.0), (0.4, 0.0)] {
        assert!(moved("unit 2", by).contains("unit 2 is not where or not as large as the plan has it"));
    }
    assert!(moved("obstacle 1", (-1.0, 0.0)).contains("obstacle 1 is not where"));
    assert!(moved("unit 2", (-14.0, 0.0)).contains("is drawn over"));
    // one larger than the others
    let larger = wrong(&|all| {
        for item in all.iter_mut().filter(|i| of(i, "backup panel")) {
            if let Item::Outline { points, .. } = item {
                points[2].1 += 1.0;
                points[3].1 += 1.0;
            }
        }
    });
    assert!(larger.contains("backup panel is not where or not as large"), "{larger}");
    // left out, twice, something that is not there
    assert!(wrong(&|all| all.retain(|i| !of(i, "unit 3"))).contains("unit 3 of the plan is not drawn once"));
    let twice = wrong(&|all| all.extend(all.clone().into_iter().filter(|i| of(i, "unit 3"))));
    assert!(twice.contains("unit 3 of the plan is not drawn once"));
    let named = |all: &mut Vec<Item>| {
        for item in all.iter_mut() {
            if let Item::Outline { role, .. } = item
                && role == "unit 3"
            {
                "unit 9".clone_into(role);
            }
        }
    };
    assert!(wrong(&named).contains("unit 9 is not in the plan"));
    // numbers swapped between two housings, a wrong figure in the list, a row that is missing
    let number = |items: &[Item], part: &str| -> String {
        let words =
            items.iter().filter_map(|i| if let Item::Text { text, .. } = i { Some(text) } else { None });
        words.filter(|t| t.ends_with(part)).min_by_key(|t| t.len()).unwrap().clone()
    };
    let (one, two) = (number(&right.scene.items, " unit 1"), number(&right.scene.items, " unit 2"));
    let swapped = wrong(&|all| {
        reworded(all, &one, "for a moment");
        reworded(all, &two, &one);
        reworded(all, "for a moment", &two);
    });
    assert!(
        swapped.contains("unit 1 is drawn without") && swapped.contains("unit 2 is drawn without"),
        "{swapped}"
    );
    let row = right.expected.rows[0].clone();
    assert!(row.len() >= 7, "{row:?}");
    for cell in &row[3..] {
        let text = wrong(&|all| reworded(all, cell, "1.0 in"));
        assert!(text.contains("the list has no row"), "{cell}");
    }
}

#[test]
fn the_audit_sees_what_is_wrong_in_the_links() {
    let (catalog, site) = (catalog::demo().0.unwrap(), site_of(""));
    for shape in [LinkShape::DaisyChain, LinkShape::Star, LinkShape::Bus] {
        let plan = links_of(&catalog, &site, shape, 4, true);
        let link = plan.links[0].clone();
        let all = sheets(&facts(&catalog, None, Some(plan), Units::Metric), "links");
        let [right] = all.as_slice() else { panic!("one sheet") };
        let wrong = |change: &dyn Fn(&mut Vec<Item>)| spoilt(right, change);
        assert_eq!(wrong(&|_| {}), "", "{shape:?}");
        let is = |item: &Item, role: &str| matches!(item, Item::Symbol(s) if s.role.as_deref() == Some(role));
        let cable = &link.cables[1];
        let pin = |part: &str, terminal: &str| -> (f64, f64) {
            let role = format!("{}/{part}", link.name);
            let symbol = right.scene.symbols().find(|s| s.role.as_deref() == Some(&role)).unwrap();
            let k = symbol.terminals.iter().position(|t| *t == format!("{role}:{terminal}")).unwrap();
            symbol.pins()[k]
        };
        // a cable that is left out
        let (from, to) = (pin(&cable.from, &cable.name), pin(&cable.to, &cable.name));
        let cut = wrong(&|all| {
            all.retain(
                |i| !matches!(i, Item::Line { points, .. } if points.contains(&from) && points.contains(&to)),
            );
        });
        assert!(cut.contains(&format!("{} is drawn as 2 nets", cable.name)), "{cut}");
        // a unit that is left out, or there twice
        let device = format!("{}/{}", link.name, link.devices[2].part);
        let out = wrong(&|all| all.retain(|i| !is(i, &device)));
        assert!(out.contains(&format!("{device}: 1 in the plant, 0 drawn")), "{out}");
        assert!(out.contains("of the plant is not drawn"), "{out}");
        let twice = wrong(&|all| all.extend(all.clone().into_iter().filter(|i| is(i, &device))));
        assert!(twice.contains(&format!("{device}: 1 in the plant, 2 drawn")));
        // a cable that ends at the wrong port
        let crossed = wrong(&|all| {
            for item in all.iter_mut() {
                if let Item::Symbol(s) = item {
                    let name = format!("{device}:");
                    for t in s.terminals.iter_mut().filter(|t| t.starts_with(&name)) {
                        *t = format!("{device}:data 9.9");
                    }
                }
            }
        });
        assert!(crossed.contains("data 9.9 is drawn and not in the plant"), "{crossed}");
        // wrong address, addresses swapped, another unit leads
        let texts = |number: u32| -> Vec<String> {
            let all = right.scene.items.iter();
            let texts = all.filter_map(|i| if let Item::Text { text, .. } = i { Some(text) } else { None });
            texts.filter(|t| t.ends_with(&format!("address {number}"))).cloned().collect()
        };
        let address = |k: usize| link.devices[k].address.unwrap();
        let [second, third] = [1, 2].map(|k| texts(address(k)).pop().unwrap());
        assert!(wrong(&|all| reworded(all, &second, "address 7")).contains("is drawn without \"address"));
        let swapped = wrong(&|all| {
            reworded(all, &second, "for a moment");
            reworded(all, &third, &second);
            reworded(all, "for a moment", &third);
        });
        assert_eq!(swapped.matches("is drawn without \"address").count(), 2, "{shape:?}: {swapped}");
        if shape != LinkShape::Star {
            let lead = wrong(&|all| reworded(all, "LEADS", "follows"));
            assert!(lead.contains("is drawn without \"LEADS\""), "{lead}");
            // without its terminator an end is open
            let ends = wrong(&|all| {
                all.retain(|i| !matches!(i, Item::Symbol(s) if s.role.as_deref().is_some_and(|r| r.ends_with("terminator"))))
            });
            assert!(ends.contains("terminator: 1 in the plant, 0 drawn"), "{ends}");
        }
        // a length that is not the plan's
        let text = dossier::to_order(Units::Metric, cable.length.value());
        assert!(wrong(&|all| reworded(all, &text, "0.1 m")).contains("the list has no row"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any wall with any number of pieces, in either units: the sheet passes its audit, and everything planned is on it.
    #[test]
    fn random_walls_pass_the_audit(
        units in 1_u32..=18, batteries in 0_u32..=40, stated in any::<bool>(), us in any::<bool>(),
        width in 1.0_f64..24.0, height in 1.7_f64..4.0, studs in 0_usize..3, window in proptest::option::of(0.0_f64..0.8),
    ) {
        let catalog = catalog::demo().0.unwrap();
        let studs = ["", "studs = \"16 in\"\n", "studs = \"600 mm\"\nfirst_stud = \"300 mm\"\n"][studs];
        let window = window.map_or(String::new(), |at| format!(
            "obstacle = [{{ kind = \"window\", left = \"{:.2} m\", bottom = \"1 m\", width = \"{:.2} m\", height = \"0.6 m\" }}]\n",
            at * width, 0.15 * width
        ));
        let text = format!("[wall]\nwidth = \"{width:.2} m\"\nheight = \"{height:.2} m\"\nin_front = \"1.5 m\"\nfixing = \"80 kg\"\n{studs}{window}");
        let site = site_of(if stated { &text } else { "" });
        let plan = wall_of(&catalog, &site, units, batteries);
        let planned = plan.items.len();
        let as_units = if us { Units::Us } else { Units::Metric };
        let all = sheets(&facts(&catalog, Some(plan), None, as_units), "wall");
        prop_assert_eq!(all.len(), 1);
        for sheet in &all {
            let wrong = audit(&sheet.scene, &sheet.expected);
            prop_assert!(wrong.is_empty(), "{wrong:#?}");
            let drawn = sheet.scene.items.iter().filter(|i| matches!(i, Item::Outline { role, .. } if !role.starts_with("obstacle")));
            prop_assert_eq!(drawn.count(), planned);
        }
    }

    /// Any number of units on links of any shape, with and without a place: the sheets pass, and each cable is on one.
    #[test]
    fn random_links_pass_the_audit(units in 2_u32..=54, shape in 0_usize..3, placed in any::<bool>(), us in any::<bool>()) {
        let catalog = catalog::demo().0.unwrap();
        let shape = [LinkShape::DaisyChain, LinkShape::Star, LinkShape::Bus][shape];
        let site = site_of("");
        let plan = links_of(&catalog, &site, shape, units, placed);
        let cables: Vec<String> = plan.links.iter().flat_map(|l| &l.cables).map(|c| c.name.clone()).collect();
        let as_units = if us { Units::Us } else { Units::Metric };
        let all = sheets(&facts(&catalog, None, Some(plan), as_units), "links");
        for sheet in &all {
            let wrong = audit(&sheet.scene, &sheet.expected);
            prop_assert!(wrong.is_empty(), "{}: {wrong:#?}", sheet.name);
        }
        for name in &cables {
            let on = all.iter().filter(|s| s.expected.rows.iter().any(|row| row[0] == *name)).count();
            prop_assert_eq!(on, 1, "{} is on {} sheets", name, on);
            // its name stands whole in the list
            let whole = |i: &Item| matches!(i, Item::Text { text, .. } if text == name);
            prop_assert!(all.iter().any(|s| s.scene.items.iter().any(whole)), "{} is cut", name);
        }
    }
}
