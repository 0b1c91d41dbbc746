//! Every state that differs in what flows, solved in all its corners: what `states` shows. Adds nothing to the ledger.

use std::collections::BTreeMap;
use std::rc::Rc;

use catalog::PassThrough;
use network::operating::Flows;
use plant::SourceKind;
use quantity::Quantity;
use states::{Search, State};

use crate::Case;
use crate::dc::{self, DcFlow};
use crate::flowing::{Corner, Flowing, Solved, followed, magnitude};
use crate::neutral_most::{self, NeutralMost};
use crate::positions::{Electrical, collapsing, distinct, electrical};
use crate::spread::{RelayShare, shares};
use crate::state_name::name;

/// A state with its corners.
#[derive(Debug, Clone)]
pub struct StateDetail {
    /// Short name.
    pub name: String,
    /// Sources and positions in words.
    pub situation: String,
    /// Shortest sequence of steps from normal operation.
    pub steps: Vec<String>,
    /// What the units and loads may do in it.
    pub corners: Vec<CornerDetail>,
    /// How many more states of this name carry the same.
    pub more_like_it: usize,
    /// The state itself.
    pub state: State,
    /// The group forms a voltage of its own.
    pub forms: bool,
    /// The source outside the group that its units follow; none where they follow none.
    pub follows: Option<SourceKind>,
    /// Where every device of the full plant stands; none where a device is not in it.
    pub positions: Option<Vec<u8>>,
}

/// A solved corner.
#[derive(Debug, Clone)]
pub struct CornerDetail {
    /// Its word: load, charging, exporting, contributing, helping the generator, one unit out.
    pub word: &'static str,
    /// Why it has no answer.
    pub problem: Option<String>,
    /// Voltage of the backup panel from L1, L2 and L3 to its neutral, in volts.
    pub panel_v: [Option<f64>; 3],
    /// Voltage of the main panel likewise.
    pub main_v: [Option<f64>; 3],
    /// Parts that carry something, those of all units together.
    pub parts: Vec<PartFlow>,
    /// Least and largest current that a unit in service gives or takes on any leg, in amperes.
    pub unit_a: Option<(f64, f64)>,
    /// Direct current of all units together from the battery at its lowest working voltage, in amperes, where they
    /// form the voltage; an upper bound: their apparent power as if it were active, with the losses of a unit whose legs
    /// are all as full as the fullest, and what all draw without load.
    pub dc_a: Option<f64>,
    /// The direct-current side, where there is a bank: while the units form the voltage at the least charge that may be
    /// used, with their apparent power as if it were active; while they charge, at their highest setting.
    pub dc: Option<DcFlow>,
    /// Units with a leg at its current limit.
    pub at_limit: usize,
    /// What the hottest relay may carry, where the catalogue states path resistances.
    pub relays: Vec<RelayShare>,
    /// Largest mismatch of Kirchhoff's current law, in amperes.
    pub residual_a: f64,
    /// The solve itself, part by part of the full plant; none without an answer.
    pub flows: Option<Rc<Flows>>,
}

/// Current of a part, or of the same part of all units together.
#[derive(Debug, Clone)]
pub struct PartFlow {
    /// Role path without the unit's number.
    pub role: String,
    /// Name for people.
    pub name: String,
    /// Magnitudes on L1, L2 and L3, in amperes.
    pub legs_a: [f64; 3],
    /// Magnitude on the neutral with these currents, in amperes: Kirchhoff's law holds with it.
    pub neutral_a: f64,
    /// What may flow on the neutral at the most unbalanced loads, in amperes: never below [`PartFlow::neutral_a`], and
    /// what is to be shown to people.
    pub neutral_most_a: f64,
}

/// Solves every state. The relay spread is drawn too where `draw`.
pub fn detail(case: &Case<'_>, draw: bool) -> Vec<StateDetail> {
    let search = states::search(&case.plant);
    let flowing = Flowing::new(case);
    let mut all: Vec<StateDetail> = Vec::new();
    let mut known: BTreeMap<(String, Electrical), usize> = BTreeMap::new();
    for k in distinct(case, &search) {
        let Some(reached) = search.states.get(k) else { continue };
        let key = (name(case, reached), electrical(case, reached));
        if let Some(same) = known.get(&key).and_then(|first| all.get_mut(*first)) {
            same.more_like_it += 1;
            continue;
        }
        let Some(detail) = one(case, &flowing, &search, k, draw) else { continue };
        // what is connected differently may carry the same
        match all.iter_mut().find(|other| other.name == detail.name && flows_alike(other, &detail)) {
            Some(same) => same.more_like_it += 1,
            None => {
                known.insert(key, all.len());
                all.push(detail);
            }
        }
    }
    all
}

/// Whether two states show the same currents, to a hundredth of an ampere.
fn flows_alike(a: &StateDetail, b: &StateDetail) -> bool {
    let near = |x: f64, y: f64| (x - y).abs() < 0.01;
    a.corners.len() == b.corners.len()
        && a.corners.iter().zip(&b.corners).all(|(a, b)| {
            let parts = a.parts.iter().zip(&b.parts).all(|(p, q)| {
                p.role == q.role
                    && near(p.neutral_a, q.neutral_a)
                    && near(p.neutral_most_a, q.neutral_most_a)
                    && p.legs_a.iter().zip(&q.legs_a).all(|(x, y)| near(*x, *y))
            });
            a.word == b.word && a.problem == b.problem && a.parts.len() == b.parts.len() && parts
        })
}

fn one(
    case: &Case<'_>,
    flowing: &Flowing<'_, '_>,
    search: &Search,
    k: usize,
    draw: bool,
) -> Option<StateDetail> {
    let reached = search.states.get(k)?;
    let mut corners = Vec::new();
    if let Some(element) = case.plant.looped(&reached.state.positions) {
        corners.push(without(Corner::Load, format!("closed gear makes a loop at {}", element.name)));
    } else {
        for corner in Corner::ALL {
            match flowing.solve(reached, corner) {
                None => {}
                Some(Ok(solved)) => {
                    let most = neutral_most::of(flowing, reached, &solved);
                    corners.push(corner_detail(case, flowing, (&solved, &most), draw));
                }
                Some(Err(error)) => corners.push(without(corner, error.to_string())),
            }
        }
    }
    Some(StateDetail {
        more_like_it: 0,
        name: name(case, reached),
        situation: states::situation(&reached.state, &case.plant),
        steps: states::tell(&search.path(k), &case.plant),
        corners,
        follows: followed(case, reached),
        forms: reached.state.group_forms(&case.plant) && !collapsing(case, reached),
        positions: flowing.plant.positions_like(&case.plant, &reached.state.positions),
        state: reached.state.clone(),
    })
}

fn without(corner: Corner, problem: String) -> CornerDetail {
    CornerDetail {
        word: corner.word(),
        problem: Some(problem),
        panel_v: [None; 3],
        main_v: [None; 3],
        parts: Vec::new(),
        unit_a: None,
        dc_a: None,
        dc: None,
        at_limit: 0,
        relays: Vec::new(),
        residual_a: f64::NAN,
        flows: None,
    }
}

fn corner_detail(
    case: &Case<'_>,
    flowing: &Flowing<'_, '_>,
    (solved, most): (&Solved, &NeutralMost),
    draw: bool,
) -> CornerDetail {
    let flows = &solved.flows;
    let at = |id: &str| {
        let node = flowing.plant.node_ix(id);
        node.and_then(|node| flows.voltages.get(node.0)).copied().unwrap_or([None; 3])
    };
    let mut parts = Vec::new();
    for (role, members) in flowing.roles() {
        let Some(first) = members.first().and_then(|k| flowing.plant.parts.get(*k)) else { continue };
        let of = |conductor: usize| {
            let currents = members.iter().filter_map(|k| flows.parts.get(*k)?.get(conductor));
            magnitude(currents.sum())
        };
        let (legs_a, neutral_a) = ([of(0), of(1), of(2)], of(3));
        let neutral_most_a = most.of(members, neutral_a);
        if legs_a.iter().any(|a| *a > 0.0) || neutral_most_a > 0.0 {
            let (role, name) = (role.to_owned(), first.kind_name());
            parts.push(PartFlow { role, name, legs_a, neutral_a, neutral_most_a });
        }
    }
    // in the order of the plant, not of the roles' names
    parts.sort_by_key(|p| {
        flowing.roles().find(|(role, _)| *role == p.role).and_then(|(_, m)| m.first().copied())
    });
    let own = flowing.plant.units.iter().zip(&flows.units);
    let own = own
        .flat_map(|(unit, i)| unit.legs.iter().filter_map(|leg| i.get(leg.index())).map(|i| magnitude(*i)));
    let own: Vec<f64> = own.filter(|a| *a > 0.0).collect();
    let unit_a = (!own.is_empty()).then(|| {
        (own.iter().copied().fold(f64::INFINITY, f64::min), own.iter().copied().fold(0.0, f64::max))
    });
    let states_resistance = matches!(case.unit.pass_through, PassThrough::Matched { .. });
    CornerDetail {
        word: solved.corner.word(),
        problem: None,
        panel_v: flows.voltages.get(flowing.plant.panel.0).copied().unwrap_or([None; 3]),
        main_v: at("main"),
        parts,
        unit_a,
        dc_a: (matches!(solved.corner, Corner::Load | Corner::OneOut) && unit_a.is_some())
            .then(|| dc_a(case, flows)),
        dc: match solved.corner {
            Corner::Load | Corner::OneOut if unit_a.is_some() => dc::flow(case, &given_va(case, flows)),
            Corner::Charging => dc::flow_charging(case),
            _ => None,
        },
        at_limit: flows.at_limit.iter().filter(|at| **at).count(),
        relays: if states_resistance { shares(case, flowing, solved, draw) } else { Vec::new() },
        residual_a: flows.residual_a,
        flows: Some(solved.flows.clone()),
    }
}

/// What each unit gives.
fn given_va(case: &Case<'_>, flows: &Flows) -> Vec<dc::UnitGiven> {
    let volts = case.system().phase_voltage().si();
    let of = |legs: &network::operating::Legs| {
        let legs_va = || legs.iter().map(|i| magnitude(*i) * volts);
        dc::UnitGiven { all_va: legs_va().sum(), fullest_va: legs_va().fold(0.0, f64::max) }
    };
    flows.units.iter().map(of).collect()
}

/// See [`CornerDetail::dc_a`].
fn dc_a(case: &Case<'_>, flows: &Flows) -> f64 {
    let given = given_va(case, flows).into_iter().filter(|given| given.all_va > 0.0);
    given.map(|given| dc::from_bus_w(case, given)).sum::<f64>() / case.unit.dc.lowest.si()
}

/// Lowest voltage of a panel over its legs as a share of nominal.
pub fn lowest_share(case: &Case<'_>, volts: &[Option<f64>; 3]) -> Option<f64> {
    let nominal = case.system().phase_voltage().si();
    volts.iter().flatten().map(|v| v / nominal).reduce(f64::min)
}
