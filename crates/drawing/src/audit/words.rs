//! Whether the words of a sheet are those of the plan: at the right symbol or outline, and in the rows of its lists.

use std::collections::{BTreeMap, BTreeSet};

use super::{Area, area_of, boxes};
use crate::expected::Expected;
use crate::scene::{Item, Scene};

/// Words farther from a symbol than this are not its own, in millimetres.
const FAR_MM: f64 = 14.0;

/// How far two areas are apart; nothing where they meet.
fn apart(a: Area, b: Area) -> f64 {
    let one = |low: f64, high: f64, from: f64, to: f64| (from - high).max(low - to).max(0.0);
    libm::hypot(one(a.0, a.2, b.0, b.2), one(a.1, a.3, b.1, b.3))
}

/// Areas of the symbols and outlines that have words to be checked.
fn places<'s>(scene: &'s Scene, expected: &Expected) -> Vec<(&'s str, Area)> {
    let one = |item: &'s Item| match item {
        Item::Symbol(s) => {
            let (w, h) = s.half_mm();
            Some((s.role.as_deref()?, (s.at.0 - w, s.at.1 - h, s.at.0 + w, s.at.1 + h)))
        }
        Item::Outline { role, points, .. } => Some((role.as_str(), area_of(points))),
        _ => None,
    };
    scene.items.iter().filter_map(one).filter(|(role, _)| expected.labels.contains_key(*role)).collect()
}

fn texts(scene: &Scene) -> Vec<(Area, &str)> {
    let words = |(area, what)| if let super::What::Text(text) = what { Some((area, text)) } else { None };
    boxes(scene).into_iter().filter_map(words).collect()
}

/// A text says so by itself, in front of a space, or between commas.
fn says(text: &str, words: &str) -> bool {
    text.split(", ").any(|piece| piece == words)
        || text.strip_prefix(words).is_some_and(|rest| rest.starts_with(' '))
}

/// Each thing has its words nearer than any other thing has.
pub(super) fn labels(scene: &Scene, expected: &Expected) -> Vec<String> {
    let places = places(scene, expected);
    let mut own: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (area, text) in texts(scene) {
        let least = places.iter().map(|(_, at)| apart(area, *at)).fold(FAR_MM, f64::min);
        for (role, _) in places.iter().filter(|(_, at)| apart(area, *at) <= least) {
            own.entry(role).or_default().insert(text);
        }
    }
    let mut wrong = Vec::new();
    for (role, labels) in &expected.labels {
        for spellings in labels {
            let mut texts = own.get(role.as_str()).into_iter().flatten();
            if !texts.any(|text| spellings.iter().any(|words| says(text, words))) {
                wrong.push(format!("{role} is drawn without \"{}\"", spellings.join("\" or \"")));
            }
        }
    }
    wrong
}

/// Each row stands in a list: its words at one height, from left to right. Long ones may be cut, as three points say.
pub(super) fn rows(scene: &Scene, expected: &Expected) -> Vec<String> {
    let mut lines: BTreeMap<i64, Vec<(f64, &str)>> = BTreeMap::new();
    for item in &scene.items {
        if let Item::Text { at, text, .. } = item {
            // base lines of a row are equal to the last bit but one
            #[allow(clippy::cast_possible_truncation)]
            let line = (at.1 * 100.0).round() as i64;
            lines.entry(line).or_default().push((at.0, text));
        }
    }
    for line in lines.values_mut() {
        line.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let same = |drawn: &str, words: &str| {
        drawn == words || drawn.strip_suffix("...").is_some_and(|start| words.starts_with(start))
    };
    let stands = |line: &[(f64, &str)], row: &[String]| {
        line.windows(row.len().max(1))
            .any(|part| part.iter().zip(row).all(|((_, drawn), words)| same(drawn, words)))
    };
    let missing = expected.rows.iter().filter(|row| !lines.values().any(|line| stands(line, row)));
    missing.map(|row| format!("the list has no row \"{}\"", row.join(" | "))).collect()
}
