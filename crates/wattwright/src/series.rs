//! Columns and drawings into files: whole, or not at all.

use std::io::Write;
use std::path::Path;

use crate::cli::Run;

/// A column of a file.
pub(crate) enum Column {
    /// Numbers with the decimals that are kept.
    Number(Vec<f64>, usize),
    /// Words.
    Words(Vec<String>),
}

/// Columns with their names.
pub(crate) type Columns = Vec<(String, Column)>;

/// Writes what was asked for; says which files stand.
pub(crate) fn write(
    run: &Run,
    columns: &Columns,
    drawing: impl FnOnce() -> String,
) -> Result<Vec<String>, String> {
    let mut written = Vec::new();
    if let Some(path) = &run.csv {
        whole(path, &csv_bytes(columns)?)?;
        written.push(path.display().to_string());
    }
    if let Some(path) = &run.parquet {
        whole(path, &parquet_bytes(columns)?)?;
        written.push(path.display().to_string());
    }
    if let Some(path) = &run.plot {
        whole(path, drawing().as_bytes())?;
        written.push(path.display().to_string());
    }
    Ok(written)
}

/// Beside its place first, then moved there in one go.
fn whole(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let say = |error: &dyn std::fmt::Display| format!("{} cannot be written: {error}", path.display());
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // as any file of this user, not for this user alone as a temporary file is
        file.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = file.tempfile_in(folder).map_err(|e| say(&e))?;
    file.write_all(bytes).map_err(|e| say(&e))?;
    file.persist(path).map_err(|e| say(&e.error))?;
    Ok(())
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
