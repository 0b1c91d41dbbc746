//! Strings of an array: how many modules in series, how many in parallel, at how many devices.

use array::strings::{ModuleVoltage, WindowLimits, window_limits};
use catalog::ArrayModule;
use codebook::NotCovered;
use codebook::iec::array_voltage::{Cold, array_voltage};
use codebook::us::array_maximum_voltage as us_voltage;
use derivation::{Known, formula};
use finding::{Finding, Severity};
use quantity::{DcCurrent, DcVoltage, Power, Quantity, Ratio, Temperature, TemperatureCoefficient};
use reading::Decision;
use saying::{Text, say};
use site::{Array, Coupling, Modules, Mounting};

use super::part;
use crate::Prepared;

/// What stands between an array and its bus.
pub(super) struct Device {
    /// "controller" or "array inverter".
    pub word: &'static str,
    /// Its record.
    pub id: String,
    /// Window in which it finds the maximum power.
    pub window: (Known<DcVoltage>, Known<DcVoltage>),
    /// Highest array voltage that it bears.
    pub highest: Known<DcVoltage>,
    /// Highest array current, where published.
    pub current: Option<Known<DcCurrent>>,
    /// What it feeds back into a fault, where published.
    pub back_feed: Option<Known<DcCurrent>>,
    /// Power of modules up to which it loses nothing.
    pub takes: Known<Power>,
    /// How many, where that is decided elsewhere.
    pub number: Option<u32>,
}

/// How an array is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Charge controllers or array inverters.
    pub devices: u32,
    /// Strings in parallel at each, or at the fullest where they do not divide evenly.
    pub strings: u32,
    /// How many of the devices, the last ones, have one string less.
    pub short: u32,
    /// Modules in series in each string.
    pub per_string: u32,
}

impl Layout {
    /// Whole strings over devices, as equal as may be.
    fn spread(strings: u32, devices: u32, per_string: u32) -> Self {
        let most = strings.div_ceil(devices.max(1));
        let short = most.saturating_mul(devices).saturating_sub(strings);
        Self { devices, strings: most, short, per_string }
    }

    /// All strings.
    pub fn all_strings(self) -> u32 {
        self.devices.saturating_mul(self.strings).saturating_sub(self.short)
    }

    /// All modules.
    pub fn modules(self) -> u32 {
        self.all_strings().saturating_mul(self.per_string)
    }

    /// As people say it: "2 controllers, 2 strings of 4 at each".
    pub fn words(self, device: &str) -> Text {
        let Self { devices, strings, short, per_string } = self;
        let s = |n: u32| if n == 1 { "" } else { "s" };
        let head = say!("{devices} {device}{s}", devices, device, s = s(devices));
        if short > 0 {
            let (full, all) = (devices.saturating_sub(short), self.all_strings());
            return say!(
                "{head}, {all} strings of {per_string}: {strings} at {full} of them, {saturating_sub} at {short}",
                head,
                all,
                per_string,
                strings,
                full,
                saturating_sub = strings.saturating_sub(1),
                short
            );
        }
        let each = if devices == 1 { "" } else { " at each" };
        say!(
            "{head}, {strings} string{s} of {per_string}{each}",
            head,
            strings,
            s = s(strings),
            per_string,
            each
        )
    }
}

/// Voltages of one module and what follows for strings.
pub(super) struct Volts {
    /// Open circuit in the cold, by the book.
    pub cold: Known<DcVoltage>,
    /// Highest voltage that device and book allow.
    pub limit: Known<DcVoltage>,
    /// Most modules by that limit.
    pub most: u32,
    /// The window, where the module's coefficient is published.
    pub window: Option<WindowLimits>,
}

/// The device of an array; none where the catalogue lacks its record, which is told elsewhere.
pub(super) fn device(prepared: &Prepared<'_>, array: &Array) -> Option<Device> {
    match &array.coupling {
        Coupling::Dc { controller } => {
            let c = prepared.catalog.controllers.get(&controller.value)?;
            let of = |symbol: &str, what: &str, value, field: &str| {
                Known::catalog(symbol, what, value, &c.id, field)
            };
            let current =
                Known::catalog("I_b", "highest current into the battery", c.current, &c.id, "current");
            let low = Known::catalog(
                "V_b",
                "nominal voltage of the bus",
                prepared.unit.dc.nominal,
                &prepared.unit.id,
                "dc nominal",
            );
            Some(Device {
                word: "controller",
                id: c.id.clone(),
                window: (
                    of("V_lo", "lowest array voltage at which it tracks", c.array_lowest, "array_lowest"),
                    of("V_hi", "highest array voltage", c.array_highest, "array_highest"),
                ),
                highest: of("V_hi", "highest array voltage", c.array_highest, "array_highest"),
                current: c.array_current.map(|a| {
                    Known::catalog(
                        "I_in",
                        "highest short-circuit current of the array",
                        a,
                        &c.id,
                        "array_current",
                    )
                }),
                back_feed: c.back_feed.map(|a| {
                    Known::catalog("I_back", "current fed back into the array", a, &c.id, "back_feed")
                }),
                takes: formula!("P_c", "power up to which a controller loses nothing", [current, low] => low * current),
                number: None,
            })
        }
        Coupling::Ac { inverter, .. } => {
            let i = prepared.catalog.array_inverters.get(&inverter.value)?;
            let of = |symbol: &str, what: &str, value, field: &str| {
                Known::catalog(symbol, what, value, &i.id, field)
            };
            let number = super::on_panels(prepared, false).into_iter().find(|a| a.id == part(array));
            Some(Device {
                word: "array inverter",
                id: i.id.clone(),
                window: (
                    of("V_lo", "lowest array voltage at which it tracks", i.tracks_from, "tracks_from"),
                    of("V_hi", "highest array voltage at which it tracks", i.tracks_to, "tracks_to"),
                ),
                highest: of("V_max", "highest array voltage", i.array_highest, "array_highest"),
                current: Some(Known::catalog(
                    "I_in",
                    "highest current of the array",
                    i.array_current,
                    &i.id,
                    "array_current",
                )),
                back_feed: i.back_feed.map(|a| {
                    Known::catalog("I_back", "current fed back into the array", a, &i.id, "back_feed")
                }),
                takes: Known::catalog("P_1", "power of one array inverter", i.power, &i.id, "power"),
                number: number.map(|a| u32::from(a.inverters)),
            })
        }
    }
}

/// A count as a figure.
pub(super) fn count(symbol: &str, what: &str, n: u32) -> Known<Ratio> {
    Known::chosen(symbol, what, Ratio::of(f64::from(n)), "design", Vec::new())
}

/// Voltages of a module at this site.
pub(super) fn volts(
    prepared: &Prepared<'_>,
    array: &Array,
    module: &ArrayModule,
    device: &Device,
) -> Result<Volts, NotCovered> {
    let site = prepared.site;
    let lowest = site.temperature.lowest.known("T_min", "lowest temperature of the site");
    let voc = Known::catalog(
        "V_oc",
        "open-circuit voltage of a module",
        module.open_circuit,
        &module.id,
        "open_circuit",
    );
    let (cold, limit) = if site.service.earthing.value == site::Earthing::Us {
        let beta = TemperatureCoefficient::of(module.voltage_coefficient_per_k.si());
        let percent = Known::catalog(
            "beta",
            "coefficient of the open-circuit voltage",
            beta,
            &module.id,
            "voltage_coefficient_per_k",
        );
        // what the modules are made of is not stated, so no factor of the table is taken
        let facts = us_voltage::ArrayVoltageFacts {
            voc,
            lowest: lowest.clone(),
            percent: Some(percent),
            volts: None,
            crystalline: false,
        };
        let dwelling = matches!(
            site.demand,
            site::DemandMethod::DwellingStandard(_) | site::DemandMethod::DwellingOptional(_)
        );
        // circuits of an array on the ground still run into the building where its devices stand
        let place = if dwelling { us_voltage::Site::Dwelling } else { us_voltage::Site::Building };
        (us_voltage::cold_voltage(&facts)?.counts, us_voltage::limit(place, Some(&device.highest))?)
    } else {
        let beta = Known::catalog(
            "beta",
            "coefficient of the open-circuit voltage",
            module.voltage_coefficient_per_k,
            &module.id,
            "voltage_coefficient_per_k",
        );
        let one = count("n", "one module", 1);
        (array_voltage(&one, &voc, &Cold::Coefficient(beta, lowest.clone()))?, device.highest.clone())
    };
    let window = module.mpp_voltage_coefficient_per_k.map(|gamma| {
        let gamma = TemperatureCoefficient::of(gamma.si());
        let of = ModuleVoltage {
            vmp: Known::catalog(
                "V_mp",
                "voltage of a module at maximum power",
                module.mpp_voltage,
                &module.id,
                "mpp_voltage",
            ),
            coefficient: Known::catalog(
                "gamma",
                "coefficient of that voltage",
                gamma,
                &module.id,
                "mpp_voltage_coefficient_per_k",
            ),
        };
        window_limits(&of, (&hottest(prepared, array), &lowest), (&device.window.0, &device.window.1))
    });
    let window =
        window.transpose().map_err(|why| NotCovered::new("window of the device", why.to_string()))?;
    let most = us_voltage::most_modules(&limit, &cold).value().si();
    Ok(Volts { cold, limit, most: most.clamp(0.0, 1e6) as u32, window })
}

/// Cells in full sun on the hottest day.
fn hottest(prepared: &Prepared<'_>, array: &Array) -> Known<Temperature> {
    let air = prepared.site.temperature.high.known("T_max", "highest temperature of the site");
    let rise = match array.mounting.value {
        Mounting::Ground => 30.0,
        Mounting::Roof => 35.0,
        Mounting::FlushRoof => 45.0,
    };
    let why = format!(
        "cells in full sun are {rise} K warmer than the air as these modules stand (common practice)"
    );
    let over = Known::assumed("dT", "kelvins of the cells over the air in full sun", Ratio::of(rise), why);
    let from = vec![air.node().clone(), over.node().clone()];
    Known::chosen("T_c", "hottest cells", Temperature::of(air.value().si() + rise), "air and rise", from)
}

/// The layout: the fewest surplus modules, then the fewest devices that lose nothing, then strings that divide evenly over
/// them, then the longest strings.
///
/// # Errors
/// No strings hold so many modules; with the nearest number that some do.
pub(super) fn lay_out(
    array: &Array,
    module: &ArrayModule,
    device: &Device,
    volts: &Volts,
    most_strings: u32,
) -> Result<Layout, Box<Finding>> {
    let (wanted, exact) = match &array.modules {
        Modules::Count(n) => (n.value, true),
        Modules::Power(p) => (whole(p.value.si() / module.power.si()), false),
    };
    let of = |wanted: u32| best(array, module, device, volts, most_strings, (wanted, exact));
    of(wanted).ok_or_else(|| {
        let (low, high) = span(volts);
        let message = say!(
            "{wanted} modules of {module} stand in no strings of {low} to {high}, at most {most_strings} at a {device}",
            wanted,
            module = module.id,
            low,
            high,
            most_strings,
            device = device.word
        );
        let nearest = (1..=NEAR).flat_map(|off| [wanted.checked_sub(off), wanted.checked_add(off)]);
        let nearest = nearest.flatten().filter(|n| *n > 0).find_map(of);
        let fix = nearest.map_or_else(
            || say!("another number of modules, or an array of its own for the rest"),
            |near| {
                let words = near.words(device.word);
                say!(
                    "{modules} modules: {words}; or an array of its own for the rest",
                    modules = near.modules(),
                    words
                )
            },
        );
        let finding = Finding::new("array-strings-unfit", Severity::Error, part(array), message)
            .at(Some(&array.place), say!("this array"))
            .fix(fix);
        Box::new(finding)
    })
}

/// How far from the number of modules that is asked for one is looked for that fits.
const NEAR: u32 = 60;

/// The best layout of a number of modules, or of no fewer.
fn best(
    array: &Array,
    module: &ArrayModule,
    device: &Device,
    volts: &Volts,
    most_strings: u32,
    (wanted, exact): (u32, bool),
) -> Option<Layout> {
    let (low, high) = span(volts);
    let per_string: Vec<u32> = match &array.per_string {
        Decision::Fixed(n) => vec![n.value],
        Decision::Choose => (low.max(1)..=high).rev().collect(),
    };
    let all_fixed = array.strings.fixed().is_some() && array.per_string.fixed().is_some();
    let mut best: Option<((u32, u32, bool, u32), Layout)> = None;
    for p in per_string {
        for layout in spreads(array, device, most_strings, (wanted, exact), p) {
            let loses = module.power * (f64::from(layout.strings) * f64::from(p)) > device.takes.value();
            let held = layout.modules();
            let fits = if exact { held == wanted } else { held >= wanted };
            if !fits || (loses && !all_fixed && device.number.is_none()) {
                continue;
            }
            let rank = (held.saturating_sub(wanted), layout.devices, layout.short > 0, u32::MAX - p);
            if best.as_ref().is_none_or(|(before, _)| rank < *before) {
                best = Some((rank, layout));
            }
        }
    }
    best.map(|(_, layout)| layout)
}

/// The ways in which strings of `p` may stand at devices. Where these are decided elsewhere, at each the same number;
/// else whole strings over any number of them.
fn spreads(
    array: &Array,
    device: &Device,
    most_strings: u32,
    (wanted, exact): (u32, bool),
    p: u32,
) -> Vec<Layout> {
    let (all, p) = (wanted.div_ceil(p.max(1)), p.max(1));
    let fixed = array.strings.fixed().map(|n| n.value.max(1));
    if let Some(devices) = device.number {
        let strings = fixed.map_or(1..=most_strings.min(all), |n| n..=n);
        return strings.map(|strings| Layout { devices, strings, short: 0, per_string: p }).collect();
    }
    let most_devices = all.clamp(1, 200);
    match fixed {
        // of a power no string is left out, so that the number at each is kept
        Some(n) if !exact => vec![Layout { devices: all.div_ceil(n), strings: n, short: 0, per_string: p }],
        Some(n) => vec![Layout::spread(all, all.div_ceil(n), p)],
        None => (1..=most_devices)
            .map(|devices| Layout::spread(all, devices, p))
            .filter(|layout| layout.strings <= most_strings)
            .collect(),
    }
}

/// Fewest and most modules in series.
pub(super) fn span(volts: &Volts) -> (u32, u32) {
    let Some(window) = &volts.window else { return (1, volts.most) };
    let whole = |n: &Known<Ratio>| n.value().si().clamp(0.0, 1e6) as u32;
    (whole(&window.fewest), whole(&window.most).min(volts.most))
}

fn whole(n: f64) -> u32 {
    // a hair over a whole number is the noise of a division
    (n - 1e-9).ceil().clamp(1.0, 1e6) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Strings dealt one after the other to devices in turn stand as evenly as whole strings can.
    #[test]
    fn a_spread_is_what_dealing_in_turn_gives() {
        for devices in 1..=9_u32 {
            for strings in devices..=40 {
                let mut dealt = vec![0_u32; devices as usize];
                for k in 0..strings {
                    dealt[(k % devices) as usize] += 1;
                }
                let found = Layout::spread(strings, devices, 4);
                let most = *dealt.iter().max().unwrap();
                let short = dealt.iter().filter(|n| **n < most).count() as u32;
                assert_eq!((found.strings, found.short), (most, short), "{strings} over {devices}");
                assert_eq!((found.all_strings(), found.modules()), (strings, 4 * strings));
            }
        }
        assert_eq!(Layout::spread(4, 2, 4).words("controller"), "2 controllers, 2 strings of 4 at each");
        let words = "3 controllers, 5 strings of 4: 2 at 2 of them, 1 at 1";
        assert_eq!(Layout::spread(5, 3, 4).words("controller"), words);
    }
}
