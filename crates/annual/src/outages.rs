//! The carry time of an outage that starts at any step of the year.

use energy::outage::{Carry, CarryReport, Cause, YearEnd, carry_times, report, stepped_carry_times};
use energy::year::{Columns, Design, Generator, Shedding, simulate};
use finding::Finding;

use crate::make::{Made, refuse};

/// Starts that are stepped between two looks at whether to go on.
const CHUNK: usize = 512;

/// Which loads are on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shed {
    /// All loads stay on.
    Nothing,
    /// Those of the first shedding priority are off from the first moment.
    First,
    /// All that may be shed is off from the first moment.
    All,
}

impl Shed {
    /// Tiers that are on.
    pub fn tiers(self) -> usize {
        match self {
            Shed::Nothing => 3,
            Shed::First => 2,
            Shed::All => 1,
        }
    }
}

/// Carry times with some loads on.
#[derive(Debug, Clone)]
pub struct Row {
    /// What is off from the first moment.
    pub shed: Shed,
    /// The generator runs.
    pub generator: bool,
    /// In words.
    pub words: String,
    /// Every start.
    pub carry: Carry,
    /// Figures.
    pub report: CarryReport,
}

/// Outages of a year.
#[derive(Debug, Clone)]
pub struct Outages {
    /// The year without outages (off grid as it is lived), that leaves the charge at each start.
    pub year: Columns,
    /// All loads first; then with less on; with the generator last.
    pub rows: Vec<Row>,
}

impl Outages {
    /// The row that a wish is held against: all loads on, without the generator.
    pub fn all_loads(&self) -> Option<&Row> {
        self.rows.first()
    }
}

/// A year of a design that follows itself: its second round, from the charge that the first left.
///
/// # Errors
/// Findings of severity "not covered".
pub fn settled(design: &Design, made: &Made) -> Result<Columns, Vec<Finding>> {
    let series = made.series();
    let first = simulate(design, &series, design.battery.capacity_wh).map_err(refuse)?;
    let left = first.stored_wh.last().copied().unwrap_or(design.battery.capacity_wh);
    simulate(design, &series, left).map_err(refuse)
}

/// The design as an outage is carried by composed maps: no generator, nothing shed by charge. Off grid nothing comes in
/// at all: that is what an outage is there.
pub(crate) fn bare(made: &Made, design: &Design) -> Design {
    let array_scale = if made.has_utility() { design.array_scale } else { 0.0 };
    Design { array_scale, generator: Generator::NONE, shedding: Shedding::NEVER, ..*design }
}

/// The design as the year before an outage is run: with the utility the generator stands still; off grid it is what
/// the site lives by.
pub(crate) fn before(made: &Made, design: &Design) -> Design {
    if made.has_utility() {
        Design { generator: Generator::NONE, shedding: Shedding::NEVER, ..*design }
    } else {
        *design
    }
}

/// Carry times of every start, off grid of a time in which nothing comes in; `asked_h`: hours for which the share of starts is wanted; `go_on` is asked now and
/// then, with the share that is done.
///
/// # Errors
/// Findings of severity "not covered": figures that the model does not follow. None where it was stopped.
pub fn outages(
    made: &Made,
    asked_h: &[f64],
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<Option<Outages>, Vec<Finding>> {
    let without = bare(made, &made.design);
    let year = settled(&before(made, &made.design), made)?;
    let series = made.series();
    let mut rows = Vec::new();
    for (shed, words) in cases(made) {
        if !go_on(0.1 * rows.len() as f64) {
            return Ok(None);
        }
        let carry = carry_times(&without, &series, &year, shed.tiers(), YearEnd::Wraps).map_err(refuse)?;
        let report = report(&carry, asked_h).map_err(refuse)?;
        rows.push(Row { shed, generator: false, words, carry, report });
    }
    if made.has_utility() && made.design.generator.power_w > 0.0 {
        let Some(carry) = with_generator(made, &year, go_on)? else { return Ok(None) };
        let report = report(&carry, asked_h).map_err(refuse)?;
        let (shed, words) = if sheds(made) {
            (Shed::All, "what is never shed, the rest off at the charges stated, with the generator")
        } else {
            (Shed::Nothing, "all loads on, with the generator")
        };
        rows.push(Row { shed, generator: true, words: words.to_owned(), carry, report });
    }
    Ok(Some(Outages { year, rows }))
}

/// What may be off, as far as the site has such loads.
pub(crate) fn cases(made: &Made) -> Vec<(Shed, String)> {
    let [_, later, first] = &made.loads.names;
    let mut all = vec![(Shed::Nothing, "all loads on".to_owned())];
    if !first.is_empty() && !later.is_empty() {
        all.push((Shed::First, format!("without {}", first.join(", "))));
    }
    if !first.is_empty() {
        let both: Vec<&str> = first.iter().chain(later).map(String::as_str).collect();
        all.push((Shed::All, format!("without {}", both.join(", "))));
    }
    all
}

/// Whether loads are shed by charge.
fn sheds(made: &Made) -> bool {
    made.design.shedding.shed_wh.iter().any(|wh| *wh > 0.0)
}

fn with_generator(
    made: &Made,
    year: &Columns,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<Option<Carry>, Vec<Finding>> {
    let series = made.series();
    let count = series.steps();
    let mut out = Carry { step_s: made.step_s, steps: Vec::new(), ended_by: Vec::new() };
    let starts: Vec<usize> = (0..count).collect();
    for chunk in starts.chunks(CHUNK) {
        let stepped =
            stepped_carry_times(&made.design, &series, year, YearEnd::Wraps, Some(chunk)).map_err(refuse)?;
        // what is never shed, or the first load that is not served: each with what ended it
        let tiers = if sheds(made) { 1 } else { 3 };
        for k in 0..chunk.len() {
            let of = |t: usize| Some((*stepped.steps.get(t)?.get(k)?, *stepped.ended_by.get(t)?.get(k)?));
            let Some((steps, cause)) = (0..tiers).filter_map(of).min_by_key(|(steps, _)| *steps) else {
                continue;
            };
            out.steps.push(steps);
            out.ended_by.push(cause);
        }
        if !go_on(0.3 + 0.7 * out.steps.len() as f64 / count as f64) {
            return Ok(None);
        }
    }
    Ok(Some(out))
}

/// What ended carrying, as people say it.
pub fn cause_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Energy => "the battery was empty",
        Cause::Power => "the loads asked for more power than battery and units give",
        Cause::Heat => "the units' overload was used up",
        Cause::Fuel => "the fuel was gone",
        Cause::YearEnd => "the year ended",
        Cause::WholeYear => "carried for a whole year",
    }
}

/// Share of starts carried at least so long, from the longest carry time to the shortest: points of (hours, share).
pub fn duration_curve(carry: &Carry) -> Vec<(f64, f64)> {
    let mut steps = carry.steps.clone();
    steps.sort_unstable_by(|a, b| b.cmp(a));
    let count = steps.len().max(1) as f64;
    let hours = |s: &u32| f64::from(*s) * carry.step_s / 3600.0;
    steps.iter().enumerate().map(|(k, s)| (hours(s), (k + 1) as f64 / count)).collect()
}
