//! Schedules: tables of plain text and numbers with a heading, for spreadsheets and print.

use saying::Text;

/// How a column reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Heading, with the unit where cells are plain numbers.
    pub heading: Text,
    /// How it reads.
    pub align: Align,
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words, or a figure with its unit.
    Text(Text),
    /// A whole number.
    Count(u64),
    /// A number in the unit of its heading.
    Number(f64),
    /// Nothing known or nothing asked for.
    Empty,
}

/// One schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Short id in words: `parts`, `conductors`, `breakers`, `panel`, `labels`, `addresses`, `settings`, `cables`.
    pub id: &'static str,
    /// Title for people.
    pub title: Text,
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows, each with as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
    /// What a reader must know of it: what is not in it, what to confirm.
    pub notes: Vec<Text>,
}
