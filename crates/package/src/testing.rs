//! Papers of an example, made as the program makes them.

use std::path::{Path, PathBuf};

use dossier::Dossier;
use reading::{Files, SourceText};
use serde_json::Value;

use crate::{Order, Papers};

pub(crate) struct Made {
    pub papers: Papers,
    pub design: Value,
    pub pictures: Vec<dossier::Picture>,
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

pub(crate) fn site_text(example: &str) -> String {
    std::fs::read_to_string(folder(example).join("site.toml")).unwrap()
}

/// A drawing that asks for nothing.
fn square() -> dossier::Picture {
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40\" height=\"20\"><rect width=\"40\" height=\"20\"/></svg>";
    dossier::Picture {
        id: "square".into(),
        title: "Square".into(),
        svg: svg.into(),
        dxf: Some("0\nEOF\n".into()),
        sheet_mm: Some((40.0, 20.0)),
    }
}

pub(crate) fn made(example: &str) -> Made {
    made_of(&site_text(example))
}

pub(crate) fn made_of(text: &str) -> Made {
    let (design, pictures) = gathered_of(text);
    let papers = crate::papers(&design, &pictures).unwrap();
    Made { papers, design, pictures }
}

pub(crate) fn gathered(example: &str) -> Value {
    gathered_of(&site_text(example)).0
}

/// What is gathered, without setting any paper.
pub(crate) fn gathered_of(text: &str) -> (Value, Vec<dossier::Picture>) {
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
    let order =
        Order { date: Some("2026-11-26".parse().unwrap()), drawings: vec![square()], ..Order::default() };
    crate::gather(&dossier, &catalog, order)
}
