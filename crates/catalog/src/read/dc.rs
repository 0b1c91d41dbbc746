//! Readers of gear of the direct-current side.

use derivation::Place;
use quantity::{DcCurrent, Duration};
use reading::Section;

use super::common::{entries, head, in_order, ladder, may, may_footprint, need, need_flag, price, span};
use crate::{DcBusbar, DcDevice, DcDeviceKind, DcShortTime};

pub(super) fn device(s: &Section<'_>) -> Option<DcDevice> {
    let head = head(s);
    let words = [
        ("breaker", DcDeviceKind::Breaker),
        ("fuse", DcDeviceKind::Fuse),
        ("fuse switch", DcDeviceKind::FuseSwitch),
        ("switch", DcDeviceKind::Switch),
    ];
    let doc =
        "breaker, fuse, fuse in a switch-disconnector, or switch-disconnector alone, which protects nothing";
    let kind = s.need_choice("kind", doc, &words);
    let rating = need(s, "rating", "rated direct current", span(0.5, 10_000.0));
    let voltage = need(s, "voltage", "highest DC voltage that it breaks", span(5.0, 2000.0));
    let interrupting = need(
        s,
        "interrupting",
        "highest direct current that it breaks; of a switch that it makes and withstands",
        span(100.0, 500_000.0),
    );
    let doc = "direct currents that it carries for a time without opening, longest first";
    let short_time = dc_short_times(s, "short_time", doc, rating);
    let doc = "highest peak current onto which its contacts close without welding and without opening again; left out, not known";
    let make = may(s, "make", doc, span(0.5, 500_000.0));
    let lockable = need_flag(s, "lockable", "it can be locked open");
    let full_rating = s.flag(
        "full_rating",
        "it is listed, in its enclosure, to carry its whole rating for any time; left out, it is not",
    );
    let footprint = may_footprint(s);
    let price = price(s);
    if let (Some(rating), Some(most)) = (rating, interrupting) {
        in_order(s, "interrupting", "`interrupting` is below `rating`", rating, most);
    }
    if let (Some(rating), Some(make)) = (rating, make) {
        in_order(s, "make", "`make` is below `rating`", rating, make);
    }
    if let (Some(DcDeviceKind::Fuse), Some(true)) = (kind.as_ref().map(|k| k.value), lockable) {
        s.mistake_at(
            "lockable",
            "fuse-lockable",
            "a fuse alone cannot be locked open",
            "\"fuse switch\" can",
        );
    }
    let head = head?;
    Some(DcDevice {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        kind: kind?.value,
        rating: rating?,
        voltage: voltage?,
        interrupting: interrupting?,
        short_time,
        make,
        lockable: lockable?,
        full_rating: full_rating.is_some_and(|full| full.value),
        footprint,
        price: price?,
    })
}

pub(super) fn busbar(s: &Section<'_>) -> Option<DcBusbar> {
    let head = head(s);
    let rating = need(s, "rating", "direct current that it carries for any time", span(1.0, 20_000.0));
    let withstand = need(s, "withstand", "short-circuit current that it withstands", span(100.0, 500_000.0));
    let landings = s.need_count("landings", "landings in a row", 1..=100);
    let step = need(s, "step", "resistance from one landing to the next, both poles", span(1e-8, 0.1));
    let footprint = may_footprint(s);
    let price = price(s);
    if let (Some(rating), Some(withstand)) = (rating, withstand) {
        in_order(s, "withstand", "`withstand` is below `rating`", rating, withstand);
    }
    let head = head?;
    Some(DcBusbar {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        rating: rating?,
        withstand: withstand?,
        landings: landings?.value,
        step: step?,
        footprint,
        price: price?,
    })
}

/// Direct currents for a time, longest first, each above the one before.
pub(super) fn dc_short_times(
    s: &Section<'_>,
    key: &str,
    doc: &str,
    continuous: Option<DcCurrent>,
) -> Vec<DcShortTime> {
    let list = entries(s, key, doc, |e| {
        let current = need(e, "current", "direct current", span(0.1, 200_000.0));
        let lasts = need(e, "lasts", "how long at most", span(0.001, 2_000_000.0));
        Some(DcShortTime { current: current?, lasts: lasts? })
    });
    let list = list.unwrap_or_default();
    let steps: Vec<(DcCurrent, Duration, &Place)> =
        list.iter().map(|e| (e.value.current, e.value.lasts, &e.place)).collect();
    ladder(s, "short-time-order", continuous, &steps);
    list.into_iter().map(|e| e.value).collect()
}
