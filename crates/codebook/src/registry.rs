//! All rules of the books, read from the heads of their own files.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A book of rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Book {
    /// NFPA 70 (NEC), 2023; files under `us/`.
    Us,
    /// IEC 60364 and the IEC standards beside it; files under `iec/`.
    Iec,
    /// Fire codes that stand beside the NEC (NFPA 855, IRC); files under `fire/`.
    Fire,
}

impl Book {
    /// All, in the order in which rules are listed.
    pub const ALL: [Self; 3] = [Self::Us, Self::Iec, Self::Fire];

    /// As a site or a command names it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Us => "us",
            Self::Iec => "iec",
            Self::Fire => "fire",
        }
    }
}

/// What a rule says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// Stable id in words, the name of its file: `general-lighting`. It stands once over all books.
    pub id: String,
    /// The book that it belongs to.
    pub book: Book,
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

/// Every rule of all books, each book in the order of its list.
pub fn rules() -> &'static [Rule] {
    static RULES: LazyLock<Vec<Rule>> =
        LazyLock::new(|| us().into_iter().chain(iec()).chain(fire()).collect());
    &RULES
}

/// The rule with an id.
pub fn rule(id: &str) -> Option<&'static Rule> {
    rules().iter().find(|rule| rule.id == id)
}

macro_rules! registered {
    ($list:ident of $book:ident in $folder:literal: $($name:ident),+ $(,)?) => {
        fn $list() -> Vec<Rule> {
            vec![$(Rule::read(
                Book::$book,
                stringify!($name),
                include_str!(concat!($folder, "/", stringify!($name), ".rs")),
            )),+]
        }
    };
}

registered! {
    us of Us in "us":
    continuous_load,
    controller_output,
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
    multifamily_standard,
    building_lighting,
    building_load,
    measured_demand,
    service_minimum,
    locked_rotor,
    standby_capacity,
    stand_alone,
    array_maximum_voltage,
    array_current,
    string_overcurrent,
    array_not_checked,
    storage_current,
    storage_overcurrent,
    storage_disconnect,
    storage_voltage,
    labels,
    terminal_temperature,
    conductor_ampacity,
    small_conductor,
    overcurrent_device,
    parallel_set,
    conductor_size,
    voltage_drop,
    equipment_ground,
    bonding_jumper,
    electrode_conductor,
    raceway_fill,
    motor_conductor,
    motor_device,
    motor_overload,
    neutral_conductor,
    dwelling_service,
    busbar_connection,
    feeder_connection,
    power_control,
    source_circuit,
    supply_side,
    working_space,
    working_area,
    conductor_tap,
    generator_conductor,
    system_bond,
    service_capacity,
}

registered! {
    iec of Iec in "iec":
    rated_currents,
    cable_ampacity,
    overload_coordination,
    cable_voltage_drop,
    direct_voltage_drop,
    neutral_section,
    protective_conductor,
    bonding_section,
    adiabatic_withstand,
    conductor_resistance,
    conductor_choice,
    disconnection_time,
    automatic_disconnection,
    island_shock_protection,
    breaker_discrimination,
    array_voltage,
    array_overcurrent,
    solar_supply_overcurrent,
    residual_current_type,
    unbalance_derating,
    gangway,
    warning_notices,
    motor_breaker,
    motor_overload,
}

registered! {
    fire of Fire in "fire":
    storage_places,
}

const HEADINGS: [&str; 7] =
    ["Clause and edition", "Applies when", "Why", "Formula", "Example", "Limits of our reading", "Source"];

impl Rule {
    /// From the documentation at the head of a rule file.
    fn read(book: Book, name: &str, text: &str) -> Self {
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
            book,
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

    fn files(book: Book) -> BTreeSet<String> {
        let folder = format!("{}/src/{}", env!("CARGO_MANIFEST_DIR"), book.word());
        let names = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
        let stems = names.filter_map(|name| name.to_str().unwrap().strip_suffix(".rs").map(str::to_owned));
        stems.filter(|stem| !WITHOUT_RULE.contains(&stem.as_str())).collect()
    }

    #[test]
    fn every_rule_file_of_all_books_is_registered_once() {
        let ids: BTreeSet<&str> = rules().iter().map(|rule| rule.id.as_str()).collect();
        assert_eq!(ids.len(), rules().len(), "an id comes twice");
        for book in Book::ALL {
            let ids: BTreeSet<String> =
                rules().iter().filter(|rule| rule.book == book).map(|rule| rule.id.clone()).collect();
            let files: BTreeSet<String> = files(book).iter().map(|stem| stem.replace('_', "-")).collect();
            assert_eq!(ids, files, "{}", book.word());
        }
    }

    #[test]
    fn every_rule_says_what_it_is() {
        for rule in rules() {
            let id = &rule.id;
            assert!(id.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{id}");
            match rule.book {
                Book::Us => {
                    assert_eq!(rule.edition, "NEC 2023", "{id}");
                    assert!(
                        rule.clause.starts_with(|c: char| c.is_ascii_digit()),
                        "{id}: clause {}",
                        rule.clause
                    );
                }
                Book::Fire => assert!(rule.edition.starts_with("NFPA 855 "), "{id}: {}", rule.edition),
                Book::Iec => {
                    let standards = ["IEC ", "NEMA MG 1"];
                    assert!(standards.iter().any(|s| rule.edition.starts_with(s)), "{id}: {}", rule.edition);
                    assert!(
                        rule.clause.contains(|c: char| c.is_ascii_digit()),
                        "{id}: clause {}",
                        rule.clause
                    );
                }
            }
            assert!((10..=100).contains(&rule.title.len()), "{id}: title {}", rule.title);
            for text in [&rule.applies, &rule.why, &rule.formula, &rule.limits, &rule.source] {
                assert!(text.len() > 20, "{id}: \"{text}\"");
            }
            assert!(rule.example.contains("Passing:") && rule.example.contains("Failing:"), "{id}");
            let words = ["two sources agree", "one source", "from memory"];
            assert!(words.iter().any(|word| rule.source.contains(word)), "{id}: {}", rule.source);
        }
        assert_eq!(rule("ranges").map(|rule| (rule.book, rule.clause.as_str())), Some((Book::Us, "220.55")));
        assert_eq!(rule("rated-currents").map(|rule| rule.book), Some(Book::Iec));
    }

    #[test]
    fn headings_stand_in_order() {
        for (book, stem) in
            Book::ALL.into_iter().flat_map(|book| files(book).into_iter().map(move |s| (book, s)))
        {
            let path = format!("{}/src/{}/{stem}.rs", env!("CARGO_MANIFEST_DIR"), book.word());
            let text = std::fs::read_to_string(path).unwrap();
            let found: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("//! ## ")).collect();
            assert_eq!(found, HEADINGS, "{stem}");
        }
    }
}
