//! Measured series in the XML of a meter: NAESB ESPI (REQ.21), schema 3.3. One electricity meter a file; times are
//! universal and become local standard time by `tzOffset` alone, so that clock changes leave no mark.

use std::collections::BTreeMap;

use jiff::SignedDuration;
use jiff::civil::{DateTime, date};
use quantity::VoltageSystem;
use reading::{Diagnostic, SourceText};
use roxmltree::{Document, Node};

use self::xml::{children, link, links, named, text_of, title};
use crate::series::{Series, Tracks};
use crate::track::Track;

mod xml;

/// A file with more mistakes than this is not the right file; the rest helps nobody.
const MOST_MISTAKES: usize = 20;

/// What a channel holds (`UnitSymbolKind`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Unit {
    /// W (38), or Wh (72) over its interval.
    Active,
    /// VA (61), or VAh (71) over its interval.
    Apparent,
    /// varh (73) over its interval.
    Reactive,
}

/// A reading type that is of use.
struct Channel<'d> {
    node: Node<'d, 'd>,
    href: String,
    unit: Unit,
    energy: bool,
    /// Flows back to the network: must be nothing.
    reverse: bool,
    multiplier: i32,
    interval_s: Option<i64>,
}

/// What the links of the feed lead to.
struct Linked<'c, 'd> {
    channels: &'c [Channel<'d>],
    /// Links of every reading type.
    types: Vec<String>,
    /// Every meter reading with what it is related to.
    meters: Vec<(String, Vec<String>)>,
}

/// One interval: start in s of universal time, length in s, mean in W, VA or var.
type Reading = (i64, i64, f64);

/// Reads the feed; the second part holds every mistake, and then there is no series.
pub(crate) fn read(
    source: &SourceText,
    system: VoltageSystem,
    power_factor: f64,
) -> Result<Series, Vec<Diagnostic>> {
    let document = match Document::parse(source.text()) {
        Ok(document) => document,
        Err(error) => {
            let message = format!("{} is no XML that can be read: {error}", source.name());
            let found = Diagnostic::new("unreadable-series", message).at(&source.place(0..0), "");
            return Err(vec![found.help("take the file as the utility gave it")]);
        }
    };
    let mut feed = Feed { source, system, mistakes: Vec::new() };
    let series = feed.series(&document, power_factor);
    match series {
        Some(series) if feed.mistakes.is_empty() => Ok(series),
        _ => {
            if feed.mistakes.is_empty() {
                feed.say(
                    document.root_element(),
                    "it holds no series",
                    "no series",
                    "is this interval data?",
                );
            }
            Err(feed.mistakes)
        }
    }
}

struct Feed<'s> {
    source: &'s SourceText,
    system: VoltageSystem,
    mistakes: Vec<Diagnostic>,
}

impl Feed<'_> {
    fn say(&mut self, node: Node<'_, '_>, message: &str, label: &str, help: &str) {
        if self.mistakes.len() >= MOST_MISTAKES {
            return;
        }
        let range = node.range();
        // the first line of the element is enough to point at
        let text = self.source.text().get(range.clone()).unwrap_or_default();
        let end = range.start + text.find(['\r', '\n']).unwrap_or(text.len());
        let place = self.source.place(range.start..end);
        let message = format!("{}, line {}: {message}", self.source.name(), place.line);
        self.mistakes.push(Diagnostic::new("unusable-series", message).at(&place, label).help(help));
    }

    fn series(&mut self, document: &Document<'_>, power_factor: f64) -> Option<Series> {
        let root = document.root_element();
        self.one_meter(root);
        let offset_s = self.offset_s(root)?;
        let types = named(root, "ReadingType");
        let channels: Vec<Channel<'_>> = types.iter().filter_map(|node| self.channel(*node)).collect();
        if channels.is_empty() {
            let help = "units 38, 61, 71, 72 and 73 are read: W, VA, VAh, Wh, varh";
            self.say(root, "no reading type of electric power or energy", "none here", help);
            return None;
        }
        let mut readings: Vec<Vec<Reading>> = vec![Vec::new(); channels.len()];
        let own = |node: &Node<'_, '_>| link(*node, "self").unwrap_or_default();
        let linked = Linked {
            channels: &channels,
            types: types.iter().map(own).collect(),
            meters: named(root, "MeterReading").iter().map(|m| (own(m), links(*m, "related"))).collect(),
        };
        for block in named(root, "IntervalBlock") {
            if let Some(k) = self.channel_of(block, &linked)
                && let (Some(list), Some(channel)) = (readings.get_mut(k), channels.get(k))
            {
                self.block(block, channel, list);
            }
        }
        let mut kept: BTreeMap<Unit, Vec<Reading>> = BTreeMap::new();
        for (channel, mut list) in channels.iter().zip(readings) {
            if channel.reverse || list.is_empty() {
                continue;
            }
            list.sort_by_key(|reading| reading.0);
            self.continuous(channel, &list);
            if kept.insert(channel.unit, list).is_some() {
                let help = "keep one series of each kind in the file";
                self.say(channel.node, "a second series of the same kind", "which one counts?", help);
            }
        }
        if !self.mistakes.is_empty() {
            return None;
        }
        self.joined(root, &kept, offset_s, power_factor)
    }

    /// Several electricity meters cannot be told apart from one panel's demand.
    fn one_meter(&mut self, root: Node<'_, '_>) {
        let meters: Vec<Node<'_, '_>> = named(root, "UsagePoint")
            .into_iter()
            .filter(|point| {
                let service = named(*point, "ServiceCategory").into_iter().next();
                service.and_then(|s| text_of(s, "kind")).is_none_or(|kind| kind == "0")
            })
            .collect();
        if let [_, second, ..] = meters.as_slice() {
            let names: Vec<String> = meters.iter().map(|meter| title(*meter)).collect();
            let message = format!("{} electricity meters: {}", meters.len(), names.join(", "));
            self.say(*second, &message, "another meter", "keep one meter in a file");
        }
    }

    /// Seconds from universal to local standard time.
    fn offset_s(&mut self, root: Node<'_, '_>) -> Option<i64> {
        let offsets: Vec<Node<'_, '_>> = named(root, "tzOffset");
        let mut values = offsets.iter().map(|node| node.text().unwrap_or("").trim().parse::<i64>().ok());
        let first = values.next().flatten().filter(|s| s.abs() <= 14 * 3600);
        if first.is_none() || values.any(|other| other != first) {
            let help = "the feed needs LocalTimeParameters with one tzOffset in seconds, such as -28800";
            self.say(root, "local standard time is not named", "no usable tzOffset", help);
            return None;
        }
        first
    }

    /// A reading type of use; `None` for one that is left out or cannot be used.
    fn channel<'d>(&mut self, node: Node<'d, 'd>) -> Option<Channel<'d>> {
        let code = |name: &str| text_of(node, name).and_then(|text| text.parse::<i64>().ok());
        let (unit, energy) = match code("uom")? {
            38 => (Unit::Active, false),
            72 => (Unit::Active, true),
            61 => (Unit::Apparent, false),
            71 => (Unit::Apparent, true),
            73 => (Unit::Reactive, true),
            _ => return None,
        };
        let before = self.mistakes.len();
        let one_phase = self.system.legs().len() > 1;
        let mut only = |name: &str, allowed: &[i64], what: &str, help: &str| {
            let found = text_of(node, name);
            let fits = |text: &String| text.parse::<i64>().is_ok_and(|code| allowed.contains(&code));
            if let Some(found) = found.filter(|text| !fits(text)) {
                self.say(node, &format!("{name} {found}: {what}"), "cannot be used", help);
            }
        };
        let registers = "register readings count on and say nothing of an interval";
        let help = "ask for interval data: accumulationBehaviour 4";
        only("accumulationBehaviour", if energy { &[0, 4] } else { &[0, 4, 6, 12] }, registers, help);
        only("dataQualifier", &[0, 2, 8, 12, 26], "no mean of an interval", "ask for means or sums");
        let help = "ask for delivered energy: flowDirection 1";
        only("flowDirection", &[0, 1, 4, 19], "both directions in one figure hide demand", help);
        if one_phase {
            let help = "ask for the sum of all phases";
            only("phase", &[0, 224, 225, 768, 769], "one phase is not the whole demand", help);
        }
        let measured = [0, 7, 11, 13, 14, 15, 16, 17, 18, 19];
        only("defaultQuality", &measured, "not measured throughout", "ask for measured intervals");
        let multiplier = code("powerOfTenMultiplier").unwrap_or(0);
        only(
            "powerOfTenMultiplier",
            &[-12, -9, -6, -3, -2, -1, 0, 1, 2, 3, 6, 9, 12],
            "no such multiplier",
            "",
        );
        (self.mistakes.len() == before).then(|| Channel {
            node,
            href: link(node, "self").unwrap_or_default(),
            unit,
            energy,
            reverse: code("flowDirection") == Some(19),
            multiplier: multiplier as i32,
            interval_s: code("intervalLength"),
        })
    }

    /// The channel of a block: by the links of its meter reading, or the only one that there is.
    fn channel_of(&mut self, block: Node<'_, '_>, feed: &Linked<'_, '_>) -> Option<usize> {
        if feed.channels.len() == 1 && feed.types.len() == 1 {
            return Some(0);
        }
        let up = link(block, "up").unwrap_or_default();
        let reading = up.strip_suffix("/IntervalBlock").unwrap_or(&up);
        let related = feed.meters.iter().find(|(href, _)| href == reading).map(|(_, related)| related);
        let Some(related) = related.filter(|related| related.iter().any(|href| feed.types.contains(href)))
        else {
            let help = "the links of IntervalBlock, MeterReading and ReadingType must lead to each other";
            self.say(block, "what these intervals hold cannot be told", "no reading type", help);
            return None;
        };
        feed.channels.iter().position(|channel| related.contains(&channel.href))
    }

    fn block(&mut self, block: Node<'_, '_>, channel: &Channel<'_>, list: &mut Vec<Reading>) {
        let interval = children(block, "interval").into_iter().next();
        let mut next = interval.and_then(|i| text_of(i, "start")).and_then(|text| text.parse::<i64>().ok());
        for reading in children(block, "IntervalReading") {
            self.quality(reading);
            let period = children(reading, "timePeriod").into_iter().next();
            let of = |name| period.and_then(|p| text_of(p, name)).and_then(|text| text.parse::<i64>().ok());
            let start = if period.is_some() { of("start") } else { next };
            let length = if period.is_some() { of("duration") } else { channel.interval_s };
            let value = text_of(reading, "value").and_then(|text| text.parse::<i64>().ok());
            let (Some(start), Some(length), Some(value)) = (start, length, value) else {
                let help = "each interval needs start, duration and a whole number as value";
                self.say(reading, "an interval without start, duration or value", "incomplete", help);
                return;
            };
            let sound = (60..=3600).contains(&length) && length % 60 == 0;
            if !sound || !(0..=8_000_000_000).contains(&start) {
                let message = format!("an interval of {length} s from {start}");
                self.say(reading, &message, "here", "1 to 60 whole minutes after 1970 are understood");
                return;
            }
            if value < 0 || (channel.reverse && value != 0) {
                let help = "demand behind generation is not measured by a net meter";
                self.say(reading, &format!("{value} flows back"), "negative or reverse", help);
                return;
            }
            list.push((start, length, mean(value, channel, length)));
            next = Some(start + length);
        }
    }

    fn quality(&mut self, reading: Node<'_, '_>) {
        for quality in children(reading, "ReadingQuality") {
            let code = text_of(quality, "quality").unwrap_or_default();
            let what = match code.as_str() {
                "8" | "9" => "estimated",
                "10" => "questionable",
                "12" => "projected",
                _ => continue,
            };
            let help = "use a part of the recording that was measured throughout";
            self.say(quality, &format!("an interval that is {what}, not measured"), what, help);
        }
    }

    fn continuous(&mut self, channel: &Channel<'_>, list: &[Reading]) {
        for pair in list.windows(2) {
            let [(start, length, _), (next, next_length, _)] = pair else { continue };
            let (message, help) = if next_length != length {
                (format!("intervals of {length} s and {next_length} s"), "one interval throughout")
            } else if *next < start + length {
                (format!("the interval from {next} stands twice or overlaps"), "keep one of them")
            } else if *next > start + length {
                let missing = next - start - length;
                (
                    format!("{missing} s are missing before {next}"),
                    "use a part of the recording without a gap",
                )
            } else {
                continue;
            };
            self.say(channel.node, &message, "of this series", help);
        }
    }

    fn joined(
        &mut self,
        root: Node<'_, '_>,
        kept: &BTreeMap<Unit, Vec<Reading>>,
        offset_s: i64,
        power_factor: f64,
    ) -> Option<Series> {
        let main = kept.get(&Unit::Active).or_else(|| kept.get(&Unit::Apparent));
        let Some(main) = main.filter(|list| list.len() >= 2) else {
            let help = "at least two intervals of W, Wh, VA or VAh are needed";
            self.say(root, "fewer than two intervals", "too short", help);
            return None;
        };
        for list in kept.values() {
            let times = |list: &[Reading]| list.iter().map(|r| (r.0, r.1)).collect::<Vec<_>>();
            if times(list) != times(main) {
                let help = "series of one meter must have the same intervals throughout";
                self.say(root, "two series do not have the same intervals", "here", help);
                return None;
            }
        }
        let values = |unit| kept.get(&unit).map(|list| list.iter().map(|r| r.2).collect::<Vec<f64>>());
        let (w, va) = match (values(Unit::Active), values(Unit::Apparent), values(Unit::Reactive)) {
            // W never above VA: where the meter says so, the larger one stands
            (Some(w), Some(va), _) => {
                let va = va.iter().zip(&w).map(|(va, w)| va.max(*w)).collect();
                (w, va)
            }
            (Some(w), None, Some(var)) => {
                let va = w.iter().zip(&var).map(|(w, var)| libm::hypot(*w, *var)).collect();
                (w, va)
            }
            (Some(w), None, None) => {
                let va = w.iter().map(|w| w * (1.0 / power_factor)).collect();
                (w, va)
            }
            // nothing recorded of W: not more than VA
            (None, va, _) => {
                let va = va.unwrap_or_default();
                (va.clone(), va)
            }
        };
        let (first, length, _) = *main.first()?;
        let start = local(first + offset_s)?;
        let track = Track { interval_s: length as f64, w, va };
        let tracks = match self.system.legs() {
            [only] => Tracks::Legs(vec![(*only, track)]),
            _ => Tracks::Total(track),
        };
        Some(Series { interval_s: length as f64, start, tracks })
    }
}

/// Mean power of an interval: energy in Wh, VAh or varh over its hours.
fn mean(value: i64, channel: &Channel<'_>, length_s: i64) -> f64 {
    let power_of_ten = (0..channel.multiplier.abs()).fold(1.0, |power, _| power * 10.0);
    let value = value as f64;
    let scaled = if channel.multiplier < 0 { value / power_of_ten } else { value * power_of_ten };
    if channel.energy { scaled * 3600.0 / length_s as f64 } else { scaled }
}

fn local(since_1970_s: i64) -> Option<DateTime> {
    date(1970, 1, 1).at(0, 0, 0, 0).checked_add(SignedDuration::from_secs(since_1970_s)).ok()
}

#[cfg(test)]
mod tests;
