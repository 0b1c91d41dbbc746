//! Measured series in files: ESPI XML (`espi`) or CSV. Of CSV: header `start` and either `total_kw` or one column per leg (`L1_kw`, ...), also in
//! `_kva` and `_a`; starts of intervals in local standard time; one interval throughout, of 1 to 60 minutes.
//!
//! Windows are taken at the boundaries of intervals: what happened inside one is not known.

use csv::StringRecord;
use jiff::civil::DateTime;
use quantity::{Leg, Quantity, VoltageSystem};
use reading::{Diagnostic, SourceText};

use crate::espi;
use crate::track::Track;

/// A file with more mistakes than this is not the right file; the rest helps nobody.
const MOST_MISTAKES: usize = 20;
/// A year at one-minute intervals has about 40 MB.
const LARGEST_SERIES_BYTES: usize = 128 * 1024 * 1024;

/// A usable series.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Series {
    pub interval_s: f64,
    pub start: DateTime,
    /// One track for each leg, or one for all together.
    pub tracks: Tracks,
}

/// Whose demand the columns hold.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Tracks {
    /// Each leg.
    Legs(Vec<(Leg, Track)>),
    /// The sum of the legs.
    Total(Track),
}

impl Series {
    /// All legs together.
    pub fn total(&self) -> Track {
        match &self.tracks {
            Tracks::Total(track) => track.clone(),
            Tracks::Legs(legs) => {
                let mut total = Track { interval_s: self.interval_s, ..Track::default() };
                for (_, track) in legs {
                    add(&mut total.w, &track.w);
                    add(&mut total.va, &track.va);
                }
                total
            }
        }
    }

    /// Length of the recording in s.
    pub fn span_s(&self) -> f64 {
        let rows = match &self.tracks {
            Tracks::Total(track) => track.w.len(),
            Tracks::Legs(legs) => legs.first().map_or(0, |(_, t)| t.w.len()),
        };
        rows as f64 * self.interval_s
    }
}

fn add(to: &mut Vec<f64>, more: &[f64]) {
    to.resize(more.len().max(to.len()), 0.0);
    for (a, b) in to.iter_mut().zip(more) {
        *a += b;
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Unit {
    Kw,
    Kva,
    Amps,
}

/// A column: leg (`None` = total) and unit.
type Column = (Option<Leg>, Unit);

/// Reads a series; the second part holds every mistake, and then there is no series.
pub(crate) fn read(
    name: &str,
    bytes: &[u8],
    system: VoltageSystem,
    power_factor: f64,
) -> Result<Series, Vec<Diagnostic>> {
    let refuse = |message: String, help: &str| {
        let place = SourceText::new(name, "").place(0..0);
        Err(vec![Diagnostic::new("unreadable-series", message).at(&place, "").help(help)])
    };
    if bytes.len() > LARGEST_SERIES_BYTES {
        return refuse(format!("{name} is larger than 128 MB"), "is this the right file?");
    }
    let Ok(text) = std::str::from_utf8(bytes) else {
        return refuse(format!("{name} is not a text file (not UTF-8)"), "save it as UTF-8 text");
    };
    let source = SourceText::new(name, text.strip_prefix('\u{feff}').unwrap_or(text));
    if source.text().trim_start().starts_with('<') {
        return espi::read(&source, system, power_factor);
    }
    let mut reader = Reader { source: &source, system, mistakes: Vec::new() };
    let series = reader.series(power_factor);
    match series {
        Some(series) if reader.mistakes.is_empty() => Ok(series),
        _ if reader.mistakes.is_empty() => refuse(format!("{name} holds no series"), HELP),
        _ => Err(reader.mistakes),
    }
}

const HELP: &str = "the first line is start,total_kw or start,L1_kw,L2_kw; then one line for each interval, such as \
                    2025-01-01T00:00,1.25,0.80";

struct Reader<'a> {
    source: &'a SourceText,
    system: VoltageSystem,
    mistakes: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn say(&mut self, record: Option<&StringRecord>, message: String, label: &str, help: &str) {
        if self.mistakes.len() >= MOST_MISTAKES {
            return;
        }
        let start = record.and_then(StringRecord::position).map_or(0, |p| p.byte() as usize);
        let text = self.source.text();
        let start = start.min(text.len());
        let skipped = text.get(start..).map_or(0, |t| t.len() - t.trim_start_matches(['\r', '\n']).len());
        let start = start + skipped;
        let end = text.get(start..).and_then(|t| t.find(['\r', '\n'])).map_or(text.len(), |n| start + n);
        let place = self.source.place(start..end);
        let message = format!("{}, line {}: {message}", self.source.name(), place.line);
        self.mistakes.push(Diagnostic::new("unusable-series", message).at(&place, label).help(help));
    }

    fn series(&mut self, power_factor: f64) -> Option<Series> {
        let text = self.source.text().to_owned();
        let mut csv =
            csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = csv.headers().ok()?.clone();
        let columns = self.columns(&header)?;
        let mut times: Vec<DateTime> = Vec::new();
        let mut values: Vec<Vec<f64>> = vec![Vec::new(); columns.len()];
        let mut interval_s = 0.0;
        for record in csv.records() {
            let Ok(record) = record else {
                self.say(None, "a line is not CSV".to_owned(), "not CSV", HELP);
                continue;
            };
            let Some(time) = self.time(&record) else { continue };
            if let Some(last) = times.last().copied() {
                self.step(&record, last, time, &mut interval_s);
            }
            times.push(time);
            for (k, column) in values.iter_mut().enumerate() {
                if let Some(value) = self.value(&record, &header, k + 1) {
                    column.push(value);
                }
            }
        }
        if times.len() < 2 {
            self.say(None, "fewer than two intervals".to_owned(), "too short", HELP);
        }
        if !self.mistakes.is_empty() {
            return None;
        }
        let start = times.first().copied()?;
        Some(Series { interval_s, start, tracks: self.tracks(&columns, &values, interval_s, power_factor) })
    }

    fn columns(&mut self, header: &StringRecord) -> Option<Vec<Column>> {
        if header.get(0) != Some("start") {
            self.say(None, "the first column is not \"start\"".to_owned(), "expected start,...", HELP);
            return None;
        }
        let mut columns = Vec::new();
        for name in header.iter().skip(1) {
            match column(name) {
                Some(found) if columns.contains(&found) => {
                    self.say(
                        None,
                        format!("column \"{name}\" stands twice"),
                        "twice",
                        "name each column once",
                    );
                }
                Some((None, Unit::Amps)) if self.system.legs().len() > 1 => self.say(
                    None,
                    "a total in amperes says nothing of the legs".to_owned(),
                    "total_a",
                    "give L1_a, L2_a, ... or total_kw",
                ),
                Some(found) => columns.push(found),
                None => self.say(None, format!("column \"{name}\" is not known"), "unknown column", HELP),
            }
        }
        self.complete(&columns);
        self.mistakes.is_empty().then_some(columns)
    }

    /// Either a total or every leg, each unit for all of them.
    fn complete(&mut self, columns: &[Column]) {
        let totals = columns.iter().any(|(leg, _)| leg.is_none());
        let legs = columns.iter().any(|(leg, _)| leg.is_some());
        if !totals && !legs {
            self.say(None, "no column with demand".to_owned(), "only starts", HELP);
        }
        if totals && legs {
            self.say(None, "a total and legs".to_owned(), "either or", "leave out the total");
        }
        for unit in [Unit::Kw, Unit::Kva, Unit::Amps] {
            let with: Vec<Leg> =
                columns.iter().filter(|(_, u)| *u == unit).filter_map(|(leg, _)| *leg).collect();
            let missing: Vec<String> = self
                .system
                .legs()
                .iter()
                .filter(|leg| !with.contains(leg))
                .map(ToString::to_string)
                .collect();
            let foreign = with.iter().any(|leg| !self.system.legs().contains(leg));
            if !with.is_empty() && (!missing.is_empty() || foreign) {
                let message = if foreign {
                    format!("legs that {} does not have", self.system)
                } else {
                    format!("leg {} is missing", missing.join(" and "))
                };
                self.say(None, message, "every leg of the service, no other", HELP);
            }
        }
    }

    fn time(&mut self, record: &StringRecord) -> Option<DateTime> {
        let text = record.get(0).unwrap_or("");
        let time = text.parse::<DateTime>().ok();
        if time.is_none() {
            let help = "write local standard time as 2025-01-31T13:15";
            self.say(Some(record), format!("\"{text}\" is no time"), "not a time", help);
        }
        time
    }

    fn step(&mut self, record: &StringRecord, last: DateTime, time: DateTime, interval_s: &mut f64) {
        let step_s = time.duration_since(last).as_secs_f64();
        if *interval_s == 0.0 && step_s > 0.0 {
            *interval_s = step_s;
            if !(60.0..=3600.0).contains(&step_s) || step_s % 60.0 != 0.0 {
                let message = format!("intervals of {} min", step_s / 60.0);
                self.say(Some(record), message, "1 to 60 whole minutes are understood", HELP);
            }
            return;
        }
        let (message, help) = if step_s == 0.0 {
            (format!("{time} stands twice"), "keep one; clock changes: use standard time all year")
        } else if step_s < 0.0 {
            (format!("{time} is earlier than the line before"), "sort the lines by their start")
        } else if step_s > *interval_s + 1e-6 {
            (
                format!("after {last} something is missing"),
                "fill the gap from the recorder, or use a part without one",
            )
        } else if step_s < *interval_s - 1e-6 {
            (format!("{time} comes sooner than one interval"), "use one interval throughout")
        } else {
            return;
        };
        self.say(Some(record), message, "here", help);
    }

    fn value(&mut self, record: &StringRecord, header: &StringRecord, column: usize) -> Option<f64> {
        let text = record.get(column).unwrap_or("");
        let name = header.get(column).unwrap_or("");
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() && value >= 0.0 => Some(value),
            Ok(value) if value < 0.0 => {
                let help = "demand is never negative; a net meter with generation does not show it";
                self.say(Some(record), format!("{name} is {text}"), "negative", help);
                None
            }
            _ => {
                let message = format!("{name} is \"{text}\"");
                self.say(Some(record), message, "not a number", "write numbers such as 1.25");
                None
            }
        }
    }

    fn tracks(&self, columns: &[Column], values: &[Vec<f64>], interval_s: f64, power_factor: f64) -> Tracks {
        let volts = self.system.phase_voltage().si();
        let find = |leg: Option<Leg>, unit: Unit| {
            columns.iter().position(|c| *c == (leg, unit)).and_then(|k| values.get(k))
        };
        let track = |leg: Option<Leg>| {
            let kw = find(leg, Unit::Kw).map(|v| scaled(v, 1000.0));
            let va = find(leg, Unit::Kva)
                .map(|v| scaled(v, 1000.0))
                .or_else(|| find(leg, Unit::Amps).map(|v| scaled(v, volts)));
            let (w, va) = match (kw, va) {
                // W never above VA: where the recorder says so, the larger one stands
                (Some(w), Some(va)) => {
                    let va = va.iter().zip(&w).map(|(a, b)| a.max(*b)).collect();
                    (w, va)
                }
                (Some(w), None) => {
                    let va = scaled(&w, 1.0 / power_factor);
                    (w, va)
                }
                // nothing recorded of W: not more than VA
                (None, Some(va)) => (va.clone(), va),
                (None, None) => (Vec::new(), Vec::new()),
            };
            Track { interval_s, w, va }
        };
        if columns.iter().any(|(leg, _)| leg.is_some()) {
            Tracks::Legs(self.system.legs().iter().map(|leg| (*leg, track(Some(*leg)))).collect())
        } else if let [only] = self.system.legs() {
            Tracks::Legs(vec![(*only, track(None))])
        } else {
            Tracks::Total(track(None))
        }
    }
}

fn scaled(values: &[f64], factor: f64) -> Vec<f64> {
    values.iter().map(|v| v * factor).collect()
}

fn column(name: &str) -> Option<Column> {
    let (whose, unit) = name.rsplit_once('_')?;
    let leg = match whose {
        "total" => None,
        "L1" => Some(Leg::L1),
        "L2" => Some(Leg::L2),
        "L3" => Some(Leg::L3),
        _ => return None,
    };
    let unit = match unit {
        "kw" => Unit::Kw,
        "kva" => Unit::Kva,
        "a" => Unit::Amps,
        _ => return None,
    };
    Some((leg, unit))
}
