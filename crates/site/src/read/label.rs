//! Getters for forms that several tables share.

use std::ops::RangeInclusive;

use quantity::{Percent, Quantity};
use reading::{Decision, Diagnostic, Placed, Section};

/// Longest name or id, in characters: it has to fit a label and a column of a schedule (our own limit).
const LONGEST_NAME: usize = 80;

/// A name or id that must be there: one line, no blank at its ends, short enough for a label.
pub(super) fn need_name(s: &Section<'_>, key: &str, doc: &str) -> Option<Placed<String>> {
    one_line(s, s.need_text(key, doc)?, LONGEST_NAME)
}

/// A name or id, if there.
pub(super) fn name(s: &Section<'_>, key: &str, doc: &str) -> Option<Placed<String>> {
    one_line(s, s.text(key, doc)?, LONGEST_NAME)
}

/// Words for people, if there.
pub(super) fn words(s: &Section<'_>, key: &str, doc: &str) -> Option<Placed<String>> {
    one_line(s, s.text(key, doc)?, 500)
}

/// `"choose"` or a name or id.
pub(super) fn decide_name(s: &Section<'_>, key: &str, doc: &str) -> Option<Decision<String>> {
    match s.decide_text(key, doc)? {
        Decision::Choose => Some(Decision::Choose),
        Decision::Fixed(text) => one_line(s, text, LONGEST_NAME).map(Decision::Fixed),
    }
}

fn one_line(s: &Section<'_>, text: Placed<String>, longest: usize) -> Option<Placed<String>> {
    let problem = if text.value.chars().any(char::is_control) {
        "holds a line break, a tab or another control character"
    } else if text.value.trim() != text.value {
        "begins or ends with a blank"
    } else if text.value.chars().count() > longest {
        "is too long for a label"
    } else {
        return Some(text);
    };
    let diagnostic = Diagnostic::new("wrong-value", format!("this text {problem}"))
        .at(&text.place, format!("expected one line of at most {longest} characters"));
    s.mistake(diagnostic);
    None
}

/// Name of a file with a series, CSV or the XML of a meter, beside the site file.
pub(super) fn series_file(s: &Section<'_>, text: Placed<String>) -> Option<Placed<String>> {
    let name = text.value.as_str();
    let outside = name.starts_with('/')
        || name.contains(['\\', ':'])
        || name.split('/').any(|part| part == ".." || part.is_empty());
    let lower = name.to_ascii_lowercase();
    if outside || !(lower.ends_with(".csv") || lower.ends_with(".xml")) {
        s.mistake(
            Diagnostic::new("wrong-value", format!("\"{name}\" is no CSV or XML file beside the site file"))
                .at(&text.place, "not a name relative to the site file that ends in .csv or .xml")
                .help("put the file beside the site file and write its name, such as \"demand.csv\""),
        );
        return None;
    }
    one_line(s, text, 200)
}

/// Name of a weather file beside the site file.
pub(super) fn weather_file(s: &Section<'_>, text: Placed<String>) -> Option<Placed<String>> {
    let name = text.value.as_str();
    let outside = name.starts_with('/')
        || name.contains(['\\', ':'])
        || name.split('/').any(|part| part == ".." || part.is_empty());
    let lower = name.to_ascii_lowercase();
    if outside || !(lower.ends_with(".epw") || lower.ends_with(".csv")) {
        s.mistake(
            Diagnostic::new("wrong-value", format!("\"{name}\" is no weather file beside the site file"))
                .at(&text.place, "not a name relative to the site file that ends in .epw or .csv")
                .help("EPW files end in .epw, TMY3 files in .csv"),
        );
        return None;
    }
    one_line(s, text, 200)
}

/// A percentage within bounds (given as shares), if there.
pub(super) fn percent_in(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    shares: RangeInclusive<f64>,
) -> Option<Placed<Percent>> {
    within_shares(s, key, s.designation::<Percent>(key, doc, "5 %")?, &shares)
}

/// The same, where it must be there.
pub(super) fn need_percent_in(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    shares: RangeInclusive<f64>,
) -> Option<Placed<Percent>> {
    within_shares(s, key, s.need_designation::<Percent>(key, doc, "5 %")?, &shares)
}

fn within_shares(
    s: &Section<'_>,
    key: &str,
    percent: Placed<Percent>,
    shares: &RangeInclusive<f64>,
) -> Option<Placed<Percent>> {
    if shares.contains(&percent.value.share().si()) {
        return Some(percent);
    }
    let (least, most) = (Percent::of_share(*shares.start()), Percent::of_share(*shares.end()));
    s.mistake(
        Diagnostic::new("out-of-range", format!("`{key}` is {}", percent.value))
            .at(&percent.place, format!("expected {least} to {most}")),
    );
    None
}

/// A list of quantities, each within bounds.
pub(super) fn quantities_in<Q: Quantity>(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    range: RangeInclusive<Q>,
) -> Vec<Placed<Q>> {
    let all = s.quantities::<Q>(key, doc);
    for entry in all.iter().filter(|entry| !range.contains(&entry.value)) {
        s.mistake(
            Diagnostic::new("out-of-range", format!("an entry of `{key}` is {}", entry.value))
                .at(&entry.place, format!("expected {} to {}", range.start(), range.end())),
        );
    }
    all
}

/// Yes or no that must be there.
pub(super) fn need_flag(s: &Section<'_>, key: &str, doc: &str) -> Option<Placed<bool>> {
    let flag = s.flag(key, doc);
    if !s.has(key) {
        s.mistake_at(key, "missing-key", format!("`{key}` is missing"), doc);
    }
    flag
}

/// Says that one of two keys means nothing without the other.
pub(super) fn need_partner(s: &Section<'_>, key: &str, partner: &str, why: &str) {
    if s.has(key) && !s.has(partner) {
        s.mistake_at(key, "missing-partner", format!("`{key}` needs `{partner}`"), why);
    }
}

/// Says that two keys contradict each other.
pub(super) fn contradiction(s: &Section<'_>, key: &str, other: &str, message: &str, help: &str) {
    if let (Some(place), Some(other)) = (s.place_of(key), s.place_of(other)) {
        let diagnostic = Diagnostic::new("contradiction", message).at(&place, "this");
        s.mistake(diagnostic.also(&other, "and this").help(help));
    }
}

/// Exactly one of several keys must be there.
pub(super) fn exactly_one(s: &Section<'_>, keys: &[&str], what: &str) -> Option<()> {
    let there: Vec<&str> = keys.iter().copied().filter(|key| s.has(key)).collect();
    let all = keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    match there.as_slice() {
        [_] => Some(()),
        [] => {
            if let Some(place) = s.place() {
                s.mistake(
                    Diagnostic::new("missing-key", format!("this load does not say {what}"))
                        .at(&place, format!("expected exactly one of {all}")),
                );
            }
            None
        }
        [first, second, ..] => {
            let message = format!("this load says {what} twice");
            contradiction(s, second, first, &message, &format!("keep exactly one of {all}"));
            None
        }
    }
}
