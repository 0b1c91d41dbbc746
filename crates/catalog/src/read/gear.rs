//! Readers of transfer and bypass gear, breakers, generators, neutral formers and conductors.

use quantity::{VoltageSystem, Wire};
use reading::{Placed, Section};

use super::check;
use super::common::{
    amperes, delay, head, in_order, may, may_footprint, need, need_flag, need_percent, neutral, price,
    short_times, span, systems,
};
use crate::{
    Breaker, BypassGear, BypassKind, ConductorStock, DistributionBoard, Generator, HeatLoss, NeutralFormer,
    TransferSwitch,
};

fn plain(systems: Vec<Placed<VoltageSystem>>) -> Vec<VoltageSystem> {
    systems.into_iter().map(|s| s.value).collect()
}

pub(super) fn transfer_switch(s: &Section<'_>) -> Option<TransferSwitch> {
    let head = head(s);
    let rating = need(s, "rating", "continuous current per pole", amperes());
    let systems = systems(s, "systems", "systems that it is made for");
    let neutral = neutral(s);
    let to_second = s.need_section("to_second", "from the loss of the first source to the move", delay);
    let to_first = s.need_section("to_first", "from the return of the first source to the move back", delay);
    let travel = need(s, "travel", "time without either source while it moves", span(0.001, 60.0));
    let contacts = s.need_count("auxiliary_contacts", "auxiliary contacts free for interlocking", 0..=20);
    let short_circuit =
        need(s, "short_circuit", "short-circuit current it withstands and closes onto", amperes());
    let short_time = short_times(s, rating);
    let footprint = may_footprint(s);
    let price = price(s);
    if let (Some(rating), Some(short)) = (rating, short_circuit) {
        in_order(s, "short_circuit", "`short_circuit` is below `rating`", rating, short);
    }
    let head = head?;
    Some(TransferSwitch {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        rating: rating?,
        systems: plain(systems?),
        neutral: neutral?,
        to_second: to_second?,
        to_first: to_first?,
        travel: travel?,
        auxiliary_contacts: contacts?.value,
        short_circuit: short_circuit?,
        short_time,
        footprint,
        price: price?,
    })
}

pub(super) fn bypass(s: &Section<'_>) -> Option<BypassGear> {
    let head = head(s);
    let words = [
        ("interlocked breakers", BypassKind::InterlockedBreakers),
        ("manual switch", BypassKind::ManualSwitch),
    ];
    let kind = s.need_choice("kind", "how the two sources are kept apart", &words);
    let rating = need(s, "rating", "continuous current per pole", amperes());
    let systems = systems(s, "systems", "systems that it is made for");
    let neutral = neutral(s);
    let footprint = may_footprint(s);
    let price = price(s);
    let head = head?;
    Some(BypassGear {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        kind: kind?.value,
        rating: rating?,
        systems: plain(systems?),
        neutral: neutral?,
        footprint,
        price: price?,
    })
}

pub(super) fn breaker(s: &Section<'_>) -> Option<Breaker> {
    let head = head(s);
    let rating = need(s, "rating", "rated current", amperes());
    let poles = s.need_count("poles", "poles", 1..=4);
    let volts = || span(50.0, 1000.0);
    let voltage = may(s, "voltage", "rated voltage between poles, of one pole to neutral", volts());
    let slash = "highest voltage from a pole to earth, where it is lower than `voltage`";
    let voltage_to_earth = may(s, "voltage_to_earth", slash, volts());
    if let (Some(to_earth), Some(voltage)) = (voltage_to_earth, voltage) {
        in_order(s, "voltage_to_earth", "`voltage` is below `voltage_to_earth`", to_earth, voltage);
    }
    let interrupting = need(s, "interrupting", "interrupting rating at that voltage", amperes());
    let curve = s.choice("curve", "type by IEC 60898-1", &[("B", 'B'), ("C", 'C'), ("D", 'D')]);
    let at_once = may(s, "at_once", "current from which on it opens at once; not beside `curve`", amperes());
    if s.has("curve") && s.has("at_once") {
        let help = "keep `curve` for a breaker of IEC 60898-1, `at_once` for another one";
        s.mistake_at("at_once", "contradiction", "the type says at which current it opens at once", help);
    }
    if let (Some(rating), Some(at_once)) = (rating, at_once) {
        in_order(s, "at_once", "`at_once` is below `rating`", rating, at_once);
    }
    let price = price(s);
    if let (Some(rating), Some(interrupting)) = (rating, interrupting) {
        in_order(s, "interrupting", "`interrupting` is below `rating`", rating, interrupting);
    }
    let head = head?;
    Some(Breaker {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        rating: rating?,
        poles: poles?.value,
        voltage,
        voltage_to_earth,
        interrupting: interrupting?,
        curve: curve.map(|c| c.value),
        at_once,
        price: price?,
    })
}

pub(super) fn distribution(s: &Section<'_>) -> Option<DistributionBoard> {
    let head = head(s);
    let rating = need(s, "rating", "current that each line of its bus carries for any time", amperes());
    let lines = s.need_count("lines", "lines of its bus, without neutral and earth", 1..=3);
    let ways =
        s.need_count("ways", "breakers that it takes, each of as many poles as the bus has lines", 1..=100);
    let doc = "rated voltage between its lines, of one line to neutral";
    let voltage = need(s, "voltage", doc, span(50.0, 1000.0));
    let withstand = need(s, "withstand", "fault current that its bus withstands", amperes());
    let footprint = may_footprint(s);
    let price = price(s);
    if let (Some(rating), Some(withstand)) = (rating, withstand) {
        in_order(s, "withstand", "`withstand` is below `rating`", rating, withstand);
    }
    let head = head?;
    Some(DistributionBoard {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        rating: rating?,
        lines: lines?.value,
        ways: ways?.value,
        voltage: voltage?,
        withstand: withstand?,
        footprint,
        price: price?,
    })
}

pub(super) fn generator(s: &Section<'_>) -> Option<Generator> {
    let head = head(s);
    let system = s.need_designation::<VoltageSystem>(
        "system",
        "voltage system of its output",
        "120/240 V split-phase",
    );
    let power = need(s, "power", "continuous active power at reference conditions", span(200.0, 5e6));
    let apparent = need(s, "apparent", "continuous apparent power", span(200.0, 5e6));
    let leg_current = need(s, "leg_current", "continuous current of one leg or phase", amperes());
    let full_to = need(s, "full_to", "full rating up to this altitude", span(0.0, 5000.0));
    let loss = need_percent(s, "loss_per_100_m", "share of the rating lost for every 100 m above", 10.0);
    let doc = "loss of rating with the temperature of the air; leave out if not published";
    let heat = s.section("heat", doc, |h| {
        let full_to = need(h, "full_to", "full rating up to this temperature", span(-20.0, 60.0));
        let loss = need_percent(h, "loss_per_10_k", "share of the rating lost for every 10 K above", 20.0);
        Some(HeatLoss { full_to: full_to?, loss_per_10_k: loss? })
    });
    let doc = "share of its power under which it must not run for long; leave out if not published";
    let least_load = s.fraction("least_load", doc, 0.0..=0.9).map(|p| p.value);
    let doc = "power that may flow back into it for any time; left out, none may";
    let reverse_power = may(s, "reverse_power", doc, span(0.0, 1e6));
    let doc = "what voltage and frequency do from no load to full load; leave out if not published";
    let band = s.section("band", doc, super::common::band);
    let breaker = may(s, "breaker", "breaker at its output; leave out if it has none", amperes());
    let neutral_bonded = s.flag("neutral_bonded", "its neutral is joined to its frame; left out, not known");
    let price = price(s);
    if let (Some(power), Some(apparent)) = (power, apparent) {
        check::power_within_apparent(s, "power", power, apparent);
    }
    if let (Some(power), Some(back)) = (power, reverse_power) {
        in_order(s, "reverse_power", "`reverse_power` is above `power`", back, power);
    }
    if let (Some(system), Some(apparent), Some(current)) = (&system, apparent, leg_current) {
        check::generator_current(s, system.value, apparent, current);
    }
    let head = head?;
    Some(Generator {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        system: system?.value,
        power: power?,
        apparent: apparent?,
        leg_current: leg_current?,
        full_to: full_to?,
        loss_per_100_m: loss?,
        heat,
        least_load,
        reverse_power,
        band,
        breaker,
        neutral_bonded: neutral_bonded.map(|n| n.value),
        price: price?,
    })
}

pub(super) fn neutral_former(s: &Section<'_>) -> Option<NeutralFormer> {
    let head = head(s);
    let neutral = need(s, "neutral", "continuous neutral current that it forms", amperes());
    let short_time = short_times(s, neutral);
    let inrush = need(s, "inrush", "inrush, RMS equivalent of the first cycle", amperes());
    let trips_lines =
        need_flag(s, "trips_lines", "its own contact opens the lines when it is lost or too hot");
    let footprint = may_footprint(s);
    let price = price(s);
    let head = head?;
    Some(NeutralFormer {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        neutral: neutral?,
        short_time,
        inrush: inrush?,
        trips_lines: trips_lines?,
        footprint,
        price: price?,
    })
}

pub(super) fn conductor(s: &Section<'_>) -> Option<ConductorStock> {
    let head = head(s);
    let size = s.need_designation::<Wire>("size", "size", "4 AWG");
    let metal = s.need_choice("metal", "conductor metal", &[("Cu", "Cu"), ("Al", "Al")]);
    let insulation = s.need_text("insulation", "insulation, as marked");
    let doc = "price per metre in hundredths of the catalogue's currency";
    let price = s.need_count("price_per_m_hundredths", doc, 0..=10_000_000);
    let head = head?;
    Some(ConductorStock {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        size: size?.value,
        metal: metal?.value.to_owned(),
        insulation: insulation?.value,
        price_per_m_hundredths: price?.value,
    })
}
