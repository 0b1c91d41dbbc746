//! From bytes to a value, with every mistake on the way.

use std::cell::RefCell;

use serde_json::{Value, json};
use toml::de::DeTable;

use crate::section::{Context, Section};
use crate::{Diagnostic, SourceText, sort};

/// A document larger than this is refused: no site or catalogue written by people comes near it.
pub const LARGEST_FILE_BYTES: u64 = 4 * 1024 * 1024;

/// Bytes of a file as a text.
///
/// # Errors
/// Larger than [`LARGEST_FILE_BYTES`], not UTF-8, holding control characters (a binary file), or empty.
pub fn decode(name: &str, bytes: &[u8]) -> Result<SourceText, Box<Diagnostic>> {
    let refuse = |message: String, help: &str| {
        let place = SourceText::new(name, "").place(0..0);
        Err(Box::new(Diagnostic::new("unreadable-file", message).at(&place, "").help(help)))
    };
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return refuse(
            format!("{name} is larger than {} MB", LARGEST_FILE_BYTES / 1024 / 1024),
            "a site or catalogue file is a few kilobytes of text; is this the right file?",
        );
    }
    let Ok(text) = std::str::from_utf8(bytes) else {
        return refuse(format!("{name} is not a text file (not UTF-8)"), "save it as UTF-8 text");
    };
    if text.contains(|c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
        return refuse(
            format!("{name} holds control characters: it is not a text file"),
            "save it as UTF-8 text",
        );
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return refuse(format!("{name} is empty"), "`wattwright new` writes a commented starter site");
    }
    Ok(SourceText::new(name, text))
}

/// Reads a TOML document with `read`. Returns what could be read and every mistake, in the order of the text. The
/// value counts only if there are no mistakes.
pub fn read_document<T>(
    source: &SourceText,
    read: impl FnOnce(&Section<'_>) -> Option<T>,
) -> (Option<T>, Vec<Diagnostic>) {
    if let Some(deep) = nested_too_deep(source.text()) {
        let place = source.place(deep..deep + 1);
        let diagnostic = Diagnostic::new("syntax", "brackets are nested too deeply")
            .at(&place, "nested more than 40 deep")
            .help("a site file needs three levels");
        return (None, vec![diagnostic]);
    }
    let (table, errors) = DeTable::parse_recoverable(source.text());
    let mut diagnostics: Vec<Diagnostic> = errors
        .iter()
        .map(|error| {
            let place = source.place(error.span().unwrap_or(0..0));
            let message = error.message().lines().next().unwrap_or("not TOML").to_owned();
            let help = error.message().lines().skip(1).collect::<Vec<_>>().join("; ");
            let diagnostic = Diagnostic::new("syntax", message).at(&place, "here the text stops being TOML");
            if help.is_empty() { diagnostic } else { diagnostic.help(help) }
        })
        .collect();
    // One broken bracket makes many followers; what they say after the first five helps nobody.
    diagnostics.truncate(5);
    if !diagnostics.is_empty() {
        sort(&mut diagnostics);
        return (None, diagnostics);
    }
    let collected = RefCell::new(Vec::new());
    let context = Context { source, diagnostics: &collected };
    let root = Section::real(table.get_ref(), source.place(0..0), String::new(), &context);
    let value = read(&root);
    root.finish();
    let mut diagnostics = collected.into_inner();
    sort(&mut diagnostics);
    diagnostics.dedup();
    if value.is_none() && diagnostics.is_empty() {
        // a reader that gives up without a word would be a wrong "fine"
        diagnostics.push(Diagnostic::new("unreadable-file", format!("{} could not be read", source.name())));
    }
    (value, diagnostics)
}

/// The JSON Schema of what `read` reads.
pub fn describe<T>(title: &str, id: &str, read: impl FnOnce(&Section<'_>) -> Option<T>) -> Value {
    let root = Section::describing();
    let _ = read(&root);
    let mut schema = root.described();
    if let Some(map) = schema.as_object_mut() {
        map.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        map.insert("$id".into(), json!(id));
        map.insert("title".into(), json!(title));
    }
    schema
}

/// First byte that is nested deeper than any site file is. The parser itself recurses, so this comes first.
fn nested_too_deep(text: &str) -> Option<usize> {
    let mut depth = 0usize;
    let mut quote: Option<u8> = None;
    let mut escaped = false;
    let mut comment = false;
    for (at, byte) in text.bytes().enumerate() {
        if comment {
            comment = byte != b'\n';
            continue;
        }
        if let Some(open) = quote {
            if escaped {
                escaped = false;
            } else if byte == b'\\' && open == b'"' {
                escaped = true;
            } else if byte == open || byte == b'\n' {
                quote = None;
            }
            continue;
        }
        match byte {
            b'#' => comment = true,
            b'"' | b'\'' => quote = Some(byte),
            b'[' | b'{' => {
                depth += 1;
                if depth > 40 {
                    return Some(at);
                }
            }
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    // dotted keys nest as well
    text.lines()
        .scan(0usize, |at, line| {
            let start = *at;
            *at += line.len() + 1;
            Some((start, line))
        })
        .find(|(_, line)| line.split('=').next().unwrap_or("").matches('.').count() > 40)
        .map(|(start, _)| start)
}
