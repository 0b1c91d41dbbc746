//! The papers of a design, made of its `design.json`: report and installer's booklet as PDF, schedules as XLSX and CSV,
//! drawings, and the JSON itself. Computes no engineering value and touches no file: paths and bytes go out.

mod book;
mod gather;
mod pdf;
mod table;
mod words;

pub use gather::{Order, gather};

use std::collections::BTreeMap;

use dossier::Picture;
use serde_json::Value;

/// Template that all documents share.
const COMMON: &str = include_str!("../templates/common.typ");
const REPORT: &str = include_str!("../templates/report.typ");
const BOOKLET: &str = include_str!("../templates/booklet.typ");

/// Files of a package by their path inside its folder.
pub type Papers = BTreeMap<String, Vec<u8>>;

/// Makes all papers of a design as `dossier::design_json` gives it, with the drawings and plots that it names.
///
/// # Errors
/// A document cannot be set; the text says which and why.
pub fn papers(design: &Value, pictures: &[Picture]) -> Result<Papers, String> {
    let words = words::english()?;
    let text = serde_json::to_string_pretty(design).map_err(|e| format!("design.json: {e}"))? + "\n";
    let mut files = pdf::Files::new();
    files.insert("common.typ".into(), COMMON.into());
    files.insert("design.json".into(), text.clone().into_bytes());
    files.insert("words.json".into(), words.to_string().into_bytes());
    for picture in pictures {
        files.insert(format!("{}.svg", picture.id), picture.svg.clone().into_bytes());
    }
    let mut papers = Papers::new();
    for (name, template) in [("report", REPORT), ("booklet", BOOKLET)] {
        let mut files = files.clone();
        let main = format!("{name}.typ");
        files.insert(main.clone(), template.into());
        let ident = format!("{} {name}", design["site"]["name"].as_str().unwrap_or_default());
        papers.insert(format!("{name}.pdf"), pdf::pdf(files, &main, &ident)?);
    }
    papers.insert("schedules.xlsx".into(), book::xlsx(design, &words)?);
    papers.extend(table::csv(design)?);
    for picture in pictures {
        papers.insert(format!("drawings/{}.svg", picture.id), picture.svg.clone().into_bytes());
        if let Some(dxf) = &picture.dxf {
            papers.insert(format!("drawings/{}.dxf", picture.id), dxf.clone().into_bytes());
        }
    }
    papers.insert("design.json".into(), text.into_bytes());
    Ok(papers)
}
