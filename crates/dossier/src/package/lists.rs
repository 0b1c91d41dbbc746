//! How a schedule is put together.

use crate::{Align, Cell, Column, Schedule};

pub(super) fn words(heading: &'static str) -> Column {
    Column { heading, align: Align::Left }
}

pub(super) fn figures(heading: &'static str) -> Column {
    Column { heading, align: Align::Right }
}

pub(super) fn text(words: impl ToString) -> Cell {
    Cell::Text(words.to_string())
}

/// A word, or nothing.
pub(super) fn maybe(words: Option<impl ToString>) -> Cell {
    words.map_or(Cell::Empty, |w| Cell::Text(w.to_string()))
}

pub(super) fn count(n: usize) -> Cell {
    Cell::Count(n as u64)
}

/// A schedule whose rows all have as many cells as there are columns.
pub(super) fn schedule(
    id: &'static str,
    title: &str,
    columns: Vec<Column>,
    rows: Vec<Vec<Cell>>,
    notes: &[&str],
) -> Schedule {
    debug_assert!(rows.iter().all(|row| row.len() == columns.len()), "{id}");
    Schedule {
        id,
        title: title.to_owned(),
        columns,
        rows,
        notes: notes.iter().map(|n| (*n).to_owned()).collect(),
    }
}
