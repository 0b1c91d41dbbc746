//! Sentences for people. A [`Text`] is an English sentence that still knows its template and what fills its holes,
//! so that a catalogue in another language ([`Words`]) can say the same. [`say!`] makes one.
//!
//! The template itself is the id of a message, as in message catalogues generally: the sentence stands where it is
//! said, nothing has to be kept in step with a table of keys, and a sentence that changes loses its old translation
//! instead of keeping a wrong one.
//!
//! ```
//! use saying::{Words, say};
//! let leg = "L1";
//! let text = say!("the relay passes {current} on {leg}", current = 60, leg);
//! assert_eq!(&*text, "the relay passes 60 on L1");
//! let french = [("the relay passes {current} on {leg}", "{leg} : {current} traversent le relais")];
//! let words = Words::of(french).unwrap();
//! assert_eq!(text.in_words(&words), "L1 : 60 traversent le relais");
//! ```
//!
//! Holes are named and checked by the compiler: one that is not filled does not compile, nor one that nothing fills.
//!
//! ```compile_fail
//! let leg = "L1";
//! saying::say!("nothing fills {leg}");
//! ```
//!
//! ```compile_fail
//! saying::say!("no hole", leg = "L1");
//! ```

mod template;
mod text;
mod words;

pub use template::{Piece, pieces};
pub use text::{Hole, Says, Shown, Text};
pub use words::Words;

/// Makes a [`Text`] of a template and what fills its holes: `say!("{part} carries {}", ...)` with every hole by name,
/// `name = value` or `name` alone for a variable of that name. A [`Text`] in a hole stays translatable; anything else
/// that can be shown is taken as it reads. Figures are formatted in the value (`x = format!("{x:.1}")`), never in the
/// template.
#[macro_export]
macro_rules! say {
    ($template:literal $(,)?) => {
        match ::std::format_args!(::std::concat!($template)).as_str() {
            ::std::option::Option::Some(english) => $crate::Text::fixed($template, english),
            ::std::option::Option::None => $crate::Text::plain($template),
        }
    };
    ($template:literal, $($holes:tt)+) => {
        $crate::say!(@named $template, [] $($holes)+)
    };
    // every hole with a name
    (@named $template:literal, [$($done:tt)*] $name:ident = $value:expr $(, $($rest:tt)*)?) => {
        $crate::say!(@named $template, [$($done)* ($name, $value)] $($($rest)*)?)
    };
    (@named $template:literal, [$($done:tt)*] $name:ident $(, $($rest:tt)*)?) => {
        $crate::say!(@named $template, [$($done)* ($name, $name)] $($($rest)*)?)
    };
    (@named $template:literal, [$(($name:ident, $value:expr))+]) => {{
        #[allow(unused_imports, reason = "a text needs no other way to be shown")]
        use $crate::Shown as _;
        // `concat!` forbids holes that a variable of the surroundings would fill unseen
        match ($($crate::Hole(&$value).text(),)+) {
            ($($name,)+) => {
                let english = ::std::format!(::std::concat!($template), $($name = $name),+);
                $crate::Text::said($template, ::std::vec![$((::std::stringify!($name), $name)),+], english)
            }
        }
    }};
}
