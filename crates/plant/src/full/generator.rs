//! The generator and the buses ahead of the units.

use catalog::DelayRange;
use derivation::Known;
use quantity::{Current, Duration};

use super::build::{Breaker, Builder, FullGear, standard, times};
use super::{NodeKind, PartKind};
use crate::{Condition, Control, GeneratorGear, NodeIx, Rule, SourceKind};

/// The end of the generator's conductor, behind its own breaker.
pub(super) fn generator(b: &mut Builder, gear: &FullGear<'_>) -> Option<NodeIx> {
    let model = gear.generator.as_ref()?.model;
    let terminals = b.node("generator", "generator", NodeKind::Terminal, None);
    b.supply(SourceKind::Generator, terminals);
    let rating = match model.breaker {
        Some(breaker) => Known::catalog("I_br", "breaker of the generator", breaker, &model.id, "breaker"),
        None => {
            let what = "current of the generator";
            let current = Known::catalog("I_g", what, model.leg_current, &model.id, "leg_current");
            standard(gear, &current)
        }
    };
    let bus = b.node("generator.breaker", "generator breaker, load side", NodeKind::Bus, None);
    let breaker = Breaker {
        id: "generator.breaker",
        name: "generator breaker",
        rating: rating.clone(),
        neutral: gear.breaker_neutral(),
        unit: None,
    };
    b.breaker(breaker, (terminals, bus));
    Some(b.run(("generator.feed", "the generator's feed"), bus, rating, None))
}

/// The bus ahead of the units' first inputs.
pub(super) fn input_bus(
    b: &mut Builder,
    gear: &FullGear<'_>,
    main: Option<NodeIx>,
    generator: Option<NodeIx>,
) -> Option<NodeIx> {
    let way = gear.generator.as_ref().map(|g| &g.way);
    match (main, way, generator) {
        (Some(main), way, generator) => {
            let end = group_feed(b, gear, main);
            match (way, generator) {
                (Some(GeneratorGear::SourceSwitch(_)), Some(generator)) => {
                    Some(source_switch(b, gear, end, generator))
                }
                _ => Some(end),
            }
        }
        (None, Some(GeneratorGear::OnlyInput | GeneratorGear::SourceSwitch(_)), generator) => generator,
        (None, _, _) => None,
    }
}

/// Breaker in the main panel and conductor to the bus ahead of the units.
fn group_feed(b: &mut Builder, gear: &FullGear<'_>, main: NodeIx) -> NodeIx {
    let rating = standard(gear, &times(&gear.input_breaker(), gear.most_a_leg));
    let rating = match &gear.service {
        // no feeder of a service is larger than the service
        Some(service) => {
            Known::smallest("I_q", "breaker of the group's feed", &[rating.clone(), service.clone()])
                .unwrap_or(rating)
        }
        None => rating,
    };
    let bus = b.node("group.breaker", "group breaker, load side", NodeKind::Bus, None);
    let breaker = Breaker {
        id: "group.breaker",
        name: "group breaker",
        rating: rating.clone(),
        neutral: gear.breaker_neutral(),
        unit: None,
    };
    b.breaker(breaker, (main, bus));
    b.run(("input", "group input bus"), bus, rating, None)
}

fn source_switch(b: &mut Builder, gear: &FullGear<'_>, utility: NodeIx, generator: NodeIx) -> NodeIx {
    let Some(GeneratorGear::SourceSwitch(switch)) = gear.generator.as_ref().map(|g| &g.way) else {
        return utility;
    };
    let selected = b.node("source switch", "source switch, load side", NodeKind::Bus, None);
    let device = b.gear(("source switch", "source switch"), &["on the utility", "on the generator"], 0, None);
    let rule = |node, position, delay: &DelayRange| Rule {
        when: Condition::LiveFromOutside(node),
        position,
        delay: delay.clone(),
    };
    let rules = vec![rule(utility, 0, &switch.to_first), rule(generator, 1, &switch.to_second)];
    b.control(device, Control::Automatic(rules));
    for (id, name, from, at) in [
        ("source switch.utility", "source switch, utility side", utility, 0),
        ("source switch.generator", "source switch, generator side", generator, 1),
    ] {
        let rating =
            Known::catalog("I_r", "rating of the source switch", switch.rating, &switch.id, "rating");
        b.part(
            (id, name),
            PartKind::Switch,
            (from, selected),
            switch.neutral.into(),
            Some((device, at)),
            Some(rating),
        );
    }
    selected
}

/// The bus ahead of the units' second inputs.
pub(super) fn second_bus(gear: &FullGear<'_>, generator: Option<NodeIx>) -> Option<NodeIx> {
    gear.second_input().and(generator)
}

/// A relay's delays: what is not stated may take any time.
pub(super) fn any_time() -> DelayRange {
    DelayRange { earliest: Duration::ZERO, latest: None }
}

/// Rating of a breaker ahead of a second input: as the first input's, for want of a figure of its own.
pub(super) fn second_breaker(gear: &FullGear<'_>) -> Known<Current> {
    gear.input_breaker()
}
