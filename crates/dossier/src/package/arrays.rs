//! Steps at arrays: their strings before they are joined to anything, their charge controllers, arrays on panels.

use design::{AcArrayReadings, Design, Readings, StringReadings};
use plant::ArraySide;
use plant::full::array_of;
use quantity::Quantity;
use saying::{Text, say};
use site::Units;

use super::checkout::{Walk, step};
use super::generator;
use crate::CheckoutStep;
use crate::units::shown;

const STRINGS: &str = "strings of arrays";
const CONTROLLERS: &str = "arrays on the battery";
const JOINED: &str = "joining arrays to panels";
const ARRAYS: &str = "arrays on panels";
const DAY: Text = Text::plain(
    "Modules in light cannot be switched off, and a direct-current arc does not go out by itself: connectors and \
    fuses are never pulled under load. Gloves and meter are rated for the string's voltage; somebody stands by who can call help. \
    Falls from the roof kill more often than current does: be secured.",
);

pub(super) fn strings(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let units = design.case.site.units();
    r.arrays.iter().flat_map(|a| [insulated(a), open(units, a), current(a)]).collect()
}

fn insulated(a: &StringReadings) -> CheckoutStep {
    let s = step(
        STRINGS,
        say!(
            "Measure insulation of each string of {a} against earth, strings parted from everything, plus and minus one after the other.",
            a = a.id
        ),
    )
    .otherwise(say!("leave the string open: a damaged cable or module burns when the next fault comes"));
    match &a.insulation {
        Some(i) => s
            .caution(say!(
                "The tester puts out {test} on top of what the modules give: nobody touches conductors, frames or roof, and the string is discharged afterwards.",
                test = i.test.value()
            ))
            .read(
                say!("each string against earth, test voltage {test}", test = i.test.value()),
                say!("{e6} MΩ or more", e6 = Quantity::si(i.least.value()) / 1e6),
                &[i.least.node(), i.test.node()],
            ),
        None => s
            .caution(DAY)
            .see(say!(
                "each string against earth"
            ), say!("as the adopted standard asks for at this voltage: it is above the table")),
    }
}

fn open(units: Units, a: &StringReadings) -> CheckoutStep {
    let mut s = step(
        STRINGS,
        say!(
            "In steady sun, all disconnects open, measure polarity and open-circuit voltage of each of the {counted} of {a} ({per_string} modules in series each), and the temperature at the back of a module.",
            counted = counted(a.strings, "string"),
            a = a.id,
            per_string = a.per_string
        ),
    )
    .caution(DAY);
    for at in &a.open {
        let (low, high) = &at.voltage;
        s = s.read(
            say!("plus to minus, cells at {units}", units = shown(units, at.cell.value())),
            say!("positive, {low} to {high}", low = low.value(), high = high.value()),
            &[low.node(), high.node(), at.cell.node()],
        );
    }
    if a.strings > 1 {
        let percent = 100.0 * Quantity::si(a.alike.value());
        s = s.read(
            say!("strings against each other, measured one right after the other"),
            say!("within {percent} % of each other", percent = format!("{percent:.0}")),
            &[a.alike.node()],
        );
    }
    s.otherwise(say!(
        "never join a string of wrong polarity or number of modules to others: they feed into it"
    ))
}

fn current(a: &StringReadings) -> CheckoutStep {
    let per = say!("for each 100 W/m² that the meter shows");
    let ((low, high), (least, most)) = (&a.short, &a.operating);
    step(
        STRINGS,
        say!(
            "In steady sun of at least 400 W/m², read a meter of irradiance in the plane of the modules of {a} and, at the same moment, the current of each string.",
            a = a.id
        ),
    )
    .caution(say!(
        "Short circuits are made and opened only by switchgear that breaks direct current, one string at a time; without it read the operating current alone, with a clamp for direct current."
    ))
    .read(
        say!("short-circuit current, {per}", per),
        say!("{low} to {high}", low = low.value(), high = high.value()),
        &[low.node(), high.node()],
    )
    .read(
        say!("or operating current while the controller or inverter takes all, {per}", per),
        say!("{least} to {most}", least = least.value(), most = most.value()),
        &[least.node(), most.node()],
    )
    .see(say!("irradiance while reading"), say!("changes by less than 5 %; no shade, clean glass"))
    .otherwise(say!(
        "look for shade, dirt, a blown fuse, a reversed or missing module; two strings on one clamp"
    ))
}

/// "1 string", "4 strings".
fn counted(n: u32, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}

/// Charge controllers: the battery side first, then the array. Their limits have been read back.
pub(super) fn controllers(walk: &Walk<'_, '_>) -> Option<CheckoutStep> {
    let of: Vec<&str> =
        walk.by_hand().map(|p| p.id.as_str()).filter(|id| id.contains(".controller.")).collect();
    let at = |end: &str| of.iter().filter(|id| id.ends_with(end)).copied().collect::<Vec<_>>();
    let outputs = at(".output.device");
    if outputs.is_empty() {
        return None;
    }
    let places =
        outputs.iter().filter_map(|id| Some(format!("{}.output", id.strip_suffix(".output.device")?)));
    let (low, high) = &walk.r.battery;
    let limit = walk.settings.iter().find(|s| s.name == "charge voltages");
    let s = step(
        CONTROLLERS,
        say!("Charge controllers, one after the other: take the lock off its output device at the DC busbar and close it; read its settings back; only then take the locks off the devices of its strings and off its array disconnect and close them."),
    )
    .caution(DAY)
    .read(
        say!("battery voltage at the controller's terminals, before the array is closed"),
        say!("positive, {low} to {high}", low = low.value(), high = high.value()),
        &[low.node(), high.node()],
    );
    let s = match limit {
        Some(limit) => {
            let from: Vec<_> = limit.from.iter().collect();
            s.read(say!("charge voltages set at the controller"), limit.value.clone(), &from)
        }
        None => s.see(say!("charge voltages set at the controller"), say!("as the battery's maker states")),
    };
    Some(
        s.see(say!("charging current in sun"), say!("rises; none once the battery is full"))
            .otherwise(say!("open the array disconnect first, then the output device"))
            .each(outputs.iter().copied(), |s, id| s.closes(id))
            .each(places, CheckoutStep::live)
            .each(of.iter().filter(|id| id.contains(".string.")).copied(), |s, id| s.closes(id))
            .each(at(".disconnect"), |s, id| s.closes(id)),
    )
}

/// Arrays on panels: joined, off with their panel, back by themselves, held back by the island's frequency, locked out
/// from a generator.
pub(super) fn on_panels(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let all: Vec<&AcArrayReadings> =
        walk.r.ac_arrays.iter().filter(|a| !inverters(walk, a).is_empty()).collect();
    let joined = all.iter().map(|a| joined(walk, a));
    joined.chain(all.iter().map(|a| tried(walk, a))).collect()
}

/// The breakers of an array's inverters.
fn inverters(walk: &Walk<'_, '_>, a: &AcArrayReadings) -> Vec<String> {
    let of = walk.plant.gear.iter().filter(|g| g.lockable && array_of(&g.id) == Some(a.id.as_str()));
    of.map(|g| g.id.clone()).collect()
}

fn joined(walk: &Walk<'_, '_>, a: &AcArrayReadings) -> CheckoutStep {
    let breakers = inverters(walk, a);
    let strings: Vec<&str> = walk
        .by_hand()
        .map(|p| p.id.as_str())
        .filter(|id| array_of(id) == Some(a.id.as_str()) && id.contains(".inverter."))
        .collect();
    let panel = if a.side == ArraySide::Backup { "backup" } else { "main" };
    let s = step(
        JOINED,
        say!(
            "Join {a}, one inverter after the other: read its grid settings back with its array disconnects open; take the lock off its inverter breaker at the panel and close it; then take the locks off the devices of its strings and its array disconnect and close them.",
            a = a.id
        ),
    )
    .caution(DAY);
    super::checkout::volts(s, &walk.r.source, say!("at the array inverters' terminals"))
        .see(
            say!("grid settings of each array inverter"),
            say!("as the utility asked, and as the drawing of the island needs"),
        )
        .otherwise(say!("open the array disconnect, then the breaker, and lock both"))
        .live(panel)
        .each(&breakers, |s, id| s.closes(id.clone()).live(id.clone()))
        .each(strings.iter().filter(|id| id.contains(".string.")).copied(), |s, id| s.closes(id))
        .each(strings.iter().filter(|id| id.ends_with(".disconnect")).copied(), |s, id| s.closes(id))
}

fn tried(walk: &Walk<'_, '_>, a: &AcArrayReadings) -> CheckoutStep {
    let utility = walk.utility();
    let by_generator = a.locked_out && generator::carries(walk);
    let behind = a.side == ArraySide::Backup;
    let action = if behind {
        say!(
            "In sun, with {a} feeding the panel, let the group form the island: {x}take loads away until the battery is full or its charging is set to nothing.{x_2}{x_3}",
            a = a.id,
            x = if utility { "open the service disconnect, then " } else { "" },
            x_2 = if by_generator {
                " Then run the generator until it carries the panel, and stop it."
            } else {
                ""
            },
            x_3 = if utility { " Then close the service disconnect." } else { "" }
        )
    } else {
        say!(
            "In sun, with {a} feeding the main panel, open the service disconnect and measure at the array inverters' terminals before the group has to carry anything. Then close it again.",
            a = a.id
        )
    };
    let mut s = step(ARRAYS, action)
        .caution(say!(
            "Array inverters may come back by themselves at any moment: treat their terminals as live, and open the array's own disconnect before anybody works on them."
        ))
        .read(
            say!("highest current of each line in full sun"),
            say!("at most {current}", current = a.current.value()),
            &[a.current.node()],
        );
    if behind {
        s = match &a.curtailed {
            Some((off, raised)) => s.read(
                say!("frequency of the island with a full battery; power of the array"),
                say!(
                    "between {off} Hz and {raised} Hz; the array falls to nothing",
                    off = format!("{:.1}", off.value().si()),
                    raised = format!("{:.1}", raised.value().si())
                ),
                &[off.node(), raised.node()],
            ),
            None => s.see(
                say!("power of the array with a full battery"),
                say!("nothing, before the battery is over its highest voltage"),
            ),
        };
        if by_generator {
            s = s.see(
                say!("voltage at the array inverters' terminals while the generator carries the panel"),
                say!("none: the lock-out contactor is open before the generator is taken, and cannot be closed by hand"),
            );
        }
    } else {
        s = s.see(
            say!("panel side of the array inverters while the utility is away"),
            say!("no voltage, for as long as it is away"),
        );
    }
    if utility {
        s = match &a.ceases {
            Some(within) => s.read(
                say!("after its panel goes dead, output of the array ceases within"),
                within.value().to_string(),
                &[within.node()],
            ),
            None => s.see(
                say!("after its panel goes dead, output of the array ceases"),
                say!("within the time that the network operator asks for"),
            ),
        };
    }
    let s = s
        .read(
            say!("first power after a right voltage is back"),
            say!("not before {returns}", returns = a.returns.value()),
            &[a.returns.node()],
        )
        .otherwise(say!(
            "open the array's disconnect and leave it locked: an array that stays on feeds a dead utility, or drives a full battery too high"
        ));
    let places = inverters(walk, a);
    let s = walk.leave(s);
    let s = if behind { s.each(places, CheckoutStep::live) } else { s.each(places, CheckoutStep::dead) };
    if by_generator {
        let terminals = walk.plant.nodes.iter().filter(|n| {
            array_of(&n.id) == Some(a.id.as_str())
                && n.id.ends_with(".terminals")
                && n.kind != plant::full::NodeKind::Dc
        });
        let s = generator::onto(walk, s).each(terminals, |s, n| s.dead(n.id.clone()));
        generator::off(walk, s)
    } else {
        walk.come_back(s).live("backup")
    }
}
