//! Every rated part of the full plant against what flows through it in its worst state.
//!
//! Parts that each unit has (input and output breakers, their conductors) are held together: while a source feeds
//! through the units, the total against what the counted paths pass; while the group forms the voltage, the part of the
//! unit that carries the most by the family's tolerance. Service, relays and switch poles have lines of their own.

use std::collections::BTreeMap;

use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::full::{NeutralPath, Part, PartKind};
use quantity::{Current, Leg, Quantity, Ratio};
use saying::say;
use states::{Reached, Search};

use crate::flowing::{Corner, Flowing, Solved, magnitude};
use crate::positions::nothing;
use crate::state_name::name;
use crate::{Case, Ledger, counted, passing};

/// Largest current of a role on a leg, each unit's or all units' together.
struct Worst {
    current: Known<Current>,
    state: usize,
    corner: Corner,
    together: bool,
}

/// The worst of every role and leg, one way and the other.
#[derive(Default)]
pub(crate) struct WorstParts {
    of: BTreeMap<(String, Leg, bool, Corner), Worst>,
    /// States in which a role carries the panel's load.
    carries: BTreeMap<(String, bool), usize>,
}

/// Parts whose lines in the ledger come from elsewhere.
fn held_elsewhere(case: &Case<'_>, part: &Part) -> bool {
    let id = part.role();
    matches!(id.as_str(), "service" | "service.conductor")
        || matches!(part.kind, PartKind::Relay)
        || case.plant.elements.iter().any(|e| e.id == part.id)
}

/// The first part of every rated role that has its lines here.
fn rated<'f>(case: &'f Case<'_>, flowing: &'f Flowing<'_, '_>) -> impl Iterator<Item = (&'f str, &'f Part)> {
    let first = |(role, parts): (&'f str, &'f [usize])| {
        let part = flowing.plant.parts.get(*parts.first()?)?;
        Some((role, part))
    };
    flowing.roles().filter_map(first).filter(|(_, p)| p.rating.is_some() && !held_elsewhere(case, p))
}

impl WorstParts {
    /// Takes a solved corner of a state in.
    pub fn take(
        &mut self,
        case: &Case<'_>,
        flowing: &Flowing<'_, '_>,
        (k, reached): (usize, &Reached),
        solved: &Solved,
    ) {
        let forms = reached.state.group_forms(&case.plant);
        for (id, part) in rated(case, flowing) {
            let of_unit = id != part.id;
            for &leg in case.system().legs() {
                let total = magnitude(flowing.total(&solved.flows, id, leg));
                if total <= 0.0 {
                    continue;
                }
                let what = say!(
                    "current of {kind_name} on {leg}, {corner}",
                    kind_name = part.kind_name(),
                    leg,
                    corner = solved.corner.word()
                );
                let mut current = solved.known(what, total, leg);
                if of_unit && forms {
                    current = one_unit(case, leg, &current);
                }
                let together = of_unit && !forms;
                if solved.corner == Corner::Load && current.value() > Current::ZERO {
                    self.carries.entry((id.to_owned(), together)).or_insert(k);
                }
                let more = self
                    .of
                    .get(&(id.to_owned(), leg, together, solved.corner))
                    .is_none_or(|worst| current.value() > worst.current.value());
                if more {
                    let worst = Worst { current, state: k, corner: solved.corner, together };
                    self.of.insert((id.to_owned(), leg, together, solved.corner), worst);
                }
            }
        }
    }

    /// Largest currents of a role in corners that count, each with whether all units' are taken together.
    pub fn currents<'w>(
        &'w self,
        role: &'w str,
        counts: impl Fn(Corner) -> bool + 'w,
    ) -> impl Iterator<Item = (bool, &'w Known<Current>)> {
        let mine = self.of.iter().filter(move |((r, _, _, corner), _)| r == role && counts(*corner));
        mine.map(|((_, _, together, _), worst)| (*together, &worst.current))
    }

    /// Whether a role carries the panel's load in some state.
    pub fn carries_panel(&self, role: &str) -> bool {
        self.carries.keys().any(|(r, _)| r == role)
    }

    /// Writes the lines of the ledger.
    pub fn hold(&self, case: &Case<'_>, flowing: &Flowing<'_, '_>, search: &Search, ledger: &mut Ledger) {
        for (id, part) in rated(case, flowing) {
            let Some(rating) = &part.rating else { continue };
            let mut any = false;
            for worst in self.of.iter().filter(|((role, ..), _)| *role == id) {
                any = true;
                let ((_, leg, _, _), worst) = worst;
                let limit = limit(case, id, rating, worst.together);
                let state = search.states.get(worst.state).map_or_else(String::new, |s| name(case, s));
                let what = match worst.corner {
                    Corner::Load | Corner::OneOut => say!("current, {leg}", leg),
                    corner => say!("current {corner}, {leg}", corner = corner.word(), leg),
                };
                let margin = Margin::below(id, what, state, &worst.current, &limit);
                let margin = match worst.corner {
                    Corner::Charging | Corner::Contributing | Corner::Helping => {
                        margin.held_by("input limit")
                    }
                    Corner::Exporting => margin.held_by("export limit"),
                    Corner::Load | Corner::OneOut | Corner::Array => margin,
                };
                ledger.hold(margin, |m| over(case, part, m, "current"));
            }
            any |= self.neutral(case, (part, id, rating), search, ledger);
            if !any {
                let none = nothing("current", "it carries nothing in any state");
                ledger.hold(Margin::below(id, say!("current"), "every state", &none, rating), |m| {
                    over(case, part, m, "current")
                });
            }
        }
    }

    /// What carries the panel's load carries its neutral.
    fn neutral(
        &self,
        case: &Case<'_>,
        (part, id, rating): (&Part, &str, &Known<Current>),
        search: &Search,
        ledger: &mut Ledger,
    ) -> bool {
        let mut any = false;
        for (together, k, value) in self.neutrals(case, (part, id)) {
            let state = search.states.get(k).map_or_else(String::new, |s| name(case, s));
            let limit = limit(case, id, rating, together);
            let margin = Margin::below(id.to_owned(), say!("neutral current"), state, &value, &limit);
            ledger.hold(margin, |m| over(case, part, m, "neutral current"));
            any = true;
        }
        any
    }

    /// Neutral currents of a role: whether they are all units' together, in which state, and how large.
    fn neutrals(&self, case: &Case<'_>, (part, id): (&Part, &str)) -> Vec<(bool, usize, Known<Current>)> {
        if part.neutral == NeutralPath::Absent {
            return Vec::new();
        }
        let states = self.carries.iter().filter(|((role, _), _)| role == id).map(|((_, t), k)| (*t, *k));
        let mut states: Vec<(bool, usize)> = states.collect();
        if !part.lines && states.is_empty() {
            states.push((false, 0));
        }
        let of = |(together, k): (bool, usize)| {
            let of_unit = id != part.id;
            let mut value = self.held_neutral(case, id, (together, of_unit && !together));
            if of_unit && !together {
                let leg = case.system().legs().first().copied().unwrap_or(Leg::L1);
                value = one_unit(case, leg, &value);
            }
            (together, k, value)
        };
        states.into_iter().map(of).collect()
    }

    /// What one of the parts of a role that every unit has must pass at least: of what they pass together, what falls
    /// on a path that is counted.
    pub fn of_one(&self, case: &Case<'_>, (part, role): (&Part, &str)) -> Vec<Known<Current>> {
        let k = paths(case);
        let share = |together: bool, I: Known<Current>| {
            // a second input's are held against one alone
            if !together || role.starts_with("unit.second") {
                return I;
            }
            formula!("I_p", "part of a path that is counted", [I, k] => I / k)
        };
        let lines = self.currents(role, |_| true).map(|(together, I)| share(together, I.clone()));
        let neutrals =
            self.neutrals(case, (part, role)).into_iter().map(|(together, _, I)| share(together, I));
        lines.chain(neutrals).collect()
    }

    /// Currents of motor starts through one of the parts of a role that every unit has: on a source what the motor takes
    /// at full voltage, in the island no more than a unit can give.
    pub fn starts_of_one(&self, case: &Case<'_>, role: &str) -> Vec<Known<Current>> {
        let k = paths(case);
        let surge = Known::catalog(
            "I_s",
            "surge current of a unit",
            case.unit.surge.current,
            &case.unit.id,
            "surge current",
        );
        let mut all = Vec::new();
        for (leg, start) in case.demand.starts.iter().flat_map(|event| &event.legs) {
            let (S_s, S_r, U) = (&start.start_known, &start.running_known, &case.voltage());
            let what = "current with the motor at standstill";
            let I_st: Known<Current> = formula!("I_st", what, [S_s, S_r, U] => (S_s + S_r) / U);
            for (_, together) in self.carries.keys().filter(|(its, _)| its == role) {
                all.push(if *together && role.starts_with("unit.second") {
                    I_st.clone()
                } else if *together {
                    formula!("I_p", "part of a path that is counted, in a start", [I_st, k] => I_st / k)
                } else {
                    let I_1 = one_unit(case, *leg, &I_st);
                    Known::smallest("I_1", "current of a unit in a start", &[I_1.clone(), surge.clone()])
                        .unwrap_or(I_1)
                });
            }
        }
        all
    }
}

impl WorstParts {
    /// The panel's neutral current; where its line current is held below what the panel asks for (a generator's
    /// breaker or limit), no more of it than goes with that line current: the units' bridges return the rest.
    fn held_neutral(
        &self,
        case: &Case<'_>,
        id: &str,
        (together, one_of_many): (bool, bool),
    ) -> Known<Current> {
        let I_N = case.demand.neutral.clone();
        let lines = self.of.iter().filter(|((role, _, t, _), w)| {
            role == id && *t == together && matches!(w.corner, Corner::Load | Corner::OneOut)
        });
        let lines: Vec<Known<Current>> = lines.map(|(_, worst)| worst.current.clone()).collect();
        let line = Known::largest("I_l", "largest line current", &lines);
        let worst = case.demand.worst_leg().map(|(_, lane)| lane.steady_current.clone());
        let (Some(I_l), Some(I_w)) = (line, worst) else { return I_N };
        if one_of_many || I_l.value().si() >= I_w.value().si() * (1.0 - 1e-6) {
            return I_N;
        }
        let most = if I_N.value() > I_w.value() {
            formula!("I_Nl", "neutral that goes with the held line current", [I_N, I_l, I_w] => I_N * (I_l / I_w))
        } else {
            I_l
        };
        Known::smallest("I_N", "neutral current", &[I_N.clone(), most]).unwrap_or(I_N)
    }
}

/// The current of the unit that carries the most of a leg's, with one unit out where the site asks for that.
fn one_unit(case: &Case<'_>, leg: Leg, total: &Known<Current>) -> Known<Current> {
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    let on = case.formation.on(leg);
    let n = on.saturating_sub(out).max(1);
    let n_c = counted(case.unit, n);
    formula!("I_1", "current of the unit that carries the most", [total, n_c] => total / n_c)
}

/// What a part passes; of parts side by side, what the counted paths pass together.
fn limit(case: &Case<'_>, id: &str, rating: &Known<Current>, together: bool) -> Known<Current> {
    if !together || id.starts_with("unit.second") {
        return rating.clone();
    }
    let (k, I_n) = (paths(case), rating);
    formula!("I_path", "what the counted paths pass together", [I_n, k] => I_n * k)
}

/// How many of the paths side by side are counted.
fn paths(case: &Case<'_>) -> Known<Ratio> {
    let passes = passing::limit(case);
    let one = case.unit.relay.continuous.si();
    Known::chosen(
        "k",
        "paths that are counted",
        Ratio::of(passes.value().si() / one),
        "pass-through of the group over the rating of one relay",
        vec![passes.node().clone()],
    )
}

fn over(case: &Case<'_>, part: &Part, m: &Margin, what: &str) -> Finding {
    Finding::new(
        "part-over-rating",
        Severity::Error,
        part.role(),
        say!(
            "{kind_name}: its {what} is {value}; it passes {limit}",
            kind_name = part.kind_name(),
            what,
            value = m.value.amount.text,
            limit = m.limit.amount.text
        ),
    )
    .at(Some(case.arrangement_place()), say!("this arrangement"))
    .fix(say!("move loads off the backup panel, lower the input limit, or choose larger gear"))
}
