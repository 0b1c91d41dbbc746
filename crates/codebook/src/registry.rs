//! All rules, read from the heads of their own files.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What a rule says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// Stable id in words, the name of its file: `general-lighting`.
    pub id: String,
    /// The clauses.
    pub clause: String,
    /// Standard and edition.
    pub edition: String,
    /// One line.
    pub title: String,
    /// When it applies.
    pub applies: String,
    /// Why it is there.
    pub why: String,
    /// Formula, symbols, units.
    pub formula: String,
    /// A passing and a failing example.
    pub example: String,
    /// Limits of our reading, and where we are stricter than the clause.
    pub limits: String,
    /// Where the wording was taken from and how well it was verified.
    pub source: String,
}

/// Every rule, in the order of its clause.
pub fn rules() -> &'static [Rule] {
    &RULES
}

/// The rule with an id.
pub fn rule(id: &str) -> Option<&'static Rule> {
    rules().iter().find(|rule| rule.id == id)
}

macro_rules! registered {
    ($($name:ident),+ $(,)?) => {
        static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| {
            vec![$(Rule::read(stringify!($name), include_str!(concat!("us/", stringify!($name), ".rs")))),+]
        });
    };
}

registered! {
    continuous_load,
    whole_amperes,
    dwelling_standard,
    general_lighting,
    largest_motor,
    space_heat,
    small_appliance,
    fixed_appliances,
    dryers,
    ranges,
    ev_supply,
    noncoincident,
    neutral,
    dwelling_optional,
    dwelling_existing,
    measured_demand,
    service_minimum,
    locked_rotor,
    standby_capacity,
    stand_alone,
    array_voltage,
    array_current,
    string_overcurrent,
    array_not_checked,
    storage_current,
    storage_overcurrent,
    storage_disconnect,
    storage_voltage,
    labels,
}

const HEADINGS: [&str; 7] =
    ["Clause and edition", "Applies when", "Why", "Formula", "Example", "Limits of our reading", "Source"];

impl Rule {
    /// From the documentation at the head of a rule file.
    fn read(name: &str, text: &str) -> Self {
        let mut title = "";
        let mut heading = "";
        let mut sections: BTreeMap<&str, String> = BTreeMap::new();
        for line in text.lines().map_while(|line| line.strip_prefix("//!")).map(str::trim) {
            if let Some(new) = line.strip_prefix("## ") {
                heading = new;
            } else if title.is_empty() {
                title = line;
            } else if !line.is_empty() {
                let section = sections.entry(heading).or_default();
                if !section.is_empty() {
                    section.push(' ');
                }
                section.push_str(line);
            }
        }
        let [clause, applies, why, formula, example, limits, source] =
            HEADINGS.map(|heading| sections.remove(heading).unwrap_or_default());
        let (edition, clause) = clause.split_once("; ").unwrap_or(("", &clause));
        Self {
            id: name.replace('_', "-"),
            clause: clause.trim_end_matches('.').to_owned(),
            edition: edition.to_owned(),
            title: title.trim_end_matches('.').to_owned(),
            applies,
            why,
            formula,
            example,
            limits,
            source,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Files beside the rules that hold none.
    const WITHOUT_RULE: [&str; 3] = ["mod", "facts", "testing"];

    fn files() -> BTreeSet<String> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/us");
        let names = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
        let stems = names.filter_map(|name| name.to_str().unwrap().strip_suffix(".rs").map(str::to_owned));
        stems.filter(|stem| !WITHOUT_RULE.contains(&stem.as_str())).collect()
    }

    #[test]
    fn every_rule_file_is_registered_once() {
        let ids: BTreeSet<String> = rules().iter().map(|rule| rule.id.clone()).collect();
        assert_eq!(ids.len(), rules().len(), "an id comes twice");
        let files: BTreeSet<String> = files().iter().map(|stem| stem.replace('_', "-")).collect();
        assert_eq!(ids, files);
    }

    #[test]
    fn every_rule_says_what_it_is() {
        for rule in rules() {
            let id = &rule.id;
            assert!(id.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{id}");
            assert_eq!(rule.edition, "NEC 2023", "{id}");
            assert!(rule.clause.starts_with(|c: char| c.is_ascii_digit()), "{id}: clause {}", rule.clause);
            assert!((10..=100).contains(&rule.title.len()), "{id}: title {}", rule.title);
            for text in [&rule.applies, &rule.why, &rule.formula, &rule.limits, &rule.source] {
                assert!(text.len() > 20, "{id}: \"{text}\"");
            }
            assert!(rule.example.contains("Passing:") && rule.example.contains("Failing:"), "{id}");
            let words = ["two sources agree", "one source", "from memory"];
            assert!(words.iter().any(|word| rule.source.contains(word)), "{id}: {}", rule.source);
        }
        assert_eq!(rule("ranges").map(|rule| rule.clause.as_str()), Some("220.55"));
    }

    #[test]
    fn headings_stand_in_order() {
        for stem in files() {
            let path = format!("{}/src/us/{stem}.rs", env!("CARGO_MANIFEST_DIR"));
            let text = std::fs::read_to_string(path).unwrap();
            let found: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("//! ## ")).collect();
            assert_eq!(found, HEADINGS, "{stem}");
        }
    }
}
