//! Any bytes as a site file, through to a design. Nothing panics, nothing is refused without a word, and nothing
//! holds without a number.
#![no_main]

use std::sync::LazyLock;

use catalog::Catalog;
use libfuzzer_sys::fuzz_target;

struct NoFiles;

impl reading::Files for NoFiles {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("{name}: not found"))
    }
}

static DEMO: LazyLock<Catalog> = LazyLock::new(|| {
    let (catalog, mistakes) = catalog::read(&catalog::demo_sources());
    assert!(mistakes.is_empty());
    catalog.expect("the demo catalogue is sound")
});

fuzz_target!(|bytes: &[u8]| {
    let source = match reading::decode("site.toml", bytes) {
        Ok(source) => source,
        Err(refusal) => return assert!(!refusal.message.is_empty()),
    };
    let (site, mistakes) = site::read(&source);
    for mistake in &mistakes {
        assert!(!reading::render(mistake, std::slice::from_ref(&source), false).is_empty());
    }
    let Some(site) = site else { return assert!(!mistakes.is_empty()) };
    assert!(mistakes.is_empty());
    let assessment = demand::assess(&site, &NoFiles, None);
    match design::prepare(&site, &DEMO, &assessment) {
        Err(refused) => assert!(!refused.is_empty()),
        Ok(prepared) => {
            let design = design::design(&prepared);
            let dossier = dossier::Dossier::new(&site, &assessment, Ok(&design));
            if !dossier.fails() {
                assert!(design.assessed.ledger.margins.iter().all(|m| m.share().is_some()));
            }
            assert!(!dossier::check_json(&dossier).to_string().is_empty());
        }
    }
});
