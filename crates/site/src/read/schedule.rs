//! When a load runs: `runs`, `hourly` or `series`.

use quantity::{DailyUse, Quantity, Ratio};
use reading::{Diagnostic, Placed, Section, SourceText};

use super::label::{exactly_one, series_file};
use crate::Schedule;

pub(super) fn schedule(s: &Section<'_>, source: &SourceText) -> Option<Schedule> {
    let daily = s.designation::<DailyUse>("runs", "running time in a day", "2 h/day");
    let hourly = s.fractions(
        "hourly",
        "share of each of the 24 hours of local standard time in which it runs",
        0.0..=1.0,
    );
    let series = s
        .text("series", "CSV or XML file beside the site file with a measured series")
        .and_then(|text| series_file(s, text));
    let whole_day = hourly_is_whole(s, source, &hourly);
    exactly_one(s, &["runs", "hourly", "series"], "when it runs")?;
    if let Some(daily) = daily {
        return some_time(s, "runs", daily.value.a_day().si() > 0.0).then_some(Schedule::Daily(daily));
    }
    if let Some(series) = series {
        return Some(Schedule::Series(series));
    }
    let runs = !whole_day || some_time(s, "hourly", hourly.iter().any(|share| share.value.si() > 0.0));
    (s.has("hourly") && whole_day && runs).then_some(Schedule::Hourly(hourly))
}

/// 24 entries were written, and all of them could be read.
fn hourly_is_whole(s: &Section<'_>, source: &SourceText, hourly: &[Placed<Ratio>]) -> bool {
    let Some(place) = s.place_of("hourly").filter(|_| s.has("hourly")) else {
        return false;
    };
    // entries that could not be read have their own mistakes and are not in the list
    let list = source.text().get(place.start..place.end).unwrap_or("");
    let written = if list.starts_with('[') { entries(list) } else { 24 };
    if written != 24 {
        let message = format!("`hourly` has {written} entries");
        s.mistake(
            Diagnostic::new("wrong-count", message)
                .at(&place, "expected 24, one for each hour from midnight")
                .help("each is the share of that hour in which the load runs, from 0 to 1"),
        );
    }
    written == 24 && hourly.len() == 24
}

/// Number of entries of a written list of plain values.
fn entries(list: &str) -> usize {
    let mut count = 0;
    let (mut inside, mut quote, mut comment) = (false, None, false);
    for character in list.trim_start_matches('[').trim_end_matches(']').chars() {
        if comment {
            comment = character != '\n';
        } else if let Some(open) = quote {
            if character == open {
                quote = None;
            }
        } else {
            match character {
                '#' => comment = true,
                ',' => inside = false,
                blank if blank.is_whitespace() => {}
                _ => {
                    if !inside {
                        count += 1;
                    }
                    inside = true;
                    quote = matches!(character, '"' | '\'').then_some(character);
                }
            }
        }
    }
    count
}

fn some_time(s: &Section<'_>, key: &str, runs: bool) -> bool {
    if !runs {
        let help = "leave the load out, or say when it runs";
        s.mistake_at(key, "never-runs", "this load never runs", help);
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::entries;

    #[test]
    fn written_entries_are_counted_past_comments_texts_and_trailing_commas() {
        assert_eq!(entries("[]"), 0);
        assert_eq!(entries("[1, 2,\n 3, # 4, 5\n]"), 3);
        assert_eq!(entries("[\"0,5\", 'a,b', 0.5]"), 3);
    }
}
