//! Pages made from what the program itself knows: the schema of site files and the registry of findings.

use std::fmt::Write as _;

use serde_json::{Map, Value};

/// Path from the top of the repository, and text.
pub(crate) fn pages() -> Vec<(&'static str, String)> {
    vec![("docs/site-file.md", site_file()), ("docs/findings.md", findings())]
}

const SITE_HEAD: &str = "\
# The site file

Made from the schema of `wattwright schema` by `cargo xtask docs`; do not edit.

One TOML file describes one site. Quantities carry their unit, as people write them: `\"5.5 kVA\"`, `\"1,200 ft\"`,
`\"35 degC\"`, `\"2 h/day\"`. W and VA are not exchangeable. A key that is not listed here is a mistake, and all
mistakes of a file are reported at once. `\"choose\"` leaves a decision to the tool; anything else fixes it and has it
checked. `wattwright new` writes a commented starter; the folders under `examples/` hold whole sites.
";

fn site_file() -> String {
    let mut out = SITE_HEAD.to_owned();
    table(&mut out, "", &site::schema(), false);
    out
}

/// One table of the file, then the tables in it.
fn table(out: &mut String, name: &str, schema: &Value, repeated: bool) {
    let none = Map::new();
    let properties = schema["properties"].as_object().unwrap_or(&none);
    let required: Vec<&str> =
        schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let (tables, keys): (Vec<_>, Vec<_>) = properties.iter().partition(|(_, p)| is_table(p));
    let _ = match (name, repeated) {
        ("", _) => writeln!(out, "\n## At the top"),
        (_, true) => writeln!(out, "\n## `[[{name}]]`"),
        (_, false) => writeln!(out, "\n## `[{name}]`"),
    };
    if let Some(words) = schema["description"].as_str() {
        let _ = writeln!(out, "\n{}.", sentence(words));
    }
    let wanted: Vec<String> = tables
        .iter()
        .filter(|(k, _)| required.contains(&k.as_str()))
        .map(|(k, _)| format!("`{k}`"))
        .collect();
    if !wanted.is_empty() {
        let _ = writeln!(out, "\nTables that must be there: {}.", wanted.join(", "));
    }
    if !keys.is_empty() {
        out.push_str("\n| key | needed | what stands there | form |\n|---|---|---|---|\n");
    }
    for (key, property) in keys {
        let needed = if required.contains(&key.as_str()) { "yes" } else { "" };
        let words = property["description"].as_str().unwrap_or("");
        let _ = writeln!(out, "| `{key}` | {needed} | {} | {} |", words.replace('|', "\\|"), form(property));
    }
    for (key, property) in tables {
        let inner = if name.is_empty() { key.clone() } else { format!("{name}.{key}") };
        if property["type"] == "array" {
            let mut item = property["items"].clone();
            item["description"] = property["description"].clone();
            table(out, &inner, &item, true);
        } else {
            table(out, &inner, property, false);
        }
    }
}

fn is_table(property: &Value) -> bool {
    property["type"] == "object" || (property["type"] == "array" && property["items"]["type"] == "object")
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What may be written, in words.
fn form(property: &Value) -> String {
    if let Some(allowed) = property["enum"].as_array() {
        return allowed.iter().map(|v| format!("`{v}`")).collect::<Vec<_>>().join(" ");
    }
    if let Some(only) = property.get("const") {
        return format!("`{only}`");
    }
    if let Some(several) = property["anyOf"].as_array() {
        return several.iter().map(form).collect::<Vec<_>>().join(" or ");
    }
    match property["type"].as_str() {
        Some("array") => format!("list: {}", form(&property["items"])),
        Some("boolean") => "`true` or `false`".to_owned(),
        Some("integer") => format!("whole number{}", range(property)),
        Some("number") => format!("number{}", range(property)),
        _ => match property["examples"].get(0) {
            Some(example) => format!("such as `{example}`"),
            None => "text".to_owned(),
        },
    }
}

fn range(property: &Value) -> String {
    match (property["minimum"].as_f64(), property["maximum"].as_f64()) {
        (Some(low), Some(high)) if low >= high => format!(" {low}"),
        (Some(low), Some(high)) => format!(" from {low} to {high}"),
        (Some(low), None) => format!(" of at least {low}"),
        (None, Some(high)) => format!(" of at most {high}"),
        (None, None) => String::new(),
    }
}

const FINDINGS_HEAD: &str = "\
# Findings

Made from the registry of findings by `cargo xtask docs`; do not edit. `wattwright explain ID` prints one of them.

| severity | meaning | fails the check |
|---|---|---|
| error | must not be built | yes |
| not covered | the model or the book does not reach the case; never \"fine\" | yes |
| warning | allowed, but say why | no |
| note | worth knowing | no |
| outside scope | named, never called checked | no |
";

fn findings() -> String {
    let mut out = FINDINGS_HEAD.to_owned();
    for kind in finding::kinds() {
        let remedies = sentence(kind.remedies.trim_end_matches('.'));
        let _ = write!(out, "\n## {}\n\n{}.\n\n{}\n\n", kind.id, kind.title, kind.why);
        let _ = writeln!(out, "*Usually mended by:* {remedies}.");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pages_are_as_the_program_has_it() {
        for (path, fresh) in pages() {
            let kept = std::fs::read_to_string(crate::top().join(path)).unwrap_or_default();
            assert!(kept == fresh, "{path} is stale: run `cargo xtask docs`");
        }
    }

    #[test]
    fn every_key_of_the_starter_file_is_on_the_page() {
        let page = site_file();
        let keys = site::starter().lines().filter_map(|l| l.trim_start_matches("# ").split_once(" = "));
        let plain = |key: &str| !key.is_empty() && key.chars().all(|c| c.is_ascii_lowercase() || c == '_');
        let keys: Vec<&str> = keys.map(|(key, _)| key.trim()).filter(|key| plain(key)).collect();
        assert!(keys.len() > 20, "{keys:?}");
        for key in keys {
            assert!(page.contains(&format!("| `{key}` |")) || page.contains(&format!("{key}]")), "{key}");
        }
    }

    #[test]
    fn forms_say_what_may_be_written() {
        let page = site_file();
        for words in [
            "| `count` | yes | number of units",
            "such as `\"5.4 kW\"`",
            "whole number from 1 to",
            "## `[[load]]`",
            "## `[site.temperature]`",
        ] {
            let words = words.replace("| yes |", "|  |");
            assert!(page.contains(&words), "{words}");
        }
    }
}
