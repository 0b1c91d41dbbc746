//! Settings of what stands at arrays: charge controllers, array inverters. Only figures that the records state.

use assess::Case;
use derivation::Known;
use design::{charge_ceiling, controller_current, dc_tenth_below, frequency_points, island_raised};
use plant::ArraySide;
use quantity::{Frequency, Quantity};
use saying::say;

use super::settings::setting;
use crate::Setting;

/// Settings of charge controllers, read back in the step that joins them.
pub(super) const CONTROLLERS: &str = "charge controllers";
/// Settings of array inverters, read back in the step that joins them.
pub(super) const INVERTERS: &str = "array inverters";

pub(super) fn settings(case: &Case<'_>) -> Vec<Setting> {
    let mut all = controllers(case);
    all.extend(inverters(case));
    all
}

fn controllers(case: &Case<'_>) -> Vec<Setting> {
    let mut all = Vec::new();
    let high = charge_ceiling(case);
    let maker = say!("the battery maker's figure for this model and temperature; it prevails");
    for strings in &case.strings {
        let Some(output) = &strings.output else { continue };
        let device = say!("each controller of {array}", array = strings.id);
        let I = controller_current(output.controller);
        let value = say!("at most {current}", current = dc_tenth_below(I.value()));
        let why =
            say!("cables and battery are counted at it; the battery's own limit of all charging prevails");
        all.push(
            setting(device.clone(), CONTROLLERS, say!("charging current limit"), value, why)
                .resting_on(I.node())
                .confirm(&maker),
        );
        let value = say!("at most {high}", high = high.value());
        let why = say!("the lower of what the unit and, where published, the battery bears");
        all.push(
            setting(device.clone(), CONTROLLERS, say!("highest charge voltage"), value, why)
                .resting_on(high.node())
                .confirm(&maker),
        );
        all.push(
            setting(
                device,
                CONTROLLERS,
                say!("absorption, float, equalising, temperature compensation"),
                say!("as the battery's maker states: ____"),
                say!("the same at units and controllers; none is over the highest charge voltage"),
            )
            .confirm(&maker),
        );
    }
    all
}

fn inverters(case: &Case<'_>) -> Vec<Setting> {
    let mut all = Vec::new();
    let hertz = |f: &Known<Frequency>| format!("{} Hz", f.value().si());
    for array in &case.arrays {
        let device = say!("each inverter of {array}", array = array.id);
        if array.side == ArraySide::Backup
            && let Some([start, stop]) = frequency_points(array.model)
        {
            let why =
                say!("in the island the units raise the frequency while the battery takes nothing more");
            let points = [(say!("full power up to"), start), (say!("no power from"), stop)];
            for (name, f) in points {
                all.push(
                    setting(device.clone(), INVERTERS, name, hertz(&f), why.clone())
                        .resting_on(f.node())
                        .confirm(say!("the utility's own curve, if it names one; the island must still hold the array back")),
                );
            }
            if let Some(raised) = island_raised(case.unit) {
                all.push(
                    setting(
                        "every unit",
                        "battery",
                        say!("frequency of the island with a full battery"),
                        say!("raised to {f}", f = hertz(&raised)),
                        say!("above the frequency from which the array inverters give nothing"),
                    )
                    .resting_on(raised.node()),
                );
            }
        }
        all.push(
            setting(
                device,
                INVERTERS,
                say!("grid protection"),
                say!("as the utility names it: ____"),
                say!("its own standard; in the island it must bear the frequency up to the points above"),
            )
            .confirm(say!("set points and approval are the utility's")),
        );
    }
    all
}
