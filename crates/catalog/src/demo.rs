//! The demo catalogue, built in: invented equipment for examples and tests.

use reading::{Diagnostic, SourceText};

use crate::{Catalog, read};

/// The files of the demo catalogue.
pub fn demo_sources() -> Vec<SourceText> {
    [
        ("demo/units.toml", include_str!("../../../catalog/units.toml")),
        ("demo/storage.toml", include_str!("../../../catalog/storage.toml")),
        ("demo/dc.toml", include_str!("../../../catalog/dc.toml")),
        ("demo/transfer.toml", include_str!("../../../catalog/transfer.toml")),
        ("demo/bypass.toml", include_str!("../../../catalog/bypass.toml")),
        ("demo/distribution.toml", include_str!("../../../catalog/distribution.toml")),
    ]
    .into_iter()
    .map(|(name, text)| SourceText::new(name, text))
    .collect()
}

/// The demo catalogue as [`read`] gives it.
pub fn demo() -> (Option<Catalog>, Vec<Diagnostic>) {
    read(&demo_sources())
}

/// Whether a record stands in one of its files.
pub(crate) fn is_of_it(place: &derivation::Place) -> bool {
    place.file.starts_with("demo/")
}
