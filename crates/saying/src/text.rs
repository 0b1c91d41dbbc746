//! A sentence with its template.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::fmt;
use std::ops::Deref;

use crate::Words;

/// A sentence in English that can be put into another language. Reads as a `str`; two are alike where they read alike.
#[derive(Clone, Default)]
pub struct Text {
    english: Cow<'static, str>,
    kept: Kept,
}

/// What is kept of how a text was made.
#[derive(Clone, Default)]
enum Kept {
    /// Nothing: somebody's own word or a figure, or words that no template keeps.
    #[default]
    Nothing,
    /// The sentence is its own template.
    Itself,
    /// The template and what fills its holes.
    Template(Box<(&'static str, Vec<(&'static str, Text)>)>),
}

impl Text {
    /// A sentence without holes or braces, such as one that stands in a registry.
    pub const fn plain(template: &'static str) -> Self {
        Self { english: Cow::Borrowed(template), kept: Kept::Itself }
    }

    /// A sentence without holes, with its braces doubled and single. Called by [`say!`](crate::say).
    pub fn fixed(template: &'static str, english: &'static str) -> Self {
        if template == english {
            return Self::plain(template);
        }
        Self::said(template, Vec::new(), english.to_owned())
    }

    /// A sentence with filled holes. Called by [`say!`](crate::say).
    pub fn said(template: &'static str, holes: Vec<(&'static str, Self)>, english: String) -> Self {
        Self { english: Cow::Owned(english), kept: Kept::Template(Box::new((template, holes))) }
    }

    /// Several in a row.
    pub fn joined(all: &[Self], between: &'static str) -> Self {
        all.iter().cloned().reduce(|before, next| before.then(between, next)).unwrap_or_default()
    }

    /// Another behind it.
    #[must_use]
    pub fn then(self, between: &'static str, next: Self) -> Self {
        let english = format!("{self}{between}{next}");
        let between = Self { english: Cow::Borrowed(between), kept: Kept::Nothing };
        Self::said("{a}{between}{b}", vec![("a", self), ("between", between), ("b", next)], english)
    }

    /// As it reads in English.
    pub fn as_str(&self) -> &str {
        &self.english
    }

    /// As it reads in a language. What its catalogue does not have stays English.
    pub fn in_words(&self, words: &Words) -> String {
        match &self.kept {
            _ if words.is_english() => self.english.clone().into_owned(),
            Kept::Nothing => self.english.clone().into_owned(),
            Kept::Itself => words.plain(&self.english),
            Kept::Template(made) => {
                let (template, holes) = &**made;
                words.fill(template, |name| {
                    holes.iter().find(|(hole, _)| *hole == name).map(|(_, text)| text.in_words(words))
                })
            }
        }
    }
}

/// What can be said as a text, such as an error with a sentence of its own.
pub trait Says {
    /// It, as a text.
    fn say(&self) -> Text;
}

impl Says for Text {
    fn say(&self) -> Text {
        self.clone()
    }
}

impl<T: Says + ?Sized> Says for &T {
    fn say(&self) -> Text {
        (**self).say()
    }
}

/// What stands in a hole; [`say!`](crate::say) asks it. What [`Says`] a text gives it, anything else is taken as it
/// reads ([`Shown`]): a method of the type itself is found before that of a trait.
#[derive(Debug)]
pub struct Hole<'a, T: ?Sized>(pub &'a T);

impl<T: Says + ?Sized> Hole<'_, T> {
    /// The text.
    pub fn text(&self) -> Text {
        self.0.say()
    }
}

/// Whatever can be shown, in a hole.
pub trait Shown {
    /// As it reads; no language changes it.
    fn text(&self) -> Text;
}

impl<T: fmt::Display + ?Sized> Shown for Hole<'_, T> {
    fn text(&self) -> Text {
        Text::from(self.0.to_string())
    }
}

impl Deref for Text {
    type Target = str;

    fn deref(&self) -> &str {
        &self.english
    }
}

impl AsRef<str> for Text {
    fn as_ref(&self) -> &str {
        &self.english
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.english)
    }
}

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&*self.english, f)
    }
}

impl PartialEq for Text {
    fn eq(&self, other: &Self) -> bool {
        self.english == other.english
    }
}

impl Eq for Text {}

impl PartialOrd for Text {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Text {
    fn cmp(&self, other: &Self) -> Ordering {
        self.english.cmp(&other.english)
    }
}

impl PartialEq<str> for Text {
    fn eq(&self, other: &str) -> bool {
        &*self.english == other
    }
}

impl PartialEq<&str> for Text {
    fn eq(&self, other: &&str) -> bool {
        &*self.english == *other
    }
}

/// A fixed text is its own template. Only what stands in a `say!` or a registry is listed for translators.
impl From<&'static str> for Text {
    fn from(template: &'static str) -> Self {
        Self::plain(template)
    }
}

/// No template: somebody's own word, or words that nothing can translate yet.
impl From<String> for Text {
    fn from(own: String) -> Self {
        Self { english: Cow::Owned(own), kept: Kept::Nothing }
    }
}

impl From<&String> for Text {
    fn from(own: &String) -> Self {
        own.clone().into()
    }
}

impl From<&Text> for Text {
    fn from(text: &Text) -> Self {
        text.clone()
    }
}

impl From<Text> for String {
    fn from(text: Text) -> Self {
        text.english.into_owned()
    }
}
