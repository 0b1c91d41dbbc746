//! `[site]`, `[generator]`, `[battery]`, `[wish]`, `[[conductor]]` and `[[stage]]`.

use codebook::fire::storage_places::{FireCode, Place as FirePlace};
use quantity::{
    Angle, Current, DcCurrent, Duration, Length, PulseEnergy, Quantity, Resistance, Temperature, Wire,
};
use reading::{Diagnostic, Placed, Section};

use super::label::{name, need_name, need_percent_in, percent_in};
use crate::facts::Facts;
use crate::{
    BatteryWish, BreakerWish, ConductorWish, GeneratorInlet, GeneratorWish, MotorStarts, Position,
    PrechargeGear, Stage, Standing, Temperatures, UnitBreaker, Units, Wish,
};

const DAY: f64 = 86_400.0;

/// Name, altitude, temperatures, position, units of the papers.
type About = (Placed<String>, Placed<Length>, Temperatures, Option<Position>, Option<Placed<Units>>);

pub(super) fn site(s: &Section<'_>, facts: &mut Facts) -> Option<About> {
    let name = need_name(s, "name", "name of the site, for people");
    let altitude = s.need_quantity_in(
        "altitude",
        "altitude above sea level: thin air cools less",
        // the lowest dry land and the highest settlements, with room
        Length::of(-430.0)..=Length::of(6000.0),
    );
    let temperature =
        s.need_section("temperature", "lowest, high and room temperature of the site", temperatures);
    let position = position(s);
    let says = POSITION.iter().any(|key| s.has(key));
    facts.position = s.place().map(|place| Placed { value: says, place });
    let units = s.choice(
        "units",
        "units of lengths, temperatures and masses on paper; left out, \"US\" with US earthing, else \"metric\"",
        &[("US", Units::Us), ("metric", Units::Metric)],
    );
    Some((name?, altitude?, temperature?, position, units))
}

const POSITION: [&str; 3] = ["latitude", "longitude", "utc_offset"];

/// All three keys, or none.
fn position(s: &Section<'_>) -> Option<Position> {
    let latitude = s.quantity_in(
        "latitude",
        "degrees north of the equator; needed for arrays",
        Angle::of(-90.0)..=Angle::of(90.0),
    );
    let longitude = s.quantity_in(
        "longitude",
        "degrees east of Greenwich, west negative; needed for arrays",
        Angle::of(-180.0)..=Angle::of(180.0),
    );
    let utc_offset = s.quantity_in(
        "utc_offset",
        "local standard time less universal time, without summer time; needed for arrays",
        Duration::of(-12.0 * 3600.0)..=Duration::of(14.0 * 3600.0),
    );
    if let (Some(there), Some(missing)) =
        (POSITION.iter().find(|key| s.has(key)), POSITION.iter().find(|key| !s.has(key)))
    {
        let message = format!("`{there}` without `{missing}`");
        s.mistake_at(there, "missing-partner", message, "write `latitude`, `longitude` and `utc_offset`");
    }
    if let (Some(longitude), Some(utc_offset)) = (&longitude, &utc_offset) {
        clock_of(s, longitude, utc_offset);
    }
    Some(Position { latitude: latitude?, longitude: longitude?, utc_offset: utc_offset? })
}

/// Hours between the clock and the sun that no time zone has: the widest, China, reaches 3.1 h from its meridian.
const OFF_SUN_H: f64 = 3.25;

/// A clock that does not go with the longitude: one of the two has the wrong sign, or is of another place.
fn clock_of(s: &Section<'_>, longitude: &Placed<Angle>, utc_offset: &Placed<Duration>) {
    let (east_deg, clock_h) = (longitude.value.si(), utc_offset.value.si() / 3600.0);
    let off = clock_h - east_deg / 15.0;
    // a zone beyond the date line is a day off, which the sun does not see
    let off = (off - 24.0 * (off / 24.0).round()).abs();
    if off <= OFF_SUN_H {
        return;
    }
    let whole = (east_deg / 15.0).round() + 0.0;
    let message = format!("the clock stands {off:.1} h off the sun of this longitude; no time zone does");
    s.mistake(
        Diagnostic::new("contradiction", message)
            .at(&utc_offset.place, format!("{clock_h} h"))
            .also(&longitude.place, format!("{east_deg} degrees, east positive"))
            .help(format!(
                "write utc_offset = \"{whole} h\", give or take an hour or two; or correct the longitude: west is negative"
            )),
    );
}

fn temperatures(s: &Section<'_>) -> Option<Temperatures> {
    let lowest = s.need_quantity_in(
        "lowest",
        "lowest expected outdoors",
        Temperature::of(-60.0)..=Temperature::of(40.0),
    );
    let high = s.need_quantity_in(
        "high",
        "high outdoors, exceeded 2 % of the time",
        Temperature::of(-20.0)..=Temperature::of(60.0),
    );
    let room = s.need_quantity_in(
        "room",
        "highest in the room of the units",
        Temperature::of(-20.0)..=Temperature::of(60.0),
    );
    let (lowest, high, room) = (lowest?, high?, room?);
    for (what, upper) in [("high", &high), ("highest room", &room)] {
        if upper.value < lowest.value {
            let message = format!("the {what} temperature is under the lowest temperature");
            let diagnostic = Diagnostic::new("wrong-order", message)
                .at(&upper.place, format!("{}", upper.value))
                .also(&lowest.place, format!("lowest: {}", lowest.value));
            s.mistake(diagnostic.help("exchange them, or correct the sign or the unit"));
        }
    }
    Some(Temperatures { lowest, high, room })
}

pub(super) fn generator(s: &Section<'_>) -> Option<GeneratorWish> {
    let model = need_name(s, "model", "catalogue id of the generator");
    let inlet = s.decide(
        "inlet",
        "where it feeds in: the units' second input, or a transfer switch ahead of their only input",
        &[("second input", GeneratorInlet::SecondInput), ("transfer switch", GeneratorInlet::TransferSwitch)],
    );
    let automatic = s.flag("automatic", "it starts by itself");
    let no_export = s.flag(
        "no_export",
        "behind a transfer switch: a contact or a setting keeps the units from giving power back while it feeds their input",
    );
    let run = super::year::generator_run(s);
    Some(GeneratorWish { model: model?, inlet: inlet?, automatic, no_export, run, place: s.place()? })
}

pub(super) fn battery(s: &Section<'_>) -> Option<BatteryWish> {
    let model = name(s, "model", "catalogue id of the battery");
    let distance = Length::of(0.0)..=Length::of(1000.0);
    let count = s.decide_count("count", "modules or strings in parallel, or \"choose\"", 1..=200);
    let lowest = s.quantity_in(
        "lowest",
        "lowest temperature where the battery stands",
        Temperature::of(-60.0)..=Temperature::of(40.0),
    );
    let string_device = name(s, "string_device", "catalogue id of the device of every string");
    let unit_device = name(s, "unit_device", "catalogue id of the device between the bus and every unit");
    let doc = "what charges the input of a unit before its device closes, where the units leave that to the installation";
    let precharge = s.section("precharge", doc, precharge);
    let standing = Standing {
        place: s.choice("place", "where it stands, for the fire code of dwellings", &FirePlace::ALL),
        code: s.choice("fire_code", "the adopted fire code", &FireCode::ALL),
        between: s.quantity_in("between", "smallest distance between two units of it", distance.clone()),
        to_opening: s.quantity_in(
            "to_opening",
            "outside: smallest distance to doors and windows of the dwelling",
            distance,
        ),
    };
    Some(BatteryWish {
        model,
        count: count?,
        lowest,
        string_device,
        unit_device,
        precharge,
        standing,
        place: s.place(),
    })
}

fn precharge(s: &Section<'_>) -> Option<PrechargeGear> {
    let resistor = s.need_quantity_in("resistor", "resistor", Resistance::of(0.01)..=Resistance::of(1e6));
    let tolerance = need_percent_in(s, "tolerance", "by how much it may be off", 0.0..=0.5);
    let doc = "energy that it takes in one pulse as short as the pre-charge";
    let pulse = s.need_quantity_in("pulse", doc, PulseEnergy::of(1e-3)..=PulseEnergy::of(1e7));
    let doc = "direct current that its switch and cable make, and carry for so long";
    let current = s.need_quantity_in("current", doc, DcCurrent::of(1e-3)..=DcCurrent::of(1e5));
    let doc = "how long it is left on; left out, the tool says how long";
    let time = s.quantity_in("time", doc, Duration::of(1e-3)..=Duration::of(3600.0));
    Some(PrechargeGear { resistor: resistor?, tolerance: tolerance?, pulse: pulse?, current: current?, time })
}

pub(super) fn wish(s: &Section<'_>, facts: &mut Facts) -> Option<Wish> {
    let wish = Wish {
        outage: s.quantity_in(
            "outage",
            "how long an outage is to be carried",
            Duration::of(60.0)..=Duration::of(60.0 * DAY),
        ),
        one_unit_may_be_out: s
            .flag("one_unit_may_be_out", "the panel must be carried with one unit out of service"),
        motor_starts: s.choice(
            "motor_starts",
            "how motors start after an interruption or by their own control",
            &[("together", MotorStarts::Together), ("one at a time", MotorStarts::OneAtATime)],
        ),
        bypass: s.flag("bypass", "the panel must be served while the units are serviced"),
        spare: percent_in(s, "spare", "spare share on top of the demand of the backup panel", 0.0..=2.0),
        grow_to: s.count("grow_to", "largest number of units to look at for growth", 1..=99),
    };
    facts.bypass_wished.clone_from(&wish.bypass);
    Some(wish)
}

pub(super) fn conductor(s: &Section<'_>) -> Option<ConductorWish> {
    let part = need_name(
        s,
        "part",
        "the run as `check` names it in its JSON, such as \"backup.conductor\" or \"unit.input.run.conductor\"",
    );
    let length = s.quantity_in("length", "its length, one way", Length::of(0.05)..=Length::of(3000.0));
    let size =
        s.designation::<Wire>("size", "size of each line conductor; left out, the tool chooses", "2 AWG");
    let sets = s.count("sets", "conductors in parallel, with a size", 1..=12);
    if let (Some(sets), None) = (&sets, &size) {
        let message = format!("{} sets without a size", sets.value);
        s.mistake_at("sets", "missing-partner", message, "give the size of each conductor as well");
    }
    Some(ConductorWish { part: part?, length, size, sets })
}

/// Two tables of one run would contradict each other.
pub(super) fn conductors_once(root: &Section<'_>, conductors: &[ConductorWish]) {
    for (k, wish) in conductors.iter().enumerate() {
        let before = conductors.iter().take(k).find(|other| other.part.value == wish.part.value);
        if let Some(before) = before {
            let message = format!("conductor run \"{}\" comes twice", wish.part.value);
            root.mistake(
                Diagnostic::new("duplicate-name", message)
                    .at(&wish.part.place, "again here")
                    .also(&before.part.place, "first here")
                    .help("put length, size and sets of one run into one table"),
            );
        }
    }
}

pub(super) fn breaker(s: &Section<'_>) -> Option<BreakerWish> {
    let part = s.need_choice(
        "part",
        "which breaker of every unit; left out, the tool chooses the smallest that passes",
        &UnitBreaker::ALL,
    );
    let rating = s.need_quantity_in("rating", "its rating", Current::of(1.0)..=Current::of(6000.0));
    Some(BreakerWish { part: part?, rating: rating? })
}

/// Two tables of one breaker would contradict each other.
pub(super) fn breakers_once(root: &Section<'_>, breakers: &[BreakerWish]) {
    for (k, wish) in breakers.iter().enumerate() {
        let before = breakers.iter().take(k).find(|other| other.part.value == wish.part.value);
        if let Some(before) = before {
            root.mistake(
                Diagnostic::new("duplicate-name", "this breaker comes twice")
                    .at(&wish.part.place, "again here")
                    .also(&before.part.place, "first here"),
            );
        }
    }
}

pub(super) fn stage(s: &Section<'_>, facts: &mut Facts) -> Option<Stage> {
    let id = need_name(s, "id", "id of the growth stage; loads name it");
    let after_years = s.need_count("after_years", "years from now", 1..=50);
    if s.place().is_some() {
        facts.stages.define(id.as_ref());
        facts.years.extend(after_years.clone());
    }
    Some(Stage { id: id?, after_years: after_years? })
}
