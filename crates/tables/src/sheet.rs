//! One table file: its head and its cells.
//!
//! The head is a run of `# key: value` lines (`title`, `standard`, `edition`, `clause`, `verification`, any
//! number of `note`). `verification: per row` is allowed only with a `verification` column. A row whose
//! `disputed` column names another column gives no answer there; its `note` column says why.

use derivation::Known;
use quantity::Quantity;

use crate::{TableError, Verification};

/// A table as read, before any meaning is given to its columns.
#[derive(Debug, Clone)]
pub struct Sheet {
    file: &'static str,
    title: String,
    source: String,
    clause: String,
    notes: Vec<String>,
    verification: Option<Verification>,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Sheet {
    /// Reads a table from the text of its file.
    ///
    /// # Errors
    /// The head lacks a key, the text is no CSV, it has no rows, or a verification word is missing or unknown.
    pub fn parse(file: &'static str, text: &str) -> Result<Self, TableError> {
        let head = |key: &str| {
            let found = head_lines(text).find(|(k, v)| *k == key && !v.is_empty());
            found
                .map(|(_, v)| v.to_owned())
                .ok_or_else(|| TableError::Head { table: file.to_owned(), key: key.to_owned() })
        };
        let word = head("verification")?;
        let (columns, rows) = cells(file, text)?;
        let sheet = Self {
            file,
            title: head("title")?,
            source: format!("{}, {}", head("standard")?, head("edition")?),
            clause: head("clause")?,
            notes: head_lines(text).filter(|(k, _)| *k == "note").map(|(_, v)| v.to_owned()).collect(),
            verification: Verification::read(&word),
            columns,
            rows,
        };
        if sheet.verification.is_none() && word != "per row" {
            return Err(TableError::Verification { table: file.to_owned(), word });
        }
        for row in 0..sheet.rows.len() {
            sheet.verification(row)?;
        }
        Ok(sheet)
    }

    /// What the table is.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The clause or table number in its standard.
    pub fn clause(&self) -> &str {
        &self.clause
    }

    /// Standard, edition and clause.
    pub fn source(&self) -> String {
        format!("{}, {}", self.source, self.clause)
    }

    /// Standard, edition and clause of a row: its own where the table has columns for them.
    pub fn source_of(&self, row: usize) -> String {
        let standard = match (self.text(row, "standard"), self.text(row, "edition")) {
            ("", _) | (_, "") => self.source.clone(),
            (standard, edition) => format!("{standard}, {edition}"),
        };
        let clause = self.text(row, "clause");
        format!("{standard}, {}", if clause.is_empty() { &self.clause } else { clause })
    }

    /// The notes of the head.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// How many rows it has.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether it has no rows; a table that was read always has some.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// How well a row was verified: its own word where the table has a column for it, else the table's.
    ///
    /// # Errors
    /// The word is missing or unknown.
    pub fn verification(&self, row: usize) -> Result<Verification, TableError> {
        let own = self.columns.iter().any(|c| c == "verification");
        let word = self.text(row, "verification");
        let found = if own { Verification::read(word) } else { self.verification };
        found.ok_or_else(|| TableError::Verification { table: self.file.to_owned(), word: word.to_owned() })
    }

    /// The text of a cell; empty where the table has none.
    pub fn text(&self, row: usize, column: &str) -> &str {
        let k = self.columns.iter().position(|c| c == column);
        let cell = k.and_then(|k| self.rows.get(row).and_then(|cells| cells.get(k)));
        cell.map_or("", String::as_str)
    }

    /// The number in a cell; `None` where the cell is empty.
    ///
    /// # Errors
    /// The cell holds something that is no finite number.
    pub fn number(&self, row: usize, column: &str) -> Result<Option<f64>, TableError> {
        let text = self.text(row, column);
        if text.is_empty() {
            return Ok(None);
        }
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Some(value)),
            _ => Err(self.bad_cell(row, column)),
        }
    }

    /// The row whose whole-number range `[min, max]` holds `n`; an empty `max` has no end.
    ///
    /// # Errors
    /// No row holds it, or a bound is no number.
    pub fn row_in_range(&self, n: f64, min: &str, max: &str, what: &str) -> Result<usize, TableError> {
        for row in 0..self.len() {
            let low = self.number(row, min)?.ok_or_else(|| self.bad_cell(row, min))?;
            let high = self.number(row, max)?;
            if n >= low && high.is_none_or(|high| n <= high) {
                return Ok(row);
            }
        }
        Err(self.no_row(format!("{n} {what}"), "whole numbers from 1"))
    }

    /// A cell as a quantity of `scale` SI units each, with its derivation.
    ///
    /// # Errors
    /// The cell is empty, disputed or no number.
    pub fn known<Q: Quantity>(
        &self,
        symbol: &str,
        what: impl Into<String>,
        cell: Cell<'_>,
    ) -> Result<Known<Q>, TableError> {
        let Cell { row, column, row_name, scale } = cell;
        if self.text(row, "disputed").split_whitespace().any(|c| c == column) {
            return Err(TableError::Disputed {
                table: self.source(),
                row: row_name.to_owned(),
                column: column.to_owned(),
                note: self.text(row, "note").to_owned(),
            });
        }
        let value = self.number(row, column)?.ok_or_else(|| TableError::NoFigure {
            table: self.source(),
            row: row_name.to_owned(),
            column: column.to_owned(),
        })?;
        let confirm = self.verification(row)?.confirm();
        let value = Q::from_si(value * scale);
        Ok(Known::table(symbol, what, value, &self.title, row_name, &self.source_of(row), confirm))
    }

    /// The error for a row that is not there.
    pub fn no_row(&self, asked: impl Into<String>, has: impl Into<String>) -> TableError {
        TableError::NoRow { table: self.source(), asked: asked.into(), has: has.into() }
    }

    /// The error for a cell that cannot be used.
    pub fn bad_cell(&self, row: usize, column: &str) -> TableError {
        TableError::Cell {
            table: self.file.to_owned(),
            row: format!("row {}", row + 1),
            column: column.to_owned(),
            text: self.text(row, column).to_owned(),
        }
    }
}

/// Which cell to read and how.
#[derive(Debug, Clone, Copy)]
pub struct Cell<'a> {
    /// Row, from 0.
    pub row: usize,
    /// Column by its heading.
    pub column: &'a str,
    /// The row as people name it: "5 hp at 230 V".
    pub row_name: &'a str,
    /// SI units in one of the figures.
    pub scale: f64,
}

fn head_lines(text: &str) -> impl Iterator<Item = (&str, &str)> {
    let lines = text.lines().map_while(|line| line.strip_prefix('#'));
    lines.filter_map(|line| line.split_once(':')).map(|(key, value)| (key.trim(), value.trim()))
}

type Cells = (Vec<String>, Vec<Vec<String>>);

fn cells(file: &str, text: &str) -> Result<Cells, TableError> {
    let unreadable = |reason: String| TableError::Unreadable { table: file.to_owned(), reason };
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let strings = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect::<Vec<_>>();
    let columns = strings(reader.headers().map_err(|e| unreadable(e.to_string()))?);
    let mut rows = Vec::new();
    for record in reader.records() {
        rows.push(strings(&record.map_err(|e| unreadable(e.to_string()))?));
    }
    if rows.is_empty() {
        return Err(unreadable("no rows".to_owned()));
    }
    Ok((columns, rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "# title: t\n# standard: S\n# edition: 1\n# clause: c\n# verification: one source\n\
                        n,a\n1,5\n2,\n";

    #[test]
    fn a_head_without_a_known_verification_word_makes_the_table_unusable() {
        assert!(Sheet::parse("t", GOOD).is_ok());
        let unknown = GOOD.replace("one source", "quite sure");
        let word = "quite sure".to_owned();
        assert_eq!(
            Sheet::parse("t", &unknown).err(),
            Some(TableError::Verification { table: "t".to_owned(), word })
        );
        let missing = GOOD.replace("# verification: one source\n", "");
        assert!(matches!(Sheet::parse("t", &missing), Err(TableError::Head { .. })));
        // "per row" without the column
        let per_row = GOOD.replace("one source", "per row");
        assert!(matches!(Sheet::parse("t", &per_row), Err(TableError::Verification { .. })));
        // a column with an empty word, though the head has one
        let column = GOOD.replace("n,a\n1,5\n2,", "n,a,verification\n1,5,memory\n2,3,");
        assert!(matches!(Sheet::parse("t", &column), Err(TableError::Verification { .. })));
    }

    #[test]
    fn an_empty_cell_is_no_figure_and_one_source_asks_for_confirmation() {
        let sheet = Sheet::parse("t", GOOD).unwrap();
        let cell = |row| Cell { row, column: "a", row_name: "r", scale: 1.0 };
        let five = sheet.known::<quantity::Current>("I", "i", cell(0)).unwrap();
        assert_eq!(five.node().source(), "S, 1, c, t, r (confirm in the adopted code)");
        assert!(matches!(
            sheet.known::<quantity::Current>("I", "i", cell(1)),
            Err(TableError::NoFigure { .. })
        ));
    }
}
