//! How far the relays of one leg may share apart, where the catalogue states the resistance of their paths.

use catalog::PassThrough;
use derivation::Known;
use finding::{Finding, Margin, Severity};
use network::NetworkError;
use network::spread::{Distribution, Draws, PathRange, Spread};
use plant::full::FullPlant;
use quantity::{Current, Leg, Quantity, Resistance};
use saying::{Text, say};

use crate::flowing::{Corner, Flowing, Solved, magnitude};
use crate::positions::nothing;
use crate::{Case, Ledger, passing};

/// What one relay of a leg may carry.
#[derive(Debug, Clone)]
pub struct RelayShare {
    /// Leg.
    pub leg: Leg,
    /// Largest within all ranges.
    pub corner: Known<Current>,
    /// Its distribution over seeded draws, where asked for.
    pub draws: Option<Distribution>,
}

/// Draws of one distribution, and their seed.
const DRAWS: Draws = Draws { count: 10_000, seed: 1 };

/// Relays of a leg that are closed in a solved state.
fn closed(plant: &FullPlant, solved: &Solved, leg: Leg) -> usize {
    let relays = plant.parts.iter().zip(&solved.flows.parts).filter(|(part, currents)| {
        part.id.ends_with(".relay") && currents.get(leg.index()).is_some_and(|i| magnitude(*i) > 0.0)
    });
    relays.count()
}

/// Lowest resistance of a new path, highest at the end of life, where stated.
fn resistances(case: &Case<'_>) -> Option<[Known<Resistance>; 2]> {
    let PassThrough::Matched { new, end_of_life, .. } = &case.unit.pass_through else { return None };
    let known = |symbol, what, value, field| Known::catalog(symbol, what, value, &case.unit.id, field);
    Some([
        known("R_min", "lowest path resistance new", new.lowest, "pass_through new"),
        known(
            "R_max",
            "highest path resistance at the end of life",
            end_of_life.highest,
            "pass_through end_of_life",
        ),
    ])
}

/// The paths of a leg with what flows through them; none where the catalogue states no resistances or none carries.
fn spread(
    case: &Case<'_>,
    flowing: &Flowing<'_, '_>,
    solved: &Solved,
    leg: Leg,
) -> Option<Result<Spread, NetworkError>> {
    let [lowest, highest] = resistances(case)?;
    let n = closed(&flowing.plant, solved, leg);
    let total = magnitude(flowing.total(&solved.flows, "unit.relay", leg));
    if n == 0 || total <= 0.0 {
        return None;
    }
    let own: Vec<f64> = flowing
        .plant
        .units
        .iter()
        .zip(&solved.flows.units)
        .filter(|(u, _)| u.legs.contains(&leg))
        .filter_map(|(_, i)| i.get(leg.index()))
        .map(|i| magnitude(*i))
        .collect();
    let most = own.iter().copied().fold(0.0, f64::max);
    // what passes on to the panel, as large as it is: not what the total leaves beside the units' own currents, which
    // need not be in phase with it
    let panel = magnitude(flowing.total(&solved.flows, "group.output", leg));
    let panel = solved.known(format!("current through the units to the panel on {leg}"), panel, leg);
    let most = solved.known(format!("own current of one unit on {leg}"), most, leg);
    let none = nothing("own current", "the units may also stand by");
    let minus = Known::chosen(
        "I_own",
        "own current given",
        Current::from_si(-most.value().si()),
        "as much, given",
        vec![most.node().clone()],
    );
    let made = || {
        let range = PathRange::between(&lowest, &highest)?;
        let range = match solved.corner {
            Corner::Charging => range.own(&none, &most)?,
            Corner::Helping => range.own(&minus, &most)?,
            Corner::Exporting | Corner::Contributing => range.own(&minus, &none)?,
            _ => range,
        };
        Spread::new(vec![range; n], &panel)
    };
    Some(made())
}

/// The largest current per leg that the units of the leg with the fewest may give or take together by their own
/// bridges, the hottest relay with one path open kept; none where one relay is counted, or the catalogue states no path
/// resistances.
pub fn own_within(case: &Case<'_>) -> Option<Known<Current>> {
    let I_r = relay(case);
    if passing::limit(case).value() <= I_r.value() {
        return None;
    }
    let n = usize::try_from(case.formation.fewest()).ok()?;
    let [lowest, highest] = resistances(case)?;
    let one =
        Known::assumed("J_1", "own current of each unit", Current::of(1.0), "one ampere, for the share");
    let none = nothing("own current", "the units may also stand by");
    let range = PathRange::between(&lowest, &highest).ok()?.own(&none, &one).ok()?;
    let panel = nothing("current to the panel", "the units' own current alone");
    let spread = Spread::new(vec![range; n], &panel).ok()?.with_open(0).ok()?;
    let corner = spread.corner().ok()?.current;
    let from = vec![I_r.node().clone(), corner.node().clone()];
    let most = Current::from_si(I_r.value().si() * n as f64 / corner.value().si());
    let equation = "I_own = n I_r / (hottest relay for one ampere of each unit)";
    Some(Known::solved(
        "I_own",
        "own current of all units that the hottest relay passes",
        most,
        equation,
        0.0,
        from,
    ))
}

/// The hottest relay of each leg of a solved state.
pub(crate) fn shares(
    case: &Case<'_>,
    flowing: &Flowing<'_, '_>,
    solved: &Solved,
    draw: bool,
) -> Vec<RelayShare> {
    let I_r = relay(case);
    let legs = case.system().legs().iter();
    let shares = legs.filter_map(|&leg| {
        let spread = spread(case, flowing, solved, leg)?.ok()?;
        let corner = spread.corner().ok()?.current;
        let draws = if draw { spread.draw(DRAWS, Some(&I_r)).ok() } else { None };
        Some(RelayShare { leg, corner, draws })
    });
    shares.collect()
}

fn relay(case: &Case<'_>) -> Known<Current> {
    Known::catalog(
        "I_r",
        "rating of one transfer relay",
        case.unit.relay.continuous,
        &case.unit.id,
        "relay continuous",
    )
}

/// Where several relays are counted, the hottest of them with the units' own currents, one path open, against one
/// relay.
pub(crate) fn hold(
    case: &Case<'_>,
    flowing: &Flowing<'_, '_>,
    (state, solved): (&str, &Solved),
    ledger: &mut Ledger,
) {
    let I_r = relay(case);
    if passing::limit(case).value() <= I_r.value() {
        return;
    }
    for &leg in case.system().legs() {
        let Some(all) = spread(case, flowing, solved, leg) else { continue };
        let worst = all.and_then(|all| all.with_open(0)).and_then(|open| open.corner());
        let margin = match worst {
            Ok(corner) => {
                let what =
                    say!("hottest relay, one path open, {corner}, {leg}", corner = solved.corner.word(), leg);
                Margin::below("unit.relay", what, state, &corner.current, &I_r)
            }
            Err(error) => {
                ledger.find(
                    Finding::new(
                        "flow-not-covered",
                        Severity::NotCovered,
                        "unit.relay",
                        say!("how the relays share cannot be told: {error}", error),
                    )
                    .in_state(state)
                    .at(Some(&case.site.group.unit.place), say!("this family")),
                );
                continue;
            }
        };
        let margin = if solved.corner == Corner::Load { margin } else { margin.held_by("input limit") };
        ledger.hold(margin, |m| {
            Finding::new(
                "relay-share-over",
                Severity::Error,
                "unit.relay",
                say!(
                    "{when} one relay may carry {value} of what passes on {leg}; it is rated {limit}",
                    when = when(solved.corner),
                    value = m.value.amount.text,
                    leg,
                    limit = m.limit.amount.text
                ),
            )
            .at(Some(case.arrangement_place()), say!("fed through the units"))
            .fix(say!("lower the input limit or the export, or move loads off the backup panel"))
        });
    }
}

/// When a corner is, at the head of a sentence.
fn when(corner: Corner) -> Text {
    match corner {
        Corner::Load => say!("under the loads alone"),
        Corner::OneOut => say!("with one unit out"),
        other => say!("while {other}", other = other.word()),
    }
}
