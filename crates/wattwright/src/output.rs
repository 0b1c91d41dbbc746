//! Printing. A reader that closes the pipe early is no error.

use std::io::{IsTerminal, Write};

/// Writes to standard output.
pub(crate) fn say(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(text.as_bytes());
    if !text.ends_with('\n') {
        let _ = out.write_all(b"\n");
    }
    let _ = out.flush();
}

/// Writes to standard error.
pub(crate) fn complain(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes());
    if !text.ends_with('\n') {
        let _ = out.write_all(b"\n");
    }
}

/// Pretty JSON to standard output.
pub(crate) fn say_json(value: &serde_json::Value) {
    match serde_json::to_string_pretty(value) {
        Ok(text) => say(&text),
        Err(error) => complain(&format!("error: JSON could not be written: {error}")),
    }
}

/// Whether standard output takes colours.
pub(crate) fn styled() -> bool {
    std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none()
}
