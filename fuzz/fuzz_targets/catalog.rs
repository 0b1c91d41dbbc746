//! Any bytes as a catalogue file: a catalogue or a mistake, never both or neither.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(source) = reading::decode("catalog.toml", bytes) else { return };
    let (catalog, mistakes) = catalog::read(std::slice::from_ref(&source));
    assert_eq!(catalog.is_none(), !mistakes.is_empty());
    for mistake in &mistakes {
        assert!(!reading::render(mistake, std::slice::from_ref(&source), false).is_empty());
    }
});
