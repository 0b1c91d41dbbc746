//! Why a table gives no answer.

/// Why a table gives no answer. Every case is "not covered", never a reason to guess.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// The verification word is missing or not of the vocabulary.
    #[error("{table}: \"{word}\" is no verification word")]
    Verification {
        /// The table's file.
        table: String,
        /// What stands there; empty if nothing does.
        word: String,
    },
    /// A line of the head is missing.
    #[error("{table}: the head does not name its {key}")]
    Head {
        /// The table's file.
        table: String,
        /// The missing key.
        key: String,
    },
    /// The file cannot be read as a table.
    #[error("{table}: {reason}")]
    Unreadable {
        /// The table's file.
        table: String,
        /// What is wrong.
        reason: String,
    },
    /// A cell holds no number, or one of another unit than asked for.
    #[error("{table}, {row}: column {column} holds \"{text}\"")]
    Cell {
        /// The table's file or clause.
        table: String,
        /// The row.
        row: String,
        /// The column.
        column: String,
        /// What stands there.
        text: String,
    },
    /// The table has no such row.
    #[error("{table} has no row for {asked} ({has})")]
    NoRow {
        /// Standard, edition and clause.
        table: String,
        /// What was asked for.
        asked: String,
        /// What the table has.
        has: String,
    },
    /// The table has the row but no figure in this column.
    #[error("{table} gives no {column} for {row}")]
    NoFigure {
        /// Standard, edition and clause.
        table: String,
        /// The row.
        row: String,
        /// The column.
        column: String,
    },
    /// Sources disagree on the cell.
    #[error("{table}, {row}, {column} is not covered: sources disagree; {note}")]
    Disputed {
        /// Standard, edition and clause.
        table: String,
        /// The row.
        row: String,
        /// The column.
        column: String,
        /// What the sources say.
        note: String,
    },
}

impl TableError {
    /// The table that gives no answer.
    pub fn table(&self) -> &str {
        match self {
            Self::Verification { table, .. }
            | Self::Head { table, .. }
            | Self::Unreadable { table, .. }
            | Self::Cell { table, .. }
            | Self::NoRow { table, .. }
            | Self::NoFigure { table, .. }
            | Self::Disputed { table, .. } => table,
        }
    }
}
