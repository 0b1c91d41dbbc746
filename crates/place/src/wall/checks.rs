//! What of the wall does not hold.

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{Length, Mass, Quantity};
use saying::{Text, say};
use site::{Earthing, Wall};

use super::plan::{Asked, Depth, WallCase};
use super::{PlacedItem, Verdict, WallPlan};

const PART: &str = "wall";
const STATE: &str = "mounted";

pub(super) fn hold(case: &WallCase<'_>, asked: &Asked, plan: &mut WallPlan) {
    let mut held = std::mem::take(&mut plan.held);
    held.findings.extend(case.without_footprint.iter().map(|(part, record)| {
        let message = say!("{record} states no footprint: {part} is not on the wall", record, part);
        Finding::new("footprint-missing", Severity::NotCovered, part.clone(), message)
            .at(Some(&case.site.group.place), say!("this group"))
            .fix(say!("add its size, free spaces and mass to its record"))
    }));
    match &case.site.wall {
        None => {
            held.findings.push(not_described(case, plan));
            let (depth, area) = rules(case);
            plan.verdicts = vec![verdict(depth, None, UNDESCRIBED), verdict(area, None, UNDESCRIBED)];
        }
        Some(wall) => {
            size(wall, plan, &mut held.margins, &mut held.findings);
            let verdicts = space(case, (asked, wall), plan, &mut held.margins, &mut held.findings);
            plan.verdicts = verdicts;
            fixing(wall, plan, &mut held.margins, &mut held.findings);
        }
    }
    if case.site.wall.is_none() && !plan.left_over.is_empty() {
        held.findings.push(
            Finding::new(
                "wall-too-small",
                Severity::Error,
                PART,
                say!(
                    "{names} find no place on a wall {height} high",
                    names = names(plan),
                    height = plan.height.value()
                ),
            )
            .at(Some(&case.site.group.place), say!("this group"))
            .fix(say!("describe the wall")),
        );
    }
    plan.held = held;
}

fn names(plan: &WallPlan) -> String {
    plan.left_over.iter().map(|i| i.part.as_str()).collect::<Vec<_>>().join(", ")
}

fn not_described(case: &WallCase<'_>, plan: &WallPlan) -> Finding {
    let message = say!(
        "the site describes no wall; the gear asks for one {width} wide and {height} high, {mass} in all",
        width = plan.width.value(),
        height = plan.height.value(),
        mass = plan.mass.value()
    );
    Finding::new("wall-not-described", Severity::Warning, PART, message)
        .at(Some(&case.site.group.place), say!("this group"))
        .fix(say!("describe the wall: [wall] with width and height"))
}

fn size(wall: &Wall, plan: &WallPlan, margins: &mut Vec<Margin>, findings: &mut Vec<Finding>) {
    let Some(needed) = &plan.needed_width else {
        let tallest = plan.left_over.iter().map(|i| {
            let f = &i.footprint;
            (i, if i.kind.stands() { f.height + f.above } else { f.height + f.above + f.below })
        });
        let tallest = tallest.max_by(|a, b| a.1.si().total_cmp(&b.1.si()));
        let why = tallest.map_or(Text::default(), |(item, height)| {
            say!(
                ": {part} needs {height} of height with its free space, handles at most {reach} high",
                part = item.part,
                height,
                reach = plan.reach.value()
            )
        });
        findings.push(
            Finding::new(
                "wall-too-small",
                Severity::Error,
                PART,
                say!(
                    "{names} find no place on this wall, however wide it were{why}",
                    names = names(plan),
                    why
                ),
            )
            .at(Some(&wall.height.place), say!("this height"))
            .fix(say!("a higher wall, or other gear")),
        );
        return;
    };
    let margin = Margin::above(PART, say!("width"), STATE, &plan.width, needed);
    if !plan.left_over.is_empty() {
        let short = needed.value().si() - plan.width.value().si();
        let message = say!(
            "{names} find no place: a wall of this height does from {needed} on, {max} more than it is wide",
            names = names(plan),
            needed = needed.value(),
            max = Length::of((short * 1000.0).ceil().max(1.0) / 1000.0)
        );
        let mut finding = Finding::new("wall-too-small", Severity::Error, PART, message)
            .in_state(STATE)
            .measured(plan.width.node(), needed.node())
            .at(Some(&wall.width.place), say!("this wall"))
            .fix(say!(
                "a free wall of {needed} or more, a second wall, or less on it",
                needed = needed.value()
            ));
        finding.floor = true;
        findings.push(finding);
    }
    margins.push(margin);
}

const UNDESCRIBED: &str = "the space before the gear: the site describes no wall";

/// The rules on depth, and on width, height and reach.
fn rules(case: &WallCase<'_>) -> (&'static str, &'static str) {
    if us(case) { ("working-space", "working-area") } else { ("gangway", "gangway") }
}

fn us(case: &WallCase<'_>) -> bool {
    case.site.service.earthing.value == Earthing::Us
}

fn verdict(rule: &'static str, holds: Option<bool>, why: impl Into<Text>) -> Verdict {
    Verdict { rule, holds, why: why.into() }
}

/// Depth and height of the space before the gear.
fn space(
    case: &WallCase<'_>,
    (asked, wall): (&Asked, &Wall),
    plan: &WallPlan,
    margins: &mut Vec<Margin>,
    findings: &mut Vec<Finding>,
) -> Vec<Verdict> {
    let (depth_rule, area_rule) = rules(case);
    let mut verdicts = Vec::new();
    let homeless: Vec<&str> =
        plan.left_over.iter().filter(|i| i.kind.has_handles()).map(|i| i.part.as_str()).collect();
    if !homeless.is_empty() {
        verdicts.push(verdict(
            area_rule,
            Some(false),
            say!("{homeless} find no place", homeless = homeless.join(", ")),
        ));
    }
    let worked: Vec<&PlacedItem> = plan.items.iter().filter(|i| i.item.kind.has_handles()).collect();
    if worked.is_empty() {
        return verdicts;
    }
    let clause = if us(case) { "NEC 2023 110.26(A)" } else { "IEC 60364-7-729:2007 729.513" };
    let tops: Vec<Known<Length>> = worked
        .iter()
        .map(|i| {
            let top = i.body.bottom + i.body.height;
            Known::chosen(
                "h_top",
                format!("top of {}", i.item.part),
                top,
                "its place on the wall",
                Vec::new(),
            )
        })
        .chain([asked.height.clone()])
        .collect();
    if let Some(height) = Known::largest("h", "height that the space before the gear needs", &tops) {
        let margin =
            Margin::above(PART, say!("height of the space before the gear"), STATE, &plan.height, &height);
        let why = say!("height of the space; its width and the handles' height are kept by the layout");
        verdicts.push(verdict(area_rule, Some(margin.holds()), why));
        let at = (&wall.height.place, say!("this height"));
        short(margin, clause, Severity::Error, at, margins, findings);
    }
    let deepest = worked.iter().map(|i| {
        i.item.known("d_gear", format!("depth of {}", i.item.part), i.item.footprint.depth, "footprint depth")
    });
    let Some(d_gear) = Known::largest("d_gear", "depth of the deepest gear", &deepest.collect::<Vec<_>>())
    else {
        return verdicts;
    };
    let d = &asked.depth;
    let need = formula!("D", "free depth from the wall", [d_gear, d] => d_gear + d, source = clause);
    match &wall.in_front {
        Some(in_front) => {
            let there = in_front.known("D_there", "free depth from the wall to what is opposite");
            let margin = Margin::above(PART, say!("free depth before the gear"), STATE, &there, &need);
            verdicts.push(verdict(depth_rule, Some(margin.holds()), say!("free depth before the gear")));
            let waived = matches!(case.depth, Depth::Waived);
            let severity = if waived { Severity::Warning } else { Severity::Error };
            short(margin, clause, severity, (&in_front.place, say!("this depth")), margins, findings);
        }
        None => {
            verdicts.push(verdict(
                depth_rule,
                None,
                say!("how deep the space before the wall is, is not described"),
            ));
            findings.push(
            Finding::new(
                "working-space-unknown",
                Severity::Warning,
                PART,
                say!(
                    "how deep the space before the wall is, is not described: {need} must stay free from the wall on",
                    need = need.value()
                ),
            )
            .by(clause)
            .at(Some(&wall.place), say!("no in_front"))
            .fix(say!("state in_front, and what is opposite")),
            );
        }
    }
    verdicts
}

fn short(
    margin: Margin,
    clause: &str,
    severity: Severity,
    (place, label): (&derivation::Place, Text),
    margins: &mut Vec<Margin>,
    findings: &mut Vec<Finding>,
) {
    if !margin.holds() {
        let message = say!(
            "{what}: {value} where {limit} are asked for",
            what = margin.what,
            value = margin.value.amount.text,
            limit = margin.limit.amount.text
        );
        let mut finding = Finding::new("clearance-short", severity, PART, message)
            .in_state(STATE)
            .by(clause)
            .measured(&margin.value, &margin.limit)
            .at(Some(place), label)
            .fix(say!("at least {limit}", limit = margin.limit.amount.text));
        finding.floor = true;
        findings.push(finding);
    }
    margins.push(margin);
}

/// What hangs, against what holds it.
fn fixing(wall: &Wall, plan: &WallPlan, margins: &mut Vec<Margin>, findings: &mut Vec<Finding>) {
    let hung: Vec<&PlacedItem> = plan.items.iter().filter(|i| !i.on_floor).collect();
    if let Some(spacing) = &wall.studs {
        let bare: Vec<&str> =
            hung.iter().filter(|i| i.studs_at_least == 0).map(|i| i.item.part.as_str()).collect();
        if !bare.is_empty() {
            findings.push(
                Finding::new(
                    "stud-not-sure",
                    Severity::Warning,
                    PART,
                    say!(
                        "behind {bare} a stud is not sure to lie: they are narrower than the spacing of {spacing}",
                        bare = bare.join(", "),
                        spacing = spacing.value
                    ),
                )
                .at(Some(&spacing.place), say!("the first stud is not known"))
                .fix(say!("state first_stud, or fix them on rails or a board across two studs")),
            );
        }
    }
    let loads: Vec<Known<Mass>> = hung.iter().map(|i| i.mass_per_fixing.clone()).collect();
    let Some(worst) = Known::largest("m_1", "largest mass on one fixing", &loads) else { return };
    match &wall.fixing {
        Some(fixing) => {
            let limit = fixing.known("m_fix", "mass that one fixing carries");
            for item in hung {
                let margin = Margin::below(
                    item.item.part.clone(),
                    say!("mass on each fixing"),
                    STATE,
                    &item.mass_per_fixing,
                    &limit,
                );
                if !margin.holds() {
                    let message = say!(
                        "{part} weighs {mass} on {max} stud{x}: the wall carries {fixing} on each",
                        part = item.item.part,
                        mass = item.item.footprint.mass,
                        max = item.studs_at_least.max(1),
                        x = if item.studs_at_least > 1 { "s" } else { "" },
                        fixing = fixing.value
                    );
                    findings.push(
                        Finding::new("fixing-over", Severity::Error, item.item.part.clone(), message)
                            .in_state(STATE)
                            .measured(&margin.value, &margin.limit)
                            .at(Some(&fixing.place), say!("what one fixing carries"))
                            .fix(say!(
                                "rails or a board that spread it over more studs, with their own proof"
                            )),
                    );
                }
                margins.push(margin);
            }
        }
        None => findings.push(
            Finding::new(
                "fixing-unknown",
                Severity::Warning,
                PART,
                say!(
                    "what the wall carries is not described: {mass} hang on it, up to {worst} on one fixing",
                    mass = plan.mass.value(),
                    worst = worst.value()
                ),
            )
            .at(Some(&wall.place), say!("no fixing"))
            .fix(say!("state fixing: the mass that one stud or one fixing carries")),
        ),
    }
}
