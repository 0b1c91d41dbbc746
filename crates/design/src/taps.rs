//! Devices that do not stand at the busbar they protect from: the run between has every string behind it, and no device of
//! its size.

use assess::Case;
use derivation::{Known, formula};
use finding::{Finding, Severity};
use place::wall::{CABLE_ENDS_M, PlacedItem, WallPlan};
use quantity::{Length, Quantity};
use saying::say;
use site::Earthing;

use crate::ways::BAR;

/// Between housings that stand beside each other, in metres (our own figure).
const BESIDE_M: f64 = 0.15;

/// A device that stands away from the busbar, and the length of its run to it.
struct Tap {
    part: String,
    way: Known<Length>,
}

/// The longest of such runs, and how many there are: allowed up to the length of a tap, and to be said. What has no place on
/// the wall is not judged; the wall says that it has none.
pub(crate) fn taps(case: &Case<'_>, wall: &WallPlan) -> Option<Finding> {
    let bank = case.bank.as_ref()?;
    let bar = wall.items.iter().find(|i| i.item.part == BAR)?;
    let units = bank.unit_device.map(|_| case.formation.units()).unwrap_or_default();
    let units = (1..=units).map(|k| format!("unit {k} DC device"));
    let controllers =
        case.strings.iter().filter(|s| s.output.as_ref().is_some_and(|o| o.guard.device.is_some()));
    let controllers =
        controllers.flat_map(|s| (1..=s.devices).map(move |k| format!("{} output device {k}", s.id)));
    let mut all: Vec<Tap> = units
        .chain(controllers)
        .filter_map(|part| {
            let item = wall.items.iter().find(|i| i.item.part == part)?;
            tap(part, item, bar)
        })
        .collect();
    all.sort_by(|a, b| b.way.value().si().total_cmp(&a.way.value().si()));
    let more = all.len().saturating_sub(1);
    let Tap { part, way } = all.into_iter().next()?;
    let us = case.site.service.earthing.value == Earthing::Us;
    let (most, clause) = if us {
        (10.0 * 0.3048, "NEC 2023 240.21(B)(1)")
    } else {
        (3.0, "IEC 60364-4-43 433.2.2 and 434.2.1 (from memory, confirm)")
    };
    let most =
        Known::table("l_t", "longest run ahead of its device", Length::of(most), "constant", "", clause, !us);
    let severity = if way.value() > most.value() { Severity::Error } else { Severity::Warning };
    let others = match more {
        0 => say!("every other on the wall stands beside it"),
        1 => say!("1 more does not either"),
        n => say!("{n} more do not either", n),
    };
    let message = say!(
        "{part} does not stand at the busbar: the run between them, {way}, is fed by every string of the battery and has no device of its size ahead; {others}",
        part = part.clone(),
        way = way.value(),
        others
    );
    let found = Finding::new("device-off-busbar", severity, "DC busbar", message)
        .measured(way.node(), most.node())
        .by(clause)
        .at(case.site.wall.as_ref().map(|w| &w.place), "this wall")
        .fix(say!("mount the devices at the busbar itself"))
        .fix(say!(
            "run it in one piece, each pole by itself, guarded against damage and away from what burns, and size it as a tap of \
             the whole bank by the clause"
        ));
    Some(found)
}

/// None where the device stands beside the busbar.
fn tap(part: String, device: &PlacedItem, bar: &PlacedItem) -> Option<Tap> {
    let gap = |a: f64, a_size: f64, b: f64, b_size: f64| (b - a - a_size).max(a - b - b_size).max(0.0);
    let (a, b) = (&device.body, &bar.body);
    let across = gap(a.left.si(), a.width.si(), b.left.si(), b.width.si());
    let up = gap(a.bottom.si(), a.height.si(), b.bottom.si(), b.height.si());
    if across.max(up) <= BESIDE_M {
        return None;
    }
    let side = |symbol: &str, words: &str, m: f64| {
        let words = format!("gap {words} between {part} and the busbar");
        Known::chosen(symbol, words, Length::of(m), "places on the wall", Vec::new())
    };
    let (dx, dy) = (side("dx", "across", across), side("dy", "up and down", up));
    let e = Known::assumed(
        "e",
        "both ends of a cable within the housings",
        Length::of(CABLE_ENDS_M),
        "0.3 m at each end",
    );
    let way = formula!("l_b", format!("run from the busbar to {part}"), [dx, dy, e] => dx + dy + e);
    Some(Tap { part, way })
}
