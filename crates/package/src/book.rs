//! Schedules as XLSX: a sheet each, numbers as numbers with the unit in the heading.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatBorder, Workbook, Worksheet, XlsxError};
use serde_json::Value;

/// The workbook.
///
/// # Errors
/// A sheet cannot be written.
pub(crate) fn xlsx(design: &Value, words: &Value) -> Result<Vec<u8>, String> {
    written(design, words).map_err(|e| format!("schedules.xlsx: {e}"))
}

fn written(design: &Value, words: &Value) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&properties(design)?);
    cover(book.add_worksheet(), design, words)?;
    for schedule in design["schedules"].as_array().into_iter().flatten() {
        sheet(book.add_worksheet(), schedule)?;
    }
    book.save_to_buffer()
}

/// The date of the revision, or one that says nothing; never the clock's.
fn properties(design: &Value) -> Result<DocProperties, XlsxError> {
    let date = &design["project"]["date"];
    let part = |key: &str| date[key].as_u64();
    let (year, month, day) = match (part("year"), part("month"), part("day")) {
        (Some(year), Some(month), Some(day)) => (year as u16, month as u8, day as u8),
        _ => (2000, 1, 1),
    };
    let made = ExcelDateTime::from_ymd(year, month, day)?;
    let title = design["site"]["name"].as_str().unwrap_or_default();
    Ok(DocProperties::new().set_title(title).set_author("Wattwright").set_creation_datetime(&made))
}

/// Whose schedules they are, and the cautions.
fn cover(sheet: &mut Worksheet, design: &Value, words: &Value) -> Result<(), XlsxError> {
    let word = |key: &str| words[key].as_str().unwrap_or(key).to_owned();
    let bold = Format::new().set_bold();
    let alarm = Format::new().set_bold().set_font_color("B00020");
    sheet.set_name(word("project"))?;
    sheet.set_column_width(0, 24)?.set_column_width(1, 90)?;
    let mut row = 0;
    let mut line = |sheet: &mut Worksheet, key: &str, value: &str| -> Result<(), XlsxError> {
        sheet.write_string_with_format(row, 0, word(key), &bold)?.write_string(row, 1, value)?;
        row += 1;
        Ok(())
    };
    line(sheet, "site", design["site"]["name"].as_str().unwrap_or_default())?;
    for key in ["number", "revision", "customer", "designer", "checker", "stage"] {
        line(sheet, key, design["project"][key].as_str().unwrap_or_default())?;
    }
    line(sheet, "date", design["project"]["date"]["iso"].as_str().unwrap_or_default())?;
    for caution in design["cautions"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        line(sheet, "cautions", caution)?;
    }
    if design["project"]["demo_catalogue"] == true {
        line(sheet, "catalogue", &word("demo"))?;
    }
    if design["construction"]["permitted"] != true {
        let failing = design["construction"]["failing"].to_string();
        let text = word("not-for-construction").replace("{0}", &failing);
        sheet.write_string_with_format(row + 1, 0, text, &alarm)?;
    }
    Ok(())
}

fn sheet(sheet: &mut Worksheet, schedule: &Value) -> Result<(), XlsxError> {
    let head = Format::new().set_bold().set_border_bottom(FormatBorder::Thin).set_text_wrap();
    sheet.set_name(name(schedule["id"].as_str().unwrap_or_default()))?;
    let columns: Vec<&Value> = schedule["columns"].as_array().into_iter().flatten().collect();
    let rows: Vec<&Value> = schedule["rows"].as_array().into_iter().flatten().collect();
    for (k, column) in columns.iter().enumerate() {
        let k = k as u16;
        let heading = column["heading"].as_str().unwrap_or_default();
        sheet.write_string_with_format(0, k, heading, &head)?;
        let longest = rows.iter().filter_map(|r| r.get(usize::from(k))).map(width).max().unwrap_or(0);
        sheet.set_column_width(k, longest.clamp(heading.chars().count().min(14), 60) as f64 + 2.0)?;
    }
    for (r, row) in rows.iter().enumerate() {
        for (k, cell) in row.as_array().into_iter().flatten().enumerate() {
            let (r, k) = (r as u32 + 1, k as u16);
            match cell {
                Value::String(text) => sheet.write_string(r, k, text)?,
                Value::Number(n) => sheet.write_number(r, k, n.as_f64().unwrap_or(f64::NAN))?,
                _ => sheet,
            };
        }
    }
    let (last_row, last_column) = (rows.len() as u32, columns.len().saturating_sub(1) as u16);
    sheet.set_freeze_panes(1, 0)?;
    if !rows.is_empty() {
        sheet.autofilter(0, 0, last_row, last_column)?;
    }
    for (k, note) in schedule["notes"].as_array().into_iter().flatten().enumerate() {
        sheet.write_string(last_row + 2 + k as u32, 0, note.as_str().unwrap_or_default())?;
    }
    sheet.set_landscape().set_repeat_rows(0, 0)?;
    Ok(())
}

/// A sheet is called as its file, with a capital: titles may be longer than a sheet's name can be.
pub(crate) fn name(id: &str) -> String {
    let mut letters = id.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn width(cell: &Value) -> usize {
    match cell {
        Value::String(text) => text.chars().count(),
        Value::Number(n) => n.to_string().len().min(12),
        _ => 0,
    }
}
