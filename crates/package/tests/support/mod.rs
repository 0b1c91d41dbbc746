//! Papers of an example, made as the program makes them.

#![allow(dead_code, clippy::unwrap_used)] // each test file uses a part of it; functions that tests call

use std::path::{Path, PathBuf};

use dossier::Dossier;
use package::{Order, Papers};
use reading::{Files, SourceText};
use serde_json::Value;

pub struct Made {
    pub papers: Papers,
    pub design: Value,
}

struct Beside(PathBuf);

impl Files for Beside {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        std::fs::read(self.0.join(name)).map_err(|e| e.to_string())
    }
}

fn folder(example: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(example)
}

pub fn site_text(example: &str) -> String {
    std::fs::read_to_string(folder(example).join("site.toml")).unwrap()
}

pub fn made(example: &str) -> Made {
    made_of(&site_text(example))
}

pub fn made_of(text: &str) -> Made {
    let (site, mistakes) = site::read(&SourceText::new("site.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let site = site.unwrap();
    let catalog = catalog::demo().0.unwrap();
    let assessment = demand::assess(&site, &Beside(folder("creamery")), None);
    assert!(assessment.diagnostics.is_empty());
    let prepared = design::prepare(&site, &catalog, &assessment);
    let designed = prepared.as_ref().map(design::design).map_err(Clone::clone);
    let dossier = match &designed {
        Ok(design) => Dossier::new(&site, &assessment, Ok(design)),
        Err(refused) => Dossier::new(&site, &assessment, Err(refused.clone())),
    };
    let order = Order { date: Some("2026-11-26".parse().unwrap()), ..Order::default() };
    let (design, pictures) = package::gather(&dossier, &catalog, order);
    let papers = package::papers(&design, &pictures).unwrap();
    Made { papers, design }
}
