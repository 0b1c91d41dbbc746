//! Every path that a document names is there, and so is every test that is named as `path::name`.

#![allow(clippy::expect_used, clippy::panic)] // functions that tests call, too

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// All files of the repository, and folders with a slash at the end, from the top.
fn tree(folder: &Path, prefix: &str, found: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        if ["target", ".git", "corpus", "artifacts"].contains(&name.as_str()) {
            continue;
        }
        if path.is_dir() {
            found.insert(format!("{prefix}{name}/"));
            tree(&path, &format!("{prefix}{name}/"), found);
        } else {
            found.insert(format!("{prefix}{name}"));
        }
    }
}

fn documents() -> Vec<PathBuf> {
    let named = ["README.md", "ARCHITECTURE.md", "CONTRIBUTING.md", "CHANGELOG.md"].map(|n| top().join(n));
    let docs = fs::read_dir(top().join("docs")).expect("docs").map(|e| e.expect("an entry").path());
    named.into_iter().chain(docs.filter(|p| p.extension().is_some_and(|x| x == "md"))).collect()
}

/// Code in backticks that is not in a block.
fn spans(text: &str) -> Vec<&str> {
    let mut inside = false;
    let prose = text.lines().filter(move |line| {
        let fence = line.starts_with("```");
        inside ^= fence;
        !inside && !fence
    });
    prose.flat_map(|line| line.split('`').skip(1).step_by(2)).collect()
}

/// What looks like a path: a word with a slash, or with the ending of a file that this repository holds.
fn is_path(span: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || "._-/:".contains(c);
    let file = [".md", ".rs", ".toml", ".csv", ".json"].iter().any(|ending| span.ends_with(ending));
    span.chars().all(plain)
        && span.starts_with(|c: char| c.is_ascii_alphabetic() || c == '.')
        && (span.contains('/') || file)
        && !span.starts_with("target/")
}

/// The words of shown commands and links in parentheses.
fn others(text: &str) -> Vec<&str> {
    let commands = text.lines().filter_map(|l| l.strip_prefix("$ ")).flat_map(|l| l.split(' '));
    let links = text.split("](").skip(1).filter_map(|rest| rest.split_once(')').map(|(link, _)| link));
    commands.chain(links).filter(|w| !w.contains('=') && !w.contains("//")).collect()
}

#[test]
fn every_path_that_a_document_names_is_there() {
    let mut found = BTreeSet::new();
    tree(&top(), "", &mut found);
    let mut seen = 0;
    for document in documents() {
        let text = fs::read_to_string(&document).expect("text");
        let name = document.file_name().expect("a name").to_string_lossy();
        for span in spans(&text).into_iter().chain(others(&text)).filter(|s| is_path(s)) {
            let (path, test) = span.split_once("::").map_or((span, None), |(path, test)| (path, Some(test)));
            seen += 1;
            let there = if path.contains('/') {
                found.contains(path) || found.contains(&format!("{path}/"))
            } else {
                found.iter().any(|f| f == path || f.ends_with(&format!("/{path}")))
            };
            assert!(there, "{name} names {path}, which is not there");
            if let Some(test) = test {
                let code = fs::read_to_string(top().join(path)).expect("text");
                assert!(
                    code.contains(&format!("fn {test}(")),
                    "{name} names the test {span}, which is not there"
                );
            }
        }
    }
    assert!(seen > 60, "only {seen} paths were found");
}

#[test]
fn paths_are_told_from_other_words() {
    for path in ["crates/site", "docs/", ".ci/run", "README.md", "crates/a/tests/b.rs::name", "site.toml"] {
        assert!(is_path(path), "{path}");
    }
    for other in [
        "120/240 V",
        "check",
        "2+2+2",
        "\"2 h/day\"",
        "cargo xtask docs",
        "target/release/wattwright",
        "name/1 x",
    ] {
        assert!(!is_path(other), "{other}");
    }
    assert_eq!(spans("a `b/c` d\n```\n`e/f`\n```\n`g/h`"), ["b/c", "g/h"]);
}
