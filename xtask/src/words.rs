//! The list of sentences for translators, `crates/package/words/sentences.toml`, made from the sources: every template
//! of a `say!` and every text that stands in a registry, with the file in which it stands first.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use saying::{Piece, pieces};

/// Where the list stands, from the top of the repository.
pub(crate) const PATH: &str = "crates/package/words/sentences.toml";

const HEAD: &str = "\
# Every sentence that can be put into another language. Made from the sources by `cargo xtask words`; do not edit.
#
# A translation is a copy of this file, in which each sentence has its translation after the equals sign. What stands
# between braces is filled in: each of these comes in the translation too, wherever it belongs. What is left empty stays
# English.
";

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"))
}

/// The list.
///
/// # Errors
/// A source cannot be read, or a template has a hole without a plain name.
pub(crate) fn list() -> Result<String, String> {
    let mut all: BTreeMap<String, String> = BTreeMap::new();
    for path in sources()? {
        let text = fs::read_to_string(super::top().join(&path)).map_err(|e| format!("{path}: {e}"))?;
        // modules of tests stand at the end
        let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
        for template in templates(code) {
            pieces(&template).map_err(|why| format!("{path}: {why}"))?;
            all.entry(template).or_insert_with(|| path.clone());
        }
    }
    for kind in finding::kinds() {
        all.entry(kind.remedies.to_owned()).or_insert_with(|| "crates/finding/src/registry.rs".to_owned());
    }
    let mut out = HEAD.to_owned();
    let mut files: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    // what has no word of its own needs no translation
    for (template, path) in all.iter().filter(|(template, _)| has_words(template)) {
        files.entry(path).or_default().push(template);
    }
    for (path, templates) in files {
        out.push_str(&format!("\n# {path}\n"));
        for template in templates {
            out.push_str(&format!("{} = \"\"\n", quoted(template)));
        }
    }
    Ok(out)
}

fn has_words(template: &str) -> bool {
    let letters = |words: &str| words.chars().filter(|c| c.is_alphabetic()).count() > 1;
    pieces(template).is_ok_and(|all| all.iter().any(|p| matches!(p, Piece::Words(w) if letters(w))))
}

/// Source files of the crates but for tests, from the top of the repository, sorted.
fn sources() -> Result<Vec<String>, String> {
    let top = super::top();
    let mut found = Vec::new();
    let mut folders = vec![top.join("crates")];
    while let Some(folder) = folders.pop() {
        let entries = fs::read_dir(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        for entry in entries {
            let path = entry.map_err(|e| format!("{}: {e}", folder.display()))?.path();
            if path.is_dir() {
                folders.push(path);
            } else if is_source(&path) {
                found.push(path);
            }
        }
    }
    let inner = |path: PathBuf| Some(path.strip_prefix(&top).ok()?.to_str()?.replace('\\', "/"));
    let mut found: Vec<String> = found.into_iter().filter_map(inner).collect();
    // the crate itself says nothing: there stand examples
    found.retain(|path| path.contains("/src/") && !path.starts_with("crates/saying/"));
    found.sort();
    Ok(found)
}

fn is_source(path: &Path) -> bool {
    let name = path.file_name().and_then(|n| n.to_str()).unwrap_or_default();
    name.ends_with(".rs") && !["tests.rs", "testing.rs"].contains(&name)
}

/// Templates that a source says, as the compiler reads their literals.
fn templates(code: &str) -> Vec<String> {
    let mut all = Vec::new();
    for mark in ["say!(", "Text::plain("] {
        for (at, _) in code.match_indices(mark) {
            let line = code[..at].rsplit('\n').next().unwrap_or_default();
            let literal = code[at + mark.len()..].trim_start().strip_prefix('"').and_then(literal);
            all.extend(literal.filter(|_| !line.contains("//")));
        }
    }
    all
}

/// A string literal from behind its opening quote.
fn literal(code: &str) -> Option<String> {
    let mut out = String::new();
    let mut letters = code.chars();
    while let Some(c) = letters.next() {
        match c {
            '"' => return Some(out),
            '\\' => match letters.next()? {
                'n' => out.push('\n'),
                '\n' => {
                    let rest = letters.as_str().trim_start();
                    letters = rest.chars();
                }
                other => out.push(other),
            },
            c => out.push(c),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_as_the_sources_say() {
        let kept = fs::read_to_string(crate::top().join(PATH)).unwrap_or_default();
        assert!(kept == list().unwrap(), "{PATH} is stale: run `cargo xtask words`");
    }

    #[test]
    fn the_list_is_a_catalogue() {
        let list: toml::Table = list().unwrap().parse().unwrap();
        assert!(list.len() > 500, "only {} sentences", list.len());
        assert!(list.contains_key("this battery"));
        // a sentence over two lines of source, one with quotes, one of the registry
        let one = |words: &str| list.keys().any(|k| k.contains(words));
        assert!(one("(input_inhibit = \"yes\")") && one("nothing to mend; build the wiring"));
        assert!(
            !list.keys().any(|k| k.contains("  ") || k.contains('\n')),
            "a break of a line is in a sentence"
        );
    }

    #[test]
    fn literals_are_read_as_the_compiler_does() {
        let code = r#"say!("a \"b\" {c}", c); // say!("not this")
            Text::plain("two \
                 lines"); say!(
                "third")"#;
        assert_eq!(templates(code), ["a \"b\" {c}", "third", "two lines"]);
    }
}
