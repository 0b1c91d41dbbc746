//! How long the year adds to a check: `cargo run --release -p annual --example check_time -- examples/creamery/site.toml`.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::disallowed_methods)] // a measurement, by hand

use reading::{Files, SourceText};

struct Nothing;

impl Files for Nothing {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("no file {name}"))
    }
}

fn main() {
    for path in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&path).unwrap();
        let (site, _) = site::read(&SourceText::new("site.toml", &text));
        let (site, catalog) = (site.unwrap(), catalog::demo().0.unwrap());
        let assessment = demand::assess(&site, &Nothing, None);
        let prepared = design::prepare(&site, &catalog, &assessment).unwrap();
        let start = std::time::Instant::now();
        let design = design::design(&prepared);
        let designed = start.elapsed();
        let start = std::time::Instant::now();
        let found = annual::findings(&design, &catalog, &Nothing);
        println!("{path}: design {designed:.1?}, year {:.1?}, {} findings", start.elapsed(), found.len());
    }
}
