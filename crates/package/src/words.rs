//! The catalogue of messages: key to text, a language a file.

use serde_json::Value;

const ENGLISH: &str = include_str!("../words/en.toml");

/// The English texts as an object.
///
/// # Errors
/// The catalogue cannot be read.
pub(crate) fn english() -> Result<Value, String> {
    toml::from_str(ENGLISH).map_err(|e| format!("words: {e}"))
}
