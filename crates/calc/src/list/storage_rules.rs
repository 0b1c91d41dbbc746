//! Rules on energy storage: circuit current and device, disconnects, voltage, places, labels.

use codebook::fire::storage_places::{FireCode, Place, StorageSite, StorageUnit, storage_places};
use codebook::us::labels::{LabelFacts, labels as labels_of};
use codebook::us::storage_current::{BatteryUnit, storage_current};
use codebook::us::storage_disconnect::{
    Article, DisconnectFacts, disconnects as disconnects_of, ground_fault_detection, placed,
};
use codebook::us::storage_overcurrent::{breaks, device, device_at_storage};
use codebook::us::storage_voltage::storage_voltage;
use derivation::Known;
use quantity::{DcVoltage, Energy, Ratio};

use crate::error::{CalcError, InputError};
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![current(), protection(), disconnects(), voltage(), places(), labels()]
}

fn current() -> Calculation {
    Calculation {
        id: "battery-dc-current",
        purpose: "DC current of units at rated power and lowest battery voltage, conductors and device (NEC 706.30, 706.31)",
        inputs: vec![
            In::number("unit_w", M::WATT, "rated AC power of a unit"),
            In::number("lowest_v", M::DC_VOLT, "lowest battery voltage at which it still gives that"),
            In::number("efficiency", M::NUMBER, "efficiency at that point").within(0.01, 1.0),
            In::number("units", M::NUMBER, "units on the battery").within(1.0, 1e3).or("1"),
            In::number("nameplate_a", M::DC_AMPERE, "largest continuous DC current on the unit's nameplate")
                .if_given(),
            In::number(
                "own_device_a",
                M::DC_AMPERE,
                "overcurrent device that the energy storage brings along",
            )
            .if_given(),
        ],
        outputs: vec![
            Out::new("unit_a", M::DC_AMPERE, "DC current of a unit"),
            Out::new("conductor_a", M::DC_AMPERE, "ampacity of its conductors"),
            Out::new("device_least_a", M::DC_AMPERE, "least rating of its overcurrent device"),
            Out::new("device_a", M::DC_AMPERE, "the next standard rating"),
            Out::new("bus_a", M::DC_AMPERE, "DC current of all units"),
            Out::new("bus_conductor_a", M::DC_AMPERE, "ampacity of conductors of all units together"),
        ],
        run: |given| {
            let unit = BatteryUnit {
                rated: given.one("unit_w", "P")?,
                lowest: given.one("lowest_v", "V_min")?,
                efficiency: given.one("efficiency", "eta")?,
                nameplate: given.one_if("nameplate_a", "I_plate")?,
            };
            let own = given.one_if("own_device_a", "I_own")?;
            let found = storage_current(&unit, &given.one("units", "n")?, own.as_ref())?;
            let device = device(&found.unit)?;
            Ok(Results::default()
                .known("unit_a", &found.unit)
                .known("conductor_a", &found.conductor)
                .known("device_least_a", &device.least)
                .known("device_a", &device.standard)
                .known("bus_a", &found.bus)
                .known("bus_conductor_a", &found.bus_conductor))
        },
    }
}

fn protection() -> Calculation {
    Calculation {
        id: "battery-protection",
        purpose: "Whether a DC device breaks what a bank gives, and whether one is asked for at the bank (NEC 706.31)",
        inputs: vec![
            In::number("bank_v", M::DC_VOLT, "highest voltage of the bank"),
            In::number("bank_fault_a", M::DC_AMPERE, "fault current at the device"),
            In::number("device_v", M::DC_VOLT, "DC voltage rating of the device"),
            In::number("device_interrupting_a", M::DC_AMPERE, "DC interrupting rating of the device"),
            In::number("run_ft", M::FOOT, "run of the conductors from the bank").within(0.0, 1e5),
            In::yes_no("through_wall", "the run passes a wall or partition"),
        ],
        outputs: vec![
            Out::new("breaks", M::WORD, "volts and amperes of the device are not below the bank's"),
            Out::new(
                "device_at_bank",
                M::WORD,
                "a device is asked for at the bank (confirm in the adopted code)",
            ),
        ],
        run: |given| {
            let bank = (&given.one("bank_v", "V")?, &given.one("bank_fault_a", "I_f")?);
            let rating = (&given.one("device_v", "V_d")?, &given.one("device_interrupting_a", "I_b")?);
            let near = device_at_storage(&given.one("run_ft", "L")?, given.yes("through_wall")?)?;
            Ok(Results::default().flag("breaks", breaks(bank, rating)?).flag("device_at_bank", near))
        },
    }
}

fn disconnects() -> Calculation {
    Calculation {
        id: "battery-disconnects",
        purpose: "Disconnects that a battery needs, and whether one stands where it may (NEC 706.15, 480.7)",
        inputs: vec![
            In::word(
                "article",
                "energy storage by Article 706 or standby battery by 480",
                &["storage", "standby"],
            ),
            In::number("bank_kwh", M::KILOWATT_HOUR, "energy of the battery").within(0.0, 1e6),
            In::number("bank_v", M::DC_VOLT, "nominal voltage of the battery"),
            In::yes_no("dwelling", "at a one- or two-family dwelling"),
            In::number("run_ft", M::FOOT, "run of the conductors to the equipment").within(0.0, 1e5),
            In::yes_no("through_wall", "the run passes a wall or partition"),
            In::number("disconnect_ft", M::FOOT, "distance of the disconnect").within(0.0, 1e5).if_given(),
            In::yes_no("within_sight", "it is within sight").or("no"),
            In::yes_no("lockable", "it can be locked open").or("no"),
        ],
        outputs: vec![
            Out::new("asked", M::WORD, "what is asked for, each with its clause"),
            Out::new(
                "ground_fault_detection",
                M::WORD,
                "an ungrounded standby battery needs ground-fault detection, 480.13",
            ),
            Out::new(
                "placed",
                M::WORD,
                "the disconnect stands where 706.15(B) allows it (the 10 ft: confirm in the adopted code)",
            ),
        ],
        run: |given| {
            let storage = given.word("article")? == "storage";
            let asked = disconnects_of(&DisconnectFacts {
                article: if storage { Article::Storage } else { Article::Standby },
                energy: given.one("bank_kwh", "E")?,
                voltage: given.one::<DcVoltage>("bank_v", "V")?,
                dwelling: given.yes("dwelling")?,
                run: given.one("run_ft", "L")?,
                through_wall: given.yes("through_wall")?,
            })?;
            let doubt = |confirm| if confirm { " (confirm in the adopted code)" } else { "" };
            let lines =
                asked.iter().map(|a| format!("{}{}: {}", a.clause, doubt(a.confirm), a.what)).collect();
            let results = Results::default().texts("asked", lines);
            let results = if storage {
                results
            } else {
                let needed = ground_fault_detection(&given.one("bank_v", "V")?)?;
                results.flag("ground_fault_detection", needed)
            };
            match given.one_if("disconnect_ft", "d")? {
                Some(distance) if storage => {
                    let placed = placed(&distance, given.yes("within_sight")?, given.yes("lockable")?)?;
                    Ok(results.flag("placed", placed))
                }
                _ => Ok(results),
            }
        },
    }
}

fn voltage() -> Calculation {
    Calculation {
        id: "storage-voltage",
        purpose: "Whether energy storage at a dwelling keeps its voltage limit (NEC 706.20(B))",
        inputs: vec![
            In::number("highest_v", M::DC_VOLT, "highest DC voltage, at the end of charging"),
            In::yes_no("guarded", "no live part can be reached in routine maintenance"),
        ],
        outputs: vec![
            Out::new("limit_v", M::DC_VOLT, "the limit"),
            Out::new("holds", M::WORD, "the limit is kept"),
        ],
        run: |given| {
            let found = storage_voltage(&given.one("highest_v", "V")?, given.yes("guarded")?)?;
            Ok(Results::default().known("limit_v", &found.limit).flag("holds", found.holds))
        },
    }
}

fn places() -> Calculation {
    Calculation {
        id: "storage-places",
        purpose: "Energy storage at a dwelling: size of units, sum of each place, distances (NFPA 855, IRC)",
        inputs: vec![
            In::word("code", "the adopted code", &["NFPA 855 2020", "NFPA 855 2023", "IRC 2021"]),
            In::numbers("unit_kwh", M::KILOWATT_HOUR, "energy of unit"),
            In::word(
                "place",
                "where each unit stands, one word for all or one each",
                &[
                    "storage-space",
                    "basement",
                    "attached-garage",
                    "detached-garage",
                    "exterior-wall",
                    "outdoors",
                    "sleeping-room",
                    "habitable-space",
                ],
            )
            .each(),
            In::numbers("place_number", M::NUMBER, "which of several places of the same kind")
                .within(1.0, 100.0)
                .or("1"),
            In::number("between_ft", M::FOOT, "smallest distance between two units")
                .within(0.0, 1e4)
                .if_given(),
            In::number(
                "listed_ft",
                M::FOOT,
                "least distance that their fire test and listing allow, in place of the code's",
            )
            .within(0.0, 1e4)
            .if_given(),
            In::number("opening_ft", M::FOOT, "smallest distance from a unit outside to a door or window")
                .within(0.0, 1e4)
                .if_given(),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "everything here that has a limit keeps it"),
            Out::new("unit_limit_kwh", M::KILOWATT_HOUR, "most energy of one unit"),
            Out::new("units_hold", M::WORD, "every unit keeps it"),
            Out::new("places", M::WORD, "verdict on each place or group of places"),
            Out::new("place_kwh", M::KILOWATT_HOUR, "sum of each place or group"),
            Out::new("place_limit_kwh", M::KILOWATT_HOUR, "limits of those that have one, in the same order"),
            Out::new("least_between_ft", M::FOOT, "least distance between units"),
            Out::new("between_holds", M::WORD, "it is kept"),
            Out::new("least_opening_ft", M::FOOT, "least distance to doors and windows"),
            Out::new("opening_holds", M::WORD, "it is kept"),
        ],
        run: run_places,
    }
}

fn run_places(given: &Given) -> Result<Results, CalcError> {
    let energies: Vec<Known<Energy>> = given.list("unit_kwh", "E")?;
    let words = given.words_for_each("place", energies.len())?;
    let numbers: Vec<Known<Ratio>> = given.for_each("place_number", "k", energies.len())?;
    let mut units = Vec::new();
    for ((energy, word), number) in energies.into_iter().zip(words).zip(numbers) {
        let which = number.whole()? as u32;
        let place = Place::ALL.iter().find(|(key, _)| *key == word).map(|(_, place)| *place);
        let refused =
            || InputError::OutOfRange { key: "place", value: word.clone(), allowed: "a place".to_owned() };
        units.push(StorageUnit { energy, place: place.ok_or_else(refused)?, which });
    }
    let code = match given.word("code")? {
        "NFPA 855 2020" => FireCode::Nfpa855Of2020,
        "NFPA 855 2023" => FireCode::Nfpa855Of2023,
        _ => FireCode::IrcOf2021,
    };
    let found = storage_places(&StorageSite {
        code,
        units,
        between: given.one_if("between_ft", "d")?,
        listed: given.one_if("listed_ft", "d_list")?,
        to_opening: given.one_if("opening_ft", "d")?,
    })?;
    let lines = found.places.iter().map(|place| {
        let verdict = match (&place.forbidden, place.holds) {
            (Some(clause), _) => format!("not allowed: {clause}"),
            (None, true) => "within its limit".to_owned(),
            (None, false) => "over its limit".to_owned(),
        };
        format!("{}: {verdict}", place.places)
    });
    let totals: Vec<_> = found.places.iter().map(|place| place.total.clone()).collect();
    let limits: Vec<_> = found.places.iter().filter_map(|place| place.limit.clone()).collect();
    let distances = [&found.between, &found.to_opening].into_iter().flatten();
    let holds = found.units_hold
        && found.places.iter().all(|place| place.holds)
        && distances.clone().all(|distance| distance.holds);
    let mut results = Results::default()
        .flag("holds", holds)
        .known("unit_limit_kwh", &found.unit_limit)
        .flag("units_hold", found.units_hold)
        .texts("places", lines.collect())
        .list("place_kwh", &totals)
        .list("place_limit_kwh", &limits);
    for (key, flag, distance) in [
        ("least_between_ft", "between_holds", &found.between),
        ("least_opening_ft", "opening_holds", &found.to_opening),
    ] {
        let Some(distance) = distance else { continue };
        results = results.known(key, &distance.least).flag(flag, distance.holds);
    }
    Ok(results)
}

fn labels() -> Calculation {
    let yes_no = |key, what| In::yes_no(key, what).or("no");
    Calculation {
        id: "labels",
        purpose: "Labels and signs that a site asks for, each with place, content and clause (NEC)",
        inputs: vec![
            In::yes_no("utility", "a utility supplies the site, too"),
            In::yes_no("dwelling", "a one- or two-family dwelling"),
            yes_no("panels", "there are panelboards or other equipment that may be opened while live"),
            yes_no("array", "there is an array"),
            yes_no("array_on_building", "the array stands on or in a building"),
            yes_no("storage", "there is energy storage by Article 706"),
            yes_no("standby_battery", "there is a standby battery by Article 480"),
            yes_no("parallel", "sources work in parallel with the utility"),
            yes_no("source_breaker_at_end", "a source feeds a busbar at its far end"),
            yes_no("standby", "there is optional standby supply by Article 702"),
            yes_no("standby_bonded_elsewhere", "its grounding electrode connection is elsewhere"),
            yes_no("single_120", "a single 120 V supply feeds a 120/240 V panel"),
            yes_no("managed", "power is limited by energy management"),
        ],
        outputs: vec![Out::new("labels", M::WORD, "each label: where, what it tells, clause")],
        run: |given| {
            let facts = LabelFacts {
                panels: given.yes("panels")?,
                utility: given.yes("utility")?,
                dwelling: given.yes("dwelling")?,
                array: given.yes("array")?,
                array_on_building: given.yes("array_on_building")?,
                storage: given.yes("storage")?,
                standby_battery: given.yes("standby_battery")?,
                parallel: given.yes("parallel")?,
                source_breaker_at_end: given.yes("source_breaker_at_end")?,
                standby: given.yes("standby")?,
                standby_bonded_elsewhere: given.yes("standby_bonded_elsewhere")?,
                single_120: given.yes("single_120")?,
                managed: given.yes("managed")?,
            };
            let lines = labels_of(&facts)?.into_iter().map(|label| {
                let doubt = if label.verification.confirm() { " (confirm in the adopted code)" } else { "" };
                format!("{}: {} [{}{doubt}]", label.place, label.tells, label.source)
            });
            Ok(Results::default().texts("labels", lines.collect()))
        },
    }
}
