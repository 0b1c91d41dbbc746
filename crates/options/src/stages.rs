//! What each growth stage asks for, so that what is bought today is not thrown away.

use catalog::Catalog;
use design::{design, prepare};
use finding::Finding;
use site::Site;

/// One stage.
#[derive(Debug, Clone)]
pub struct StageRow {
    /// Stage id; `today` for the first row.
    pub stage: String,
    /// Years from now.
    pub after_years: u32,
    /// Units.
    pub units: u32,
    /// Formation.
    pub formation: String,
    /// Arrangement.
    pub arrangement: &'static str,
    /// Bypass gear.
    pub bypass: String,
    /// Transfer switch.
    pub transfer: String,
    /// Source switch between utility and generator.
    pub source_switch: String,
    /// Neutral former.
    pub former: String,
    /// What the next stage replaces, in words.
    pub replaced: Vec<String>,
    /// Findings that make the check fail.
    pub failing: Vec<Finding>,
}

/// One row for today and one for each stage.
pub fn stages(site: &Site, catalog: &Catalog, files: &dyn reading::Files) -> Vec<StageRow> {
    let today = std::iter::once(("today", 0, None));
    let later =
        site.stages.iter().map(|s| (s.id.value.as_str(), s.after_years.value, Some(s.id.value.as_str())));
    let mut rows: Vec<StageRow> = Vec::new();
    for (name, after_years, stage) in today.chain(later) {
        let assessment = demand::assess(site, files, stage);
        let row = match prepare(site, catalog, &assessment) {
            Ok(prepared) => {
                let design = design(&prepared);
                let case = &design.case;
                StageRow {
                    stage: name.to_owned(),
                    after_years,
                    units: case.formation.units(),
                    formation: case.formation.to_string(),
                    arrangement: case.layout.word(),
                    bypass: case.bypass.map_or("none".to_owned(), |b| b.id.clone()),
                    transfer: case.transfer.map_or("none".to_owned(), |t| t.id.clone()),
                    replaced: Vec::new(),
                    failing: assessment
                        .findings
                        .iter()
                        .filter(|f| f.severity.fails())
                        .chain(design.failing())
                        .cloned()
                        .collect(),
                    former: case.former.map_or("none".to_owned(), |f| f.id.clone()),
                    source_switch: case.source_switch.map_or("none".to_owned(), |s| s.id.clone()),
                }
            }
            Err(refused) => StageRow {
                stage: name.to_owned(),
                after_years,
                units: 0,
                formation: String::new(),
                arrangement: "none",
                bypass: String::new(),
                transfer: String::new(),
                former: String::new(),
                source_switch: String::new(),
                replaced: Vec::new(),
                failing: refused,
            },
        };
        rows.push(row);
    }
    for k in 1..rows.len() {
        let replaced = match rows.get(k - 1..=k) {
            Some([before, after]) => replaced(before, after),
            _ => Vec::new(),
        };
        if let Some(row) = rows.get_mut(k) {
            row.replaced = replaced;
        }
    }
    rows
}

fn replaced(before: &StageRow, after: &StageRow) -> Vec<String> {
    let mut words = Vec::new();
    if before.arrangement != after.arrangement && before.arrangement != "none" && after.arrangement != "none"
    {
        words.push(format!("the arrangement changes from {} to {}", before.arrangement, after.arrangement));
    }
    let gear = [
        ("transfer switch", &before.transfer, &after.transfer),
        ("source switch", &before.source_switch, &after.source_switch),
        ("bypass", &before.bypass, &after.bypass),
        ("neutral former", &before.former, &after.former),
    ];
    for (what, was, is) in gear {
        if was != is && was != "none" && !was.is_empty() {
            words.push(format!("{what} {was} is replaced by {is}: buy the later one today"));
        } else if was != is && was == "none" {
            words.push(format!("{what} {is} is added: leave room for it"));
        }
    }
    words
}
