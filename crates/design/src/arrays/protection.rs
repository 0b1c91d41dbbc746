//! Whether the strings of an array need devices, and between which bounds.

use catalog::DcDevice;
use codebook::NotCovered;
use codebook::iec::array_overcurrent::{ArrayFacts, ArrayVerdict, Behind, array_overcurrent};
use codebook::iec::solar_supply_overcurrent as supply;
use codebook::us::string_overcurrent::{StringFacts, string_overcurrent};
use derivation::Known;
use quantity::{DcCurrent, Ratio};
use saying::say;

use super::hold::{Before, isc, us};
use super::strings::count;
use crate::Prepared;

/// What the strings of one device need.
pub(super) struct Protection {
    /// Every string needs a device.
    pub needed: bool,
    /// Least rating of it.
    pub least: Known<DcCurrent>,
    /// Largest.
    pub most: Known<DcCurrent>,
    /// What the other strings and the device behind them drive into a fault in one.
    pub into_fault: Known<DcCurrent>,
    /// There is a rating between the bounds.
    pub possible: bool,
}

/// A figure that the catalogue does not state, or a refusal of the book.
pub(super) enum Open {
    SeriesFuse,
    BackFeed,
    Refused(NotCovered),
}

impl Open {
    /// As a refusal.
    pub fn reason(self) -> NotCovered {
        let unstated = |field: &str| {
            NotCovered::new("string protection", say!("the catalogue does not state `{field}`", field))
        };
        match self {
            Self::SeriesFuse => unstated("series_fuse"),
            Self::BackFeed => unstated("back_feed"),
            Self::Refused(why) => why,
        }
    }
}

impl From<NotCovered> for Open {
    fn from(why: NotCovered) -> Self {
        Self::Refused(why)
    }
}

/// What the strings need by the site's book. By the IEC book both IEC 62548 and IEC 60364-7-712 are held: what either
/// asks for is needed, and a device has to fit both.
pub(super) fn protection(
    prepared: &Prepared<'_>,
    known: &Before<'_>,
    strings: u32,
) -> Result<Protection, Open> {
    let module = known.module;
    let most = module.series_fuse.ok_or(Open::SeriesFuse)?;
    let most =
        Known::catalog("I_fuse", "largest overcurrent device of a string", most, &module.id, "series_fuse");
    let back = known.device.back_feed.clone().ok_or(Open::BackFeed)?;
    let n = count("n_p", "strings at each device", strings);
    if us(prepared) {
        let found = string_overcurrent(&StringFacts {
            isc: isc(module),
            strings: n,
            series_fuse: most.clone(),
            feed_back: back,
            // the cables are chosen for no less than this
            ampacity: known.string.clone(),
        })?;
        let possible = found.device.is_some();
        return Ok(Protection {
            needed: found.needed,
            least: found.least,
            most,
            into_fault: found.into_fault,
            possible,
        });
    }
    let open = verdict(known, &n, None)?;
    let alone = supplied(known, &n, None)?;
    // with the largest device that a module bears the bounds are those of every device
    let bounds = verdict(known, &n, Some(most.clone()))?;
    let with = supplied(known, &n, Some(most.clone()))?;
    let none = || NotCovered::new("IEC 62548:2016 6.5", say!("no bounds of a string's device"));
    let [low, high, _] = bounds.string_device.clone().ok_or_else(none)?;
    let [low_712, _] = with.device.clone().ok_or_else(none)?;
    let least = Known::largest("I_low", "least device of a string", &[low.limit, low_712.limit]);
    let most = Known::smallest("I_high", "largest device of a string", &[high.limit, most]);
    let (least, most) = (least.ok_or_else(none)?, most.ok_or_else(none)?);
    let into_fault = Known::largest(
        "I_rev",
        "reverse current that the other strings drive",
        &[open.reverse.value.clone(), alone.reverse.value.clone()],
    );
    Ok(Protection {
        needed: !open.holds || alone.needed,
        possible: least.value() < most.value(),
        least,
        most,
        into_fault: into_fault.ok_or_else(none)?,
    })
}

/// Whether a device of a rating fits, by the book's own bounds.
pub(super) fn fits(
    prepared: &Prepared<'_>,
    known: &Before<'_>,
    (strings, found): (u32, &Protection),
    device: &DcDevice,
) -> bool {
    if us(prepared) {
        return device.rating >= found.least.value() && device.rating <= found.most.value();
    }
    let rating = Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating");
    let n = count("n_p", "strings at each device", strings);
    let by_62548 = verdict(known, &n, Some(rating.clone()))
        .is_ok_and(|v| v.holds && v.string_device.is_some_and(|all| all.iter().all(|check| check.holds)));
    by_62548 && supplied(known, &n, Some(rating)).is_ok_and(|v| v.holds)
}

/// The largest device that a module bears; where none is stated, no more than it gives itself.
fn module_most(known: &Before<'_>) -> Known<DcCurrent> {
    let module = known.module;
    let stated = module.series_fuse.map(|most| {
        Known::catalog("I_fuse", "largest overcurrent device of a string", most, &module.id, "series_fuse")
    });
    stated.unwrap_or_else(|| isc(module))
}

/// Strings by IEC 62548.
pub(super) fn verdict(
    known: &Before<'_>,
    strings: &Known<Ratio>,
    string_device: Option<Known<DcCurrent>>,
) -> Result<ArrayVerdict, NotCovered> {
    array_overcurrent(&ArrayFacts {
        strings: strings.clone(),
        short_circuit: isc(known.module),
        module_most: module_most(known),
        string_device,
        array_device: None,
        behind: known.device.back_feed.clone().map_or(Behind::Unlimited, Behind::Limited),
    })
}

fn supplied(
    known: &Before<'_>,
    strings: &Known<Ratio>,
    device: Option<Known<DcCurrent>>,
) -> Result<supply::StringVerdict, NotCovered> {
    supply::solar_supply_overcurrent(&supply::StringFacts {
        strings: strings.clone(),
        short_circuit: isc(known.module),
        module_most: module_most(known),
        factor: None,
        device,
        back_feed: known.device.back_feed.clone(),
    })
}
