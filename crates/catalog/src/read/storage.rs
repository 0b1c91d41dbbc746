//! Readers of batteries, modules and charge controllers.

use reading::Section;

use super::check;
use super::common::{head, housing, in_order, may_footprint, need, price, span};
use crate::{ArrayModule, BatteryModel, ChargeController, Chemistry};

pub(super) fn battery(s: &Section<'_>) -> Option<BatteryModel> {
    let head = head(s);
    let words = [("LFP", Chemistry::Lfp), ("flooded lead-acid", Chemistry::FloodedLeadAcid)];
    let chemistry = s.need_choice("chemistry", "cell chemistry", &words);
    let nominal = need(s, "nominal", "nominal voltage of one module", span(1.0, 1000.0));
    let capacity = need(s, "capacity", "rated charge of one module", span(1.0, 20_000.0));
    let usable = s.need_fraction("usable", "share of the charge that may be used", 0.05..=1.0);
    let discharge = need(s, "discharge", "continuous discharge current of one module", span(1.0, 10_000.0));
    let charge = need(s, "charge", "continuous charge current of one module", span(1.0, 10_000.0));
    let resistance = need(s, "resistance", "internal resistance of one module", span(1e-6, 1.0));
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
        resistance: resistance?,
        charge_from: charge_from?,
        parallel: parallel?.value,
        series: series?.value,
        mass: mass?,
        footprint,
        price: price?,
    })
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
    let price = price(s);
    if let (Some(mpp), Some(open)) = (mpp_voltage, open_circuit) {
        in_order(s, "open_circuit", "`open_circuit` is below `mpp_voltage`", mpp, open);
    }
    if let (Some(power), Some(mpp), Some(short)) = (power, mpp_voltage, short_circuit) {
        check::module_power(s, power, mpp, short);
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
        price: price?,
    })
}

pub(super) fn controller(s: &Section<'_>) -> Option<ChargeController> {
    let head = head(s);
    let array_lowest = need(s, "array_lowest", "lowest array voltage at which it tracks", span(1.0, 1500.0));
    let array_highest = need(s, "array_highest", "highest array voltage", span(10.0, 1500.0));
    let current = need(s, "current", "highest current into the battery", span(1.0, 1000.0));
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
        footprint,
        price: price?,
    })
}
