//! Inputs that the calculations on conductors share.

use codebook::us::conductor_ampacity::Surroundings;
use codebook::us::continuous_load::Carrier;
use codebook::us::terminal_temperature::Listing;
use derivation::Known;
use quantity::QuantityError;
use tables::us::conductors::{Column, Laying, Material};
use tables::us::size::{KnownSize, Size};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::InputSpec as In;

pub(super) const METALS: &[&str] = &["copper", "aluminum"];
pub(super) const SIZE: &str = "size as the code's tables print it: 12, 1/0, 250, or with AWG or kcmil";

pub(super) fn size_input(key: &'static str) -> In {
    In::text(key, SIZE)
}

pub(super) fn material_input() -> In {
    In::word("material", "metal; aluminum also for copper-clad aluminum", METALS).or("copper")
}

pub(super) fn phase_material_input() -> In {
    In::word("phase_material", "metal of the ungrounded conductors", METALS).or("copper")
}

/// Where the conductor lies.
pub(super) fn surroundings_inputs() -> Vec<In> {
    vec![
        In::word("insulation", "temperature rating of the insulation in degC", &["60", "75", "90"]).or("75"),
        In::word("laying", "in raceway, cable or earth, or single in free air", &["raceway", "free-air"])
            .or("raceway"),
        In::number("ambient_degc", M::CELSIUS, "ambient temperature").within(-60.0, 150.0).or("30"),
        In::yes_no("on_roof", "in a raceway close above a roof in the sun").or("no"),
        In::number("current_carrying", M::NUMBER, "current-carrying conductors in the raceway or bundle")
            .within(1.0, 1000.0)
            .or("3"),
        In::yes_no("short_raceway", "the raceway is not longer than 24 in").or("no"),
    ]
}

pub(super) fn listing_input() -> In {
    let what = "temperature of the terminals in degC at both ends; unknown: 60 up to 100 A, 75 above";
    In::word("terminals", what, &["60", "75", "unknown"]).or("unknown")
}

pub(super) fn carrier_input() -> In {
    In::word("carrier", "kind of circuit", &["branch", "feeder", "service"]).or("feeder")
}

pub(super) fn carrier(given: &Given) -> Result<Carrier, CalcError> {
    Ok(match given.word("carrier")? {
        "branch" => Carrier::Branch,
        "service" => Carrier::Service,
        _ => Carrier::Feeder,
    })
}

pub(super) fn read_size(text: &str) -> Result<Size, CalcError> {
    text.parse().map_err(|e: QuantityError| CalcError::NotCovered(format!("{}; {}", e.message, e.help)))
}

pub(super) fn size(given: &Given, key: &'static str) -> Result<Size, CalcError> {
    read_size(given.word(key)?)
}

pub(super) fn material(given: &Given, key: &'static str) -> Result<Material, CalcError> {
    Ok(if given.word(key)? == "aluminum" { Material::Aluminum } else { Material::Copper })
}

pub(super) fn insulation(given: &Given) -> Result<Column, CalcError> {
    Ok(column(given.word("insulation")?))
}

pub(super) fn column(word: &str) -> Column {
    match word {
        "60" => Column::C60,
        "90" => Column::C90,
        _ => Column::C75,
    }
}

pub(super) fn listing(given: &Given) -> Result<Listing, CalcError> {
    Ok(match given.word("terminals")? {
        "60" => Listing::C60,
        "75" => Listing::C75,
        _ => Listing::Unknown,
    })
}

pub(super) fn yes(given: &Given, key: &'static str) -> Result<bool, CalcError> {
    Ok(given.word(key)? == "yes")
}

pub(super) fn surroundings(given: &Given) -> Result<Surroundings, CalcError> {
    Ok(Surroundings {
        laying: if given.word("laying")? == "free-air" { Laying::FreeAir } else { Laying::Raceway },
        ambient: given.one("ambient_degc", "T_a")?,
        on_roof: yes(given, "on_roof")?,
        current_carrying: given.one("current_carrying", "n_cc")?,
        short_raceway: yes(given, "short_raceway")?,
    })
}

/// A value that may be left out.
pub(super) fn if_given<Q: quantity::Quantity>(
    given: &Given,
    key: &'static str,
    symbol: &str,
) -> Result<Option<Known<Q>>, CalcError> {
    if given.has(key) { given.one(key, symbol).map(Some) } else { Ok(None) }
}

/// A size as the tables print it, and its area with the reason for it.
pub(super) fn sized(results: Results, size: &'static str, area: &'static str, found: &KnownSize) -> Results {
    results.text(size, found.size.figure()).known(area, &found.area)
}

/// Whether something holds, and where it does not, why.
pub(super) fn failing(results: Results, failures: &[saying::Text]) -> Results {
    let results = results.flag("holds", failures.is_empty());
    if failures.is_empty() { results } else { results.text("failures", saying::Text::joined(failures, "; ")) }
}
