//! The demo sites: assessed without trouble, every figure a number, every derivation rooted.

use std::path::{Path, PathBuf};

use demand::assess;
use derivation::{Node, Origin};
use quantity::Quantity;

struct Folder(PathBuf);

impl reading::Files for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        std::fs::read(self.0.join(name)).map_err(|e| e.to_string())
    }
}

/// Every chain of a derivation ends in an input, a table, an assumption or a reason.
fn rooted(node: &Node) -> bool {
    match &node.origin {
        Origin::Chosen { why, .. } => !why.is_empty(),
        Origin::Formula { args, .. } if args.is_empty() => false,
        _ => node.parents().iter().all(|(_, parent)| rooted(parent)),
    }
}

#[test]
fn every_demo_site_is_assessed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut sites: Vec<PathBuf> = std::fs::read_dir(root)
        .unwrap()
        .flat_map(|folder| std::fs::read_dir(folder.unwrap().path()).unwrap())
        .map(|file| file.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    sites.sort();
    assert!(sites.len() >= 5, "{sites:?}");
    for path in sites {
        let text = std::fs::read_to_string(&path).unwrap();
        let (site, _) = site::read(&reading::SourceText::new("site.toml", &text));
        let site = site.unwrap();
        let files = Folder(path.parent().unwrap().to_owned());
        let stages = site.stages.iter().map(|s| Some(s.id.value.as_str()));
        for stage in stages.chain([None]) {
            let found = assess(&site, &files, stage);
            assert!(found.diagnostics.is_empty(), "{}: {:?}", path.display(), found.diagnostics);
            assert_eq!(found.panels.len(), site.panels.len());
            assert_eq!(
                found.service.is_some(),
                site.service.utility.value,
                "{}: {:?}",
                path.display(),
                found.findings
            );
            for panel in found.panels.values() {
                assert!(panel.neutral.value().si().is_finite() && rooted(panel.neutral.node()));
                for lane in panel.lanes.values() {
                    assert!(lane.steady_power.value().si() <= lane.steady_apparent.value().si() * 1.000_001);
                    assert!(rooted(lane.steady_apparent.node()) && rooted(lane.steady_current.node()));
                    for pair in lane.curve.windows(2) {
                        assert!(pair[0].power.value() >= pair[1].power.value());
                        assert!(pair[0].apparent.value() >= pair[1].apparent.value());
                        assert!(pair[0].lasts < pair[1].lasts);
                    }
                }
                for leg in panel.starts.iter().flat_map(|s| s.legs.values()) {
                    assert!(leg.start_va.is_finite() && leg.running_va.is_finite());
                }
            }
            for finding in &found.findings {
                assert!(finding::kind(finding.id).is_some(), "{} is not registered", finding.id);
            }
        }
    }
}
