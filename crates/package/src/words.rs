//! The catalogue of messages: key to text, a language a file. These are the headings of the papers themselves; the
//! sentences of the engine are in `sentences.toml` beside them, which `cargo xtask words` makes.

use serde_json::Value;

const ENGLISH: &str = include_str!("../words/en.toml");

/// The English texts as an object.
///
/// # Errors
/// The catalogue cannot be read.
pub(crate) fn english() -> Result<Value, String> {
    toml::from_str(ENGLISH).map_err(|e| format!("words: {e}"))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// Keys that templates and sheets ask for by name: `t("key"`, `field("key"`, `row("key"`, `word("key"`.
    fn asked() -> BTreeSet<String> {
        let sources = [
            include_str!("../templates/common.typ"),
            include_str!("../templates/report.typ"),
            include_str!("../templates/booklet.typ"),
            include_str!("book.rs"),
        ];
        let mut keys = BTreeSet::new();
        for source in sources {
            for call in ["t(\"", "intro(\"", "field(\"", "row(\"", "word(\""] {
                for (at, _) in source.match_indices(call) {
                    // the end of a longer name is another function
                    let longer =
                        source[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '.');
                    let key = source[at + call.len()..].split('"').next();
                    keys.extend(key.filter(|_| !longer).map(str::to_owned));
                }
            }
        }
        keys
    }

    #[test]
    fn every_text_that_is_asked_for_is_there() {
        let words = english().unwrap();
        let asked: Vec<String> = asked()
            .into_iter()
            // what is put together ends with a dash
            .filter(|k| !k.ends_with('-'))
            .collect();
        assert!(asked.len() > 60, "{asked:?}");
        let known = words.as_object().unwrap();
        let missing: Vec<&String> = asked.iter().filter(|k| !known.contains_key(*k)).collect();
        assert!(missing.is_empty(), "{missing:?}");
    }
}
