//! The group as a source on the busbars between it and the service.
//!
//! The group's output to the utility is what the export limit lets out, which a power-control function holds. Without
//! one the rated output of all bridges counts. An export limit of zero is such a function, too.

use assess::Case;
use codebook::NotCovered;
use codebook::us::busbar_connection::{Busbar, BusbarConnection, busbar_connection, room};
use derivation::{Known, formula};
use finding::{Finding, Severity};
use plant::Layout;
use quantity::{Current, Leg, Power, Ratio, as_va};
use saying::say;
use site::{Earthing, Panel};

use crate::candidate::Design;
use crate::{Held, Verdict};

const RULE: &str = "busbar-connection";

/// A panel with its busbar and what feeds that, where both are stated.
type Fed<'a> = (&'a Panel, Option<(Known<Current>, Known<Current>)>);

/// Every panel between the group and the service, nearest first: what the group gives back flows over all of their
/// busbars.
fn panels<'a>(case: &Case<'a>) -> Vec<Fed<'a>> {
    let site = case.site;
    let find = |id: &str| site.panels.iter().find(|p| p.id.value == id);
    let mut all = Vec::new();
    let mut at = find(&site.group.panel.value);
    // no chain of a sound site is longer than its panels
    for _ in 0..site.panels.len() {
        at = at.and_then(|panel| panel.fed_from.as_ref()).and_then(|id| find(&id.value));
        let Some(panel) = at else { break };
        let main = panel.main_breaker.as_ref().map(|b| b.known("I_main", "its main breaker"));
        let service = || site.service.rating.as_ref().map(|r| r.known("I_main", "service ahead of it"));
        let busbar =
            panel.busbar.as_ref().map(|b| b.known("I_bus", format!("busbar of panel {}", panel.id.value)));
        all.push((panel, busbar.zip(main.or_else(service))));
    }
    all
}

fn us(case: &Case<'_>) -> bool {
    case.site.service.earthing.value == Earthing::Us && case.layout != Layout::Islanded
}

/// Something may flow back, as far as the units go: the export limit lets it, or only the limit stops it.
fn flows_back(case: &Case<'_>) -> bool {
    let exports = case.settings.export_limit.value() > Power::ZERO;
    case.layout != Layout::Islanded && (exports || (us(case) && case.unit.export.highest.is_some()))
}

/// Where the breakers of sources stand so that the clause of the two ends holds.
const FAR_END: &str = "away from the main";

/// What was found of a busbar, and what it rests on.
struct Told {
    finding: Finding,
    /// It holds only with the breakers of its sources at its end away from the main.
    far_end: bool,
}

impl From<Finding> for Told {
    fn from(finding: Finding) -> Self {
        Self { finding, far_end: false }
    }
}

/// The power control that a busbar rests on.
fn control(case: &Case<'_>) -> String {
    format!(
        "power control that is listed for it and locked (705.13), set to an export of no more than {}",
        case.settings.export_limit.value()
    )
}

/// Largest output current per leg that every busbar on the way takes with the group at the end away from the main; none
/// where the book does not ask or no panel is described.
pub(crate) fn busbar_room(case: &Case<'_>) -> Option<Known<Current>> {
    let stated = panels(case).into_iter().filter(|_| us(case)).filter_map(|(_, stated)| stated);
    let rooms = stated.filter_map(|(busbar, main)| room(&busbar, &main, true).ok()).map(|room| room.source);
    Known::smallest("I_room", "output that every busbar takes", &rooms.collect::<Vec<_>>())
}

/// Rated output of the bridges on a leg.
fn rated(case: &Case<'_>, leg: Leg) -> Known<Current> {
    let unit = case.unit;
    let S_1 =
        Known::catalog("S_1", "apparent power of one bridge", unit.leg_apparent, &unit.id, "leg apparent");
    let n = Known::chosen(
        "n",
        "units on the leg",
        Ratio::of(f64::from(case.formation.on(leg))),
        "formation",
        Vec::new(),
    );
    let U = case.voltage();
    if unit.leg_control == catalog::LegControl::LineToLine {
        let two = Known::factor("m", "legs of the bridge", 2.0, "between two lines");
        return formula!("I_out", "rated output", [S_1, n, U, two] => S_1 * n / U / two);
    }
    formula!("I_out", "rated output", [S_1, n, U] => S_1 * n / U)
}

/// Output that the export limit lets onto a leg with the most units.
fn limited(case: &Case<'_>) -> Known<Current> {
    let most = case.system().legs().iter().map(|leg| case.formation.on(*leg)).max().unwrap_or(0);
    let all: u32 = if case.unit.leg_control == catalog::LegControl::OneLeg {
        case.formation.units()
    } else {
        most * u32::try_from(case.system().legs().len()).unwrap_or(1)
    };
    let share = f64::from(most) / f64::from(all.max(1));
    let P_x = &case.settings.export_limit;
    let s =
        Known::chosen("s", "share of the leg with the most units", Ratio::of(share), "formation", Vec::new());
    let U = case.voltage();
    formula!("I_x", "export current on the worst leg", [P_x, s, U] => as_va(P_x * s) / U)
}

fn connect(
    busbar: &Known<Current>,
    main: &Known<Current>,
    source: Known<Current>,
) -> Result<BusbarConnection, NotCovered> {
    busbar_connection(&Busbar {
        rating: busbar.clone(),
        main: main.clone(),
        sources: vec![source],
        source_breakers: None,
        load_breakers: None,
        opposite_ends: true,
        center_fed_dwelling: false,
    })
}

/// By IEC: main and group together must not exceed the busbar, wherever they stand on it (IEC 60364-5-55 551.7 and
/// 60364-7-712, in form and from memory).
fn by_sum(case: &Case<'_>, (panel, busbar, main): (&Panel, &Known<Current>, &Known<Current>)) -> Vec<Told> {
    let source = limited(case);
    let sum = Known::sum("I_sum", "main breaker and the group's output", &[main.clone(), source]);
    if sum.value() <= busbar.value() {
        return Vec::new();
    }
    vec![
        Finding::new(
            "busbar-over",
            Severity::Error,
            format!("panel.{}", panel.id.value),
            say!(
                "main breaker and group's output are {sum} on a busbar of {busbar}",
                sum = sum.value(),
                busbar = busbar.value()
            ),
        )
        .measured(sum.node(), busbar.node())
        .by("IEC 60364-5-55 551.7 (from memory)")
        .at(panel.busbar.as_ref().map(|b| &b.place), say!("this busbar"))
        .fix(say!("a lower export limit, a smaller main breaker, or a larger panel"))
        .into(),
    ]
}

/// Holds the busbar, and says what that rests on.
pub(crate) fn add(design: &mut Design<'_>) {
    let found = findings(&design.case);
    design.source_at_far_end = found.iter().any(|told| told.far_end);
    let looked_at = us(&design.case) && flows_back(&design.case);
    if looked_at {
        // said anew each time that the design is assessed
        design.held.retain(|held| held.rule != RULE);
        let part = found.first().map_or("main panel".to_owned(), |f| f.finding.part.clone());
        design.held.push(match found.iter().map(|f| f.finding.severity).min() {
            Some(Severity::NotCovered) => Held::not_covered(RULE, &part),
            Some(Severity::Error) => Held::new(RULE, &part, false),
            _ => Held::new(RULE, &part, true),
        });
    }
    design.assessed.ledger.findings.extend(found.into_iter().map(|told| told.finding));
    if !design.case.arrays.is_empty() {
        let held = array_busbars(&design.case);
        design.source_at_far_end |= held.iter().any(|(_, told)| told.as_ref().is_some_and(|t| t.far_end));
        if design.case.site.service.earthing.value == Earthing::Us {
            if !looked_at {
                design.held.retain(|held| held.rule != RULE);
            }
            // the sum with the arrays is larger than that of the group alone
            let same = |h: &Held| h.rule == RULE && held.iter().any(|(part, _)| *part == h.part);
            design.held.retain(|h| h.verdict != Verdict::Passed || !same(h));
            design.held.extend(held.iter().map(|(part, found)| {
                match found.as_ref().map(|f| f.finding.severity) {
                    Some(Severity::NotCovered) => Held::not_covered(RULE, part),
                    Some(Severity::Error) => Held::new(RULE, part, false),
                    _ => Held::new(RULE, part, true),
                }
            }));
        }
        let found = held.into_iter().filter_map(|(_, told)| told).map(|told| told.finding);
        design.assessed.ledger.findings.extend(found);
    }
}

/// Arrays on a panel or on one that it feeds: their highest current per line.
fn arrays_on(case: &Case<'_>, panel: &str) -> Vec<Known<Current>> {
    let site = case.site;
    let find = |id: &str| site.panels.iter().find(|p| p.id.value == id);
    let mut all = Vec::new();
    for array in &site.arrays {
        let site::Coupling::Ac { panel: at, .. } = &array.coupling else { continue };
        let mut on = find(&at.value);
        let mut under = false;
        // no chain of a sound site is longer than its panels
        for _ in 0..=site.panels.len() {
            under |= on.is_some_and(|p| p.id.value == panel);
            on = on.and_then(|p| p.fed_from.as_ref()).and_then(|from| find(&from.value));
        }
        let id = crate::arrays::part(array);
        for built in case.arrays.iter().filter(|a| under && a.id == id) {
            let model = built.model;
            let I_1 =
                Known::catalog("I_1", "current of one array inverter", model.current, &model.id, "current");
            let n = Ratio::of(f64::from(built.inverters));
            let n = Known::chosen("n", format!("inverters of {id}"), n, "design", Vec::new());
            all.push(formula!("I_a", format!("highest current of {id}"), [I_1, n] => I_1 * n));
        }
    }
    all
}

/// Every busbar on the way from an array to the service carries its main, the array and what else feeds back over it:
/// each panel with what was found of it.
fn array_busbars(case: &Case<'_>) -> Vec<(String, Option<Told>)> {
    let site = case.site;
    let mut found = Vec::new();
    let upstream = panels(case);
    for panel in &site.panels {
        let mut sources = arrays_on(case, &panel.id.value);
        if sources.is_empty() {
            continue;
        }
        let shared = upstream.iter().any(|(above, _)| above.id.value == panel.id.value);
        let whole = largest_output(case).filter(|_| shared && us(case));
        let whole = whole.map(|I| {
            let all: Vec<Known<Current>> = sources.iter().cloned().chain([I]).collect();
            Known::sum("I_all", "arrays and rated output of the group over this busbar", &all)
        });
        if shared {
            sources.push(limited(case));
        }
        let service = || site.service.rating.as_ref().map(|r| r.known("I_main", "service ahead of it"));
        let main =
            panel.main_breaker.as_ref().map(|b| b.known("I_main", "its main breaker")).or_else(service);
        let busbar =
            panel.busbar.as_ref().map(|b| b.known("I_bus", format!("busbar of panel {}", panel.id.value)));
        let part = format!("panel.{}", panel.id.value);
        let (Some(busbar), Some(main)) = (busbar, main) else {
            let open = not_stated(case, &part);
            found.push((part, Some(open.into())));
            continue;
        };
        let source = Known::sum("I_src", "arrays and group over this busbar", &sources);
        found.push((part, array_busbar(case, (panel, &busbar, &main), source, whole)));
    }
    found
}

fn array_busbar(
    case: &Case<'_>,
    (panel, busbar, main): (&Panel, &Known<Current>, &Known<Current>),
    source: Known<Current>,
    whole: Option<Known<Current>>,
) -> Option<Told> {
    let part = format!("panel.{}", panel.id.value);
    let place = panel.busbar.as_ref().map(|b| &b.place);
    if case.site.service.earthing.value != Earthing::Us {
        let sum = Known::sum("I_sum", "main breaker, arrays and group", &[main.clone(), source]);
        let holds = sum.value() <= busbar.value();
        return (!holds).then(|| {
            let message = say!(
                "main breaker, arrays and group are {sum} on a busbar of {busbar}",
                sum = sum.value(),
                busbar = busbar.value()
            );
            Finding::new("busbar-over", Severity::Error, part, message)
                .measured(sum.node(), busbar.node())
                .by("IEC 60364-5-55 551.7 (from memory)")
                .at(place, say!("this busbar"))
                .fix(say!("a smaller array, a smaller main breaker, or a larger panel"))
                .into()
        });
    }
    let refused = |why: NotCovered| {
        let found =
            Finding::new("busbar-not-covered", Severity::NotCovered, part.clone(), why.reason.clone());
        Some(found.by(why.clause.clone()).at(place, say!("this busbar")).into())
    };
    let options = match connect(busbar, main, source) {
        Ok(options) => options,
        Err(why) => return refused(why),
    };
    // only its setting keeps the group below its rated output
    let controlled = match whole.map(|whole| connect(busbar, main, whole)).transpose() {
        Ok(whole) => whole.is_some_and(|whole| !whole.any),
        Err(why) => return refused(why),
    };
    if let Some(full) = options.option("full").filter(|o| o.holds) {
        let message = say!(
            "the busbar holds by {clause} with {control}",
            clause = full.clause,
            control = control(case)
        );
        return controlled.then(|| {
            Finding::new("busbar-conditions", Severity::Warning, part, message)
                .measured(full.sum.node(), full.limit.node())
                .by(format!("NEC 2023 {}", full.clause))
                .at(place, say!("this busbar"))
                .fix(say!("check it in the units' listing"))
                .into()
        });
    }
    let Some(opposite) = options.option("opposite") else {
        let message = say!("the clause gives no sum for arrays and group on this busbar");
        let found = Finding::new("busbar-not-covered", Severity::NotCovered, part, message);
        return Some(found.at(place, say!("this busbar")).into());
    };
    let found = if opposite.holds {
        let more = if controlled { format!(" and {}", control(case)) } else { String::new() };
        let message = say!(
            "the busbar holds by {clause} with the breakers of arrays and group at its end {far_end}{more}",
            clause = opposite.clause,
            far_end = FAR_END,
            more
        );
        Finding::new("busbar-conditions", Severity::Warning, part, message)
            .fix(say!("check it on site; label the breakers as the clause asks"))
    } else {
        let message = say!(
            "125 % of what arrays and group give and the main breaker are {sum} on a busbar that may take {limit}",
            sum = opposite.sum.value(),
            limit = opposite.limit.value()
        );
        Finding::new("busbar-over", Severity::Error, part, message)
            .fix(say!("a smaller array, a smaller main breaker, or a larger busbar"))
    };
    let found = found.measured(opposite.sum.node(), opposite.limit.node());
    let finding = found.by(format!("NEC 2023 {}", opposite.clause)).at(place, say!("this busbar"));
    Some(Told { finding, far_end: opposite.holds })
}

fn findings(case: &Case<'_>) -> Vec<Told> {
    if !flows_back(case) {
        return Vec::new();
    }
    let exports = case.settings.export_limit.value() > Power::ZERO;
    let open = |part: &str| Told::from(if exports { not_stated(case, part) } else { by_control(case, part) });
    let panels = panels(case);
    if panels.is_empty() {
        return vec![open("main panel")];
    }
    let each = panels.iter().flat_map(|(panel, stated)| match stated {
        None => vec![open(&format!("panel.{}", panel.id.value))],
        Some((busbar, main)) if us(case) => by_options(case, (panel, busbar, main)),
        Some((busbar, main)) => by_sum(case, (panel, busbar, main)),
    });
    each.collect()
}

fn not_stated(case: &Case<'_>, part: &str) -> Finding {
    Finding::new(
        "busbar-not-covered",
        Severity::NotCovered,
        part,
        say!("the group feeds back over a panel whose busbar and main breaker are not stated: whether it carries both supplies is not known"),
    )
    .at(Some(&case.site.group.place), say!("this group"))
    .by(if us(case) { "NEC 2023 705.12(B)" } else { "IEC 60364-5-55 551.7 (from memory)" })
    .fix(say!(
        "state `busbar` and `main_breaker` of every panel between the backup panel and the service, and `fed_from` of the backup panel"
    ))
}

/// A busbar of which nothing is stated, behind which the export limit is zero: control alone keeps the group off it.
fn by_control(case: &Case<'_>, part: &str) -> Finding {
    let message = say!(
        "busbar and main breaker are not stated: that the group's output stays off this busbar rests on {control}",
        control = control(case)
    );
    Finding::new("busbar-conditions", Severity::Warning, part, message)
        .at(Some(&case.site.group.place), say!("this group"))
        .by("NEC 2023 705.13")
        .fix(say!("check it in the units' listing, or state `busbar` and `main_breaker` of the panel"))
}

/// Rated output of the group on its worst leg.
fn largest_output(case: &Case<'_>) -> Option<Known<Current>> {
    let worst = case.system().legs().iter().map(|leg| rated(case, *leg)).collect::<Vec<_>>();
    Known::largest("I_out", "rated output on the worst leg", &worst)
}

/// By the US book: every option, for the rated output and for what the export limit lets out.
fn by_options(
    case: &Case<'_>,
    (panel, busbar, main): (&Panel, &Known<Current>, &Known<Current>),
) -> Vec<Told> {
    let place = Some(&case.site.group.place);
    let part = format!("panel.{}", panel.id.value);
    let Some(whole) = largest_output(case) else { return Vec::new() };
    let held = limited(case);
    let refused = |why: NotCovered| {
        vec![
            Finding::new("busbar-not-covered", Severity::NotCovered, part.clone(), why.reason.clone())
                .by(why.clause.clone())
                .at(place, say!("this group"))
                .into(),
        ]
    };
    let whole = match connect(busbar, main, whole) {
        Ok(options) => options,
        Err(why) => return refused(why),
    };
    let held = match connect(busbar, main, held) {
        Ok(options) => options,
        Err(why) => return refused(why),
    };
    if whole.option("full").is_some_and(|o| o.holds) {
        return Vec::new();
    }
    let Some(opposite) = held.option("opposite") else { return Vec::new() };
    if !opposite.holds {
        return vec![
            Finding::new("busbar-over", Severity::Error, part,
                say!(
                    "125 % of the group's output and the main breaker are {sum} on a busbar that may take {limit}",
                    sum = opposite.sum.value(),
                    limit = opposite.limit.value()
                ))
                .measured(opposite.sum.node(), opposite.limit.node())
                .by(format!("NEC 2023 {}", opposite.clause))
                .at(panel.busbar.as_ref().map(|b| &b.place), say!("this busbar"))
                .fix(say!(
                    "a lower export limit, a smaller main breaker, a larger busbar, or a connection on the supply side of the service"
                ))
                .into(),
        ];
    }
    let ends = !held.option("full").is_some_and(|o| o.holds);
    let controlled = !whole.any;
    let exports = case.settings.export_limit.value() > Power::ZERO;
    // without any output no end of the busbar matters
    let option = held.option("full").filter(|o| o.holds && !exports).unwrap_or(opposite);
    let mut rests = Vec::new();
    if ends {
        rests.push(format!("the group's breaker at the end of the busbar {FAR_END}"));
    }
    if controlled {
        rests.push(control(case));
    }
    if rests.is_empty() {
        return Vec::new();
    }
    vec![Told {
        far_end: ends,
        finding: Finding::new(
            "busbar-conditions",
            Severity::Warning,
            part,
            say!(
                "the busbar holds by {clause} with {rests}",
                clause = option.clause,
                rests = rests.join(" and ")
            ),
        )
        .measured(option.sum.node(), option.limit.node())
        .by(format!("NEC 2023 {}", option.clause))
        .at(panel.busbar.as_ref().map(|b| &b.place), say!("this busbar"))
        .fix(say!("check both on site and in the units' listing; label the breaker as the clause asks")),
    }]
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use quantity::Quantity;

    use super::*;

    /// NEC 2023 705.12(B)(2): 200 A main on a 225 A busbar leave 1.2 x 225 - 200 = 70 A, for sources of 70 / 1.25 = 56 A.
    #[test]
    fn room_at_the_far_end_by_hand() {
        let known = |a: f64| Known::assumed("I", "test", Current::of(a), "test");
        let far = room(&known(225.0), &known(200.0), true).expect("room");
        assert!((far.source.value().si() - 56.0).abs() < 1e-9);
        let held = connect(&known(225.0), &known(200.0), known(50.0)).expect("options");
        assert!(
            held.option("opposite").is_some_and(|o| o.holds) && !held.option("full").is_some_and(|o| o.holds)
        );
        let over = connect(&known(200.0), &known(200.0), known(41.7)).expect("options");
        assert!(!over.any);
    }
}
