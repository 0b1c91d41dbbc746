//! Places and sizes of energy storage at one- and two-family dwellings.
//!
//! ## Clause and edition
//! NFPA 855 2020, 2023 and IRC 2021; NFPA 855 chapter 15, IRC R328.
//! ## Applies when
//! Energy storage stands at a one- or two-family dwelling.
//! ## Why
//! A burning cell heats the next one. Less energy in a place, distance between units and distance to windows give people
//! the time to get out.
//! ## Formula
//! Each unit `E <= 20 kWh`; the sum of a place within its limit (40 kWh in storage spaces, 80 kWh in garages, on walls,
//! outside); 3 ft between units unless their fire test and listing allow less; 3 ft from units outside to doors and windows.
//! ## Example
//! Passing: three units of 15 kWh in a garage. Failing: the same three in a utility closet, 45 kWh over 40 kWh.
//! ## Limits of our reading
//! A place that a code's rows do not name is not covered, not allowed. Whether a shared limit of the 2020 edition counts
//! for all garages together is disputed: it is taken so, the stricter way. Fire detection, protection of walls and from
//! vehicles, and units under 1 kWh are not looked at. A unit above its limit may be allowed by the commercial chapters:
//! not covered here.
//! ## Source
//! NFPA 855 2020: two sources agree; NFPA 855 2023 and IRC: one source, some numbers and clauses from memory; confirm in
//! the adopted code.

use std::collections::BTreeMap;

use derivation::Known;
use quantity::{Energy, Length};
use saying::{Text, say};
use tables::us::storage_place::{PlaceRule, opening, place, spacing, unit_limit};

use crate::NotCovered;
use crate::not_covered::under;

/// The code that was adopted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FireCode {
    /// NFPA 855, 2020.
    Nfpa855Of2020,
    /// NFPA 855, 2023.
    Nfpa855Of2023,
    /// International Residential Code, 2021.
    IrcOf2021,
}

impl FireCode {
    /// The key of a code, as tables and inputs name it.
    pub const ALL: [(&'static str, FireCode); 3] = [
        ("nfpa-855-2020", Self::Nfpa855Of2020),
        ("nfpa-855-2023", Self::Nfpa855Of2023),
        ("irc-2021", Self::IrcOf2021),
    ];

    /// Its key.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Nfpa855Of2020 => "nfpa-855-2020",
            Self::Nfpa855Of2023 => "nfpa-855-2023",
            Self::IrcOf2021 => "irc-2021",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Nfpa855Of2020 => "NFPA 855 2020, chapter 15",
            Self::Nfpa855Of2023 => "NFPA 855 2023, chapter 15",
            Self::IrcOf2021 => "IRC 2021 R328",
        }
    }
}

/// A kind of place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// Utility closet, storage or utility space inside.
    StorageSpace,
    /// Basement.
    Basement,
    /// Garage at the house.
    AttachedGarage,
    /// Garage or other building apart.
    DetachedGarage,
    /// On an outside wall.
    ExteriorWall,
    /// On the ground outside.
    Outdoors,
    /// Bedroom, or a closet or space that opens into one.
    SleepingRoom,
    /// Another room to live in.
    HabitableSpace,
}

impl Place {
    /// The key of a place, as tables and inputs name it.
    pub const ALL: [(&'static str, Place); 8] = [
        ("storage-space", Self::StorageSpace),
        ("basement", Self::Basement),
        ("attached-garage", Self::AttachedGarage),
        ("detached-garage", Self::DetachedGarage),
        ("exterior-wall", Self::ExteriorWall),
        ("outdoors", Self::Outdoors),
        ("sleeping-room", Self::SleepingRoom),
        ("habitable-space", Self::HabitableSpace),
    ];

    /// Its key.
    #[must_use]
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|(_, place)| *place == self).map_or("", |(key, _)| key)
    }

    fn outside(self) -> bool {
        matches!(self, Self::ExteriorWall | Self::Outdoors)
    }
}

/// One unit of energy storage.
#[derive(Debug, Clone)]
pub struct StorageUnit {
    /// Its energy.
    pub energy: Known<Energy>,
    /// Where it stands.
    pub place: Place,
    /// Which of several places of the same kind; 1 where there is one.
    pub which: u32,
}

/// Everything known of the storage and its surroundings.
#[derive(Debug, Clone)]
pub struct StorageSite {
    /// The adopted code.
    pub code: FireCode,
    /// The units.
    pub units: Vec<StorageUnit>,
    /// Smallest distance between two units; needed from two units on.
    pub between: Option<Known<Length>>,
    /// Least distance between units that their large-scale fire test and listing allow, in place of the code's.
    pub listed: Option<Known<Length>>,
    /// Smallest distance from a unit outside to a door or window into the dwelling; needed with units outside.
    pub to_opening: Option<Known<Length>>,
}

/// A group of places that share a limit.
#[derive(Debug, Clone)]
pub struct PlaceVerdict {
    /// The places, by their keys.
    pub places: String,
    /// What stands there.
    pub total: Known<Energy>,
    /// The limit; `None` where none is allowed.
    pub limit: Option<Known<Energy>>,
    /// The clause that forbids it.
    pub forbidden: Option<String>,
    /// Whether it is allowed.
    pub holds: bool,
}

/// A distance and its least.
#[derive(Debug, Clone)]
pub struct DistanceVerdict {
    /// The least distance.
    pub least: Known<Length>,
    /// Whether it is kept.
    pub holds: bool,
}

/// Verdict on all.
#[derive(Debug, Clone)]
pub struct StoragePlaces {
    /// Each group of places.
    pub places: Vec<PlaceVerdict>,
    /// Limit of one unit.
    pub unit_limit: Known<Energy>,
    /// Whether every unit keeps it.
    pub units_hold: bool,
    /// Between units.
    pub between: Option<DistanceVerdict>,
    /// To doors and windows.
    pub to_opening: Option<DistanceVerdict>,
}

/// Holds energy storage at a dwelling against a fire code.
///
/// # Errors
/// No unit, a place that the code's rows do not name, a distance that is needed and missing, or a value that is no
/// number.
pub fn storage_places(site: &StorageSite) -> Result<StoragePlaces, NotCovered> {
    let name = site.code.name();
    if site.units.is_empty() {
        return Err(NotCovered::new(name, say!("no unit of energy storage")));
    }
    for unit in &site.units {
        unit.energy.above_zero().map_err(under(name))?;
    }
    let unit_limit = unit_limit(site.code.key())?;
    let units_hold = site.units.iter().all(|unit| unit.energy.value() <= unit_limit.value());
    Ok(StoragePlaces {
        places: places(site)?,
        unit_limit,
        units_hold,
        between: between(site)?,
        to_opening: to_opening(site)?,
    })
}

fn places(site: &StorageSite) -> Result<Vec<PlaceVerdict>, NotCovered> {
    let mut groups: BTreeMap<(&str, u32), (PlaceRule, Vec<&StorageUnit>)> = BTreeMap::new();
    for unit in &site.units {
        let rule = place(site.code.key(), unit.place.key())?;
        let group = match &rule {
            PlaceRule::Limit { group, each: true, .. } => (*group, unit.which),
            PlaceRule::Limit { group, each: false, .. } => (*group, 0),
            PlaceRule::Forbidden(_) => (unit.place.key(), 0),
        };
        groups.entry(group).or_insert_with(|| (rule, Vec::new())).1.push(unit);
    }
    Ok(groups.into_values().map(|(rule, units)| verdict(rule, &units)).collect())
}

fn verdict(rule: PlaceRule, units: &[&StorageUnit]) -> PlaceVerdict {
    let mut keys: Vec<&str> = units.iter().map(|unit| unit.place.key()).collect();
    keys.sort_unstable();
    keys.dedup();
    let energies: Vec<Known<Energy>> = units.iter().map(|unit| unit.energy.clone()).collect();
    let total = Known::sum("E", format!("energy storage: {}", keys.join(", ")), &energies);
    let places = keys.join(", ");
    match rule {
        PlaceRule::Limit { energy, .. } => {
            let holds = total.value() <= energy.value();
            PlaceVerdict { places, total, limit: Some(energy), forbidden: None, holds }
        }
        PlaceRule::Forbidden(clause) => {
            PlaceVerdict { places, total, limit: None, forbidden: Some(clause), holds: false }
        }
    }
}

fn between(site: &StorageSite) -> Result<Option<DistanceVerdict>, NotCovered> {
    if site.units.len() < 2 {
        return Ok(None);
    }
    let least = match &site.listed {
        Some(listed) => {
            listed.not_negative().map_err(under(site.code.name()))?;
            listed.clone()
        }
        None => spacing(site.code.key())?,
    };
    distance(site.code.name(), site.between.as_ref(), least, say!("the distance between units is not known"))
        .map(Some)
}

fn to_opening(site: &StorageSite) -> Result<Option<DistanceVerdict>, NotCovered> {
    if !site.units.iter().any(|unit| unit.place.outside()) {
        return Ok(None);
    }
    let least = opening(site.code.key())?;
    let missing = say!("the distance to doors and windows is not known");
    distance(site.code.name(), site.to_opening.as_ref(), least, missing).map(Some)
}

fn distance(
    clause: &str,
    found: Option<&Known<Length>>,
    least: Known<Length>,
    missing: Text,
) -> Result<DistanceVerdict, NotCovered> {
    let found = found.ok_or_else(|| NotCovered::new(clause, missing))?;
    found.not_negative().map_err(under(clause))?;
    let holds = found.value() >= least.value();
    Ok(DistanceVerdict { least, holds })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    fn site(code: FireCode, units: &[(f64, Place, u32)]) -> StorageSite {
        let unit = |&(kwh, place, which): &(f64, Place, u32)| StorageUnit {
            energy: given(Energy::of(kwh * 1e3)),
            place,
            which,
        };
        StorageSite {
            code,
            units: units.iter().map(unit).collect(),
            between: Some(given(Length::of(1.0))),
            listed: None,
            to_opening: Some(given(Length::of(1.0))),
        }
    }

    fn all_hold(found: &StoragePlaces) -> bool {
        found.places.iter().all(|place| place.holds)
    }

    #[test]
    fn closet_garage_and_bedroom() {
        use FireCode::{IrcOf2021, Nfpa855Of2020, Nfpa855Of2023};
        use Place::{AttachedGarage, Basement, DetachedGarage, SleepingRoom, StorageSpace};
        let three = |place| [(15.0, place, 1); 3];
        for code in [Nfpa855Of2020, Nfpa855Of2023, IrcOf2021] {
            assert!(all_hold(&storage_places(&site(code, &three(AttachedGarage))).unwrap()));
            assert!(!all_hold(&storage_places(&site(code, &three(StorageSpace))).unwrap()));
        }
        // two garages share the limit of the 2020 edition, and have each their own in 2023
        let garages = [
            (20.0, AttachedGarage, 1),
            (20.0, AttachedGarage, 1),
            (20.0, AttachedGarage, 1),
            (20.0, DetachedGarage, 1),
            (20.0, DetachedGarage, 1),
        ];
        assert!(!all_hold(&storage_places(&site(Nfpa855Of2020, &garages)).unwrap()));
        assert!(all_hold(&storage_places(&site(Nfpa855Of2023, &garages)).unwrap()));
        let bedroom = storage_places(&site(IrcOf2021, &[(5.0, SleepingRoom, 1)])).unwrap();
        assert!(!all_hold(&bedroom) && bedroom.places[0].forbidden.is_some());
        assert!(
            storage_places(&site(Nfpa855Of2020, &[(5.0, SleepingRoom, 1)])).is_err(),
            "no row is no leave"
        );
        // basement and closet share one limit
        let shared = [(20.0, Basement, 1), (15.0, StorageSpace, 1), (10.0, StorageSpace, 2)];
        assert!(!all_hold(&storage_places(&site(IrcOf2021, &shared)).unwrap()));
    }

    #[test]
    fn units_and_distances() {
        let code = FireCode::Nfpa855Of2020;
        let large = storage_places(&site(code, &[(20.1, Place::AttachedGarage, 1)])).unwrap();
        assert!(!large.units_hold && large.between.is_none() && large.to_opening.is_none());
        let wall = [(10.0, Place::ExteriorWall, 1), (10.0, Place::ExteriorWall, 1)];
        let near = StorageSite { between: Some(given(Length::of(0.9))), ..site(code, &wall) };
        let found = storage_places(&near).unwrap();
        assert!(!found.between.unwrap().holds);
        assert!(found.to_opening.unwrap().holds);
        assert!(storage_places(&StorageSite { between: None, ..site(code, &wall) }).is_err());
        assert!(storage_places(&StorageSite { to_opening: None, ..site(code, &wall) }).is_err());
        let listed = StorageSite { listed: Some(given(Length::of(0.15))), ..near };
        assert!(storage_places(&listed).unwrap().between.unwrap().holds);
        assert!(storage_places(&StorageSite { between: None, ..listed }).is_err());
        assert!(storage_places(&site(code, &[(f64::NAN, Place::Outdoors, 1)])).is_err());
    }
}
