//! Sites with a room, a wall and links, written as a user writes them. All data are invented.
#![allow(dead_code)] // each test file takes what it needs

use catalog::Catalog;
use finding::Finding;
use place::{GearKind, Item};
use reading::{SourceText, render};
use site::Site;

/// A small US site with something more in its file.
pub fn site(rest: &str) -> Site {
    with(
        "120/240 V split-phase",
        "US",
        "{ lowest = \"-10 degC\", high = \"35 degC\", room = \"40 degC\" }",
        rest,
    )
}

pub fn with(system: &str, earthing: &str, temperature: &str, rest: &str) -> Site {
    let text = format!(
        "format = 1\n[site]\nname = \"Test\"\naltitude = \"0 m\"\ntemperature = {temperature}\n[service]\nkind = \"{system}\"\n\
         rating = \"200 A\"\nfault_current = \"4 kA\"\nearthing = \"{earthing}\"\n[[panel]]\nid = \"main\"\n[[panel]]\nid = \"backup\"\nfed_from = \"main\"\n\
         [[load]]\nname = \"heat\"\npanel = \"backup\"\nlegs = \"any\"\npower = \"1 kW\"\nruns = \"2 h/day\"\n\
         [group]\nunit = \"demo-split-5k4\"\npanel = \"backup\"\n{rest}\n"
    );
    let source = SourceText::new("site.toml", &text);
    let (site, mistakes) = site::read(&source);
    let shown: Vec<String> =
        mistakes.iter().map(|m| render(m, std::slice::from_ref(&source), false)).collect();
    site.unwrap_or_else(|| panic!("{}\n{text}", shown.join("\n")))
}

pub fn catalog() -> Catalog {
    catalog::demo().0.expect("the demo catalogue is sound")
}

pub fn units(catalog: &Catalog, id: &str, n: u32) -> Vec<Item> {
    let unit = &catalog.units[id];
    (1..=n)
        .map(|k| Item {
            part: format!("unit {k}"),
            record: unit.id.clone(),
            name: unit.name.clone(),
            kind: GearKind::Unit,
            footprint: unit.footprint.clone(),
            place: None,
        })
        .collect()
}

pub fn ids(findings: &[Finding]) -> Vec<&'static str> {
    let mut ids: Vec<&str> = findings.iter().map(|f| f.id).collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

pub fn failing(findings: &[Finding]) -> Vec<&'static str> {
    let mut ids: Vec<&str> = findings.iter().filter(|f| f.severity.fails()).map(|f| f.id).collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}
