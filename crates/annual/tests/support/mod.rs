//! Designs of sites as people write them. Everything in them is invented.
#![allow(dead_code, reason = "each test file uses its part")]

use reading::{Files, SourceText};

pub struct Nothing;

impl Files for Nothing {
    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        Err(format!("no file {name}"))
    }
}

/// A site that is read without a mistake.
pub fn site(text: &str) -> site::Site {
    let (site, mistakes) = site::read(&SourceText::new("site.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    site.unwrap()
}

/// Looks at the design of a site.
pub fn with<T>(text: &str, look: impl FnOnce(&design::Design<'_>, &catalog::Catalog) -> T) -> T {
    let site = site(text);
    let (catalog, mistakes) = catalog::demo();
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let catalog = catalog.unwrap();
    let assessment = demand::assess(&site, &Nothing, None);
    let prepared = design::prepare(&site, &catalog, &assessment).unwrap();
    look(&design::design(&prepared), &catalog)
}

/// The text with one part of it replaced, which must be there.
pub fn replaced(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "the example changed: {from}");
    text.replace(from, to)
}
