//! How a schedule is put together.

use saying::Text;

use crate::{Align, Cell, Column, Schedule};

pub(super) fn words(heading: impl Into<Text>) -> Column {
    Column { heading: heading.into(), align: Align::Left }
}

pub(super) fn figures(heading: impl Into<Text>) -> Column {
    Column { heading: heading.into(), align: Align::Right }
}

pub(super) fn text(words: impl ToString) -> Cell {
    Cell::Text(words.to_string().into())
}

/// Words that have a template.
pub(super) fn told(words: impl Into<Text>) -> Cell {
    Cell::Text(words.into())
}

/// A word, or nothing.
pub(super) fn maybe(words: Option<impl ToString>) -> Cell {
    words.map_or(Cell::Empty, |w| Cell::Text(w.to_string().into()))
}

pub(super) fn count(n: usize) -> Cell {
    Cell::Count(n as u64)
}

/// A schedule whose rows all have as many cells as there are columns.
pub(super) fn schedule(
    id: &'static str,
    title: impl Into<Text>,
    columns: Vec<Column>,
    rows: Vec<Vec<Cell>>,
    notes: Vec<Text>,
) -> Schedule {
    debug_assert!(rows.iter().all(|row| row.len() == columns.len()), "{id}");
    Schedule { id, title: title.into(), columns, rows, notes }
}
