//! From the site to the assessment.

use std::collections::{BTreeMap, BTreeSet};

use derivation::Known;
use finding::{Finding, Severity};
use quantity::{Current, Leg, Quantity, Ratio};
use reading::Diagnostic;
use saying::say;
use site::{DemandMethod, Load, LoadClass, MotorStarts, Schedule, Season, Site};

use crate::assumptions::Assumptions;
use crate::balance::{self, Outcome};
use crate::measured::{self, MeasuredDemand};
use crate::model::{Assessment, Balance, Item, PanelDemand, Placement};
use crate::panel::Members;
use crate::pieces::{Context, Piece};
use crate::profile::Profile;
use crate::series::{self, Series};
use crate::starts::Starts;

/// Assesses the loads of a site. `stage` names the growth stage that is looked at; `None` is today.
///
/// It never panics: what is wrong becomes a finding, and series that cannot be used become diagnostics.
pub fn assess(site: &Site, files: &dyn reading::Files, stage: Option<&str>) -> Assessment {
    let mut work = Work::new(site);
    let loads = work.present(stage);
    work.refuse_lifelines(&loads);
    let series = work.read_series(&loads, files);
    let (mut pieces, measured) = work.pieces(&loads, &series);
    let outcomes = work.balance(&mut pieces);
    let together = work.starts_together(&pieces);
    let known = Spread { pieces: &pieces, measured: measured.as_ref(), outcomes: &outcomes, together };
    let mut panels = BTreeMap::new();
    for panel in &site.panels {
        let id = &panel.id.value;
        let tree = work.subtree(id);
        let demand = work.panel(id, &tree, &known);
        panels.insert(id.clone(), demand);
    }
    let whole = work.whole(&known, &panels);
    let beside = work.beside(&known);
    let service = work.service(&pieces, measured.as_ref(), &series);
    let items = items(site, &pieces);
    work.findings.sort_by(|a, b| (a.severity, a.id, &a.part).cmp(&(b.severity, b.id, &b.part)));
    reading::sort(&mut work.diagnostics);
    Assessment {
        panels,
        findings: work.findings,
        diagnostics: work.diagnostics,
        assumptions: work.assumptions.all(),
        service,
        whole,
        beside,
        items,
    }
}

/// The loads once they are placed on legs, and what decides how they are counted.
pub(crate) struct Spread<'p> {
    pub pieces: &'p [Piece],
    pub measured: Option<&'p MeasuredDemand>,
    /// The panels of the group's tree, how well its loads are spread, and how well the others are.
    pub outcomes: &'p (BTreeSet<String>, Outcome, Outcome),
    /// All motors may start at the same moment.
    pub together: bool,
}

/// An assessment under way.
pub(crate) struct Work<'a> {
    pub site: &'a Site,
    pub us: bool,
    pub assumptions: Assumptions,
    pub findings: Vec<Finding>,
    diagnostics: Vec<Diagnostic>,
}

impl<'a> Work<'a> {
    fn new(site: &'a Site) -> Self {
        let us = Context::is_us(site.service.system.value, site.service.earthing.value);
        let (assumptions, findings, diagnostics) = (Assumptions::default(), Vec::new(), Vec::new());
        Self { site, us, assumptions, findings, diagnostics }
    }

    /// Loads that exist at a stage, in order of name. An unknown stage has all of them.
    fn present(&mut self, stage: Option<&str>) -> Vec<&'a Load> {
        let site = self.site;
        let years = |id: &str| site.stages.iter().find(|s| s.id.value == id).map(|s| s.after_years.value);
        let reached = stage.map(|id| (id, years(id)));
        if let Some((id, None)) = reached {
            self.findings.push(
                Finding::new(
                    "stage-unknown",
                    Severity::NotCovered,
                    "site",
                    say!("the site has no stage \"{id}\": the loads of all stages are counted", id),
                )
                .fix(say!("name a stage of the site file")),
            );
        }
        let exists = |load: &Load| match (&load.stage, reached) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(_), Some((_, None))) => true,
            (Some(its), Some((id, Some(now)))) => {
                its.value == id || years(&its.value).is_none_or(|then| then <= now)
            }
        };
        let mut loads: Vec<&Load> = site.loads.iter().filter(|l| exists(l)).collect();
        loads.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        loads
    }

    /// Loads that law or code makes someone's lifeline are refused, whatever panel they are on.
    fn refuse_lifelines(&mut self, loads: &[&Load]) {
        for load in loads {
            let Some(class) = &load.class else { continue };
            let (word, clause) = match class.value {
                LoadClass::Optional => continue,
                LoadClass::Emergency => ("an emergency load", "NEC 2023 article 700"),
                LoadClass::LegallyRequired => ("a legally required standby load", "NEC 2023 article 701"),
                LoadClass::EssentialHealthCare => {
                    ("part of an essential electrical system of health care", "NEC 2023 article 517")
                }
                LoadClass::CriticalOperations => ("a critical operations load", "NEC 2023 article 708"),
            };
            let name = &load.name.value;
            self.findings.push(
                Finding::new(
                    "lifeline-load",
                    Severity::NotCovered,
                    format!("load.{name}"),
                    say!(
                        "\"{name}\" is {word}: this tool designs optional standby only and refuses it",
                        name,
                        word
                    ),
                )
                .by(clause)
                .at(Some(&class.place), say!("refused"))
                .fix(say!(
                    "have it supplied by a system designed and listed for its class, and leave it out here"
                )),
            );
        }
    }

    fn power_factor(&self) -> f64 {
        match &self.site.demand {
            DemandMethod::Measured(m) => {
                m.power_factor.as_ref().map_or(measured::POWER_FACTOR, |pf| pf.value.si())
            }
            _ => measured::POWER_FACTOR,
        }
    }

    /// Every file with a series that the site names, by name.
    fn read_series(&mut self, loads: &[&Load], files: &dyn reading::Files) -> BTreeMap<String, Series> {
        let mut wanted = BTreeMap::new();
        for load in loads {
            if let Schedule::Series(file) = &load.schedule {
                wanted.entry(file.value.clone()).or_insert(&file.place);
            }
        }
        if let DemandMethod::Measured(m) = &self.site.demand {
            wanted.insert(m.file.value.clone(), &m.file.place);
        }
        let mut read = BTreeMap::new();
        for (name, place) in wanted {
            match files.read(&name) {
                Err(why) => self.diagnostics.push(
                    Diagnostic::new("unreadable-series", format!("{name} cannot be read: {why}"))
                        .at(place, say!("named here"))
                        .help("put the file beside the site file"),
                ),
                Ok(bytes) => {
                    let system = self.site.service.system.value;
                    match series::read(&name, &bytes, system, self.power_factor()) {
                        Ok(series) => {
                            read.insert(name, series);
                        }
                        Err(mistakes) => self.diagnostics.extend(mistakes),
                    }
                }
            }
        }
        read
    }

    fn pieces(
        &mut self,
        loads: &[&Load],
        series: &BTreeMap<String, Series>,
    ) -> (Vec<Piece>, Option<MeasuredDemand>) {
        let known: BTreeSet<&str> = self.site.panels.iter().map(|p| p.id.value.as_str()).collect();
        let mut context = Context {
            system: self.site.service.system.value,
            us: self.us,
            assumptions: &mut self.assumptions,
            findings: &mut self.findings,
            series,
        };
        let mut pieces = Vec::new();
        for load in loads {
            if !known.contains(load.panel.value.as_str()) {
                context.findings.push(
                    Finding::new(
                        "load-not-placed",
                        Severity::NotCovered,
                        format!("load.{}", load.name.value),
                        say!("\"{load}\" is on no panel of this site", load = load.name.value),
                    )
                    .at(Some(&load.panel.place), say!("no such panel"))
                    .fix(say!("name a panel of the site file")),
                );
                continue;
            }
            pieces.extend(Piece::read(load, &mut context));
        }
        let measured = match &self.site.demand {
            DemandMethod::Measured(m) => match series.get(&m.file.value) {
                Some(series) => Some(measured::demand(m, series, &mut context)),
                None => {
                    context.findings.push(measured::unusable(m));
                    None
                }
            },
            _ => None,
        };
        (pieces, measured)
    }

    /// The panels that a panel feeds, itself included.
    pub(crate) fn subtree(&self, panel: &str) -> BTreeSet<String> {
        let mut found = BTreeSet::from([panel.to_owned()]);
        loop {
            let more: Vec<String> = self
                .site
                .panels
                .iter()
                .filter(|p| !found.contains(&p.id.value))
                .filter(|p| p.fed_from.as_ref().is_some_and(|f| found.contains(&f.value)))
                .map(|p| p.id.value.clone())
                .collect();
            if more.is_empty() {
                return found;
            }
            found.extend(more);
        }
    }

    /// Places `any` loads: those of the group's panel among themselves first, then the rest on top of them.
    fn balance(&mut self, pieces: &mut [Piece]) -> (BTreeSet<String>, Outcome, Outcome) {
        let system = self.site.service.system.value;
        let tree = self.subtree(&self.site.group.panel.value);
        let mut inner: Vec<&mut Piece> = pieces.iter_mut().filter(|p| tree.contains(&p.panel)).collect();
        let group = balance::place(&mut inner, system);
        let mut all: Vec<&mut Piece> = pieces.iter_mut().collect();
        let rest = balance::place(&mut all, system);
        for (outcome, part) in [(group, self.site.group.panel.value.as_str()), (rest, "service")] {
            if !outcome.proven {
                self.findings.push(
                    Finding::new(
                        "balance-not-proven",
                        Severity::Note,
                        part,
                        say!(
                            "loads were spread over the legs, but another placement may be up to {gap_share} % better",
                            gap_share = format!("{:.1}", outcome.gap_share * 100.0)
                        ),
                    )
                    .fix(say!("state the legs of the larger loads")),
                );
            }
        }
        // what could not be shown for the group's panel is not shown for the panels above it
        let rest =
            Outcome { gap_share: rest.gap_share.max(group.gap_share), proven: rest.proven && group.proven };
        (tree, group, rest)
    }

    fn starts_together(&mut self, pieces: &[Piece]) -> bool {
        if let Some(wish) = &self.site.wish.motor_starts {
            return wish.value == MotorStarts::Together;
        }
        let motors = pieces.iter().filter(|p| p.motor.as_ref().is_some_and(|m| m.start.is_some()));
        let n: u32 = motors.map(|p| p.at_once).sum();
        if n > 1 {
            self.assumptions.take(
                "n_start",
                "motors that may start at the same moment",
                Ratio::of(f64::from(n)),
                "all that may run together; the site does not say that controls prevent it",
            );
        }
        true
    }

    /// The demand of a set of panels; `id` names it.
    pub(crate) fn panel(&mut self, id: &str, tree: &BTreeSet<String>, spread: &Spread<'_>) -> PanelDemand {
        let system = self.site.service.system.value;
        let (running, inside, covered) = self.counted(tree, spread.pieces, spread.measured);
        let mut members = Members::new(system, running);
        let (group_tree, group, rest) = spread.outcomes;
        let outcome = if group_tree.contains(id) { group } else { rest };
        let starts = Starts::new(system, &members.pieces, &inside).events(spread.together);
        let demand = PanelDemand {
            panel: id.to_owned(),
            lanes: members.lanes(),
            neutral: members.neutral(),
            connected: members.connected(),
            continuous: members.continuous(),
            sizing: self.sizing(&mut members, id),
            unbalance: members.unbalance(),
            daily_energy: members.daily_energy(),
            monthly: members.monthly(self.site.latitude()),
            profiles: members.pieces.iter().map(|p| Profile::of(p)).collect(),
            starts,
            balance: Balance {
                gap_share: outcome.gap_share,
                proven_optimal: outcome.proven,
                placements: placements(self.site, spread.pieces, tree),
            },
            covered_from: covered.and_then(|m| m.covered_from.clone()),
        };
        self.findings.extend(members.bounded_finding(id));
        self.assume_seasons(&members);
        demand
    }

    /// Current of every leg with continuous loads and motors as the code asks; empty where a factor cannot be read, which
    /// the service then says.
    fn sizing(&self, members: &mut Members<'_>, id: &str) -> BTreeMap<Leg, Known<Current>> {
        let what = format!("current for sizing the feed of {id}");
        crate::service::counting(self.site)
            .map(|how| crate::service::legs(members, &how, &what))
            .unwrap_or_default()
    }

    fn assume_seasons(&mut self, members: &Members<'_>) {
        if members.seasonal() {
            let south = Season::of_month(0, self.site.latitude()) == Season::Summer;
            let (what, why) = if south {
                ("months of summer (October to March)", "warm half of the year south of the equator")
            } else {
                ("months of summer (April to September)", "warm half of the year north of the equator")
            };
            let why = format!("{why}; summer and winter loads never run on one day");
            self.assumptions.take("n_s", what, Ratio::of(6.0), &why);
        }
    }

    /// Loads that run on a tree of panels, loads inside its measured demand, and that demand.
    pub(crate) fn counted<'p>(
        &self,
        tree: &BTreeSet<String>,
        pieces: &'p [Piece],
        measured: Option<&'p MeasuredDemand>,
    ) -> (Vec<&'p Piece>, Vec<&'p Piece>, Option<&'p MeasuredDemand>) {
        let within: Vec<&Piece> = pieces.iter().filter(|p| tree.contains(&p.panel)).collect();
        let Some(measured) = measured.filter(|m| tree.contains(&m.panel)) else {
            return (within, Vec::new(), None);
        };
        let inner = self.subtree(&measured.panel);
        let (inside, outside): (Vec<&Piece>, Vec<&Piece>) =
            within.into_iter().partition(|p| p.in_measured && inner.contains(&p.panel));
        let mut running: Vec<&Piece> = outside.into_iter().chain(&measured.pieces).collect();
        running.sort_by(|a, b| a.name.cmp(&b.name));
        (running, inside, Some(measured))
    }
}

fn items(site: &Site, pieces: &[Piece]) -> Vec<Item> {
    let system = site.service.system.value;
    let mut items = Vec::new();
    for piece in pieces {
        for (connection, count) in &piece.placed {
            let legs = piece.legs_va(system, *connection);
            items.push(Item {
                load: piece.name.clone(),
                panel: piece.panel.clone(),
                connection: *connection,
                count: *count,
                power: piece.power.clone(),
                apparent: piece.apparent.clone(),
                legs_va: connection.legs().into_iter().map(|l| (l, legs[l.index()])).collect(),
                place: piece.place.clone(),
            });
        }
    }
    items
}

fn placements(site: &Site, pieces: &[Piece], tree: &BTreeSet<String>) -> Vec<Placement> {
    let open: BTreeSet<&str> = site
        .loads
        .iter()
        .filter(|l| !matches!(l.legs.value, site::LegWish::On(_)))
        .map(|l| l.name.value.as_str())
        .collect();
    pieces
        .iter()
        .filter(|p| tree.contains(&p.panel) && open.contains(p.name.as_str()))
        .flat_map(|p| {
            p.placed.iter().map(|(connection, count)| Placement {
                load: p.name.clone(),
                connection: *connection,
                count: *count,
            })
        })
        .collect()
}
