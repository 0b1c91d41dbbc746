//! Cables and devices of the strings of every array, from the modules to the bus or to the array inverters.
//!
//! Cables of strings run all the way to their controller or inverter and are joined there; where the combiner stands
//! elsewhere, `[[conductor]]` gives the lengths.

use assess::{Cable, Guard, Output, Strings};
use catalog::{ChargeController, DcDevice, DcDeviceKind};
use codebook::NotCovered;
use codebook::us::array_current::{ArrayCurrent, array_current};
use codebook::us::controller_output::controller_output;
use derivation::{Known, formula};
use plant::full::assumed_length;
use quantity::{DcCurrent, DcVoltage, Length, Quantity};
use site::{Array, Coupling, Mounting};

use super::hold::{self, Before, isc, us};
use super::part;
use super::protection::{self, Protection, verdict};
use super::strings::{Layout, count};
use crate::Prepared;
use crate::candidate::Design;

/// Length of a string's cable that nobody states, in metres (our own figure: from the far end of a roof to the room).
const ASSUMED_M: f64 = 30.0;

/// Strings of all arrays whose layout is found.
pub(crate) fn strings<'a>(prepared: &Prepared<'a>) -> Vec<Strings<'a>> {
    prepared.site.arrays.iter().filter_map(|array| of(prepared, array)).collect()
}

fn of<'a>(prepared: &Prepared<'a>, array: &'a Array) -> Option<Strings<'a>> {
    let known = hold::known(prepared, array)?.ok()?;
    let layout = hold::lay(array, &known).ok()?;
    // what is refused is said where the strings are held
    build(prepared, array, &known, layout).ok()
}

/// Why cables and devices of an array could not be decided, where they could not.
pub(super) fn refused<'a>(
    prepared: &Prepared<'a>,
    array: &'a Array,
    known: &Before<'a>,
    layout: Layout,
) -> Option<NotCovered> {
    build(prepared, array, known, layout).err()
}

/// Currents of the circuits of one array.
struct Currents {
    string: Known<DcCurrent>,
    string_wanted: Known<DcCurrent>,
    string_stand_in: Known<DcCurrent>,
    array: Known<DcCurrent>,
    array_wanted: Known<DcCurrent>,
    array_stand_in: Known<DcCurrent>,
    disconnect: Known<DcCurrent>,
    /// The same of one that is listed for its full rating.
    disconnect_full: Known<DcCurrent>,
}

impl Currents {
    /// Least rating of a disconnect: what flows for hours, with what the book adds where it is not listed for that (NEC
    /// 2023 690.13(E), 690.9(B); 690.8(B)(1) has the same exception for conductors and what they end on).
    fn disconnect_of(&self, device: &DcDevice) -> &Known<DcCurrent> {
        if device.full_rating { &self.disconnect_full } else { &self.disconnect }
    }
}

fn build<'a>(
    prepared: &Prepared<'a>,
    array: &'a Array,
    known: &Before<'a>,
    layout: Layout,
) -> Result<Strings<'a>, NotCovered> {
    let highest = highest(prepared, known, layout);
    let protection = protection::protection(prepared, known, layout.strings).map_err(|open| open.reason())?;
    let guard = Some(&protection).filter(|p| p.needed).map(|p| Guard {
        least: p.least.clone(),
        most: Some(p.most.clone()),
        voltage: Some(highest.clone()),
        fault: Some(p.into_fault.clone()),
        device: smallest(prepared, |d| {
            d.protects()
                && breaks(d, &highest, &p.into_fault)
                && protection::fits(prepared, known, (layout.strings, p), d)
        }),
    });
    let currents = if us(prepared) {
        by_us(known, layout, &protection, guard.as_ref())?
    } else {
        by_iec(known, layout, guard.as_ref())?
    };
    let back = known.device.back_feed.clone();
    let fault: Vec<Known<DcCurrent>> = [currents.array.clone()].into_iter().chain(back).collect();
    let fault = Known::sum("I_f", "current of all strings and what comes from behind", &fault);
    let chosen = smallest(prepared, |d| {
        d.lockable
            && d.kind != DcDeviceKind::Fuse
            && d.rating >= currents.disconnect_of(d).value()
            && breaks(d, &highest, &fault)
    });
    let disconnect = Guard {
        device: chosen,
        least: chosen.map_or(&currents.disconnect, |d| currents.disconnect_of(d)).clone(),
        most: None,
        voltage: Some(highest.clone()),
        fault: Some(fault),
    };
    let run = array.string_run.as_ref().map_or_else(
        || {
            let why = "no `string_run` is stated: from the far end of a roof to the room";
            Known::assumed("l", "length of a string's cable", Length::of(ASSUMED_M), why)
        },
        |run| run.known("l", "length of a string's cable"),
    );
    let I_sc = isc(known.module);
    let n = count("n_p", "strings at each device", layout.strings);
    let nominal = nominal(known, layout);
    let device = guard.as_ref().map(|g| rating(g, &currents.string_stand_in));
    let string = Cable {
        wanted: currents.string_wanted,
        carried: currents.string,
        working: I_sc.clone(),
        nominal: nominal.clone(),
        highest: highest.clone(),
        guarded: device.is_some(),
        fused: false,
        device: device.unwrap_or(currents.string_stand_in),
        length: run,
        at_modules: true,
        on_roof: array.mounting.value != Mounting::Ground,
    };
    let behind = Cable {
        wanted: currents.array_wanted,
        carried: currents.array,
        working: formula!("I_w", "short-circuit current of the strings", [n, I_sc] => n * I_sc),
        nominal,
        highest,
        guarded: false,
        fused: false,
        device: currents.array_stand_in,
        length: assumed_length(),
        at_modules: false,
        on_roof: false,
    };
    Ok(Strings {
        id: part(array),
        module: known.module,
        devices: layout.devices,
        strings: layout.strings,
        short: layout.short,
        per_string: layout.per_string,
        guard,
        string,
        array: behind,
        disconnect,
        takes: known.device.current.clone(),
        output: output(prepared, array)?,
        place: array.place.clone(),
    })
}

/// Highest voltage of a string.
fn highest(prepared: &Prepared<'_>, known: &Before<'_>, layout: Layout) -> Known<DcVoltage> {
    let (n, V_1) = (count("n_m", "modules in series", layout.per_string), &known.volts.cold);
    let clause = if us(prepared) { "NEC 2023 690.7(A)" } else { "IEC 62548:2016 7.2" };
    formula!("V_max", "highest voltage of a string", [n, V_1] => n * V_1, source = clause)
}

fn nominal(known: &Before<'_>, layout: Layout) -> Known<DcVoltage> {
    let module = known.module;
    let n = count("n_m", "modules in series", layout.per_string);
    let V_mp = Known::catalog(
        "V_mp",
        "voltage of a module at maximum power",
        module.mpp_voltage,
        &module.id,
        "mpp_voltage",
    );
    formula!("V_s", "voltage of a string at maximum power", [n, V_mp] => n * V_mp)
}

fn by_us(
    known: &Before<'_>,
    layout: Layout,
    protection: &Protection,
    guard: Option<&Guard<'_>>,
) -> Result<Currents, NotCovered> {
    let of = |n: u32| -> Result<ArrayCurrent, NotCovered> {
        // factors of temperature and number are taken where the cable is chosen
        let one = Known::factor("f", "no factor yet", 1.0, "NEC 2023 690.8(B)(1)");
        array_current(&isc(known.module), &count("n", "strings", n), (&one, &one), false)
    };
    let (one, all) = (of(1)?, of(layout.strings)?);
    // without a device a string's cable bears what the others drive into it
    let driven = guard.is_none().then(|| protection.into_fault.clone());
    let wanted: Vec<_> = [one.before.clone()].into_iter().chain(driven).collect();
    let wanted = Known::largest("I_z", "ampacity of a string's cable", &wanted).unwrap_or(one.before);
    Ok(Currents {
        string: one.maximum,
        string_wanted: wanted,
        string_stand_in: one.standard,
        disconnect_full: all.maximum.clone(),
        array: all.maximum,
        array_wanted: all.before,
        array_stand_in: all.standard,
        disconnect: all.device,
    })
}

fn by_iec(known: &Before<'_>, layout: Layout, guard: Option<&Guard<'_>>) -> Result<Currents, NotCovered> {
    let device = guard.map(|g| rating(g, &g.least));
    let one = verdict(known, &count("n", "one string", 1), device.clone())?;
    let all = verdict(known, &count("n_p", "strings at each device", layout.strings), device)?;
    Ok(Currents {
        string: one.array_conductor,
        string_stand_in: all.string_conductor.clone(),
        string_wanted: all.string_conductor,
        array: all.array_conductor.clone(),
        array_wanted: all.array_conductor.clone(),
        array_stand_in: all.array_conductor.clone(),
        disconnect: all.array_conductor.clone(),
        disconnect_full: all.array_conductor,
    })
}

/// Rating of a device that is found, else what stands for it.
fn rating(guard: &Guard<'_>, otherwise: &Known<DcCurrent>) -> Known<DcCurrent> {
    guard.device.map_or_else(
        || otherwise.clone(),
        |d| Known::catalog("I_n", "rating of the device", d.rating, &d.id, "rating"),
    )
}

/// Cable and device between a controller and the bus; what the battery asks of the device comes when it is decided.
fn output<'a>(prepared: &Prepared<'a>, array: &Array) -> Result<Option<Output<'a>>, NotCovered> {
    let Coupling::Dc { controller } = &array.coupling else { return Ok(None) };
    let Some(model) = prepared.catalog.controllers.get(&controller.value) else { return Ok(None) };
    let rated = rated(model);
    let (least, wanted, stand_in) = if us(prepared) {
        let found = controller_output(&rated)?;
        (found.device, found.before, found.standard)
    } else {
        (rated.clone(), rated.clone(), rated.clone())
    };
    let dc = &prepared.unit.dc;
    let volts = |symbol: &str, what: &str, value, field: &str| {
        Known::catalog(symbol, what, value, &prepared.unit.id, field)
    };
    let cable = Cable {
        wanted,
        carried: rated.clone(),
        working: rated,
        nominal: volts("U_n", "nominal voltage of the bus", dc.nominal, "dc nominal"),
        highest: volts("U_max", "highest voltage of the bus", dc.highest, "dc highest"),
        device: stand_in,
        guarded: true,
        fused: false,
        length: assumed_length(),
        at_modules: false,
        on_roof: false,
    };
    let guard = Guard { least, most: None, voltage: None, fault: None, device: None };
    Ok(Some(Output { controller: model, guard, cable }))
}

fn rated(model: &ChargeController) -> Known<DcCurrent> {
    Known::catalog("I_o", "highest current into the battery", model.current, &model.id, "current")
}

/// What the battery gives into a fault decides the devices between controllers and bus.
pub(crate) fn on_the_bus<'a>(prepared: &Prepared<'a>, design: &mut Design<'a>) {
    let Some(bank) = &design.case.bank else { return };
    let Ok(needs) = assess::breaking(&design.case, bank) else { return };
    for strings in &mut design.case.strings {
        let Some(output) = &mut strings.output else { continue };
        let (guard, cable) = (&mut output.guard, &mut output.cable);
        guard.voltage = Some(needs.voltage.clone());
        guard.fault = Some(needs.bus.clone());
        guard.device = smallest(prepared, |d| {
            d.lockable
                && d.protects()
                && d.kind != DcDeviceKind::Fuse
                && d.rating >= guard.least.value()
                && breaks(d, &needs.voltage, &needs.bus)
        });
        cable.device = rating(guard, &cable.device);
        cable.fused = guard.device.is_some_and(|d| d.kind == DcDeviceKind::FuseSwitch);
    }
}

fn breaks(device: &DcDevice, voltage: &Known<DcVoltage>, fault: &Known<DcCurrent>) -> bool {
    device.voltage >= voltage.value() && device.interrupting >= fault.value()
}

/// The smallest device, the cheapest of equals, that fits.
fn smallest<'a>(prepared: &Prepared<'a>, fits: impl Fn(&DcDevice) -> bool) -> Option<&'a DcDevice> {
    let mut all: Vec<&DcDevice> = prepared.catalog.dc_devices.values().filter(|d| fits(d)).collect();
    all.sort_by(|a, b| {
        a.rating.si().total_cmp(&b.rating.si()).then(a.price.cmp(&b.price)).then(a.id.cmp(&b.id))
    });
    all.first().copied()
}
