//! Inline while every state holds and every load tolerates the transfer; else outboard with a switch rated for the
//! panel. Gear is tried in order of size and price.

use std::collections::BTreeMap;

use assess::{Assessed, Case, Formation, assess};
use catalog::{BypassKind, LimitScope, NeutralPole, TransferSwitch};
use derivation::Known;
use finding::Severity;
use plant::full::UnitBreakers;
use plant::{Gear, GeneratorGear, Layout, Plant, build};
use quantity::{Current, Quantity};
use saying::{Text, say};
use site::{Arrangement, BypassWish, GeneratorInlet};

use crate::candidate::{Design, Fixed};
use crate::{Decision, Prepared, gear, settings};

/// A plant without gear, to look at the group alone.
pub(crate) fn bare<'a>(prepared: &'a Prepared<'a>, formation: &Formation) -> Case<'a> {
    case(prepared, formation, Layout::Islanded, &Choice::default())
}

#[derive(Debug, Clone, Default)]
struct Choice<'a> {
    neutral: Option<NeutralPole>,
    transfer: Option<&'a TransferSwitch>,
    inhibit: bool,
    source_switch: Option<&'a TransferSwitch>,
}

fn bypass_kind(prepared: &Prepared<'_>, formation: &Formation) -> Option<BypassKind> {
    match prepared.site.group.bypass.fixed().map(|b| b.value) {
        Some(BypassWish::None) => None,
        Some(BypassWish::InterlockedBreakers) => Some(BypassKind::InterlockedBreakers),
        Some(BypassWish::ManualSwitch) => Some(BypassKind::ManualSwitch),
        None if formation.units() <= prepared.unit.bypass_breakers_up_to => {
            Some(BypassKind::InterlockedBreakers)
        }
        None => Some(BypassKind::ManualSwitch),
    }
}

fn inlet(prepared: &Prepared<'_>, layout: Layout) -> Option<GeneratorInlet> {
    let wish = prepared.site.generator.as_ref()?;
    if let Some(fixed) = wish.inlet.fixed() {
        return Some(fixed.value);
    }
    let second = prepared.unit.second_input.is_some() && layout != Layout::Islanded;
    Some(if second { GeneratorInlet::SecondInput } else { GeneratorInlet::TransferSwitch })
}

fn case<'a>(
    prepared: &'a Prepared<'a>,
    formation: &Formation,
    layout: Layout,
    choice: &Choice<'a>,
) -> Case<'a> {
    let islanded = layout == Layout::Islanded;
    let generator =
        prepared.site.generator.as_ref().and_then(|g| prepared.catalog.generators.get(&g.model.value));
    let inlet = generator.and_then(|_| inlet(prepared, layout));
    let bypass = if islanded {
        None
    } else {
        bypass_kind(prepared, formation).and_then(|kind| gear::bypass(prepared, kind, choice.neutral))
    };
    let former = (prepared.unit.leg_control == catalog::LegControl::LineToLine)
        .then(|| neutral_former(prepared))
        .flatten();
    let mut case = Case {
        site: prepared.site,
        assessment: prepared.assessment,
        demand: &prepared.demand,
        unit: prepared.unit,
        rating: &prepared.rating,
        formation: formation.clone(),
        layout,
        transfer: choice.transfer.filter(|_| layout == Layout::Outboard),
        bypass,
        generator,
        inlet,
        source_switch: choice.source_switch,
        former,
        arrays: crate::arrays::on_panels(prepared, generator.is_some()),
        strings: crate::arrays::strings(prepared),
        bank: None,
        breakers: UnitBreakers::default(),
        conductors: BTreeMap::new(),
        settings: settings::nothing(),
        plant: empty(prepared),
    };
    case.settings = settings::of(prepared, &case, choice.inhibit);
    case.plant = graph(&case);
    case
}

fn empty(prepared: &Prepared<'_>) -> Plant {
    build(&Gear {
        system: prepared.site.service.system.value,
        layout: Layout::Islanded,
        unit: prepared.unit,
        paths_a_leg: 1,
        units: 1,
        transfer: None,
        retransfer: None,
        inhibit: false,
        bypass: None,
        generator: None,
        locked_out: Vec::new(),
    })
}

fn graph(case: &Case<'_>) -> Plant {
    let generator = match (case.generator, case.inlet, case.layout) {
        (None, _, _) => None,
        (Some(_), Some(GeneratorInlet::SecondInput), _) if case.unit.second_input.is_some() => {
            Some(GeneratorGear::SecondInput)
        }
        (Some(_), _, Layout::Islanded) => Some(GeneratorGear::OnlyInput),
        (Some(_), _, _) => case.source_switch.map(GeneratorGear::SourceSwitch),
    };
    let small = |n: u32| u8::try_from(n).unwrap_or(u8::MAX);
    build(&Gear {
        system: case.site.service.system.value,
        layout: case.layout,
        unit: case.unit,
        paths_a_leg: small(case.formation.fewest().max(1)),
        units: small(case.formation.units()),
        transfer: case.transfer,
        retransfer: case.settings.retransfer.clone(),
        inhibit: case.settings.inhibit,
        bypass: case.bypass,
        generator,
        locked_out: case.arrays.iter().filter(|a| a.locked_out).map(|a| a.id.clone()).collect(),
    })
}

fn neutral_former<'a>(prepared: &Prepared<'a>) -> Option<&'a catalog::NeutralFormer> {
    if let Some(fixed) = prepared.site.group.neutral_former.fixed() {
        return prepared.catalog.neutral_formers.get(&fixed.value);
    }
    let need = prepared.demand.neutral.value();
    let all = prepared.catalog.neutral_formers.values().filter(|f| f.trips_lines);
    let mut all: Vec<_> = all.collect();
    all.sort_by(|a, b| {
        a.neutral.partial_cmp(&b.neutral).unwrap_or(std::cmp::Ordering::Equal).then(a.id.cmp(&b.id))
    });
    all.iter().find(|f| f.neutral >= need).or(all.last()).copied()
}

struct Tried<'a> {
    case: Case<'a>,
    assessed: Assessed,
}

impl Tried<'_> {
    /// Fewer is better: what fails, and among equals what is not even known.
    fn rank(&self) -> (usize, usize) {
        let unknown = self.assessed.ledger.findings.iter().filter(|f| f.severity == Severity::NotCovered);
        (self.failing(), unknown.count())
    }

    fn failing(&self) -> usize {
        self.assessed.ledger.findings.iter().filter(|f| f.severity.fails()).count()
    }

    fn reason(&self) -> Text {
        let findings = &self.assessed.ledger.findings;
        // what the arrangement decides comes first
        let telling = ["pass-through-over-relay", "gap-not-tolerated", "relay-make-over", "short-time-over"];
        telling
            .iter()
            .find_map(|id| findings.iter().find(|f| f.id == *id))
            .or_else(|| findings.iter().find(|f| f.severity.fails()))
            .map_or_else(|| say!("it holds as well"), |f| f.message.clone())
    }
}

fn source_switches<'a>(
    prepared: &Prepared<'a>,
    layout: Layout,
    neutral: Option<NeutralPole>,
) -> Vec<Option<&'a TransferSwitch>> {
    let needed =
        layout != Layout::Islanded && inlet(prepared, layout) == Some(GeneratorInlet::TransferSwitch);
    if !needed {
        return vec![None];
    }
    let fit: Vec<Option<&TransferSwitch>> = gear::switches(prepared, neutral).into_iter().map(Some).collect();
    if fit.is_empty() { vec![None] } else { fit }
}

fn try_inline<'a>(
    prepared: &'a Prepared<'a>,
    formation: &Formation,
    layout: Layout,
    neutral: Option<NeutralPole>,
) -> Tried<'a> {
    let candidates = source_switches(prepared, layout, neutral).into_iter().map(|source_switch| {
        let choice = Choice { neutral, source_switch, ..Choice::default() };
        let case = case(prepared, formation, layout, &choice);
        Tried { assessed: assess(&case), case }
    });
    best(candidates).unwrap_or_else(|| {
        let case = case(prepared, formation, layout, &Choice::default());
        Tried { assessed: assess(&case), case }
    })
}

/// The first without anything failing, else the one against which least is said.
fn best<'a>(candidates: impl Iterator<Item = Tried<'a>>) -> Option<Tried<'a>> {
    let mut best: Option<Tried<'a>> = None;
    for tried in candidates {
        if tried.failing() == 0 {
            return Some(tried);
        }
        let better = best.as_ref().is_none_or(|b| tried.rank() < b.rank());
        if better {
            best = Some(tried);
        }
    }
    best
}

fn try_outboard<'a>(
    prepared: &'a Prepared<'a>,
    formation: &Formation,
    neutral: Option<NeutralPole>,
) -> Tried<'a> {
    let wish = prepared.site.group.input_inhibit.fixed().map(|i| i.value);
    let mut candidates = Vec::new();
    for transfer in gear::switches(prepared, neutral) {
        // a contact is surer than two delays
        for inhibit in [true, false] {
            let possible = prepared.unit.input_inhibit && transfer.auxiliary_contacts > 0;
            let allowed = match wish {
                Some(fixed) => fixed == inhibit,
                None => !inhibit || possible,
            };
            if !allowed {
                continue;
            }
            for source_switch in source_switches(prepared, Layout::Outboard, neutral).into_iter().take(1) {
                candidates.push(Choice { neutral, transfer: Some(transfer), inhibit, source_switch });
            }
        }
    }
    let tried = candidates.iter().map(|choice| {
        let case = case(prepared, formation, Layout::Outboard, choice);
        Tried { assessed: assess(&case), case }
    });
    best(tried).unwrap_or_else(|| {
        let case = case(prepared, formation, Layout::Outboard, &Choice::default());
        Tried { assessed: assess(&case), case }
    })
}

/// Chooses and explains.
pub(crate) fn choose<'a>(prepared: &'a Prepared<'a>, formation: &Formation, fixed: &Fixed) -> Design<'a> {
    let utility = prepared.site.service.utility.value;
    let stated = prepared.site.group.arrangement.fixed();
    let wanted = fixed.layout.or(stated.map(|a| match a.value {
        Arrangement::Inline => Layout::Inline,
        Arrangement::Outboard => Layout::Outboard,
        Arrangement::Islanded => Layout::Islanded,
    }));
    let place = stated.map(|a| &a.place);
    let (tried, decision) = match wanted {
        _ if !utility => {
            let decision =
                Decision::new("arrangement", say!("islanded"), place).because(say!("there is no utility"));
            (try_inline(prepared, formation, Layout::Islanded, fixed.neutral), decision)
        }
        Some(Layout::Outboard) => {
            let decision =
                Decision::new("arrangement", say!("outboard"), place).because(say!("fixed by the site"));
            (try_outboard(prepared, formation, fixed.neutral), decision)
        }
        Some(layout) => {
            let decision =
                Decision::new("arrangement", layout.word(), place).because(say!("fixed by the site"));
            (try_inline(prepared, formation, layout, fixed.neutral), decision)
        }
        None => free(prepared, formation, fixed),
    };
    let mut decisions = vec![decision];
    let relays = |f: &&finding::Finding| f.part == "unit.relay" && f.severity.fails();
    let holds = tried.assessed.ledger.findings.iter().find(relays).is_none();
    decisions.extend(explain_gear(prepared, &tried.case, holds));
    Design {
        case: tried.case,
        assessed: tried.assessed,
        decisions,
        breakers: Vec::new(),
        distribution: Vec::new(),
        wires: Vec::new(),
        held: Vec::new(),
        source_at_far_end: false,
        code: crate::CodeWork::default(),
        proof: None,
        arrays: BTreeMap::new(),
        placed: None,
    }
}

fn free<'a>(prepared: &'a Prepared<'a>, formation: &Formation, fixed: &Fixed) -> (Tried<'a>, Decision) {
    let inline = try_inline(prepared, formation, Layout::Inline, fixed.neutral);
    if inline.failing() == 0 {
        let decision = Decision::new("arrangement", say!("inline"), None).because(say!(
            "every state holds and every load tolerates the transfer; no transfer switch is needed"
        ));
        return (inline, decision);
    }
    let outboard = try_outboard(prepared, formation, fixed.neutral);
    if outboard.rank() < inline.rank() {
        let decision = Decision::new("arrangement", say!("outboard"), None)
            .because(say!("inline does not hold"))
            .not(say!("inline"), inline.reason());
        return (outboard, decision);
    }
    let decision = Decision::new("arrangement", say!("inline"), None)
        .because(say!("neither arrangement holds; inline has no more against it than outboard"))
        .not(say!("outboard"), outboard.reason());
    (inline, decision)
}

fn explain_gear(prepared: &Prepared<'_>, case: &Case<'_>, holds: bool) -> Vec<Decision> {
    let group = &prepared.site.group;
    let mut decisions = Vec::new();
    let need = gear::panel_rating(prepared);
    if let Some(switch) = case.transfer {
        let place = group.transfer_switch.fixed().map(|t| &t.place);
        decisions.push(
            Decision::new("transfer switch", switch.id.clone(), place)
                .because(say!(
                    "the smallest that is rated for the {need} of the panel and has the least against it",
                    need = need.value()
                ))
                .resting_on(need.node()),
        );
        let place = group.input_inhibit.fixed().map(|i| &i.place);
        let decision = Decision::new(
            "input inhibit",
            if case.settings.inhibit { say!("yes") } else { say!("no") },
            place,
        );
        decisions.push(decision.because(if case.settings.inhibit {
            say!("an auxiliary contact of the transfer switch holds the units off their input while it stands on the group")
        } else if holds {
            say!("the switch returns before the units may reconnect, or their relays carry the panel in between")
        } else {
            say!("no contact is free for it, or the site wants none")
        }));
    }
    if let Some(switch) = case.source_switch {
        let place = group.transfer_switch.fixed().map(|t| &t.place);
        decisions.push(
            Decision::new("source switch", switch.id.clone(), place)
                .because(say!("chooses between utility and generator ahead of the units"))
                .resting_on(need.node()),
        );
    }
    decisions.push(explain_bypass(prepared, case));
    if let (Some(wish), Some(generator)) = (&prepared.site.generator, case.generator) {
        let (value, why) = match (case.inlet, case.layout) {
            (Some(GeneratorInlet::SecondInput), _) => {
                (say!("second input of the units"), say!("the family has one, with relays of its own"))
            }
            (_, Layout::Islanded) => (say!("input of the units"), say!("there is no utility on it")),
            _ => (
                say!("source transfer switch ahead of the units"),
                say!("the family has no second input, or the site asks for it"),
            ),
        };
        let place = wish.inlet.fixed().map(|i| &i.place);
        decisions.push(
            Decision::new(
                "generator",
                say!("{generator} on the {value}", generator = generator.id, value),
                place,
            )
            .because(why),
        );
    }
    if let Some(former) = case.former {
        let place = group.neutral_former.fixed().map(|f| &f.place);
        decisions.push(
            Decision::new("neutral former", former.id.clone(), place)
                .because(say!(
                    "the bridges work line to line; the neutral carries up to {neutral}",
                    neutral = case.demand.neutral.value()
                ))
                .resting_on(case.demand.neutral.node()),
        );
    }
    decisions.extend(explain_settings(prepared, case));
    decisions
}

fn explain_bypass(prepared: &Prepared<'_>, case: &Case<'_>) -> Decision {
    let place = prepared.site.group.bypass.fixed().map(|b| &b.place);
    match case.bypass {
        Some(bypass) => {
            let up_to = prepared.unit.bypass_breakers_up_to;
            let why = match bypass.kind {
                BypassKind::InterlockedBreakers => say!(
                    "{formation_units} units; interlocked breakers serve up to {up_to} of this family",
                    formation_units = case.formation.units(),
                    up_to
                ),
                BypassKind::ManualSwitch => say!(
                    "{formation_units} units; interlocked breakers serve only up to {up_to} of this family",
                    formation_units = case.formation.units(),
                    up_to
                ),
            };
            Decision::new("bypass", bypass.id.clone(), place).because(why)
        }
        None if case.layout == Layout::Islanded => {
            Decision::new("bypass", say!("none"), place).because(say!("no utility to bypass to"))
        }
        None => Decision::new("bypass", say!("none"), place).because(if place.is_some() {
            say!("the site wants none")
        } else {
            say!("no gear in the catalogue fits")
        }),
    }
}

/// A limit as it is entered: rounded down to a tenth of an ampere, for each unit where each holds its own.
fn entered(case: &Case<'_>, limit: &Known<Current>) -> Text {
    let down = |amperes: f64| format!("{:.1} A", ((amperes + 1e-9) * 10.0).floor() / 10.0);
    let all = limit.value().si();
    match case.unit.input_limit.scope {
        LimitScope::Group => say!("{down} per leg, for the group as a whole", down = down(all)),
        LimitScope::Unit => {
            // the leg with the most units carries the limit in all; the others carry less
            let units = case.formation.most().max(1);
            say!(
                "{down} in each unit ({units} on a leg: {down_2} in all there)",
                down = down(all / f64::from(units)),
                units,
                down_2 = down(all)
            )
        }
    }
}

fn explain_settings(prepared: &Prepared<'_>, case: &Case<'_>) -> Vec<Decision> {
    let settings = &case.settings;
    let mut decisions = Vec::new();
    if let Some(limit) = &settings.input_limit {
        let place = prepared.site.group.input_limit.fixed().map(|i| &i.place);
        decisions.push(
            Decision::new("input limit", entered(case, limit), place)
                .because(if place.is_some() {
                    say!("fixed by the site")
                } else {
                    limit.node().source().into()
                })
                .resting_on(limit.node()),
        );
    }
    if let Some(limit) = &settings.generator_limit {
        decisions.push(
            Decision::new("generator limit", entered(case, limit), None)
                .because(limit.node().source())
                .resting_on(limit.node()),
        );
    }
    if case.layout != Layout::Islanded {
        let limit = &settings.export_limit;
        decisions.push(
            Decision::new("export limit", limit.value().to_string(), None)
                .because(limit.node().source())
                .resting_on(limit.node()),
        );
    }
    if let Some(back) = &settings.retransfer {
        let place = prepared.site.group.retransfer.as_ref().map(|(from, _)| &from.place);
        let latest = back.latest.map_or(say!("not stated"), |l| l.to_string().into());
        decisions.push(
            Decision::new(
                "return delay",
                say!("{earliest} to {latest}", earliest = back.earliest, latest),
                place,
            )
            .because(say!("of the transfer switch, after the utility is back")),
        );
    }
    decisions
}
