//! What readers of several kinds of record share.

use std::ops::RangeInclusive;

use derivation::Place;
use quantity::{Current, Duration, Mass, Percent, Quantity, VoltageSystem};
use reading::{Diagnostic, Placed, Section};

use crate::{DelayRange, Footprint, NeutralPole, ShortTime, SourceBand};

/// What every record begins with.
pub(super) struct Head {
    pub id: String,
    pub name: String,
    pub revision: u32,
    pub place: Place,
}

pub(super) fn head(s: &Section<'_>) -> Option<Head> {
    let id = s.need_text("id", "id that sites use: lower-case words with digits, joined by hyphens");
    let name = s.need_text("name", "name for people");
    let revision = s.need_count("revision", "revision of the record, from 1", 1..=100_000);
    if let Some(id) = &id
        && !is_id(&id.value)
    {
        s.mistake(
            Diagnostic::new("bad-id", format!("\"{}\" is no id", id.value))
                .at(&id.place, "lower-case words with digits, joined by hyphens")
                .help("for example \"demo-split-5k4\""),
        );
    }
    Some(Head { id: id?.value, name: name?.value, revision: revision?.value, place: s.place()? })
}

fn is_id(text: &str) -> bool {
    let word = |w: &str| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
    text.len() <= 60 && text.split('-').all(word)
}

/// A range in the SI unit of the kind.
pub(super) fn span<Q: Quantity>(low_si: f64, high_si: f64) -> RangeInclusive<Q> {
    Q::from_si(low_si)..=Q::from_si(high_si)
}

/// A quantity that must be there, within a range in its SI unit that only slips of a unit or a digit leave.
pub(super) fn need<Q: Quantity>(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    range: RangeInclusive<Q>,
) -> Option<Q> {
    s.need_quantity_in(key, doc, range).map(|p| p.value)
}

/// Likewise, if there.
pub(super) fn may<Q: Quantity>(s: &Section<'_>, key: &str, doc: &str, range: RangeInclusive<Q>) -> Option<Q> {
    s.quantity_in(key, doc, range).map(|p| p.value)
}

/// A current of a contact or leg.
pub(super) fn amperes() -> RangeInclusive<Current> {
    span(0.5, 200_000.0)
}

/// Yes or no that must be there: what a device can do is never guessed.
pub(super) fn need_flag(s: &Section<'_>, key: &str, doc: &str) -> Option<bool> {
    let flag = s.flag(key, doc);
    need_key(s, key, doc);
    flag.map(|f| f.value)
}

/// Reports a key that is not there.
pub(super) fn need_key(s: &Section<'_>, key: &str, doc: &str) {
    if !s.has(key)
        && let Some(place) = s.place()
    {
        s.mistake(
            Diagnostic::new("missing-key", format!("the record has no `{key}`"))
                .at(&place, format!("`{key}` is missing: {doc}")),
        );
    }
}

/// A percentage that must be there, at most `highest_percent`.
pub(super) fn need_percent(s: &Section<'_>, key: &str, doc: &str, highest_percent: f64) -> Option<Percent> {
    let percent = s.need_designation::<Percent>(key, doc, "1 %")?;
    let share = percent.value.share().si();
    if !(0.0..=highest_percent / 100.0).contains(&share) {
        s.mistake(
            Diagnostic::new("out-of-range", format!("`{key}` is {}", percent.value))
                .at(&percent.place, format!("expected 0 % to {highest_percent} %")),
        );
    }
    Some(percent.value)
}

/// Price in whole units of the currency.
pub(super) fn price(s: &Section<'_>) -> Option<u32> {
    s.need_count("price", "price in whole units of the catalogue's currency", 0..=10_000_000).map(|p| p.value)
}

/// A list of tables, each with its place. `None` if an entry could not be read, so that no check of the whole list
/// speaks about a list with gaps.
pub(super) fn entries<T>(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    read: impl Fn(&Section<'_>) -> Option<T>,
) -> Option<Vec<Placed<T>>> {
    let all = s.list(key, doc, |entry| {
        let value = read(entry);
        Some(value.zip(entry.place()).map(|(value, place)| Placed { value, place }))
    });
    all.into_iter().collect()
}

/// The voltage systems in a list that must not be empty, each with its place.
pub(super) fn systems(s: &Section<'_>, key: &str, doc: &str) -> Option<Vec<Placed<VoltageSystem>>> {
    let texts = s.texts(key, doc);
    need_key(s, key, doc);
    if texts.is_empty() {
        if s.has(key) {
            s.mistake_at(
                key,
                "empty-list",
                format!("`{key}` names no system"),
                "for example \"120 V single-phase\"",
            );
        }
        return None;
    }
    let parsed: Vec<_> = texts
        .into_iter()
        .map(|text| match text.value.parse::<VoltageSystem>() {
            Ok(value) => Some(Placed { value, place: text.place }),
            Err(error) => {
                let wrong = Diagnostic::new("wrong-value", error.message);
                s.mistake(wrong.at(&text.place, "not understood").help(error.help));
                None
            }
        })
        .collect();
    parsed.into_iter().collect()
}

pub(super) fn neutral(s: &Section<'_>) -> Option<NeutralPole> {
    let words = [("solid", NeutralPole::Solid), ("switched", NeutralPole::Switched)];
    s.need_choice("neutral", "whether the neutral is switched with the lines", &words).map(|n| n.value)
}

/// A delay with its tolerance.
pub(super) fn delay(s: &Section<'_>) -> Option<DelayRange> {
    let earliest = need(s, "earliest", "never earlier", span(0.0, 86_400.0));
    let latest = may(s, "latest", "never later; leave out where no tolerance is stated", span(0.0, 86_400.0));
    if let (Some(earliest), Some(latest)) = (earliest, latest) {
        in_order(s, "latest", "`latest` is before `earliest`", earliest, latest);
    }
    Some(DelayRange { earliest: earliest?, latest })
}

/// Voltage either way, and the range of frequency.
pub(super) fn band(s: &Section<'_>) -> Option<SourceBand> {
    let voltage = need_percent(s, "voltage", "voltage either way, of nominal", 50.0);
    let lowest = need(s, "lowest", "lowest frequency", span(10.0, 100.0));
    let highest = need(s, "highest", "highest frequency", span(10.0, 100.0));
    if let (Some(lowest), Some(highest)) = (lowest, highest) {
        in_order(s, "highest", "`highest` is below `lowest`", lowest, highest);
    }
    Some(SourceBand { voltage: voltage?, lowest: lowest?, highest: highest? })
}

/// Whether the second is no less than the first; if it is, that is a mistake at the key.
pub(super) fn in_order<Q: Quantity>(s: &Section<'_>, key: &str, message: &str, low: Q, high: Q) -> bool {
    let ordered = low <= high;
    if !ordered {
        let help = format!("{high} is less than {low}: are the two swapped?");
        s.mistake_at(key, "wrong-order", message, help);
    }
    ordered
}

/// Currents carried for a stated time; empty where none are published.
pub(super) fn short_times(s: &Section<'_>, continuous: Option<Current>) -> Vec<ShortTime> {
    let doc = "currents carried for a time, longest first";
    let list = entries(s, "short_time", doc, short_time).unwrap_or_default();
    let steps: Vec<_> = list.iter().map(|e| (e.value.current, e.value.lasts, &e.place)).collect();
    ladder(s, "short-time-order", continuous, &steps);
    list.into_iter().map(|e| e.value).collect()
}

/// A current and how long.
pub(super) fn short_time(s: &Section<'_>) -> Option<ShortTime> {
    let current = need(s, "current", "RMS current", amperes());
    let lasts = need(s, "lasts", "how long at most", span(0.001, 86_400.0));
    Some(ShortTime { current: current?, lasts: lasts? })
}

/// Checks a list of limits with times: each above what holds for ever, more for a shorter time.
pub(super) fn ladder<Q: Quantity>(
    s: &Section<'_>,
    id: &'static str,
    continuous: Option<Q>,
    steps: &[(Q, Duration, &Place)],
) {
    if let (Some(continuous), Some((first, _, place))) = (continuous, steps.first())
        && *first <= continuous
    {
        let message = format!("{first} for a time is not above the continuous {continuous}");
        s.mistake(Diagnostic::new(id, message).at(place, format!("expected more than {continuous}")));
    }
    for pair in steps.windows(2) {
        if let [(a, a_lasts, _), (b, b_lasts, place)] = pair
            && !(b > a && b_lasts < a_lasts)
        {
            let message = format!("{b} for {b_lasts} does not follow {a} for {a_lasts}");
            s.mistake(
                Diagnostic::new(id, message)
                    .at(place, "expected more than the entry before, for a shorter time")
                    .help("list the longest first: each next entry is higher and lasts shorter"),
            );
        }
    }
}

/// A mounting footprint.
pub(super) fn footprint(s: &Section<'_>) -> Option<Footprint> {
    let mass = need(s, "mass", "mass", span(0.5, 2000.0));
    housing(s, mass)
}

/// The footprint of gear that need not state one; without it the gear finds no place on a wall.
pub(super) fn may_footprint(s: &Section<'_>) -> Option<Footprint> {
    s.section("footprint", "mounting footprint, where stated", footprint)
}

/// A footprint whose mass stands elsewhere in the record.
pub(super) fn housing(s: &Section<'_>, mass: Option<Mass>) -> Option<Footprint> {
    let size = || span(0.02, 5.0);
    let free = || span(0.0, 5.0);
    let height = need(s, "height", "height of the housing", size());
    let width = need(s, "width", "width", size());
    let depth = need(s, "depth", "depth from the wall", size());
    let above = need(s, "above", "free space above", free());
    let below = need(s, "below", "free space below", free());
    let beside = need(s, "beside", "free space at each side", free());
    let outlets = [("top", "top"), ("bottom", "bottom"), ("sides", "sides"), ("none", "none")];
    let air_outlet = s.need_choice("air_outlet", "where warm air leaves; \"none\" without a fan", &outlets);
    Some(Footprint {
        height: height?,
        width: width?,
        depth: depth?,
        above: above?,
        below: below?,
        beside: beside?,
        air_outlet: air_outlet?.value.to_owned(),
        mass: mass?,
    })
}
