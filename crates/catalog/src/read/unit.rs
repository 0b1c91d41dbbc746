//! Reader of inverter-chargers: identity, output, inside, group; limits and source side have files of their own.

use quantity::{Apparent, Frequency, Power, VoltageSystem};
use reading::{Placed, Section};

use super::check;
use super::common::{
    entries, footprint, head, in_order, may, need, need_flag, need_key, price, short_time, span, systems,
};
use super::unit_limits::{Limits, limits};
use super::unit_source::{SourceSide, source_side};
use crate::{
    Charging, DcCutoff, DcRange, Footprint, FormationLimits, IslandFault, IslandFrequency, LegControl,
    LinkKind, LinkShape, Precharge, ShortTime, UnitModel,
};
use quantity::Ratio;

pub(super) fn unit(s: &Section<'_>) -> Option<UnitModel> {
    let head = head(s);
    let output = output(s);
    let limits = limits(s, output.as_ref());
    let source = source_side(s);
    let inside = inside(s);
    let group = group(s, output.as_ref());
    let price = price(s);
    let head = head?;
    assemble(head, output?, limits?, source?, inside?, group?, price?)
}

fn assemble(
    head: super::common::Head,
    output: Output,
    limits: Limits,
    source: SourceSide,
    inside: Inside,
    group: Group,
    price: u32,
) -> Option<UnitModel> {
    Some(UnitModel {
        id: head.id,
        name: head.name,
        revision: head.revision,
        place: head.place,
        forms: output.forms,
        frequencies: output.frequencies,
        leg_control: output.leg_control,
        power: output.power,
        apparent: output.apparent,
        leg_power: output.leg_power,
        leg_apparent: output.leg_apparent,
        temperature_curve: limits.temperature_curve,
        altitude: limits.altitude,
        overload: limits.overload,
        overload_recovery: limits.overload_recovery,
        surge: limits.surge,
        output_impedance: limits.output_impedance,
        under_voltage: limits.under_voltage,
        sharing_tolerance: limits.sharing_tolerance,
        relay: source.relay,
        pass_through: source.pass_through,
        transfer_gap: source.transfer_gap,
        reconnect_earliest: source.reconnect_earliest,
        reconnect_latest: source.reconnect_latest,
        input_inhibit: source.input_inhibit,
        second_input: source.second_input,
        accepts: source.accepts,
        input_limit: source.input_limit,
        contributes: source.contributes,
        export: source.export,
        charging: inside.charging,
        island_frequency: inside.island_frequency,
        dc: inside.dc,
        efficiency: inside.efficiency,
        idle: inside.idle,
        island_fault: inside.island_fault,
        formation: group.formation,
        leaves_together: source.leaves_together,
        neutral: source.neutral,
        island_bond: source.island_bond,
        decides_together: source.decides_together,
        input_breaker: source.input_breaker,
        bypass_breakers_up_to: source.bypass_breakers_up_to,
        links: group.links,
        footprint: group.footprint,
        price,
    })
}

/// What comes out, continuously.
pub(super) struct Output {
    pub forms: Vec<VoltageSystem>,
    pub frequencies: Vec<Frequency>,
    pub leg_control: LegControl,
    pub power: Power,
    pub apparent: Apparent,
    pub leg_power: Power,
    pub leg_apparent: Apparent,
}

fn output(s: &Section<'_>) -> Option<Output> {
    let forms = systems(s, "forms", "systems that a group of it can form");
    let frequencies = frequencies(s);
    let words = [
        ("one leg", LegControl::OneLeg),
        ("independent legs", LegControl::IndependentLegs),
        ("equal legs", LegControl::EqualLegs),
        ("line to line", LegControl::LineToLine),
    ];
    let control = s.need_choice("leg_control", "how its bridge works on the legs of its output", &words);
    let total = s.need_section("rating", "continuous rating of the whole unit at factor 1", watts_and_va);
    let leg = s.need_section(
        "leg",
        "continuous rating of one leg; the same as `rating` for one leg and line to line",
        watts_and_va,
    );
    if let (Some(forms), Some(control)) = (&forms, &control) {
        check::forms(s, forms, control.value);
    }
    if let (Some(total), Some(leg), Some(control)) = (total, leg, &control) {
        check::leg_rating(s, control.value, total, leg);
    }
    let (power, apparent) = total?;
    let (leg_power, leg_apparent) = leg?;
    Some(Output {
        forms: forms?.into_iter().map(|f| f.value).collect(),
        frequencies: frequencies?,
        leg_control: control?.value,
        power,
        apparent,
        leg_power,
        leg_apparent,
    })
}

fn watts_and_va(s: &Section<'_>) -> Option<(Power, Apparent)> {
    let power = need(s, "power", "active power", span(100.0, 200_000.0));
    let apparent = need(s, "apparent", "apparent power", span(100.0, 200_000.0));
    let (power, apparent) = (power?, apparent?);
    check::power_within_apparent(s, "power", power, apparent).then_some((power, apparent))
}

fn frequencies(s: &Section<'_>) -> Option<Vec<Frequency>> {
    let doc = "frequencies that it can form: 50 Hz, 60 Hz";
    let list: Vec<Placed<Frequency>> = s.quantities("frequencies", doc);
    need_key(s, "frequencies", doc);
    if list.is_empty() && s.has("frequencies") {
        s.mistake_at("frequencies", "empty-list", "`frequencies` holds none", "for example [\"60 Hz\"]");
    }
    for frequency in &list {
        check::frequency(s, frequency);
    }
    (!list.is_empty()).then(|| list.into_iter().map(|f| f.value).collect())
}

/// The DC side and what the unit itself uses and feeds.
struct Inside {
    charging: Charging,
    island_frequency: Option<IslandFrequency>,
    dc: DcRange,
    efficiency: Vec<(Ratio, Ratio)>,
    idle: Power,
    island_fault: IslandFault,
}

fn inside(s: &Section<'_>) -> Option<Inside> {
    let charging = s.need_section("charging", "charging from AC, per unit", |c| {
        let power = need(c, "power", "highest AC power drawn for charging", span(10.0, 200_000.0));
        let current = need(c, "current", "highest DC current into the battery", span(0.5, 5000.0));
        let doc = "lowest DC current to which charging can be set; leave out if it cannot";
        let lowest = may(c, "lowest", doc, span(0.0, 5000.0));
        if let (Some(lowest), Some(current)) = (lowest, current) {
            in_order(c, "lowest", "`lowest` is above `current`", lowest, current);
        }
        Some(Charging { power: power?, current: current?, lowest })
    });
    let doc = "how it curtails array inverters in its island; leave out if not published";
    let island_frequency = s.section("island_frequency", doc, |f| {
        let doc = "up to here it raises the frequency while the battery takes nothing more";
        let raises_to = need(f, "raises_to", doc, span(50.0, 66.0));
        let doc =
            "rated energy of the bank over the power of the arrays at least; leave out if not published";
        let least_bank = may(f, "least_bank", doc, span(60.0, 360_000.0));
        Some(IslandFrequency { raises_to: raises_to?, least_bank })
    });
    let dc = s.need_section("dc", "range of the DC input", dc_range);
    let efficiency = entries(s, "efficiency", "efficiency against load share, rising share", |e| {
        let load = e.need_fraction("load", "share of the continuous rating", 0.005..=1.0);
        let efficiency = e.need_fraction("efficiency", "AC out over DC in", 0.05..=1.0);
        Some((load?.value, efficiency?.value))
    });
    need_key(s, "efficiency", "efficiency against load share, at least two points");
    let idle = need(s, "idle", "power drawn from the battery awake without load", span(0.1, 2000.0));
    let island_fault = s.need_section(
        "island_fault",
        "fault current that one unit feeds in the island, per leg",
        island_fault,
    );
    if let Some(points) = &efficiency {
        check::efficiency(s, points);
    }
    Some(Inside {
        charging: charging?,
        island_frequency,
        dc: dc?,
        efficiency: efficiency?.into_iter().map(|p| p.value).collect(),
        idle: idle?,
        island_fault: island_fault?,
    })
}

fn island_fault(s: &Section<'_>) -> Option<IslandFault> {
    let found = short_time(s);
    let doc = "latest time after which the output is at 50 V or less in such a fault; left out, it is not relied on";
    let collapses = may(s, "collapses", doc, span(0.001, 60.0));
    let ShortTime { current, lasts } = found?;
    Some(IslandFault { current, lasts, collapses })
}

fn dc_range(s: &Section<'_>) -> Option<DcRange> {
    let lowest = need(s, "lowest", "lowest working voltage", span(5.0, 1500.0));
    let nominal = need(s, "nominal", "nominal voltage", span(5.0, 1500.0));
    let highest = need(s, "highest", "highest working voltage", span(5.0, 1500.0));
    let doc = "low voltage at which it switches off; left out, its lowest working voltage counts at once";
    let cutoff = s.section("cutoff", doc, |c| {
        let below = need(c, "below", "switches off below", span(5.0, 1500.0));
        let after = need(c, "after", "after this time below it", span(0.0, 3600.0));
        Some(DcCutoff { below: below?, after: after? })
    });
    let words = [("own", Precharge::Own), ("external", Precharge::External)];
    let doc = "who charges its input capacitors softly when it is connected; left out, not known";
    let precharge = s.choice("precharge", doc, &words).map(|p| p.value);
    let doc = "highest capacitance of its input; left out, a pre-charge by the installation is not covered";
    let capacitance = may(s, "capacitance", doc, span(1e-7, 100.0));
    if let (Some(lowest), Some(nominal), Some(highest)) = (lowest, nominal, highest) {
        let sound = in_order(s, "nominal", "`nominal` is below `lowest`", lowest, nominal);
        if let Some(cutoff) = cutoff.as_ref().filter(|_| sound) {
            in_order(s, "cutoff", "`cutoff` is below `lowest`", lowest, cutoff.below);
        }
        in_order(s, "highest", "`highest` is below `nominal`", nominal, highest);
    }
    Some(DcRange { lowest: lowest?, nominal: nominal?, highest: highest?, cutoff, precharge, capacitance })
}

/// The unit among others, and on the wall.
struct Group {
    formation: FormationLimits,
    links: Vec<LinkKind>,
    footprint: Footprint,
}

fn group(s: &Section<'_>, output: Option<&Output>) -> Option<Group> {
    let formation = s.need_section("formation", "how many units may work as one", |f| formation(f, output));
    let links = entries(s, "links", "links between units; leave out if units need none", |l| {
        let kind = l.need_text("kind", "what it carries: data, synchronising, monitoring");
        let devices = l.need_count("devices", "most devices on one link", 2..=1000);
        let shapes =
            [("daisy chain", LinkShape::DaisyChain), ("star", LinkShape::Star), ("bus", LinkShape::Bus)];
        let shape = l.need_choice("shape", "how it is wired", &shapes);
        let longest = may(
            l,
            "longest",
            "most cable on one link (star: of each cable); leave out where none is stated",
            span(0.1, 5000.0),
        );
        let terminated = need_flag(l, "terminated", "both ends need a terminator");
        let addressed = need_flag(l, "addressed", "each device needs an address of its own");
        let several = l.flag(
            "several",
            "devices beyond one link may go on a further one from the lead unit; left out, no",
        );
        let if_lost = l.text("if_lost", "what the group does when the link is lost, where stated");
        Some(LinkKind {
            kind: kind?.value,
            devices: devices?.value,
            shape: shape?.value,
            longest,
            terminated: terminated?,
            addressed: addressed?,
            several: several.is_some_and(|s| s.value),
            if_lost: if_lost.map(|t| t.value),
        })
    });
    let footprint = s.need_section("footprint", "mounting footprint", footprint);
    Some(Group {
        formation: formation?,
        links: links?.into_iter().map(|l| l.value).collect(),
        footprint: footprint?,
    })
}

fn formation(s: &Section<'_>, output: Option<&Output>) -> Option<FormationLimits> {
    let doc = "most units on one leg or phase (for two-leg units: in the group)";
    let per_leg = s.need_count("per_leg", doc, 1..=256);
    let total = s.need_count("total", "most units in the group", 1..=256);
    let equal_legs = need_flag(s, "equal_legs", "every leg must have the same number");
    let mixed_models = need_flag(s, "mixed_models", "other models of the family may be in the same group");
    if let (Some(per_leg), Some(total), Some(output)) = (&per_leg, &total, output) {
        check::formation(s, per_leg.value, total.value, output);
    }
    Some(FormationLimits {
        per_leg: per_leg?.value,
        total: total?.value,
        equal_legs: equal_legs?,
        mixed_models: mixed_models?,
    })
}
