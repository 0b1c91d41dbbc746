//! The documents show what the commands really print. A `console` block holds one command after `$` and its output; a
//! comment before it, `<!-- left out: first words; first words -->`, names paragraphs of the output that are not shown,
//! and `[…]` stands in their place. `cargo xtask readme` writes the blocks anew.

#![allow(clippy::expect_used, clippy::panic)] // functions that tests call, too

use std::path::{Path, PathBuf};
use std::process::Command;

const DOCUMENTS: [&str; 2] = ["README.md", "docs/interval-data.md"];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// What a shown command prints: both outputs, and the exit status where it is not 0.
fn printed(line: &str) -> String {
    let words = line.strip_prefix("cargo run --release -- ").or_else(|| line.strip_prefix("wattwright "));
    let words = words.unwrap_or_else(|| panic!("not a command of this tool: {line}"));
    let output = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .args(split(words))
        .current_dir(top())
        .env("NO_COLOR", "1")
        .output()
        .expect("the command runs");
    let mut text = String::from_utf8(output.stdout).expect("text");
    text.push_str(&String::from_utf8(output.stderr).expect("text"));
    match output.status.code() {
        Some(0) => {}
        code => text.push_str(&format!("[exit status {}]\n", code.expect("no signal"))),
    }
    text
}

/// Words of a command line, with double quotes.
fn split(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().expect("there is one").push(c),
        }
    }
    words.retain(|w| !w.is_empty());
    words
}

/// The output without the paragraphs that begin with one of `left_out`.
fn trimmed(text: &str, left_out: &[&str]) -> String {
    let mut shown: Vec<&str> = Vec::new();
    let mut used = vec![false; left_out.len()];
    for paragraph in text.trim_end().split("\n\n") {
        match left_out.iter().position(|first| paragraph.trim_start().starts_with(first)) {
            Some(k) => {
                used[k] = true;
                if shown.last() != Some(&"[…]") {
                    shown.push("[…]");
                }
            }
            None => shown.push(paragraph),
        }
    }
    for (first, used) in left_out.iter().zip(used) {
        assert!(used, "no paragraph of the output begins with \"{first}\"");
    }
    let lines: Vec<String> = shown.join("\n\n").lines().map(|l| l.trim_end().to_owned()).collect();
    lines.join("\n") + "\n"
}

/// A document with every block run again.
fn rerun(text: &str) -> (String, usize) {
    let mut out = String::new();
    let mut left_out: Vec<&str> = Vec::new();
    let mut lines = text.lines();
    let mut blocks = 0;
    while let Some(line) = lines.next() {
        out.push_str(line);
        out.push('\n');
        if let Some(list) = line.strip_prefix("<!-- left out: ").and_then(|l| l.strip_suffix(" -->")) {
            left_out = list.split("; ").collect();
        } else if line == "```console" {
            let command = lines.next().expect("a block has a command");
            let words = command.strip_prefix("$ ").unwrap_or_else(|| panic!("no command: {command}"));
            out.push_str(&format!("{command}\n{}```\n", trimmed(&printed(words), &left_out)));
            assert!(lines.by_ref().any(|l| l == "```"), "the block of {words} has no end");
            left_out.clear();
            blocks += 1;
        }
    }
    (out, blocks)
}

#[test]
fn the_documents_show_what_the_commands_print() {
    let mut blocks = 0;
    for name in DOCUMENTS {
        let path = top().join(name);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
        let (fresh, found) = rerun(&text);
        blocks += found;
        if std::env::var_os("WATTWRIGHT_WRITE_DOCS").is_some() {
            std::fs::write(&path, fresh).expect("the document can be written");
        } else if let Some((shown, now)) = text.lines().zip(fresh.lines()).find(|(a, b)| a != b) {
            panic!("{name} is stale: run `cargo xtask readme`\n  shown: {shown}\n  now:   {now}");
        } else {
            assert_eq!(text, fresh, "{name} is stale: run `cargo xtask readme`");
        }
    }
    assert!(blocks >= 4, "only {blocks} commands are shown");
}

#[test]
fn paragraphs_are_left_out_by_their_first_words() {
    let text = "head\n\nassumed\n  one\n\nmore of it\n\ntail  \n";
    assert_eq!(trimmed(text, &["assumed", "more"]), "head\n\n[…]\n\ntail\n");
    assert_eq!(split("calc x \"a=1 V\" b"), ["calc", "x", "a=1 V", "b"]);
}
