//! Where sources meet the installation, by the US code: busbars, feeders, taps, supply side, power control; working
//! space and bonds.

use codebook::us::busbar_connection::{Busbar, before_2014, busbar_connection, power, room};
use codebook::us::conductor_tap::{Tap, conductor_tap};
use codebook::us::feeder_connection::feeder_connection;
use codebook::us::power_control::{PowerControl, power_control};
use codebook::us::supply_side::supply_side;
use codebook::us::system_bond::{Bonds, Feed, system_bond};
use codebook::us::working_space::{Opposite, depth};
use network::voltage_dip::Phases;

use super::conductor_inputs as ci;
use super::{phases, phases_input};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![busbar(), busbar_room(), feeder(), tap(), supply(), control(), working_space(), bond()]
}

fn busbar() -> Calculation {
    Calculation {
        id: "busbar-connection",
        purpose: "Whether sources may be connected to a busbar, every option of the code by itself",
        inputs: vec![
            In::number("bus_a", M::AMPERE, "rating of the busbar"),
            In::number("main_a", M::AMPERE, "device that protects it from the primary source")
                .within(0.0, 1e6),
            In::numbers("source_a", M::AMPERE, "rated continuous output current of source").within(0.0, 1e6),
            In::numbers("source_breaker_a", M::AMPERE, "breaker of source, one for each")
                .within(0.0, 1e6)
                .if_given(),
            In::numbers("load_breaker_a", M::AMPERE, "load breaker").within(0.0, 1e6).if_given(),
            In::yes_no("opposite_ends", "all sources at the end away from the main"),
            In::yes_no("center_fed_dwelling", "center-fed panelboard of a dwelling, all sources at one end")
                .or("no"),
            In::word("edition", "of the code", &["2014-and-later", "before-2014"]).or("2014-and-later"),
        ],
        outputs: vec![
            Out::new("sum_a", M::AMPERE, "125 % of the sources and the main"),
            Out::new("full_limit_a", M::AMPERE, "limit of the option anywhere on the busbar"),
            Out::new("full_holds", M::WORD, "that option holds"),
            Out::new("opposite_limit_a", M::AMPERE, "limit of the option at opposite ends"),
            Out::new("opposite_holds", M::WORD, "that option holds"),
            Out::new("breakers_sum_a", M::AMPERE, "all breakers but the main"),
            Out::new("breakers_limit_a", M::AMPERE, "limit of the option by breakers"),
            Out::new("breakers_holds", M::WORD, "that option holds"),
            Out::new("center_limit_a", M::AMPERE, "limit of the option of center-fed panelboards"),
            Out::new("center_holds", M::WORD, "that option holds"),
            Out::new("any_holds", M::WORD, "one of the options holds"),
            Out::new(
                "before_2014_sum_a",
                M::AMPERE,
                "editions before 2014: the sources' breakers and the main",
            ),
            Out::new("before_2014_limit_a", M::AMPERE, "their limit"),
            Out::new("before_2014_holds", M::WORD, "that holds"),
        ],
        run: run_busbar,
    }
}

fn run_busbar(given: &Given) -> Result<Results, CalcError> {
    let list = |key, symbol| if given.has(key) { given.list(key, symbol).map(Some) } else { Ok(None) };
    let bus = Busbar {
        rating: given.one("bus_a", "I_bus")?,
        main: given.one("main_a", "I_main")?,
        sources: given.list("source_a", "I_out")?,
        source_breakers: list("source_breaker_a", "I_b")?,
        load_breakers: list("load_breaker_a", "I_load")?,
        opposite_ends: ci::yes(given, "opposite_ends")?,
        center_fed_dwelling: ci::yes(given, "center_fed_dwelling")?,
    };
    if given.word("edition")? == "before-2014" {
        let old = before_2014(&bus)?;
        return Ok(Results::default()
            .known("before_2014_sum_a", &old.sum)
            .known("before_2014_limit_a", &old.limit)
            .flag("before_2014_holds", old.holds));
    }
    let found = busbar_connection(&bus)?;
    let mut results = Results::default().known("sum_a", &found.sum).flag("any_holds", found.any);
    for option in &found.options {
        results = match option.id {
            "full" => results.known("full_limit_a", &option.limit).flag("full_holds", option.holds),
            "opposite" => {
                results.known("opposite_limit_a", &option.limit).flag("opposite_holds", option.holds)
            }
            "breakers" => results
                .known("breakers_sum_a", &option.sum)
                .known("breakers_limit_a", &option.limit)
                .flag("breakers_holds", option.holds),
            _ => results.known("center_limit_a", &option.limit).flag("center_holds", option.holds),
        };
    }
    Ok(results)
}

fn busbar_room() -> Calculation {
    Calculation {
        id: "busbar-room",
        purpose: "What a busbar leaves for sources, anywhere and at the end away from the main",
        inputs: vec![
            In::number("bus_a", M::AMPERE, "rating of the busbar"),
            In::number("main_a", M::AMPERE, "device that protects it from the primary source")
                .within(0.0, 1e6),
            In::number("line_v", M::LINE_VOLT, "voltage between the lines of the sources").if_given(),
            phases_input().or("1"),
        ],
        outputs: vec![
            Out::new("full_room_a", M::AMPERE, "anywhere: room for 125 % of the sources"),
            Out::new("full_source_a", M::AMPERE, "anywhere: their output"),
            Out::new(
                "opposite_room_a",
                M::AMPERE,
                "at the end away from the main: room for 125 % of the sources",
            ),
            Out::new("opposite_source_a", M::AMPERE, "at the end away from the main: their output"),
            Out::new("opposite_source_va", M::VOLT_AMPERE, "the same as power"),
        ],
        run: run_room,
    }
}

fn run_room(given: &Given) -> Result<Results, CalcError> {
    let (bus, main) = (given.one("bus_a", "I_bus")?, given.one("main_a", "I_main")?);
    let opposite = room(&bus, &main, true)?;
    let mut results = Results::default()
        .known("opposite_room_a", &opposite.room)
        .known("opposite_source_a", &opposite.source);
    // a main above the busbar leaves nothing anywhere, but may at the far end
    if let Ok(full) = room(&bus, &main, false) {
        results = results.known("full_room_a", &full.room).known("full_source_a", &full.source);
    }
    if given.has("line_v") {
        let three = phases(given)? == Phases::Three;
        let power = power(&opposite.source, &given.one("line_v", "V")?, three)?;
        results = results.known("opposite_source_va", &power);
    }
    Ok(results)
}

fn feeder() -> Calculation {
    Calculation {
        id: "feeder-connection",
        purpose: "Whether a feeder is protected beyond the connection of sources",
        inputs: vec![
            In::number("feeder_a", M::AMPERE, "ampacity of the feeder beyond the connection"),
            In::number("primary_a", M::AMPERE, "device of the feeder"),
            In::numbers("source_a", M::AMPERE, "rated continuous output current of source"),
            In::number("device_a", M::AMPERE, "device at the connection that protects the feeder beyond")
                .if_given(),
        ],
        outputs: vec![
            Out::new("required_a", M::AMPERE, "ampacity needed beyond the connection without a device"),
            Out::new("by_ampacity", M::WORD, "the ampacity is enough"),
            Out::new("by_device", M::WORD, "a device at the connection protects it"),
            Out::new("holds", M::WORD, "one of both"),
        ],
        run: |given| {
            let device = ci::if_given(given, "device_a", "I_n")?;
            let found = feeder_connection(
                &given.one("feeder_a", "I_f")?,
                &given.one("primary_a", "I_p")?,
                &given.list("source_a", "I_out")?,
                device.as_ref(),
            )?;
            Ok(Results::default()
                .known("required_a", &found.required)
                .flag("by_ampacity", found.by_ampacity)
                .flag("by_device", found.by_device)
                .flag("holds", found.holds()))
        },
    }
}

fn tap() -> Calculation {
    Calculation {
        id: "tap",
        purpose: "Whether a feeder tap of up to 25 ft may go without a device where it begins",
        inputs: vec![
            In::number("run_ft", M::FOOT, "length of the tap"),
            In::number("ampacity_a", M::AMPERE, "ampacity of the tap"),
            In::number("feeder_a", M::AMPERE, "device of the feeder"),
            In::numbers("source_a", M::AMPERE, "output of source on the feeder").if_given(),
            In::number("load_a", M::AMPERE, "load of the tap").within(0.0, 1e6),
            In::number("end_a", M::AMPERE, "device in which it ends, or rating of the equipment"),
            In::yes_no("one_device", "it ends in one device"),
            In::yes_no("leaves_enclosure", "it leaves the enclosure in which it begins"),
            In::yes_no("protected", "it is protected from damage in a raceway or the like"),
        ],
        outputs: vec![
            Out::new("clause", M::WORD, "the clause that its length leads to"),
            Out::new("required_a", M::AMPERE, "smallest ampacity"),
            Out::new("holds", M::WORD, "it may"),
            Out::new("failures", M::WORD, "what is not met"),
        ],
        run: run_tap,
    }
}

fn run_tap(given: &Given) -> Result<Results, CalcError> {
    let tap = Tap {
        length: given.one("run_ft", "L")?,
        ampacity: given.one("ampacity_a", "I_tap")?,
        feeder: given.one("feeder_a", "I_f")?,
        sources: if given.has("source_a") { given.list("source_a", "I_out")? } else { Vec::new() },
        load: given.one("load_a", "I_load")?,
        end: given.one("end_a", "I_end")?,
        one_device: ci::yes(given, "one_device")?,
        leaves_enclosure: ci::yes(given, "leaves_enclosure")?,
        protected: ci::yes(given, "protected")?,
    };
    let found = conductor_tap(&tap)?;
    Ok(ci::failing(
        Results::default().text("clause", found.clause).known("required_a", &found.required),
        &found.failures,
    ))
}

fn supply() -> Calculation {
    Calculation {
        id: "supply-side-connection",
        purpose: "Whether sources may be connected ahead of the service disconnect",
        inputs: vec![
            In::number("service_a", M::AMPERE, "ampacity of the service conductors"),
            In::numbers("source_a", M::AMPERE, "rated continuous output current of source"),
            ci::size_input("size"),
            ci::material_input(),
        ],
        outputs: vec![
            Out::new("sum_a", M::AMPERE, "output of all sources"),
            Out::new("limit_a", M::AMPERE, "what it may reach"),
            Out::new("sum_holds", M::WORD, "it does not exceed it"),
            Out::new("least_size", M::WORD, "smallest conductor of the sources"),
            Out::new("least_kcmil", M::KCMIL, "its area"),
            Out::new("size_holds", M::WORD, "the conductor is as large"),
        ],
        run: |given| {
            let found = supply_side(
                &given.one("service_a", "I_s")?,
                &given.list("source_a", "I_out")?,
                ci::size(given, "size")?,
                ci::material(given, "material")?,
            )?;
            let results = Results::default()
                .known("sum_a", &found.sum)
                .known("limit_a", &found.limit)
                .flag("sum_holds", found.sum_holds)
                .flag("size_holds", found.size_holds);
            Ok(ci::sized(results, "least_size", "least_kcmil", &found.least))
        },
    }
}

fn control() -> Calculation {
    Calculation {
        id: "power-control",
        purpose: "Whether the setpoint of a power control protects busbars and conductors",
        inputs: vec![
            In::number("setpoint_a", M::AMPERE, "setpoint"),
            In::numbers("rating_a", M::AMPERE, "rating of busbar or conductor under control"),
            In::yes_no("listed", "the control is listed for this"),
            In::yes_no("locked", "users cannot change the setpoint"),
            In::yes_no("monitors_all", "every busbar and conductor under control is measured"),
        ],
        outputs: vec![
            Out::new("least_a", M::AMPERE, "smallest rating under control"),
            Out::new("holds", M::WORD, "the setpoint does not exceed it"),
        ],
        run: |given| {
            let control = PowerControl {
                setpoint: given.one("setpoint_a", "I_set")?,
                listed: ci::yes(given, "listed")?,
                locked: ci::yes(given, "locked")?,
                monitors_all: ci::yes(given, "monitors_all")?,
            };
            let (holds, least) = power_control(&control, &given.list("rating_a", "I_r")?)?;
            Ok(Results::default().known("least_a", &least).flag("holds", holds))
        },
    }
}

fn working_space() -> Calculation {
    Calculation {
        id: "working-space",
        purpose: "Depth of working space before equipment that may be worked on live",
        inputs: vec![
            In::number("ground_v", M::PHASE_VOLT, "voltage to ground").within(0.0, 1e5),
            In::word(
                "opposite",
                "what is opposite; concrete, brick and tile are grounded",
                &["nothing", "grounded", "live"],
            ),
            In::number("available_ft", M::FOOT, "depth that is there").if_given(),
        ],
        outputs: vec![
            Out::new("depth_ft", M::FOOT, "depth that is asked for"),
            Out::new("depth_holds", M::WORD, "what is there is enough"),
        ],
        run: |given| {
            let opposite = match given.word("opposite")? {
                "live" => Opposite::Live,
                "grounded" => Opposite::Grounded,
                _ => Opposite::Nothing,
            };
            let depth = depth(&given.one("ground_v", "V")?, opposite)?;
            let results = Results::default().known("depth_ft", &depth);
            let there = ci::if_given::<quantity::Length>(given, "available_ft", "d")?;
            Ok(match there {
                Some(there) => results.flag("depth_holds", there.value() >= depth.value()),
                None => results,
            })
        },
    }
}

fn bond() -> Calculation {
    let number = |key, what| In::number(key, M::NUMBER, what).within(0.0, 100.0);
    Calculation {
        id: "system-bond",
        purpose: "Whether neutral and ground of an energised system are joined once, in the right place",
        inputs: vec![
            In::yes_no("solidly_grounded", "the system is solidly grounded"),
            In::word(
                "feed",
                "what feeds it; a source of its own has its neutral tied to the service's, or switched away",
                &["utility", "own-neutral-tied", "own-neutral-switched"],
            ),
            number("service_bonds", "closed bonds at the service"),
            number("source_bonds", "closed bonds at the source, its units or its first disconnect"),
            number("downstream_bonds", "closed bonds beyond both").or("0"),
        ],
        outputs: vec![
            Out::new("separately_derived", M::WORD, "the source is a separately derived system"),
            Out::new("holds", M::WORD, "it is bonded as it must be"),
            Out::new("failures", M::WORD, "what is wrong"),
        ],
        run: run_bond,
    }
}

fn run_bond(given: &Given) -> Result<Results, CalcError> {
    let whole = |key: &'static str| -> Result<u32, CalcError> {
        let n = given.plain(key)?;
        if n.fract() != 0.0 {
            return Err(CalcError::NotCovered(format!("{key} is {n}; a whole number is asked for")));
        }
        Ok(n as u32)
    };
    let feed = match given.word("feed")? {
        "own-neutral-tied" => Feed::OwnNeutralTied,
        "own-neutral-switched" => Feed::OwnNeutralSwitched,
        _ => Feed::Utility,
    };
    let bonds = Bonds {
        service: whole("service_bonds")?,
        source: whole("source_bonds")?,
        downstream: whole("downstream_bonds")?,
    };
    let found = system_bond(ci::yes(given, "solidly_grounded")?, feed, bonds)?;
    Ok(ci::failing(Results::default().flag("separately_derived", found.separately_derived), &found.failures))
}
