//! Free space before the live parts of every panel.

use codebook::us::working_area::area;
use codebook::us::working_space::depth;
use derivation::Known;
use place::wall::{hangs_on_wall, opposite_panel};
use quantity::{Length, PhaseVoltage};
use saying::say;

use super::{Holding, WorkingSpace};

const RULE: &str = "working-space";

/// Lists it for every panel. Whether it is there the wall tells of the panel that hangs on it; of others nobody.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    if !h.us() {
        return;
    }
    let site = h.case.site;
    let system = &site.service.system;
    let volts: Known<PhaseVoltage> =
        Known::input("U_g", "voltage to ground", system.value.phase_voltage(), &system.place);
    // the size of the housing is not known: no less than that, which the list says
    let nothing = Known::constant("w", "no equipment", Length::ZERO, "least values of the clause");
    let mut panels: Vec<_> = site.panels.iter().collect();
    panels.sort_by_key(|panel| &panel.id.value);
    for panel in panels {
        let part = format!("panel.{}", panel.id.value);
        let found = depth(&volts, opposite_panel(site, panel));
        match found.and_then(|d| Ok((d, area(&nothing, &nothing)?))) {
            Ok((depth, area)) => {
                let depth = h.length(RULE, depth);
                if !hangs_on_wall(site, panel) {
                    h.outside(
                        RULE,
                        &part,
                        say!("whether the space asked for before it is there: seen on site"),
                    );
                }
                h.work.spaces.push(WorkingSpace {
                    panel: panel.id.value.clone(),
                    depth,
                    width: area.width,
                    height: area.height,
                });
            }
            Err(refused) => h.not_covered(RULE, &part, refused.reason, Some(&panel.id.place)),
        }
    }
}
