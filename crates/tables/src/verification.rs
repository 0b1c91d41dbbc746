//! How well the figures of a table were verified.

/// How well a figure was verified. The only vocabulary: a word outside it makes the table unusable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verification {
    /// At least two separate copies give the same figures.
    TwoSources,
    /// One copy was seen.
    OneSource,
    /// Written from memory.
    Memory,
}

impl Verification {
    /// Reads a verification word in any of the spellings in use; `None` for any other word.
    pub fn read(word: &str) -> Option<Self> {
        let word = word.trim().to_ascii_lowercase().replace(['_', '-'], " ");
        match word.split_whitespace().collect::<Vec<_>>().join(" ").as_str() {
            "two sources" | "two sources agree" => Some(Self::TwoSources),
            "one source" => Some(Self::OneSource),
            "memory" | "from memory" => Some(Self::Memory),
            _ => None,
        }
    }

    /// Whether the figure must be confirmed in the adopted code before it is relied on.
    pub fn confirm(self) -> bool {
        self != Self::TwoSources
    }

    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            Self::TwoSources => "two sources agree",
            Self::OneSource => "one source",
            Self::Memory => "from memory",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_meet_in_one_word_and_others_are_refused() {
        for word in ["two sources agree", "two_sources", "Two sources"] {
            assert_eq!(Verification::read(word), Some(Verification::TwoSources), "{word}");
        }
        assert_eq!(Verification::read("one_source"), Some(Verification::OneSource));
        assert_eq!(Verification::read("from memory"), Some(Verification::Memory));
        for word in ["", "sure", "per row", "three sources", "not from memory"] {
            assert_eq!(Verification::read(word), None, "{word}");
        }
        assert!(!Verification::TwoSources.confirm());
        assert!(Verification::OneSource.confirm() && Verification::Memory.confirm());
    }
}
