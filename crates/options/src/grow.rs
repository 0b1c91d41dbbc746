//! One row for each size of the group.

use assess::{Case, Formation, counted};
use catalog::LegControl;
use derivation::{Known, formula};
use design::{Design, Fixed, Prepared, design_with};
use finding::{Finding, Margin};
use plant::Layout;
use quantity::{Duration, Power, Ratio, as_w};

/// What one size buys.
#[derive(Debug, Clone)]
pub struct Row {
    /// Units in all.
    pub units: u32,
    /// Formation.
    pub formation: Formation,
    /// Continuous power of all units at the site's temperature and altitude, by their rating.
    pub rated: Known<Power>,
    /// What of it may be counted on with the sharing tolerance.
    pub carries: Known<Power>,
    /// Overload power that may be counted on, with its time; the longest of the list.
    pub overload: Option<(Known<Power>, Duration)>,
    /// Largest backup panel, evenly loaded, inline; none off grid.
    pub inline_panel: Option<Known<Power>>,
    /// Largest backup panel, evenly loaded, outboard (or islanded).
    pub outboard_panel: Known<Power>,
    /// Largest export; none off grid.
    pub export: Option<Known<Power>>,
    /// The tightest limit on the way up.
    pub first_limit: String,
    /// Its margin as a share of the limit.
    pub first_margin: Option<f64>,
    /// What the assessed load needs at this size.
    pub needs: String,
    /// Whether the assessed load is served at this size.
    pub serves: bool,
    /// Price of the units and of the transfer and bypass gear that the design takes, in the catalogue's currency.
    pub price: u32,
    /// More than the row before.
    pub price_step: i64,
}

/// Rows for every even formation that the family allows, up to `most` units.
pub fn grow(prepared: &Prepared<'_>, most: u32) -> Vec<Row> {
    let legs = prepared.site.service.system.value.legs().len() as u32;
    let a_step = if prepared.unit.leg_control == LegControl::OneLeg { legs } else { 1 };
    let limits = &prepared.unit.formation;
    let mut rows: Vec<Row> = Vec::new();
    let mut per_leg = 1;
    while per_leg * a_step <= most.min(limits.total) && per_leg <= limits.per_leg {
        let mut row = row(prepared, per_leg);
        row.price_step = i64::from(row.price) - rows.last().map_or(0, |r| i64::from(r.price));
        rows.push(row);
        per_leg += 1;
    }
    rows
}

fn row(prepared: &Prepared<'_>, per_leg: u32) -> Row {
    let design = design_with(prepared, &Fixed { per_leg: Some(per_leg), ..Fixed::default() });
    let case = &design.case;
    let figures = figures(case);
    let (first_limit, first_margin) = first_limit(prepared, &design, per_leg);
    let serves = first_failing(prepared, &design).is_none();
    let gear = case.transfer.map_or(0, |t| t.price)
        + case.bypass.map_or(0, |b| b.price)
        + case.former.map_or(0, |f| f.price)
        + case.source_switch.map_or(0, |s| s.price);
    Row {
        units: case.formation.units(),
        formation: case.formation.clone(),
        rated: figures.rated,
        carries: figures.carries.clone(),
        overload: figures.overload,
        inline_panel: figures.inline_panel,
        outboard_panel: figures.carries,
        export: figures.export,
        first_limit,
        first_margin,
        needs: needs(prepared, &design),
        serves,
        price: case.formation.units() * prepared.unit.price + gear,
        price_step: 0,
    }
}

struct Figures {
    rated: Known<Power>,
    carries: Known<Power>,
    overload: Option<(Known<Power>, Duration)>,
    inline_panel: Option<Known<Power>>,
    export: Option<Known<Power>>,
}

fn figures(case: &Case<'_>) -> Figures {
    let n_units = case.formation.units();
    let n = Known::chosen("n", "units", Ratio::of(f64::from(n_units)), "formation", Vec::new());
    let P_1 = &case.rating.power;
    let rated = formula!("P_n", "continuous power of all units here", [P_1, n] => P_1 * n);
    let n_c = if case.unit.leg_control == LegControl::OneLeg {
        let per_leg = counted(case.unit, case.formation.fewest());
        let m = case.legs();
        formula!("n_c", "units that may be counted", [per_leg, m] => per_leg * m)
    } else {
        counted(case.unit, n_units)
    };
    let carries = formula!("P_c", "continuous power that may be counted on", [P_1, n_c] => P_1 * n_c);
    let overload = case.rating.overload.first().map(|o| {
        let P_o = &o.total_power;
        (formula!("P_o", "overload power that may be counted on", [P_o, n_c] => P_o * n_c), o.lasts.value())
    });
    let utility = case.layout != Layout::Islanded;
    let pass = utility.then(|| pass_power(case));
    let inline_panel = pass.as_ref().map(|pass| {
        Known::smallest("P_in", "largest even panel inline", &[carries.clone(), pass.clone()])
            .unwrap_or_else(|| pass.clone())
    });
    let export = match (&pass, case.unit.export.highest) {
        (Some(pass), Some(highest)) => {
            let P_x =
                Known::catalog("P_x", "highest export of one unit", highest, &case.unit.id, "export highest");
            let all = formula!("P_nx", "highest export of all units", [P_x, n] => P_x * n);
            Known::smallest("P_ex", "largest export", &[all, pass.clone()])
        }
        _ => None,
    };
    Figures { rated, carries, overload, inline_panel, export }
}

fn pass_power(case: &Case<'_>) -> Known<Power> {
    let I = assess::pass_through(case);
    let (U, m) = (case.voltage(), case.legs());
    formula!("P_pass", "what the relays pass on all legs", [I, U, m] => as_w(I * U * m))
}

/// What gives way first when the loads grow: inline where there is a utility, since that is the simplest arrangement.
fn first_limit(prepared: &Prepared<'_>, free: &Design<'_>, per_leg: u32) -> (String, Option<f64>) {
    let inline = (free.case.layout == Layout::Outboard).then(|| {
        design_with(
            prepared,
            &Fixed { per_leg: Some(per_leg), layout: Some(Layout::Inline), ..Fixed::default() },
        )
    });
    let design = inline.as_ref().unwrap_or(free);
    let grows = |m: &&Margin| {
        m.held_by.is_none() && matches!(m.part.as_str(), "group" | "unit.relay" | "transfer" | "bypass.units")
    };
    let loads = |m: &&Margin| !m.state.starts_with("fault") && m.state != "utility collapse";
    let ledger = &design.assessed.ledger;
    let all: Vec<&Margin> = ledger.tightest().into_iter().filter(grows).filter(loads).collect();
    // the budget multiplies small excesses into large numbers: it speaks only where nothing plainer is broken
    let budget = |m: &&&Margin| m.what.starts_with("overload budget");
    let plain = all.iter().find(|m| !budget(m));
    let tightest = match (plain, all.iter().find(budget)) {
        (Some(plain), Some(budget)) if plain.holds() && !budget.holds() => Some(budget),
        (plain, budget) => plain.or(budget),
    };
    match tightest {
        Some(m) if m.part == "unit.relay" => (
            format!("pass-through, {}: {} of {}", m.what, m.value.amount.text, m.limit.amount.text),
            m.share(),
        ),
        Some(m) => {
            let than = if m.floor { "at least" } else { "of" };
            (format!("{}: {} {than} {}", m.what, m.value.amount.text, m.limit.amount.text), m.share())
        }
        None => ("none found".to_owned(), None),
    }
}

/// What makes the check fail at this size: of the loads, or of the design.
fn first_failing<'d>(prepared: &'d Prepared<'_>, design: &'d Design<'_>) -> Option<&'d Finding> {
    prepared.assessment.findings.iter().find(|f| f.severity.fails()).or_else(|| design.failing().next())
}

fn needs(prepared: &Prepared<'_>, design: &Design<'_>) -> String {
    let case = &design.case;
    let arrangement = case.layout.word();
    let dropped = design
        .decisions
        .iter()
        .find(|d| d.what == "arrangement")
        .and_then(|d| d.dropped.first())
        .filter(|d| d.value == "inline");
    match first_failing(prepared, design) {
        Some(finding) => format!("not served: {} [{}]", finding.message, finding.id),
        None => match dropped {
            Some(dropped) => format!("{arrangement}; inline: {}", dropped.reason),
            None => arrangement.to_owned(),
        },
    }
}
