//! Words of the evaluators on papers of the US. They write amounts as the engine computes them, "1.13 m" or "40 degC",
//! and say "earth" as IEC does; here they get the units of the site, and under the US code the words of that trade.
//! Amounts with a derivation are written by [`crate::written`] and pass unchanged.

use derivation::Amount;
use serde_json::{Map, Value};
use site::Units;

use crate::units::written;

/// Units that differ between countries, how the engine writes them, and what they are of the unit behind them.
const UNITS: [(&str, &str, f64); 12] = [
    ("mm", "m", 0.001),
    ("cm", "m", 0.01),
    ("m", "m", 1.0),
    ("cm2", "m2", 0.0001),
    ("m2", "m2", 1.0),
    ("m²", "m2", 1.0),
    ("m3", "m3", 1.0),
    ("m3/h", "m3/s", 1.0 / 3600.0),
    ("m3/s", "m3/s", 1.0),
    ("kg", "kg", 1.0),
    ("degC", "degC", 1.0),
    ("°C", "degC", 1.0),
];

/// Lists of a design with words of the evaluators, and the keys at which these stand. Words of users, records and
/// formulas stay as they are.
const LISTS: [&str; 8] =
    ["findings", "decisions", "settings", "checkout", "assumptions", "clauses", "schedules", "proof"];
const WORDS: [&str; 18] = [
    "title",
    "words",
    "message",
    "fix",
    "value",
    "reason",
    "reasons",
    "why",
    "what",
    "confirm",
    "text",
    "action",
    "caution",
    "expected",
    "otherwise",
    "notes",
    "rows",
    "readings",
];
/// Words of IEC and of the US code, the longer before those they contain.
const TRADE: [(&str, &str); 10] = [
    ("residual current devices", "ground-fault devices"),
    ("residual current device", "ground-fault device"),
    ("main earthing terminal", "grounding system"),
    ("earth electrode", "grounding electrode"),
    ("protective conductor", "equipment grounding conductor"),
    ("protective conductors", "equipment grounding conductors"),
    ("earthing", "grounding"),
    ("earthed", "grounded"),
    ("earths", "grounds"),
    ("earth", "ground"),
];
/// Schedules in users' words, or in those of records.
const OWN: [&str; 3] = ["loads", "panel", "parts"];

/// Writes the words of a design in the units of its papers, and in the words of the book that holds there.
pub(crate) fn localise(design: &mut Map<String, Value>, units: Units, us_book: bool) {
    let to = |text: &str| {
        let text = if units == Units::Us { local(text) } else { text.to_owned() };
        if us_book { trade(&text) } else { text }
    };
    for list in LISTS {
        if let Some(list) = design.get_mut(list).filter(|_| us_book || units == Units::Us) {
            within(list, false, &to);
        }
    }
}

fn within(value: &mut Value, words: bool, to: &dyn Fn(&str) -> String) {
    match value {
        Value::String(text) if words => *text = to(text),
        Value::Array(all) => all.iter_mut().for_each(|one| within(one, words, to)),
        Value::Object(map) => {
            let own = map.get("id").and_then(Value::as_str).is_some_and(|id| OWN.contains(&id));
            for (key, inner) in map.iter_mut().filter(|(key, _)| !(own && *key == "rows")) {
                within(inner, WORDS.contains(&key.as_str()), to);
            }
        }
        _ => {}
    }
}

/// A text in the words of the US trade; what stands between quotes is somebody's own word.
fn trade(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut quoted = false;
    while let Some(c) = rest.chars().next() {
        let begins = !quoted && !out.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '.' | '_' | '-'));
        let found = TRADE.into_iter().filter(|_| begins).find_map(|(iec, us)| {
            let (head, after) = (rest.get(..iec.len())?, rest.get(iec.len()..)?);
            let ends = !after.starts_with(|c: char| c.is_alphanumeric() || c == '_');
            (ends && head.eq_ignore_ascii_case(iec)).then_some((us, after))
        });
        if let Some((us, after)) = found {
            let mut letters = us.chars();
            match letters.next().filter(|_| c.is_uppercase()) {
                Some(first) => out.extend(first.to_uppercase().chain(letters)),
                None => out.push_str(us),
            }
            rest = after;
            continue;
        }
        quoted ^= c == '"';
        out.push(c);
        rest = rest.get(c.len_utf8()..).unwrap_or_default();
    }
    out
}

/// A text with its lengths, areas, volumes, air flows, masses and temperatures as papers in US units have them. What
/// stands between quotes is somebody's own word.
pub(crate) fn local(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut quoted = false;
    while let Some(c) = rest.chars().next() {
        let begins =
            !out.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '.' | ',' | '-' | '_' | '/'));
        if let Some((words, after)) = amounts(rest).filter(|_| begins && !quoted) {
            out.push_str(&words);
            rest = after;
            continue;
        }
        quoted ^= c == '"';
        out.push(c);
        rest = rest.get(c.len_utf8()..).unwrap_or_default();
    }
    out
}

/// Numbers that share a unit, "2.5 m", "5 to 40 degC", "420 x 600 mm": rewritten, and what follows.
fn amounts(text: &str) -> Option<(String, &str)> {
    let mut numbers = Vec::new();
    let mut joins = Vec::new();
    let mut rest = text;
    loop {
        let (number, after) = number(rest)?;
        numbers.push(number);
        let join = [" to ", " x "].into_iter().find_map(|j| after.strip_prefix(j).map(|after| (j, after)));
        let next = join.filter(|(_, after)| self::number(after).is_some());
        let Some((join, after)) = next else {
            rest = after;
            break;
        };
        joins.push(join);
        rest = after;
    }
    let unit: String =
        rest.strip_prefix(' ')?.chars().take_while(|c| c.is_alphanumeric() || "/°²".contains(*c)).collect();
    let (_, of, factor) = UNITS.into_iter().find(|(word, ..)| *word == unit)?;
    let amount = |number: f64| {
        let text = String::new();
        written(Units::Us)(&Amount { si: number * factor, unit: of, text })
    };
    let mut out = String::new();
    for (k, number) in numbers.into_iter().enumerate() {
        if let Some(join) = k.checked_sub(1).and_then(|k| joins.get(k)) {
            out.push_str(join);
        }
        out.push_str(&amount(number));
    }
    Some((out, rest.get(1 + unit.len()..)?))
}

/// A number at the beginning of a text, thousands parted by commas.
fn number(text: &str) -> Option<(f64, &str)> {
    let sign = usize::from(text.starts_with('-'));
    let digits = text.get(sign..)?;
    let end = digits.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(digits.len());
    let found = digits.get(..end)?.trim_end_matches(['.', ',']);
    let value: f64 = found.replace(',', "").parse().ok()?;
    Some((if sign == 1 { -value } else { value }, digits.get(found.len()..)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_get_those_of_the_us_trade() {
        for (iec, us) in [
            ("each conductor to each other and to earth", "each conductor to each other and to ground"),
            ("Earth faults, earthing, unearthed", "Ground faults, grounding, unearthed"),
            (
                "the earth electrode at the main earthing terminal",
                "the grounding electrode at the grounding system",
            ),
            ("load \"earth closet\" on earth", "load \"earth closet\" on ground"),
            (
                "its protective conductor; protective conductors",
                "its equipment grounding conductor; equipment grounding conductors",
            ),
            ("service.earth earth_loop", "service.earth earth_loop"),
        ] {
            assert_eq!(trade(iec), us);
            assert_eq!(trade(us), us, "once more changes nothing");
        }
    }

    #[test]
    fn words_get_the_units_of_the_papers() {
        for (metric, us) in [
            ("0.915 m before it, 1.13 m needed", "3 ft before it, 3.71 ft needed"),
            ("stands 150 mm off", "stands 5.91 in off"),
            ("5 to 40 degC, then -40 °C.", "41 °F to 104 °F, then -40 °F."),
            ("420 x 600 mm", "1.38 ft x 1.97 ft"),
            ("carries 1,000 kg", "carries 2205 lb"),
            ("moves 170 m3/h", "moves 100 cfm"),
            ("the \"2 m shed\" of 2 m", "the \"2 m shed\" of 6.56 ft"),
            // other units, names and numbers stay
            (
                "6 mm2, 5 min, 3 m/s, 12 mohm, 2 modules, IEC 62485-2 m",
                "6 mm2, 5 min, 3 m/s, 12 mohm, 2 modules, IEC 62485-2 m",
            ),
            ("10 V to 12 V", "10 V to 12 V"),
            ("unit 2", "unit 2"),
        ] {
            assert_eq!(local(metric), us);
            assert_eq!(local(us), us, "once more changes nothing");
        }
    }
}
