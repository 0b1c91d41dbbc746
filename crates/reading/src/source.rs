//! A text that a person wrote, by name, with its lines.

use std::ops::Range;
use std::sync::Arc;

use derivation::Place;

/// A named text.
#[derive(Debug, Clone)]
pub struct SourceText {
    name: Arc<str>,
    text: Arc<str>,
    line_starts: Arc<[usize]>,
}

impl SourceText {
    /// A text under the name that diagnostics give it.
    pub fn new(name: &str, text: &str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(k, _)| k + 1));
        Self { name: name.into(), text: text.into(), line_starts: line_starts.collect() }
    }

    /// The name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// A byte range as a place. Ranges beyond the end or inside a character are moved to the nearest boundary.
    pub fn place(&self, range: Range<usize>) -> Place {
        let boundary = |mut at: usize| {
            at = at.min(self.text.len());
            while !self.text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = boundary(range.start);
        let end = boundary(range.end).max(start);
        let line = self.line_starts.partition_point(|&s| s <= start).saturating_sub(1);
        let line_start = self.line_starts.get(line).copied().unwrap_or(0);
        let column = self.text.get(line_start..start).map_or(0, |s| s.chars().count());
        Place {
            file: self.name.clone(),
            line: u32::try_from(line + 1).unwrap_or(u32::MAX),
            column: u32::try_from(column + 1).unwrap_or(u32::MAX),
            start,
            end,
        }
    }
}
