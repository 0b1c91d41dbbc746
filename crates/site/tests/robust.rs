//! Whatever the bytes are, reading ends, does not panic, and never gives up without a word.

#![allow(clippy::expect_used)] // functions that tests call, too

use proptest::prelude::*;
use reading::{SourceText, decode};

const EXAMPLE: &str = include_str!("../../../examples/veterinary-practice/site.toml");

/// A site, or a word on why not: true if a site was read.
fn speaks(text: &str) -> bool {
    let (site, mistakes) = site::read(&SourceText::new("site.toml", text));
    assert_eq!(site.is_none(), !mistakes.is_empty(), "a site or mistakes, never both or neither:\n{text}");
    site.is_some()
}

#[test]
fn a_file_cut_off_anywhere_is_a_site_or_a_mistake() {
    assert!(speaks(EXAMPLE));
    let group = EXAMPLE.find("[group]").expect("the example has a group");
    for cut in 0..200 {
        let mut at = EXAMPLE.len() * cut / 200;
        while !EXAMPLE.is_char_boundary(at) {
            at -= 1;
        }
        let whole = speaks(&EXAMPLE[..at]);
        assert!(!whole || at > group, "cut at byte {at}, before the group, yet read as a whole site");
    }
}

proptest! {
    #[test]
    fn random_bytes_are_a_site_or_a_mistake(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        match decode("site.toml", &bytes) {
            Ok(source) => prop_assert!(!speaks(source.text())),
            Err(refusal) => prop_assert!(!refusal.message.is_empty()),
        }
    }

    /// Lines of the example shuffled, dropped and doubled: mostly TOML, mostly nonsense.
    #[test]
    fn scrambled_lines_are_a_site_or_a_mistake(picks in prop::collection::vec(any::<prop::sample::Index>(), 1..60)) {
        let lines: Vec<&str> = EXAMPLE.lines().collect();
        let text = picks.iter().map(|pick| *pick.get(&lines)).collect::<Vec<_>>().join("\n");
        speaks(&text);
    }

    /// One value of the example replaced by an odd one.
    #[test]
    fn an_odd_value_anywhere_is_a_site_or_a_mistake(
        pick in any::<prop::sample::Index>(),
        odd in prop_oneof![
            Just("0"), Just("-1"), Just("nan"), Just("1e400"), Just("\"\""), Just("\"0\""), Just("[]"), Just("{}"),
            Just("[[]]"), Just("true"), Just("\"1e9 A\""), Just("\"-5 kW\""), Just("1979-05-27"), Just("\"\\u0000\""),
            Just("99999999999999999999"), Just("\"99+99+99\""), Just("\"4294967295+1\""),
        ],
    ) {
        let lines: Vec<&str> = EXAMPLE.lines().collect();
        let at = pick.index(lines.len());
        let changed = match lines[at].split_once(" = ") {
            Some((key, _)) => format!("{key} = {odd}"),
            None => odd.to_owned(),
        };
        let text = lines.iter().enumerate().map(|(k, line)| if k == at { changed.as_str() } else { line });
        speaks(&text.collect::<Vec<_>>().join("\n"));
    }
}
