//! Columns and drawings into files.

use std::path::Path;

use crate::cli::Run;
use crate::files::write_over;

/// A column of a file.
pub(crate) enum Column {
    /// Numbers with the decimals that are kept.
    Number(Vec<f64>, usize),
    /// Words.
    Words(Vec<String>),
}

/// Columns with their names.
pub(crate) type Columns = Vec<(String, Column)>;

/// Writes what was asked for, all files or none; says which stand.
pub(crate) fn write(
    run: &Run,
    columns: &Columns,
    drawing: impl FnOnce() -> String,
) -> Result<Vec<String>, String> {
    // everything is made before anything is written
    let mut all: Vec<(&Path, Vec<u8>)> = Vec::new();
    if let Some(path) = &run.csv {
        all.push((path, csv_bytes(columns)?));
    }
    if let Some(path) = &run.parquet {
        all.push((path, parquet_bytes(columns)?));
    }
    if let Some(path) = &run.plot {
        all.push((path, drawing().into_bytes()));
    }
    write_over(&all)?;
    Ok(all.iter().map(|(path, _)| path.display().to_string()).collect())
}

fn csv_bytes(columns: &Columns) -> Result<Vec<u8>, String> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let wrong = |error: csv::Error| error.to_string();
    out.write_record(columns.iter().map(|(name, _)| name)).map_err(wrong)?;
    let rows = columns.iter().map(|(_, c)| c.len()).max().unwrap_or(0);
    for row in 0..rows {
        out.write_record(columns.iter().map(|(_, c)| c.text(row))).map_err(wrong)?;
    }
    out.into_inner().map_err(|error| error.to_string())
}

impl Column {
    fn len(&self) -> usize {
        match self {
            Column::Number(values, _) => values.len(),
            Column::Words(values) => values.len(),
        }
    }

    fn text(&self, row: usize) -> String {
        match self {
            Column::Number(values, decimals) => {
                values.get(row).map_or(String::new(), |v| format!("{v:.*}", *decimals))
            }
            Column::Words(values) => values.get(row).cloned().unwrap_or_default(),
        }
    }
}

#[cfg(feature = "parquet")]
fn parquet_bytes(columns: &Columns) -> Result<Vec<u8>, String> {
    let columns: Vec<(&str, colfile::Column<'_>)> = columns
        .iter()
        .map(|(name, column)| {
            let column = match column {
                Column::Number(values, _) => colfile::Column::Number(values),
                Column::Words(values) => colfile::Column::Words(values),
            };
            (name.as_str(), column)
        })
        .collect();
    colfile::parquet(&columns)
}

#[cfg(not(feature = "parquet"))]
fn parquet_bytes(_: &Columns) -> Result<Vec<u8>, String> {
    Err("this program was built without the feature `parquet`; use --csv, or build with --features parquet"
        .to_owned())
}
