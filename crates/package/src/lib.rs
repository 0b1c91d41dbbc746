//! The papers of a design, made of its `design.json`: report and installer's booklet as PDF, schedules as XLSX and CSV,
//! drawings, and the JSON itself. Computes no engineering value and touches no file: paths and bytes go out.

mod book;
mod gather;
mod pdf;
mod table;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
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
    let mut papers = Papers::new();
    for name in ["report", "booklet"] {
        let (files, main) = document(design, pictures, name)?;
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
    papers.insert("design.json".into(), text_of(design)?.into_bytes());
    Ok(papers)
}

/// Template and data of a document, and the path of its main file.
fn document(design: &Value, pictures: &[Picture], name: &str) -> Result<(pdf::Files, String), String> {
    let mut files = pdf::Files::new();
    files.insert("common.typ".into(), COMMON.into());
    files.insert("design.json".into(), text_of(design)?.into_bytes());
    files.insert("words.json".into(), words::english()?.to_string().into_bytes());
    for picture in pictures {
        files.insert(format!("{}.svg", picture.id), picture.svg.clone().into_bytes());
    }
    let main = format!("{name}.typ");
    files.insert(main.clone(), if name == "booklet" { BOOKLET } else { REPORT }.into());
    Ok((files, main))
}

fn text_of(design: &Value) -> Result<String, String> {
    serde_json::to_string_pretty(design).map(|text| text + "\n").map_err(|e| format!("design.json: {e}"))
}
