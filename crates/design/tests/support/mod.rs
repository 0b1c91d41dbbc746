//! Small sites, written as a user writes them, and their designs. All data are invented.

#![allow(dead_code)] // each test file takes what it needs

use catalog::Catalog;
use demand::Assessment;
use design::{Design, Prepared, prepare};
use finding::{Finding, Margin};
use reading::{SourceText, render};
use site::Site;

/// The file of a site, part by part.
#[derive(Debug, Clone)]
pub struct Text {
    pub room: &'static str,
    pub service: String,
    pub panels: Vec<String>,
    pub loads: Vec<String>,
    pub group: String,
    pub wish: String,
    pub rest: String,
}

impl Text {
    /// 120/240 V at sea level in a cool room: every unit of the demo catalogue gives its whole rating.
    pub fn split(unit: &str) -> Self {
        Self::of("120/240 V split-phase", unit)
    }

    pub fn of(system: &str, unit: &str) -> Self {
        let earthing = if system.starts_with("230") { "TN-C-S" } else { "US" };
        Self {
            room: "25 degC",
            service: format!(
                "[service]\nkind = \"{system}\"\nrating = \"200 A\"\nfault_current = \"4 kA\"\nearthing = \"{earthing}\""
            ),
            panels: vec![
                "[[panel]]\nid = \"main\"\nbusbar = \"200 A\"".to_owned(),
                "[[panel]]\nid = \"backup\"\nfed_from = \"main\"\nmain_breaker = \"100 A\"".to_owned(),
            ],
            loads: Vec::new(),
            group: format!("unit = \"{unit}\""),
            wish: String::new(),
            rest: String::new(),
        }
    }

    /// A load on the backup panel that may run all day.
    pub fn load(self, name: &str, legs: &str, size: &str) -> Self {
        self.load_with(name, legs, size, "runs = \"24 h/day\"")
    }

    pub fn load_with(mut self, name: &str, legs: &str, size: &str, more: &str) -> Self {
        self.loads.push(format!(
            "[[load]]\nname = \"{name}\"\npanel = \"backup\"\nlegs = \"{legs}\"\n{size}\n{more}"
        ));
        self
    }

    pub fn group(mut self, line: &str) -> Self {
        self.group.push('\n');
        self.group.push_str(line);
        self
    }

    pub fn wish(mut self, line: &str) -> Self {
        self.wish.push('\n');
        self.wish.push_str(line);
        self
    }

    pub fn write(&self) -> String {
        let temperature =
            format!("{{ lowest = \"-10 degC\", high = \"33 degC\", room = \"{}\" }}", self.room);
        let head =
            format!("format = 1\n[site]\nname = \"Test\"\naltitude = \"0 m\"\ntemperature = {temperature}");
        let mut parts = vec![head, self.service.clone()];
        parts.extend(self.panels.iter().cloned());
        parts.extend(self.loads.iter().cloned());
        parts.push(format!("[group]\npanel = \"backup\"\n{}", self.group));
        parts.push(format!("[wish]{}", self.wish));
        parts.push(self.rest.clone());
        parts.join("\n\n")
    }

    pub fn world(&self) -> World {
        World::read(&self.write())
    }
}

/// A site with its catalogue and its assessed loads.
pub struct World {
    pub site: Site,
    pub catalog: Catalog,
    pub assessment: Assessment,
}

struct NoFiles;

impl reading::Files for NoFiles {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("there is no {name}"))
    }
}

impl World {
    pub fn read(text: &str) -> Self {
        let source = SourceText::new("site.toml", text);
        let (site, mistakes) = site::read(&source);
        let shown: Vec<String> =
            mistakes.iter().map(|m| render(m, std::slice::from_ref(&source), false)).collect();
        let site = site.unwrap_or_else(|| panic!("the site is not sound:\n{}\n{text}", shown.join("\n")));
        let catalog = catalog::demo().0.expect("the demo catalogue is sound");
        let assessment = demand::assess(&site, &NoFiles, None);
        Self { site, catalog, assessment }
    }

    pub fn prepared(&self) -> Prepared<'_> {
        match prepare(&self.site, &self.catalog, &self.assessment) {
            Ok(prepared) => prepared,
            Err(refused) => panic!("refused: {refused:#?}"),
        }
    }

    pub fn refused(&self) -> Vec<Finding> {
        match prepare(&self.site, &self.catalog, &self.assessment) {
            Ok(_) => panic!("not refused"),
            Err(refused) => refused,
        }
    }
}

/// Ids of what was found, each once.
pub fn ids(design: &Design<'_>) -> Vec<&'static str> {
    let mut ids: Vec<&str> = design.assessed.ledger.findings.iter().map(|f| f.id).collect();
    ids.retain(|id| *id != "outside-scope");
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// Ids of what makes the check fail.
pub fn failing(design: &Design<'_>) -> Vec<&'static str> {
    let mut ids: Vec<&str> = design.failing().map(|f| f.id).collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

pub fn found<'d>(design: &'d Design<'_>, id: &str) -> &'d Finding {
    let found = design.assessed.ledger.findings.iter().find(|f| f.id == id);
    found.unwrap_or_else(|| panic!("no {id}, only {:?}", ids(design)))
}

/// What a margin is of, apart from its figures.
pub fn name(margin: &Margin) -> (String, String) {
    (margin.part.clone(), margin.what.to_string())
}
