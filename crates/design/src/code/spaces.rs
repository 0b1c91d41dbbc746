//! Free space before the live parts of every panel.

use codebook::us::working_space::{Opposite, depth, height, width};
use derivation::Known;
use quantity::PhaseVoltage;

use super::{Holding, WorkingSpace};

const RULE: &str = "working-space";

/// Lists it for every panel. Whether it is there is seen in the layout of the room.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    if !h.us() {
        return;
    }
    let system = &h.case.site.service.system;
    let volts: Known<PhaseVoltage> =
        Known::input("U_g", "voltage to ground", system.value.phase_voltage(), &system.place);
    for panel in &h.case.site.panels {
        let part = format!("panel.{}", panel.id.value);
        // not known: what asks for most
        let opposite = match panel.opposite.as_ref().map(|o| o.value) {
            Some(site::Opposite::Nothing) => Opposite::Nothing,
            Some(site::Opposite::Grounded) => Opposite::Grounded,
            Some(site::Opposite::Live) | None => Opposite::Live,
        };
        let found = depth(&volts, opposite).and_then(|d| Ok((d, width()?, height()?)));
        match found {
            Ok((depth, width, height)) => {
                let depth = h.length(RULE, depth);
                h.held.push(
                    crate::Held::new(RULE, &part, true)
                        .because("asked for; whether it is there is seen in the layout"),
                );
                h.work.spaces.push(WorkingSpace { panel: panel.id.value.clone(), depth, width, height });
            }
            Err(refused) => h.not_covered(RULE, &part, &refused.reason, Some(&panel.id.place)),
        }
    }
}
