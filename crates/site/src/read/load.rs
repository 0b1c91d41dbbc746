//! `[[load]]`.

use quantity::{Apparent, Connection, Current, Duration, Power, Quantity, Ratio};
use reading::{Diagnostic, Placed, Section, SourceText};
use std::str::FromStr;

use super::label::{exactly_one, name, need_name, need_partner};
use super::{motor, schedule};
use crate::facts::Facts;
use crate::{LegWish, Load, LoadClass, LoadSize, Schedule, Season};

const SIZES: [&str; 4] = ["power", "apparent", "current", "motor"];
const CLASSES: [(&str, LoadClass); 5] = [
    ("optional", LoadClass::Optional),
    ("emergency", LoadClass::Emergency),
    ("legally required", LoadClass::LegallyRequired),
    ("essential health care", LoadClass::EssentialHealthCare),
    ("critical operations", LoadClass::CriticalOperations),
];

pub(super) fn load(s: &Section<'_>, facts: &mut Facts, source: &SourceText) -> Option<Load> {
    let name_of_load = need_name(s, "name", "unique name of the load");
    let count = s.count("count", "how many of them; left out, one", 1..=10_000);
    let at_once = s.count("at_once", "how many of them at once, at most; left out, all", 1..=10_000);
    let panel = need_name(s, "panel", "id of the panel that feeds it");
    let legs = s.need_designation::<LegWish>(
        "legs",
        "its legs: \"L1\", \"L1-L2\", \"L1-L2-L3\"; \"any\" or \"any pair\" lets the tool balance",
        "L1-L2",
    );
    let size = size(s);
    let times = schedule::schedule(s, source);
    let (lasts, rests) = duty(s, times.as_ref());
    let never_with = s.texts("never_with", "names of loads that never run at the same time");
    let stage = name(s, "stage", "id of the growth stage from which on it exists; left out, today");
    let in_measured = s.flag("in_measured", "it is already inside the measured demand");
    let habits = habits(s);

    at_once_fits(s, count.as_ref(), at_once.as_ref());
    never_with_itself(s, name_of_load.as_ref(), &never_with);
    if s.place().is_some() {
        facts.loads.define(name_of_load.as_ref());
        facts.panels.refer(panel.as_ref());
        facts.stages.refer(stage.as_ref());
        facts.loads.references.extend(never_with.iter().cloned());
        facts.connections.extend(legs.clone());
        facts.in_measured.extend(in_measured.clone());
    }
    Some(Load {
        name: name_of_load?,
        count: count.map_or(1, |count| count.value),
        at_once,
        panel: panel?,
        legs: legs?,
        size: size?,
        power_factor: habits.power_factor,
        continuous: habits.continuous,
        schedule: times?,
        lasts,
        rests,
        never_with,
        season: habits.season,
        shed: habits.shed,
        gap: habits.gap,
        crest_factor: habits.crest_factor,
        third_harmonic: habits.third_harmonic,
        class: habits.class,
        in_measured,
        stage,
        place: s.place()?,
    })
}

fn size(s: &Section<'_>) -> Option<LoadSize> {
    // 5 MW: far beyond what a group of inverter-chargers on one low-voltage service carries (our own limit)
    let power = s.quantity_in("power", "active power of one", Power::of(0.1)..=Power::of(5e6));
    let apparent = s.quantity_in("apparent", "apparent power of one", Apparent::of(0.1)..=Apparent::of(5e6));
    let current = s.quantity_in(
        "current",
        "current of one at the nominal voltage of its connection",
        Current::of(0.001)..=Current::of(6000.0),
    );
    let motor = s.section("motor", "a motor", motor::motor);
    exactly_one(s, &SIZES, "how large it is")?;
    power
        .map(LoadSize::Power)
        .or(apparent.map(LoadSize::Apparent))
        .or(current.map(LoadSize::Current))
        .or(motor.map(|motor| LoadSize::Motor(Box::new(motor))))
}

/// Longest run and shortest pause, and whether they leave room for the running time stated.
fn duty(s: &Section<'_>, times: Option<&Schedule>) -> (Option<Placed<Duration>>, Option<Placed<Duration>>) {
    let range = || Duration::of(1.0)..=Duration::of(7.0 * 86_400.0);
    let lasts = s.quantity_in("lasts", "longest single run (with `rests`)", range());
    let rests = s.quantity_in("rests", "shortest pause between runs (with `lasts`)", range());
    let why = "a run says nothing without the pause after it: write both or neither";
    need_partner(s, "lasts", "rests", why);
    need_partner(s, "rests", "lasts", why);
    if let (Some(lasts), Some(rests), Some(Schedule::Daily(daily))) = (&lasts, &rests, times) {
        let share = lasts.value.si() / (lasts.value.si() + rests.value.si());
        let most = Duration::of(share * 86_400.0);
        // a whole run more than the share fits if the day begins and ends with a run
        if daily.value.a_day().si() > most.si() + lasts.value.si() {
            let message = format!("{} does not fit runs and pauses that leave {most} a day", daily.value);
            s.mistake(
                Diagnostic::new("contradiction", message)
                    .at(&daily.place, "running time in a day")
                    .also(&lasts.place, format!("at most {} at a time", lasts.value))
                    .also(&rests.place, format!("then a pause of {} or more", rests.value))
                    .help("shorten the daily running time, or correct the run or the pause"),
            );
        }
    }
    (lasts, rests)
}

struct Habits {
    power_factor: Option<Placed<Ratio>>,
    continuous: Option<Placed<bool>>,
    season: Option<Placed<Season>>,
    shed: Option<Placed<u32>>,
    gap: Option<Placed<Duration>>,
    crest_factor: Option<Placed<Ratio>>,
    third_harmonic: Option<Placed<Ratio>>,
    class: Option<Placed<LoadClass>>,
}

fn habits(s: &Section<'_>) -> Habits {
    Habits {
        power_factor: s.fraction("power_factor", "power factor while running", 0.05..=1.0),
        continuous: s.flag("continuous", "runs three hours or more at full power"),
        season: s.choice(
            "season",
            "the half of the year in which it runs; left out, all year",
            &[("summer", Season::Summer), ("winter", Season::Winter)],
        ),
        shed: s.count("shed", "shedding priority: 1 is shed first; left out, never", 1..=100),
        gap: s.quantity_in(
            "gap",
            "longest time without power that it tolerates at transfer",
            Duration::ZERO..=Duration::of(7.0 * 86_400.0),
        ),
        crest_factor: s.fraction("crest_factor", "peak over RMS of its current", 1.0..=10.0),
        third_harmonic: s.fraction(
            "third_harmonic",
            "third-harmonic current as a share of the fundamental",
            0.0..=1.5,
        ),
        class: s.choice("class", "what the law says of it; left out, \"optional\"", &CLASSES),
    }
}

fn at_once_fits(s: &Section<'_>, count: Option<&Placed<u32>>, at_once: Option<&Placed<u32>>) {
    let Some(at_once) = at_once else { return };
    // a count that could not be read has its own mistake
    if s.has("count") && count.is_none() {
        return;
    }
    let there = count.map_or(1, |count| count.value);
    if at_once.value <= there {
        return;
    }
    let message = format!("{} at once, but there are only {there}", at_once.value);
    let mut diagnostic = Diagnostic::new("contradiction", message).at(&at_once.place, "more than there are");
    if let Some(count) = count {
        diagnostic = diagnostic.also(&count.place, "so many there are");
    }
    s.mistake(diagnostic.help("correct `count`, or drop `at_once` if all may run at once"));
}

fn never_with_itself(s: &Section<'_>, name: Option<&Placed<String>>, never_with: &[Placed<String>]) {
    let Some(name) = name else { return };
    for own in never_with.iter().filter(|other| other.value == name.value) {
        s.mistake(
            Diagnostic::new("contradiction", format!("\"{}\" never runs with itself", own.value))
                .at(&own.place, "its own name")
                .help("name the other load; to say that only some of several run, use `at_once`"),
        );
    }
}

impl FromStr for LegWish {
    type Err = quantity::QuantityError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim() {
            "any" => Ok(LegWish::AnyLeg),
            "any pair" => Ok(LegWish::AnyPair),
            other => other.parse::<Connection>().map(LegWish::On).map_err(|error| {
                let help = "write \"L1\", \"L1-L2\", \"L1-L2-L3\"; or \"any\" (a leg and neutral) or \
                            \"any pair\" to let the tool balance";
                quantity::QuantityError::new(error.message, help)
            }),
        }
    }
}
