//! Array inverters on a panel: each behind a breaker and a run of its own, and behind a contactor of its array that the
//! running generator opens, where the array is locked out.
//!
//! ```text
//! panel ─Q─ W ─[lock-out]─ array inverter
//! ```

use catalog::{ArrayInverter, DelayRange};
use derivation::Known;
use quantity::{Duration, Length};

use super::build::{Breaker, Builder, FullGear};
use super::{Follower, NodeKind, PartKind, resistance};
use crate::build::lock_out_rules;
use crate::{ArraySide, Control, NodeIx};

/// An array on a panel.
#[derive(Debug, Clone)]
pub struct ArrayIn<'a> {
    /// What its parts begin with; holds no point.
    pub id: String,
    /// The record of its inverters.
    pub model: &'a ArrayInverter,
    /// How many.
    pub inverters: u8,
    /// Where they connect.
    pub side: ArraySide,
    /// Length of the run to the panel, where stated.
    pub run: Option<Known<Length>>,
    /// A contactor parts it from the panel while the generator runs.
    pub locked_out: bool,
}

/// Hangs every array on its panel. Without a main panel an array of that side has nowhere to feed and is left out.
pub(super) fn arrays(b: &mut Builder, gear: &FullGear<'_>, main: Option<NodeIx>) {
    for array in &gear.arrays {
        let at = match array.side {
            ArraySide::Backup => Some(b.plant.panel),
            ArraySide::Main => main,
        };
        if let Some(at) = at {
            one(b, gear, array, at);
        }
    }
}

fn one(b: &mut Builder, gear: &FullGear<'_>, array: &ArrayIn<'_>, panel: NodeIx) {
    let lockout = array.locked_out.then(|| {
        let (id, name) = (format!("{}.lock-out", array.id), format!("{} lock-out contactor", array.id));
        let device = b.gear((&id, &name), &["open", "closed"], 1, None);
        b.control(device, Control::Automatic(lock_out_rules()));
        device
    });
    let model = array.model;
    let rating = || {
        Known::catalog(
            "I_q",
            "largest breaker ahead of the array inverter",
            model.breaker,
            &model.id,
            "breaker",
        )
    };
    let current = Known::catalog(
        "I_a",
        "highest continuous current of the array inverter",
        model.current,
        &model.id,
        "current",
    );
    for k in 1..=array.inverters {
        let id = format!("{}.inverter {k}", array.id);
        let name = format!("{} inverter {k}", array.id);
        let behind = b.node(&id, &format!("{name} breaker, load side"), NodeKind::Bus, None);
        let breaker = Breaker {
            id: &id,
            name: &format!("{name} breaker"),
            rating: rating(),
            neutral: gear.breaker_neutral(),
            unit: None,
        };
        b.breaker(breaker, (panel, behind));
        let far =
            b.run((&format!("{id}.run"), &format!("{name}, far end of its run")), behind, rating(), None);
        if let (Some(run), Some(part)) = (&array.run, b.plant.parts.last_mut()) {
            part.length = Some(run.clone());
            part.resistance = Some(resistance::of(&rating(), Some(run)));
        }
        let node = match lockout {
            None => far,
            Some(device) => {
                let terminals = b.node(&format!("{id}.terminals"), &name, NodeKind::Bus, None);
                b.part(
                    (&format!("{id}.lock-out"), &format!("{name} lock-out contactor")),
                    PartKind::Switch,
                    (far, terminals),
                    gear.breaker_neutral(),
                    Some((device, 1)),
                    Some(rating()),
                );
                terminals
            }
        };
        b.plant.followers.push(Follower { id, node, current: current.clone(), lockout });
    }
}

/// A contactor falls off within this, as a coil without voltage does (our own figure, on the safe side of what
/// contactors of this size take).
pub(crate) fn falls_off() -> DelayRange {
    DelayRange { earliest: Duration::ZERO, latest: Some(Duration::of(0.2)) }
}
