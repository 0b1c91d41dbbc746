//! A place in a text that a person wrote.

use std::fmt;
use std::sync::Arc;

/// Where something stands in a file: for findings that point and for derivations that end at an input.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// First byte.
    pub start: usize,
    /// Byte after the last.
    pub end: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}
