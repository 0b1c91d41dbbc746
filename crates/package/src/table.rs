//! Schedules as CSV: UTF-8, a heading line, numbers as numbers, CRLF as RFC 4180 has it.

use serde_json::Value;

use crate::Papers;

/// One file a schedule.
///
/// # Errors
/// A row cannot be written.
pub(crate) fn csv(design: &Value) -> Result<Papers, String> {
    let mut papers = Papers::new();
    for schedule in design["schedules"].as_array().into_iter().flatten() {
        let id = schedule["id"].as_str().unwrap_or_default();
        let failed = |e: &dyn std::fmt::Display| format!("schedules/{id}.csv: {e}");
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        let headings = schedule["columns"].as_array().into_iter().flatten();
        writer
            .write_record(headings.map(|c| c["heading"].as_str().unwrap_or_default()))
            .map_err(|e| failed(&e))?;
        for row in schedule["rows"].as_array().into_iter().flatten() {
            let cells: Vec<String> = row.as_array().into_iter().flatten().map(plain).collect();
            writer.write_record(&cells).map_err(|e| failed(&e))?;
        }
        let bytes = writer.into_inner().map_err(|e| failed(&e))?;
        papers.insert(format!("schedules/{id}.csv"), bytes);
    }
    Ok(papers)
}

/// A cell without quotes. A text that a spreadsheet would take for a formula gets a blank before it.
fn plain(cell: &Value) -> String {
    match cell {
        Value::Null => String::new(),
        Value::String(text) if text.starts_with(['=', '+', '-', '@']) => format!(" {text}"),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn words_with_commas_and_quotes_stay_one_cell_and_formulas_stay_words() {
        let design = json!({ "schedules": [{
            "id": "x",
            "columns": [{ "heading": "Run" }, { "heading": "Length (ft)" }],
            "rows": [["a, \"b\"", 35], ["=1+1", 2.5], [null, null]],
        }] });
        let files = csv(&design).unwrap();
        let text = String::from_utf8(files["schedules/x.csv"].clone()).unwrap();
        assert_eq!(text, "Run,Length (ft)\r\n\"a, \"\"b\"\"\",35\r\n =1+1,2.5\r\n,\r\n");
    }
}
