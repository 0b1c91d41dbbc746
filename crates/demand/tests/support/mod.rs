//! Small sites as people write them. Everything in them is invented.

#![allow(dead_code, reason = "each test file uses its part")]
#![allow(clippy::unwrap_used, reason = "only tests call it")]

use std::collections::BTreeMap;

use demand::{Assessment, Lane, LaneDemand, PanelDemand, assess};
use quantity::{Leg, Quantity};

/// Files in memory.
#[derive(Default)]
pub struct Memory(pub BTreeMap<String, String>);

impl reading::Files for Memory {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        self.0.get(name).map(|t| t.clone().into_bytes()).ok_or_else(|| "not there".to_owned())
    }
}

/// A site of a voltage system with loads; `rest` may hold further tables.
pub fn site(kind: &str, loads: &str, rest: &str) -> site::Site {
    let us = !kind.starts_with("230");
    let (earthing, frequency) = if us { ("US", "60 Hz") } else { ("TN-S", "50 Hz") };
    let text = format!(
        r#"format = 1
[site]
name = "Invented test site"
altitude = "100 m"
temperature = {{ lowest = "-10 degC", high = "33 degC", room = "30 degC" }}
[service]
kind = "{kind}"
frequency = "{frequency}"
utility = "yes"
rating = "200 A"
earthing = "{earthing}"
[[panel]]
id = "main"
[[panel]]
id = "backup"
fed_from = "main"
{loads}
[group]
unit = "demo-unit"
panel = "backup"
count = "choose"
[battery]
count = "choose"
{rest}
"#
    );
    let source = reading::SourceText::new("site.toml", &text);
    let (site, mistakes) = site::read(&source);
    let shown: Vec<String> =
        mistakes.iter().map(|m| reading::render(m, std::slice::from_ref(&source), false)).collect();
    assert!(mistakes.is_empty(), "{}", shown.join("\n"));
    site.unwrap()
}

/// One load on the backup panel.
pub fn load(name: &str, more: &str) -> String {
    format!("[[load]]\nname = \"{name}\"\npanel = \"backup\"\n{more}\n")
}

/// The assessment of such a site.
pub fn assessed(kind: &str, loads: &str, rest: &str) -> Assessment {
    assess(&site(kind, loads, rest), &Memory::default(), None)
}

/// Its backup panel.
pub fn backup(assessment: &Assessment) -> &PanelDemand {
    &assessment.panels["backup"]
}

/// One leg of the backup panel.
pub fn leg(assessment: &Assessment, leg: Leg) -> &LaneDemand {
    &backup(assessment).lanes[&Lane::Leg(leg)]
}

/// All legs of the backup panel.
pub fn total(assessment: &Assessment) -> &LaneDemand {
    &backup(assessment).lanes[&Lane::Total]
}

/// Holds a value against a hand calculation, to 1e-6 of it.
#[track_caller]
pub fn close(found: impl Quantity, expected: f64) {
    assert!(
        (found.si() - expected).abs() <= 1e-6 * expected.abs().max(1.0),
        "{found} ({}) is not {expected}",
        found.si()
    );
}
