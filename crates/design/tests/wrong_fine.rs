//! Sites that were once called fine and are not. The first line of each file says which finding must be there, and why.
//! All data are invented.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::path::Path;

use design::design;
use support::World;

#[test]
fn each_is_refused_for_its_reason() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/wrong-fine");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 23, "{files:?}");
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let head = text.lines().next().unwrap();
        let expected =
            head.strip_prefix("# expects ").and_then(|h| h.split(':').next()).expect("what is expected");
        let world = World::read(&text);
        let prepared = world.prepared();
        let design = design(&prepared);
        let failing =
            prepared.assessment.findings.iter().filter(|f| f.severity.fails()).chain(design.failing());
        let ids: Vec<&str> = failing.map(|f| f.id).collect();
        assert!(ids.contains(&expected), "{}: {expected} is not among {ids:?}", file.display());
    }
}
