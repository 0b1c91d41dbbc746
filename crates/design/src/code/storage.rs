//! Places and sizes of energy storage at dwellings. The fire code's rows are those of dwellings: who states it is held by
//! them, whatever way the demand is found.

use codebook::fire::storage_places::{StorageSite, StorageUnit, storage_places};
use derivation::{Known, formula};
use quantity::{Energy, Ratio};
use saying::{Text, say};

use super::Holding;
use crate::Held;

const RULE: &str = "storage-places";
const PART: &str = "battery";

/// Holds the battery against the fire code where the site says where it stands.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    let wish = &h.case.site.battery;
    let standing = &wish.standing;
    let (place, code) = match (&standing.place, &standing.code) {
        (Some(place), Some(code)) => (place, code),
        (Some(place), None) => {
            let reason = say!("a place without the fire code that is adopted: give `fire_code` in [battery]");
            return h.not_covered(RULE, PART, reason, Some(&place.place));
        }
        (None, Some(code)) => {
            let reason =
                say!("a fire code without the place where the battery stands: give `place` in [battery]");
            return h.not_covered(RULE, PART, reason, Some(&code.place));
        }
        (None, None) => {
            let distance = standing.between.as_ref().or(standing.to_opening.as_ref());
            if let Some(distance) = distance {
                let reason = say!("a distance alone: give `place` and `fire_code` in [battery]");
                return h.not_covered(RULE, PART, reason, Some(&distance.place));
            }
            if h.us() && h.dwelling() {
                return h.outside(
                    RULE,
                    PART,
                    say!("where the battery stands: give `place` and `fire_code` in [battery]"),
                );
            }
            if h.us() {
                let why =
                    say!("no fire code of dwellings is stated, and the site's demand is not that of one");
                h.held.push(Held::does_not_apply(RULE).because(why));
            }
            return;
        }
    };
    // what is built, not what was wished
    let Some(bank) = &h.case.bank else {
        let reason = say!("how much energy stands in its place: no battery is decided");
        return h.not_covered(RULE, PART, reason, Some(&place.place));
    };
    let model = bank.model;
    let (U, Q) = (
        Known::catalog("U", "nominal voltage of a module", model.nominal, &model.id, "nominal"),
        Known::catalog("Q", "rated charge of a module", model.capacity, &model.id, "capacity"),
    );
    let series =
        Known::catalog("n_s", "modules in series", Ratio::of(f64::from(model.series)), &model.id, "series");
    let energy: Known<Energy> = formula!("E", "energy of one string", [U, Q, series] => U * Q * series);
    let unit = StorageUnit { energy, place: place.value, which: 1 };
    let number = usize::try_from(bank.strings).unwrap_or(usize::MAX);
    let found = storage_places(&StorageSite {
        code: code.value,
        units: vec![unit; number],
        between: standing.between.as_ref().map(|l| l.known("d", "distance between units")),
        listed: None,
        to_opening: standing.to_opening.as_ref().map(|l| l.known("d_o", "distance to doors and windows")),
    });
    let found = match found {
        Ok(found) => found,
        Err(refused) => return h.not_covered(RULE, PART, refused.reason, Some(&place.place)),
    };
    let mut failures = Vec::new();
    for verdict in found.places {
        match (verdict.limit, verdict.forbidden) {
            (Some(limit), _) => {
                let limit = h.energy(RULE, limit);
                if verdict.total.value() > limit.value() {
                    failures.push(say!(
                        "{total} stand where {limit} may",
                        total = verdict.total.value(),
                        limit = limit.value()
                    ));
                }
            }
            (None, by) => failures.push(say!(
                "no energy storage may stand there ({unwrap_or_default})",
                unwrap_or_default = by.unwrap_or_default()
            )),
        }
    }
    if !found.units_hold {
        failures.push(say!("one unit has more than {unit_limit}", unit_limit = found.unit_limit.value()));
    }
    for (distance, to) in
        [(found.between, say!("between units")), (found.to_opening, say!("to doors and windows"))]
    {
        if let Some(distance) = distance.filter(|d| !d.holds) {
            failures.push(say!("less than {least} {to}", least = distance.least.value(), to));
        }
    }
    if failures.is_empty() {
        h.passes(RULE, PART);
    } else {
        h.fails(RULE, PART, Text::joined(&failures, "; "), Some(&place.place));
    }
}
