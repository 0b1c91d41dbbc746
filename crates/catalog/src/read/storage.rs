//! Readers of batteries, modules and charge controllers.

use quantity::{Current, DcCurrent, DcVoltage, Ratio, Temperature};
use reading::Section;

use super::check;
use super::common::{entries, head, housing, in_order, may, may_footprint, need, price, span};
use super::dc::dc_short_times;
use crate::{ArrayModule, BatteryModel, ChargeController, Chemistry, DcShortTime};

pub(super) fn battery(s: &Section<'_>) -> Option<BatteryModel> {
    let head = head(s);
    let words = [("LFP", Chemistry::Lfp), ("flooded lead-acid", Chemistry::FloodedLeadAcid)];
    let chemistry = s.need_choice("chemistry", "cell chemistry", &words);
    let nominal = need(s, "nominal", "nominal voltage of one module", span(1.0, 1000.0));
    let capacity = need(s, "capacity", "rated charge of one module", span(1.0, 20_000.0));
    let usable = s.need_fraction("usable", "share of the charge that may be used", 0.05..=1.0);
    let discharge = need(s, "discharge", "continuous discharge current of one module", span(1.0, 10_000.0));
    let charge = need(s, "charge", "continuous charge current of one module", span(1.0, 10_000.0));
    let doc = "discharge currents of one module for a time, longest first; leave out if not published";
    let pulse = dc_short_times(s, "pulse", doc, discharge);
    let doc =
        "internal resistance of one module with its management system, the highest over life and temperature";
    let resistance = need(s, "resistance", doc, span(1e-6, 1.0));
    let figures = figures(s);
    if let Some(highest) = figures.highest {
        let full = figures.open_circuit.last().map(|(_, volts)| *volts);
        let over_nominal = nominal
            .is_none_or(|nominal| in_order(s, "highest", "`highest` is below `nominal`", nominal, highest));
        if let Some(full) = full.filter(|_| over_nominal) {
            in_order(s, "highest", "`highest` is below the last of `open_circuit`", full, highest);
        }
    }
    let charge_from = need(s, "charge_from", "no charging below", span(-60.0, 30.0));
    let parallel = s.need_count("parallel", "most modules in parallel", 1..=256);
    let series = s.need_count("series", "modules in series for a bank", 1..=500);
    let mass = need(s, "mass", "mass of one module", span(0.1, 5000.0));
    let footprint = s.section("footprint", "mounting footprint, where stated", |f| housing(f, mass));
    let price = price(s);
    let head = head?;
    Some(BatteryModel {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        chemistry: chemistry?.value,
        nominal: nominal?,
        capacity: capacity?,
        usable: usable?.value,
        discharge: discharge?,
        charge: charge?,
        pulse,
        resistance: resistance?,
        open_circuit: figures.open_circuit,
        highest: figures.highest,
        spread: figures.spread,
        short_circuit: figures.short_circuit,
        ripple: figures.ripple,
        end_of_life: figures.end_of_life,
        cold: figures.cold,
        rated_currents: figures.rated_currents,
        charge_from: charge_from?,
        parallel: parallel?.value,
        series: series?.value,
        mass: mass?,
        footprint,
        price: price?,
    })
}

/// What a maker may publish of a module or not.
struct Figures {
    open_circuit: Vec<(Ratio, DcVoltage)>,
    highest: Option<DcVoltage>,
    spread: Option<DcVoltage>,
    short_circuit: Option<DcCurrent>,
    ripple: Option<Current>,
    end_of_life: Option<Ratio>,
    cold: Vec<(Temperature, Ratio)>,
    rated_currents: Vec<DcShortTime>,
}

fn figures(s: &Section<'_>) -> Figures {
    let doc = "open-circuit voltage of one module against its charge, rising charge";
    let open_circuit = entries(s, "open_circuit", doc, |e| {
        let charge = e.need_fraction("charge", "share of the rated charge", 0.0..=1.0);
        let voltage = need(e, "voltage", "open-circuit voltage", span(0.5, 1500.0));
        Some((charge?.value, voltage?))
    });
    let open_circuit: Vec<_> = open_circuit.unwrap_or_default().into_iter().map(|p| p.value).collect();
    if open_circuit.windows(2).any(|pair| matches!(pair, [a, b] if !(b.0 > a.0 && b.1 >= a.1))) {
        let help = "list the least charge first: neither charge nor voltage falls";
        s.mistake_at("open_circuit", "curve-order", "`open_circuit` does not rise", help);
    }
    let highest = may(s, "highest", "highest voltage of one module in charging", span(0.5, 1500.0));
    let doc = "by how much open-circuit voltages of modules that may be joined differ";
    let spread = may(s, "spread", doc, span(0.0, 100.0));
    let doc = "highest current into a bolted fault at the terminals of one module";
    let short_circuit = may(s, "short_circuit", doc, span(1.0, 200_000.0));
    let doc = "alternating current on top of the direct one that a module bears, RMS";
    let ripple = may(s, "ripple", doc, span(0.1, 10_000.0));
    let doc = "share of the rated charge that is left when it counts as worn out";
    let end_of_life = s.fraction("end_of_life", doc, 0.3..=1.0).map(|p| p.value);
    let doc = "share of the rated charge that it gives at a temperature, rising temperature";
    let cold = entries(s, "cold", doc, |e| {
        let at = need(e, "at", "temperature of the cells", span(-60.0, 60.0));
        let share = e.need_fraction("share", "share of the rated charge", 0.05..=1.2);
        Some((at?, share?.value))
    });
    let cold: Vec<_> = cold.unwrap_or_default().into_iter().map(|p| p.value).collect();
    if cold.windows(2).any(|pair| matches!(pair, [a, b] if !(b.0 > a.0 && b.1 >= a.1))) {
        s.mistake_at("cold", "curve-order", "`cold` does not rise", "list the coldest first");
    }
    let doc = "lead-acid: currents that a new one gives for a time until its final voltage, longest first";
    let rated_currents = dc_short_times(s, "rated_currents", doc, None);
    Figures { open_circuit, highest, spread, short_circuit, ripple, end_of_life, cold, rated_currents }
}

pub(super) fn module(s: &Section<'_>) -> Option<ArrayModule> {
    let head = head(s);
    let power = need(s, "power", "power at standard test conditions", span(5.0, 2000.0));
    let open_circuit =
        need(s, "open_circuit", "open-circuit voltage at standard test conditions", span(2.0, 300.0));
    let short_circuit =
        need(s, "short_circuit", "short-circuit current at standard test conditions", span(0.1, 50.0));
    let mpp_voltage = need(s, "mpp_voltage", "voltage at the maximum power point", span(2.0, 300.0));
    let coefficient = s.need_fraction(
        "voltage_coefficient_per_k",
        "change of open-circuit voltage per kelvin, as a share of it: -0.0027",
        -0.01..=-0.0005,
    );
    let mpp_coefficient = s.fraction(
        "mpp_voltage_coefficient_per_k",
        "change of the voltage at the maximum power point per kelvin, as a share of it: -0.0034; leave out if not published",
        -0.01..=-0.0005,
    );
    let doc = "highest voltage of a string of them; leave out if not published";
    let system_voltage = may(s, "system_voltage", doc, span(10.0, 3000.0));
    let doc = "largest overcurrent device of a string; leave out if not published";
    let series_fuse = may(s, "series_fuse", doc, span(0.5, 200.0));
    let price = price(s);
    if let (Some(mpp), Some(open)) = (mpp_voltage, open_circuit) {
        in_order(s, "open_circuit", "`open_circuit` is below `mpp_voltage`", mpp, open);
    }
    if let (Some(open), Some(system)) = (open_circuit, system_voltage) {
        in_order(s, "system_voltage", "`system_voltage` is below `open_circuit`", open, system);
    }
    if let (Some(power), Some(mpp), Some(short)) = (power, mpp_voltage, short_circuit) {
        check::module_power(s, power, mpp, short);
    }
    if let (Some(short), Some(fuse)) = (short_circuit, series_fuse) {
        in_order(s, "series_fuse", "`series_fuse` is below `short_circuit`", short, fuse);
    }
    let head = head?;
    Some(ArrayModule {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        power: power?,
        open_circuit: open_circuit?,
        short_circuit: short_circuit?,
        mpp_voltage: mpp_voltage?,
        voltage_coefficient_per_k: coefficient?.value,
        mpp_voltage_coefficient_per_k: mpp_coefficient.map(|p| p.value),
        system_voltage,
        series_fuse,
        price: price?,
    })
}

pub(super) fn controller(s: &Section<'_>) -> Option<ChargeController> {
    let head = head(s);
    let array_lowest = need(s, "array_lowest", "lowest array voltage at which it tracks", span(1.0, 1500.0));
    let array_highest = need(s, "array_highest", "highest array voltage", span(10.0, 1500.0));
    let current = need(s, "current", "highest current into the battery", span(1.0, 1000.0));
    let doc = "highest short-circuit current of the array that it bears; leave out if not published";
    let array_current = may(s, "array_current", doc, span(0.5, 5000.0));
    let doc = "current that it can feed back into a fault of the array; leave out if not published";
    let back_feed = may(s, "back_feed", doc, span(0.0, 5000.0));
    let footprint = may_footprint(s);
    let price = price(s);
    if let (Some(low), Some(high)) = (array_lowest, array_highest) {
        in_order(s, "array_highest", "`array_highest` is below `array_lowest`", low, high);
    }
    let head = head?;
    Some(ChargeController {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        array_highest: array_highest?,
        array_lowest: array_lowest?,
        current: current?,
        array_current,
        back_feed,
        footprint,
        price: price?,
    })
}
