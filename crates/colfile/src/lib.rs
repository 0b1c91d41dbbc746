//! Columns as a Parquet file. A crate by itself: what it needs takes longer to build than the rest of the program, so
//! the program has it only with the feature `parquet`.

use std::sync::Arc;

use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::{Type, TypePtr};

/// A column.
#[derive(Debug, Clone, Copy)]
pub enum Column<'a> {
    /// Numbers.
    Number(&'a [f64]),
    /// Words.
    Words(&'a [String]),
}

impl Column<'_> {
    fn len(&self) -> usize {
        match self {
            Column::Number(values) => values.len(),
            Column::Words(values) => values.len(),
        }
    }

    fn schema(&self, name: &str) -> Result<TypePtr, ParquetError> {
        let built = match self {
            Column::Number(_) => Type::primitive_type_builder(name, Physical::DOUBLE),
            Column::Words(_) => Type::primitive_type_builder(name, Physical::BYTE_ARRAY)
                .with_logical_type(Some(LogicalType::String)),
        };
        Ok(Arc::new(built.with_repetition(Repetition::REQUIRED).build()?))
    }
}

/// Bytes of a file with columns of like length, compressed by Snappy; the same columns give the same bytes.
///
/// # Errors
/// Columns of unlike length, or what the writer refuses, in words.
pub fn parquet(columns: &[(&str, Column<'_>)]) -> Result<Vec<u8>, String> {
    let rows = columns.first().map_or(0, |(_, c)| c.len());
    if let Some((name, column)) = columns.iter().find(|(_, c)| c.len() != rows) {
        return Err(format!("column \"{name}\" has {} values, the first one {rows}", column.len()));
    }
    written(columns).map_err(|error| error.to_string())
}

fn written(columns: &[(&str, Column<'_>)]) -> Result<Vec<u8>, ParquetError> {
    let fields = columns.iter().map(|(name, column)| column.schema(name)).collect::<Result<Vec<_>, _>>()?;
    let schema = Arc::new(Type::group_type_builder("series").with_fields(fields).build()?);
    let properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by("wattwright".to_owned())
        .build();
    let mut bytes = Vec::new();
    let mut file = SerializedFileWriter::new(&mut bytes, schema, Arc::new(properties))?;
    let mut group = file.next_row_group()?;
    for (_, column) in columns {
        let Some(mut writer) = group.next_column()? else { break };
        match column {
            Column::Number(values) => writer.typed::<DoubleType>().write_batch(values, None, None)?,
            Column::Words(values) => {
                let words: Vec<ByteArray> = values.iter().map(|v| ByteArray::from(v.as_str())).collect();
                writer.typed::<ByteArrayType>().write_batch(&words, None, None)?
            }
        };
        writer.close()?;
    }
    group.close()?;
    file.close()?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::RowAccessor;

    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let numbers: Vec<f64> = (0..5000).map(|k| f64::from(k) * 0.1).collect();
        let words: Vec<String> = (0..5000).map(|k| format!("step {k}")).collect();
        let columns = [("power_w", Column::Number(&numbers)), ("words", Column::Words(&words))];
        let bytes = parquet(&columns).unwrap();
        assert_eq!(bytes, parquet(&columns).unwrap());
        let path = std::env::temp_dir().join(format!("colfile-{}.parquet", std::process::id()));
        std::fs::write(&path, &bytes).unwrap();
        let reader = SerializedFileReader::new(std::fs::File::open(&path).unwrap()).unwrap();
        let mut rows = 0;
        for (k, row) in reader.get_row_iter(None).unwrap().enumerate() {
            let row = row.unwrap();
            assert!((row.get_double(0).unwrap() - numbers[k]).abs() < 1e-12);
            assert_eq!(row.get_string(1).unwrap(), &words[k]);
            rows += 1;
        }
        assert_eq!(rows, 5000);
        std::fs::remove_file(path).unwrap();
        assert!(parquet(&[("a", Column::Number(&numbers)), ("b", Column::Number(&numbers[..3]))]).is_err());
    }
}
