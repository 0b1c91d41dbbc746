//! A catalogue of sentences in another language.

use std::collections::{BTreeMap, BTreeSet};

use crate::template::{Piece, pieces};

/// What the templates are in a language. The default has none, which is English.
#[derive(Debug, Clone, Default)]
pub struct Words {
    of: BTreeMap<String, String>,
}

impl Words {
    /// English: every sentence as it is.
    pub fn english() -> Self {
        Self::default()
    }

    /// From pairs of template and translation. What has no translation yet, an empty one, stays English.
    ///
    /// # Errors
    /// Translations that do not fill the holes of their template: each must name every one, and no other, or a figure
    /// would be lost on the way. One line for each.
    pub fn of<T: Into<String>>(pairs: impl IntoIterator<Item = (T, T)>) -> Result<Self, Vec<String>> {
        let mut words = Self::default();
        let mut wrong = Vec::new();
        for (template, translation) in pairs {
            let (template, translation) = (template.into(), translation.into());
            if translation.is_empty() {
                continue;
            }
            match holes(&template).and_then(|asked| Ok((asked, holes(&translation)?))) {
                Ok((asked, given)) if asked == given => {
                    words.of.insert(template, translation);
                }
                Ok(_) => wrong.push(format!("\"{translation}\" has not the holes of \"{template}\"")),
                Err(why) => wrong.push(why),
            }
        }
        if wrong.is_empty() { Ok(words) } else { Err(wrong) }
    }

    /// Whether every sentence stays as it is.
    pub fn is_english(&self) -> bool {
        self.of.is_empty()
    }

    /// A sentence without holes, such as one of a registry.
    pub fn plain(&self, template: &str) -> String {
        self.fill(template, |_| None)
    }

    /// A template with its holes filled, translated where the catalogue has it.
    pub(crate) fn fill(&self, template: &str, of: impl Fn(&str) -> Option<String>) -> String {
        let said = self.of.get(template).map_or(template, String::as_str);
        // a text of a registry may have braces of its own
        let Ok(pieces) = pieces(said) else { return said.to_owned() };
        pieces
            .into_iter()
            .map(|piece| match piece {
                Piece::Words(words) => words.to_owned(),
                Piece::Hole(name) => of(name).unwrap_or_else(|| format!("{{{name}}}")),
            })
            .collect()
    }
}

/// Names of the holes of a template.
fn holes(template: &str) -> Result<BTreeSet<&str>, String> {
    let name = |piece| match piece {
        Piece::Hole(name) => Some(name),
        Piece::Words(_) => None,
    };
    Ok(pieces(template)?.into_iter().filter_map(name).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Text, say};

    #[test]
    fn sentences_within_sentences_are_translated() {
        let when = say!("while {doing}", doing = say!("charging"));
        let x = 2.71499;
        let text = say!("{when} it is {x}", when, x = format!("{x:.2}"));
        assert_eq!(&*text, "while charging it is 2.71");
        let words = Words::of([
            ("{when} it is {x}", "{x} ist es {when}"),
            ("while {doing}", "beim {doing}"),
            ("charging", "Laden"),
        ])
        .unwrap();
        assert_eq!(text.in_words(&words), "2.71 ist es beim Laden");
        // what is not there stays English, and a reference to a text is a text
        let one = &when;
        assert_eq!(say!("so {one}", one).in_words(&words), "so beim Laden");
        assert_eq!(Text::joined(&[when.clone(), when], "; ").in_words(&words), "beim Laden; beim Laden");
        assert_eq!(text.in_words(&Words::english()), &*text);
    }

    #[test]
    fn braces_and_own_words_stay() {
        let own = String::from("a {when} of one's own");
        let text = say!("{own} in {{braces}}", own);
        assert_eq!(&*text, "a {when} of one's own in {braces}");
        let words = Words::of([("{own} in {{braces}}", "{{{own}}}"), ("a {when} of one's own", "{when}")]);
        assert_eq!(text.in_words(&words.unwrap()), "{a {when} of one's own}");
        let plain = say!("only {{braces}}");
        assert_eq!(&*plain, "only {braces}");
        assert_eq!(plain.in_words(&Words::of([("only {{braces}}", "{{x}} only")]).unwrap()), "{x} only");
    }

    #[test]
    fn a_translation_that_loses_a_figure_is_refused() {
        for (template, translation) in
            [("{a} of {b}", "{a}"), ("{a}", "{a} {b}"), ("{a}", "{a} {"), ("a", "{a}")]
        {
            assert!(Words::of([(template, translation)]).is_err(), "{translation}");
        }
    }
}
