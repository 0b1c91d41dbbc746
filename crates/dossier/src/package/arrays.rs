//! Steps at the strings of arrays, before they are joined to anything.

use design::{Design, Readings, StringReadings};
use site::Units;

use super::checkout::step;
use crate::CheckoutStep;
use crate::units::shown;

const STRINGS: &str = "strings of arrays";
const DAY: &str = "Modules in light cannot be switched off, and a direct-current arc does not go out by itself: connectors and \
    fuses are never pulled under load. Gloves and meter are rated for the string's voltage; somebody stands by who can call help. \
    Falls from the roof kill more often than current does: be secured.";

pub(super) fn strings(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let units = design.case.site.units();
    r.arrays.iter().flat_map(|a| [insulated(a), open(units, a), current(a)]).collect()
}

fn insulated(a: &StringReadings) -> CheckoutStep {
    let s = step(
        STRINGS,
        format!(
            "Measure insulation of each string of {} against earth, strings parted from everything, plus and minus one after the other.",
            a.id
        ),
    )
    .otherwise("leave the string open: a damaged cable or module burns when the next fault comes");
    match &a.insulation {
        Some(i) => s
            .caution(format!(
                "The tester puts out {} on top of what the modules give: nobody touches conductors, frames or roof, and the string is discharged afterwards.",
                i.test.value()
            ))
            .read(
                format!("each string against earth, test voltage {}", i.test.value()),
                format!("{} MΩ or more", quantity::Quantity::si(i.least.value()) / 1e6),
                &[i.least.node(), i.test.node()],
            ),
        None => s
            .caution(DAY)
            .see("each string against earth", "as the adopted standard asks for at this voltage: it is above the table"),
    }
}

fn open(units: Units, a: &StringReadings) -> CheckoutStep {
    let mut s = step(
        STRINGS,
        format!(
            "In steady sun, all disconnects open, measure polarity and open-circuit voltage of each of the {} of {} ({} modules in series each), and the temperature at the back of a module.",
            counted(a.strings, "string"),
            a.id,
            a.per_string
        ),
    )
    .caution(DAY);
    for at in &a.open {
        let (low, high) = &at.voltage;
        s = s.read(
            format!("plus to minus, cells at {}", shown(units, at.cell.value())),
            format!("positive, {} to {}", low.value(), high.value()),
            &[low.node(), high.node(), at.cell.node()],
        );
    }
    if a.strings > 1 {
        let percent = 100.0 * quantity::Quantity::si(a.alike.value());
        s = s.read(
            "strings against each other, measured one right after the other",
            format!("within {percent:.0} % of each other"),
            &[a.alike.node()],
        );
    }
    s.otherwise("never join a string of wrong polarity or number of modules to others: they feed into it")
}

fn current(a: &StringReadings) -> CheckoutStep {
    let per = "for each 100 W/m² that the meter shows";
    let ((low, high), (least, most)) = (&a.short, &a.operating);
    step(
        STRINGS,
        format!(
            "In steady sun of at least 400 W/m², read a meter of irradiance in the plane of the modules of {} and, at the same moment, the current of each string.",
            a.id
        ),
    )
    .caution("Short circuits are made and opened only by switchgear that breaks direct current, one string at a time; without it read the operating current alone, with a clamp for direct current.")
    .read(
        format!("short-circuit current, {per}"),
        format!("{} to {}", low.value(), high.value()),
        &[low.node(), high.node()],
    )
    .read(
        format!("or operating current while the controller or inverter takes all, {per}"),
        format!("{} to {}", least.value(), most.value()),
        &[least.node(), most.node()],
    )
    .see("irradiance while reading", "changes by less than 5 %; no shade, clean glass")
    .otherwise("look for shade, dirt, a blown fuse, a reversed or missing module; two strings on one clamp")
}

/// "1 string", "4 strings".
fn counted(n: u32, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}
