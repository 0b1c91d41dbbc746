//! The design of the model and its columns, out of a finished design.

use std::sync::Arc;

use assess::Case;
use catalog::Catalog;
use derivation::{Known, Node};
use energy::EnergyError;
use energy::year::{Design, Hour, PanelArray, Series, Shedding, Utility};
use finding::{Finding, Severity};
use plant::{ArraySide, Layout};
use quantity::{Current, Quantity, Ratio};
use reading::Files;
use saying::say;
use site::{ExportClass, Season, Site};

use crate::array::{Around, Counted, Supply, supply};
use crate::figures::{Figures, converter, panel_power};
use crate::generator::generator;
use crate::loads::{DAYS, Loads, loads};

/// What is asked for beside the site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Length of a step, in seconds: 60 to 3600, going into an hour.
    pub step_s: f64,
    /// Seed of the draws; none takes the site's, or 1.
    pub seed: Option<u64>,
}

/// A design as the model runs it.
#[derive(Debug, Clone)]
pub struct Made {
    /// Its figures.
    pub design: Design,
    /// Length of a step, in seconds.
    pub step_s: f64,
    /// Seed of the draws.
    pub seed: u64,
    /// Loads by tier.
    pub loads: Loads,
    /// Arrays on the bus of the battery, behind their controllers, in watts.
    pub array_w: Vec<f64>,
    /// Arrays on the backup panel, behind their inverters, in watts; empty without any.
    pub panel_array_w: Vec<f64>,
    /// Arrays on the main panel, behind their inverters, in watts; empty without any.
    pub main_array_w: Vec<f64>,
    /// Arrays that are in it.
    pub arrays: Vec<Counted>,
    /// Arrays that are not in it.
    pub arrays_left_out: Vec<String>,
    /// Catalogue id of the battery's modules, and how many there are in all.
    pub bank: (String, u32),
    /// Utility, hours to spend and to fill.
    pub hours: Vec<Hour>,
    /// Every figure that was handed over, with its derivation.
    pub figures: Vec<Arc<Node>>,
    /// What was left out, and why.
    pub notes: Vec<String>,
    /// The part that carries what is bought and sold: the units' relays inline, the transfer switch outboard.
    pub passes: &'static str,
    /// Current of its worst leg for each watt.
    pub leg_a_per_w: f64,
    /// The units help one leg of the utility, so that loads above the limit are served in part by the battery.
    pub helps: bool,
    /// Steps in which loads alone exceed what the utility's side passes.
    pub loads_over_limit: usize,
}

impl Made {
    /// The columns as the model reads them.
    pub fn series(&self) -> Series<'_> {
        let [a, b, c] = &self.loads.tiers_w;
        Series {
            step_s: self.step_s,
            loads_w: [a, b, c],
            array_w: &self.array_w,
            panel_array_w: &self.panel_array_w,
            hours: &self.hours,
        }
    }

    /// What all arrays could give at a step, in watts.
    pub fn arrays_w(&self, step: usize) -> f64 {
        let at = |column: &[f64]| column.get(step).copied().unwrap_or(0.0);
        (at(&self.array_w) + at(&self.panel_array_w)) * self.design.array_scale + at(&self.main_array_w)
    }

    /// Whether the site has a utility that can fail.
    pub fn has_utility(&self) -> bool {
        self.hours.iter().any(|h| h.utility)
    }
}

/// A year that cannot be run.
pub(crate) fn refused(message: impl std::fmt::Display) -> Vec<Finding> {
    vec![
        Finding::new(
            "year-not-covered",
            Severity::NotCovered,
            "year",
            say!("the year was not run: {message}", message),
        )
        .fix(say!("state what is missing, or correct it")),
    ]
}

pub(crate) fn refuse(error: EnergyError) -> Vec<Finding> {
    refused(error)
}

/// Makes the model's design and columns.
///
/// # Errors
/// Findings of severity "not covered": no battery that is decided, figures that the model does not follow, weather
/// that cannot be used.
pub fn make<'a>(
    design: &'a design::Design<'a>,
    catalog: &'a Catalog,
    files: &dyn Files,
    asked: Asked,
) -> Result<Made, Vec<Finding>> {
    let case = &design.case;
    if !((60.0..=3600.0).contains(&asked.step_s) && (3600.0 / asked.step_s).fract() < 1e-9) {
        return Err(refused("the step must be 1 min to 1 h and go into an hour"));
    }
    let bank = crate::bank::of(case, catalog)?;
    let mut figures = Figures::default();
    let mut notes = Vec::new();
    let weather = case.site.weather.as_ref();
    let stated = weather.and_then(|w| w.seed.as_ref()).map(|s| u64::from(s.value));
    let seed = asked.seed.or(stated).unwrap_or(1);
    let loads = loads(&case.demand.profiles, case.site.latitude(), asked.step_s, seed);
    let reserve = reserve(case);
    let battery = bank.figures(&reserve, &mut figures)?;
    let converter = converter(case, &bank, asked.step_s, &mut figures).map_err(refuse)?;
    let around = Around { catalog, files, step_s: asked.step_s, seed, bank: bank.voltage() };
    let Supply { array_w, panel_w, main_w, arrays, left_out } =
        supply(design, &around, &mut figures, &mut notes)?;
    let generator = generator(case, &battery, &mut figures, &mut notes);
    let (utility, leg_a_per_w) = utility(case, generator.power_w, &mut figures)?;
    let panel_array = panel_array(case, generator.power_w, &utility, &mut figures)?;
    let shedding = shedding(case, battery.capacity_wh, battery.floor_wh, &mut figures);
    let made = Design { battery, converter, array_scale: 1.0, panel_array, utility, generator, shedding };
    let design = made.checked().map_err(refuse)?;
    say_loads(case.site, &loads, &mut notes);
    let limit = utility.input_limit_w.min(utility.relay_limit_w) * (1.0 + 1e-9);
    let [a, b, c] = &loads.tiers_w;
    let there = case.layout != Layout::Islanded;
    let over = a.iter().zip(b).zip(c).filter(|((a, b), c)| there && **a + **b + **c > limit).count();
    Ok(Made {
        design,
        step_s: asked.step_s,
        seed,
        array_w,
        panel_array_w: panel_w,
        main_array_w: main_w,
        arrays,
        arrays_left_out: left_out,
        bank: (bank.model.id.clone(), bank.strings.value().si() as u32 * bank.model.series),
        hours: hours(case, asked.step_s),
        loads,
        figures: figures.nodes,
        notes,
        passes: if case.layout == Layout::Inline { "transfer relays" } else { "transfer switch" },
        leg_a_per_w,
        helps: case.helps_one_leg(),
        loads_over_limit: over,
    })
}

fn reserve(case: &Case<'_>) -> Known<Ratio> {
    let stated = case.site.policy.as_ref().and_then(|p| p.outage_reserve.as_ref());
    match stated {
        Some(share) => {
            share.clone().map(|s| s.share()).known("r", "share of the usable charge kept for outages")
        }
        None => Known::assumed(
            "r",
            "share of the usable charge kept for outages",
            Ratio::of(1.0),
            "all of it: the site does not say that some of it may be used while the utility is there",
        ),
    }
}

/// What the utility's side passes, and the worst leg's current for each watt of it.
fn utility(case: &Case<'_>, generator_w: f64, figures: &mut Figures) -> Result<(Utility, f64), Vec<Finding>> {
    let none = || refused("the panel has no load on any leg");
    let one = Known::chosen("I_1", "one ampere", Current::of(1.0), "unit", Vec::new());
    let per_a = panel_power(case, "power for each ampere", &one).ok_or_else(none)?.value().si();
    if case.layout == Layout::Islanded {
        let utility = Utility { input_limit_w: 0.0, relay_limit_w: generator_w, export_limit_w: 0.0 };
        return Ok((utility, 1.0 / per_a));
    }
    let mut limits = Vec::new();
    if case.layout == Layout::Inline {
        limits.push(assess::pass_through(case));
        limits.extend(case.settings.input_limit.clone());
    } else if let Some(switch) = case.transfer {
        limits.push(Known::catalog(
            "I_ts",
            "rating of the transfer switch",
            switch.rating,
            &switch.id,
            "rating",
        ));
    }
    let panel = case.site.panels.iter().find(|p| p.id.value == case.site.group.panel.value);
    if let Some(breaker) = panel.and_then(|p| p.main_breaker.as_ref()) {
        limits.push(breaker.known("I_mb", "main breaker of the backup panel"));
    }
    let I = Known::smallest("I_in", "current per leg that the utility's side of the panel passes", &limits)
        .ok_or_else(|| refused("nothing says what the utility's side of the panel passes"))?;
    let passed = panel_power(case, "what the utility's side passes", &I).ok_or_else(none)?;
    let input_w = figures.take(&passed);
    let export_w = figures.take(&case.settings.export_limit);
    let utility = Utility {
        input_limit_w: input_w,
        relay_limit_w: input_w.max(generator_w).max(export_w),
        export_limit_w: export_w,
    };
    Ok((utility, 1.0 / per_a))
}

/// Arrays on the backup panel: what they may give back, and how long they need to give power again.
fn panel_array(
    case: &Case<'_>,
    generator_w: f64,
    utility: &Utility,
    figures: &mut Figures,
) -> Result<PanelArray, Vec<Finding>> {
    let mut found = PanelArray { charges: case.layout == Layout::Inline, ..PanelArray::NONE };
    let behind: Vec<_> = case.arrays.iter().filter(|a| a.side == ArraySide::Backup).collect();
    if behind.is_empty() {
        return Ok(PanelArray::NONE);
    }
    for array in &behind {
        if generator_w > 0.0 && !array.locked_out {
            return Err(refused(format!("{} is not locked out while the generator runs", array.id)));
        }
        let latest = array.model.reconnect.latest.ok_or_else(|| {
            refused(format!("the catalogue does not state the latest `reconnect` of {}", array.model.id))
        })?;
        let what = format!("until {} gives power again, at the latest", array.id);
        let t = Known::catalog("t_a", what, latest, &array.model.id, "reconnect latest");
        found.reconnect_s = found.reconnect_s.max(figures.take(&t));
    }
    let rules = &case.site.utility;
    let passed = utility.input_limit_w;
    found.export_limit_w = match (rules.export.as_ref().map(|e| e.value), &rules.export_limit) {
        (Some(ExportClass::Full), _) => passed,
        (Some(ExportClass::Limited), Some(limit)) => {
            figures.take(&limit.known("P_u", "export limit of the utility")).min(passed)
        }
        _ => 0.0,
    };
    Ok(found)
}

fn hours(case: &Case<'_>, step_s: f64) -> Vec<Hour> {
    let policy = case.site.policy.as_ref();
    let own = policy.and_then(|p| p.own_use_first.as_ref()).is_some_and(|o| o.value);
    let in_span = |span: Option<&reading::Placed<site::HourSpan>>, hour: usize| {
        span.is_some_and(|s| s.value.holds(hour))
    };
    let a_day = (86_400.0 / step_s) as usize;
    (0..DAYS * a_day)
        .map(|k| {
            let hour = (k % a_day) * 24 / a_day;
            Hour {
                utility: case.layout != Layout::Islanded,
                spend: own || in_span(policy.and_then(|p| p.spend.as_ref()), hour),
                fill: in_span(policy.and_then(|p| p.fill.as_ref()), hour),
            }
        })
        .collect()
}

fn shedding(case: &Case<'_>, capacity_wh: f64, floor_wh: f64, figures: &mut Figures) -> Shedding {
    let Some(policy) = &case.site.policy else { return Shedding::NEVER };
    let mut charge = |stated: Option<&reading::Placed<quantity::Percent>>, what: &str| {
        stated.map_or(0.0, |share| {
            let share = share.clone().map(|s| s.share()).known("s", what);
            figures.take(&share) * (capacity_wh - floor_wh) + floor_wh
        })
    };
    let first = charge(policy.shed_first_below.as_ref(), "usable charge below which the first tier goes off");
    let all = charge(policy.shed_all_below.as_ref(), "usable charge below which all that may be shed is off");
    // back a tenth of the capacity above, so that loads do not flutter
    let back = |shed: f64| if shed > 0.0 { (shed + 0.1 * capacity_wh).min(capacity_wh) } else { 0.0 };
    Shedding {
        shed_wh: [all, first.max(all)],
        restore_wh: [back(all), back(first.max(all))],
        restart_wh: 0.0,
    }
}

fn say_loads(site: &Site, loads: &Loads, notes: &mut Vec<String>) {
    let summer = match Season::of_month(0, site.latitude()) {
        Season::Winter => "April to September",
        Season::Summer => "October to March",
    };
    notes.push(format!(
        "every day is the assessment's full day: each load runs as long as it may, in its season (summer is {summer}); \
         runs of which only the time a day is known are drawn, another seed draws others"
    ));
    if loads.met_days > 0 {
        notes.push(format!(
            "on {} days loads that never run together leave no room for that and were let meet",
            loads.met_days
        ));
    }
}
