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

/// Words in lines of at most so many characters; a number keeps its unit.
pub(crate) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let number = word.ends_with(|c: char| c.is_ascii_digit());
        let unit = words.peek().copied().filter(|next| number && is_unit(next));
        let piece = match unit {
            Some(unit) => {
                words.next();
                format!("{word} {unit}")
            }
            None => word.to_owned(),
        };
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(&piece),
            Some(line) if line.chars().count() + 1 + piece.chars().count() <= width => {
                line.push(' ');
                line.push_str(&piece);
            }
            _ => lines.push(piece),
        }
    }
    lines
}

fn is_unit(word: &str) -> bool {
    let bare = word.trim_end_matches([',', ';', '.', ':', ')']);
    bare == "%" || (!bare.is_empty() && bare.len() <= 4 && bare.chars().all(char::is_alphabetic))
}

/// A margin in percent. What holds never shows as negative for its rounding, and what does not never as zero.
pub(crate) fn share(share: Option<f64>, holds: bool) -> String {
    match (share, holds) {
        (None, _) => "no number".to_owned(),
        (Some(share), true) => format!("{:+.0} %", share.max(0.0) * 100.0),
        (Some(share), false) if share > -0.005 => "-<1 %".to_owned(),
        (Some(share), false) => format!("{:+.0} %", share * 100.0),
    }
}

/// The same with a sign before it.
pub(crate) fn grouped_signed(digits: &str) -> String {
    digits.strip_prefix('-').map_or_else(|| grouped(digits), |rest| format!("-{}", grouped(rest)))
}

/// A number of any size with its thousands apart; from 10^15 on as a power of ten.
pub(crate) fn grouped(digits: &str) -> String {
    if digits.len() > 15 {
        let (first, rest) = digits.split_at(1);
        return format!("{first}.{} × 10^{}", rest.get(..1).unwrap_or("0"), digits.len() - 1);
    }
    let mut out = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
