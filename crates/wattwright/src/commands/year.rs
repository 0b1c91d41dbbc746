//! `year`: a year month by month, and what it costs.

use std::fmt::Write as _;

use annual::{Asked, Costs, Made, Month, Year, costs, make, year};
use chart::{Band, MonthBars, Part, Sheet, charge_band, month_bars};
use derivation::{Known, explain};
use design::{Design, prepare};
use dossier::{CAUTIONS, Dossier};
use finding::Finding;
use quantity::{Quantity, Ratio};
use serde_json::{Value, json};

use super::outages::{assumed, battery_line, figures_json, hidden, lines};
use crate::Status;
use crate::cli;
use crate::files::Loaded;
use crate::output;
use crate::series::{self, Column, Columns};
use crate::stop::Stop;

/// Name of the JSON.
const SCHEMA: &str = "wattwright-year/1";
const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

struct Found {
    made: Made,
    year: Year,
    costs: Option<Costs>,
}

pub(crate) fn run(args: &cli::Year, json: bool) -> Status {
    let mut stop = Stop::listen();
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => return super::prove::no_design(SCHEMA, &refused, &loaded.sources, json),
    };
    let designed = super::designed(&prepared, &loaded);
    let found = match found(&designed, &loaded, &args.run) {
        Ok(found) => found,
        Err(refused) => return super::prove::no_design(SCHEMA, &refused, &loaded.sources, json),
    };
    let on = stop.go_on(1.0);
    stop.finish();
    if !on {
        output::complain("stopped: nothing was written");
        return Status::Stopped;
    }
    let name = &loaded.site.name.value;
    let files = match series::write(&args.run, &columns(&found), || drawing(name, &found)) {
        Ok(files) => files,
        Err(error) => {
            output::complain(&format!("error: {error}"));
            return Status::BadInput;
        }
    };
    let dossier = Dossier::new(&loaded.site, &assessment, Ok(&designed));
    // of the steps that were asked for, which may show what hours hide
    let of_year = annual::of_year(&designed, &found.made, &found.year);
    let fails = dossier.fails() || of_year.iter().any(|f| f.severity.fails());
    if json {
        output::say_json(&to_json(&dossier, &found, &of_year));
    } else {
        output::say(&text(name, &found, &of_year));
        for file in files {
            output::say(&format!("written: {file}"));
        }
        if fails {
            output::say("the design does not hold: see `wattwright check`");
        }
        output::say(&CAUTIONS.join("\n"));
    }
    if fails { Status::Findings } else { Status::Fine }
}

fn found(designed: &Design<'_>, loaded: &Loaded, run: &cli::Run) -> Result<Found, Vec<Finding>> {
    let asked = Asked { step_s: run.step, seed: run.seed };
    let made = make(designed, &loaded.catalog, &loaded.files, asked)?;
    let year = year(&made)?;
    let parts = parts(designed, loaded, &made).map(|p| (p, loaded.catalog.currency.as_str()));
    let costs = costs(&loaded.site, &made, &year, parts)?;
    Ok(Found { made, year, costs })
}

/// Prices of the units, the battery and the arrays of the catalogue.
fn parts(designed: &Design<'_>, loaded: &Loaded, made: &Made) -> Option<Known<Ratio>> {
    let mut all = Vec::new();
    let mut add = |id: &str, price: u32, count: f64| {
        let p = Known::catalog("p", "price", Ratio::of(f64::from(price)), id, "price");
        let n = Known::chosen("n", "number", Ratio::of(count), "counted", Vec::new());
        all.push(derivation::formula!("I", format!("price of {count} x {id}"), [p, n] => p * n));
    };
    let unit = designed.case.unit;
    add(&unit.id, unit.price, f64::from(designed.case.formation.units()));
    let (model, modules) = &made.bank;
    add(model, loaded.catalog.batteries.get(model)?.price, f64::from(*modules));
    for array in &made.arrays {
        add(&array.module, loaded.catalog.modules.get(&array.module)?.price, f64::from(array.modules));
        let catalog = &loaded.catalog;
        let controller = catalog.controllers.get(&array.device).map(|c| c.price);
        let price = controller.or(catalog.array_inverters.get(&array.device).map(|i| i.price))?;
        add(&array.device, price, f64::from(array.devices));
    }
    Some(Known::sum("I", "parts of the catalogue: units, battery, modules, controllers", &all))
}

/// What is not nothing never shows as 0, the noise of sums apart.
fn kwh(wh: f64) -> String {
    if wh > 1e-3 && wh < 500.0 {
        return "<1".to_owned();
    }
    let text = format!("{:.0}", wh / 1000.0);
    if text == "-0" { "0".to_owned() } else { output::grouped_signed(&text) }
}

/// Hours; what is not nothing never shows as 0.
fn whole_hours(hours: f64) -> String {
    if hours > 0.0 && hours < 0.5 { "<1 h".to_owned() } else { format!("{hours:.0} h") }
}

fn text(site: &str, found: &Found, of_year: &[Finding]) -> String {
    let Found { made, year, .. } = found;
    let mut out = format!("{site}: a year in steps of {} min (seed {})\n", made.step_s / 60.0, made.seed);
    battery_line(&mut out, made);
    let _ = writeln!(
        out,
        "\n{:<6}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}   kWh",
        "", "load", "array", "unused", "bought", "sold", "generator", "losses", "unserved"
    );
    let line = |name: &str, m: &Month| {
        format!(
            "{name:<6}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}\n",
            kwh(m.load_wh),
            kwh(m.array_wh),
            kwh(m.array_wh - m.array_used_wh),
            kwh(m.bought_wh),
            kwh(m.sold_wh),
            kwh(m.generated_wh),
            kwh(m.lost_wh),
            kwh(m.unserved_wh)
        )
    };
    let mut all = Month::default();
    for (name, month) in MONTHS.iter().zip(&year.months) {
        out.push_str(&line(name, month));
        add(&mut all, month);
    }
    out.push_str(&line("year", &all));
    let b = &made.design.battery;
    let _ = writeln!(
        out,
        "\nbattery    {} kWh taken out, {:.0} full cycles; {} at its floor",
        kwh(year.discharged_wh),
        year.cycles,
        whole_hours(year.hours_empty)
    );
    if made.has_utility() {
        let peak = year.summary.relay_peak.value().si();
        let _ = writeln!(
            out,
            "utility    at most {:.1} kW, {:.0} A on the worst leg through the {}, mean of a step; {} at the limit of {:.1} kW",
            peak / 1000.0,
            peak * made.leg_a_per_w,
            made.passes,
            whole_hours(year.hours_at_input),
            made.design.utility.input_limit_w / 1000.0
        );
    }
    let c = &made.design.converter;
    let heat = if c.heat_budget_wh > 0.0 {
        format!("{:.0} of {:.0} Wh of overload left at the worst moment", year.heat_left_wh, c.heat_budget_wh)
    } else {
        "no overload lasts a step, so none is counted".to_owned()
    };
    let _ = writeln!(
        out,
        "units      {} over their {:.1} kW; {heat}",
        whole_hours(year.hours_over_rating),
        c.rating_w / 1000.0
    );
    let through = year.columns.totals.throughput_wh().max(1.0);
    let _ = writeln!(
        out,
        "balance    what came in less what went out, was lost or stored: {:.1e} Wh, {:.1e} of what came in",
        year.residual_wh,
        (year.residual_wh / through).abs()
    );
    for finding in of_year {
        let head = format!("{:<11}", finding.severity.word());
        lines(&mut out, &head, &finding.message);
    }
    if b.reserve_wh >= b.capacity_wh - 1e-6 && made.has_utility() {
        lines(
            &mut out,
            "           ",
            "all of the battery is kept for outages, so the array serves loads and is sold, and the battery only makes up its own losses",
        );
    }
    if let Some(costs) = &found.costs {
        costs_text(&mut out, costs);
    }
    out.push_str("\nwhat this rests on\n");
    for note in made.notes.iter().cloned().chain([hidden(made)]) {
        lines(&mut out, "  ", &note);
    }
    if let Some(costs) = &found.costs {
        for note in &costs.assumptions {
            lines(&mut out, "  ", note);
        }
    }
    assumed(&mut out, made);
    out
}

fn add(sum: &mut Month, m: &Month) {
    sum.load_wh += m.load_wh;
    sum.array_wh += m.array_wh;
    sum.array_used_wh += m.array_used_wh;
    sum.bought_wh += m.bought_wh;
    sum.sold_wh += m.sold_wh;
    sum.generated_wh += m.generated_wh;
    sum.lost_wh += m.lost_wh;
    sum.unserved_wh += m.unserved_wh;
    sum.stored_wh += m.stored_wh;
}

fn costs_text(out: &mut String, costs: &Costs) {
    let money = &costs.currency;
    let _ = writeln!(
        out,
        "\n{:<28}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}",
        format!("costs of the year, {money}"),
        "energy",
        "demand",
        "fixed",
        "fuel",
        "sold",
        "total"
    );
    let alone = costs.without.iter().map(|bill| ("from the utility alone", bill));
    for (name, bill) in alone.chain([("with this design", &costs.with)]) {
        let _ = writeln!(
            out,
            "  {name:<26}{:>10.0}{:>10.0}{:>10.0}{:>10.0}{:>10.0}{:>10.0}",
            bill.energy, bill.demand, bill.fixed, bill.fuel, bill.export, bill.total
        );
    }
    if let (Some(parts), Some(payback)) = (&costs.parts, &costs.payback) {
        let discounted =
            payback.discounted_years.map_or("not within 25 years".to_owned(), |y| format!("in {y} years"));
        let _ = writeln!(
            out,
            "  parts {:.0}; paid back in {:.1} years without interest, {discounted} with it",
            parts.value().si(),
            (payback.simple_years.value().si() * 10.0).ceil() / 10.0
        );
    }
}

fn columns(found: &Found) -> Columns {
    let Found { made, year, .. } = found;
    let c = &year.columns;
    let count = made.array_w.len();
    let [kept, later, first] = &made.loads.tiers_w;
    let mut out: Columns = vec![(
        "start".to_owned(),
        Column::Words((0..count).map(|k| annual::stamp(k, made.step_s)).collect()),
    )];
    let mut add = |name: &str, values: &[f64]| {
        let values: Vec<f64> = values.iter().take(count).map(|v| v + 0.0).collect();
        out.push((name.to_owned(), Column::Number(values, 1)));
    };
    add("load_never_shed_w", kept);
    add("load_shed_later_w", later);
    add("load_shed_first_w", first);
    add("array_w", &made.array_w);
    if !made.panel_array_w.is_empty() {
        add("array_on_backup_panel_w", &made.panel_array_w);
    }
    if !made.main_array_w.is_empty() {
        add("array_on_main_panel_w", &made.main_array_w);
    }
    add("array_used_w", &c.array_used_w);
    add("served_w", &c.served_w);
    add("bought_w", &c.import_w);
    add("sold_w", &c.export_w);
    add("generator_w", &c.generated_w);
    add("stored_wh", &c.stored_wh);
    add("overload_left_wh", &c.heat_left_wh);
    out
}

fn drawing(site: &str, found: &Found) -> String {
    let Found { made, year, .. } = found;
    let mut sheet = Sheet::new(1000.0, 790.0, &format!("{site}: the year"));
    let a_day = (86_400.0 / made.step_s) as usize;
    let stored: Vec<f64> = year.columns.stored_wh.iter().take(made.array_w.len()).copied().collect();
    let days: Vec<(f64, f64)> = stored
        .chunks(a_day)
        .map(|d| {
            let least = d.iter().copied().fold(f64::INFINITY, f64::min);
            (least / 1000.0, d.iter().copied().fold(0.0, f64::max) / 1000.0)
        })
        .collect();
    let b = &made.design.battery;
    let mut marks = vec![(b.floor_wh / 1000.0, "floor: nothing is drawn below".to_owned())];
    if b.reserve_wh < b.capacity_wh && made.has_utility() {
        marks.push((b.reserve_wh / 1000.0, "kept for outages".to_owned()));
    }
    let title = format!("{site}: what the battery holds, lowest to highest of each day");
    let band = Band { title: &title, unit: "kWh", days: &days, most: b.capacity_wh / 1000.0, marks: &marks };
    let took = charge_band(&mut sheet, 12.0, 220.0, &band);
    let of = |f: &dyn Fn(&Month) -> f64| -> [f64; 12] {
        std::array::from_fn(|k| year.months.get(k).map_or(0.0, |m| f(m) / 1000.0))
    };
    let all = [
        ("array, used", of(&|m| m.array_used_wh), false),
        ("bought", of(&|m| m.bought_wh), false),
        ("generator", of(&|m| m.generated_wh), false),
        ("loads served", of(&|m| m.load_wh - m.unserved_wh), true),
        ("loads not served", of(&|m| m.unserved_wh), true),
        ("sold", of(&|m| m.sold_wh), true),
        ("lost", of(&|m| m.lost_wh), true),
    ];
    let parts: Vec<Part> = all
        .into_iter()
        .map(|(name, months, second)| Part { name: name.to_owned(), months, second })
        .collect();
    let bars = MonthBars { title: "Energy of each month", unit: "kWh", parts: &parts };
    let took = took + month_bars(&mut sheet, 24.0 + took, 260.0, &bars);
    sheet.footer(
        24.0 + took + 16.0,
        &format!("Seed {}; {}. {}", made.seed, hidden(made), CAUTIONS.first().unwrap_or(&"")),
    );
    sheet.finish()
}

fn to_json(dossier: &Dossier<'_>, found: &Found, of_year: &[Finding]) -> Value {
    let Found { made, year, costs } = found;
    let month = |name: &str, m: &Month| {
        json!({ "month": name, "load_wh": m.load_wh, "array_wh": m.array_wh, "array_used_wh": m.array_used_wh,
            "bought_wh": m.bought_wh, "sold_wh": m.sold_wh, "generated_wh": m.generated_wh, "lost_wh": m.lost_wh,
            "unserved_wh": m.unserved_wh, "stored_more_wh": m.stored_wh })
    };
    let months: Vec<Value> = MONTHS.iter().zip(&year.months).map(|(n, m)| month(n, m)).collect();
    let bill = |b: &energy::cost::Bill| json!({ "energy": b.energy, "demand": b.demand, "fixed": b.fixed, "fuel": b.fuel, "sold": b.export, "total": b.total });
    let costs = costs.as_ref().map(|c| {
        json!({
            "currency": c.currency,
            "utility_alone": c.without.as_ref().map(bill),
            "with_design": bill(&c.with),
            "with_design_derivation": explain(c.with.known().node()),
            "parts": c.parts.as_ref().map(|p| p.value().si()),
            "simple_payback_years": c.payback.as_ref().map(|p| p.simple_years.value().si()),
            "discounted_payback_years": c.payback.as_ref().and_then(|p| p.discounted_years),
            "assumptions": c.assumptions,
        })
    });
    json!({
        "schema": SCHEMA,
        "site": dossier.site.name.value,
        "step_s": made.step_s,
        "seed": made.seed,
        "months": months,
        "battery": { "discharged_wh": year.discharged_wh, "cycles": year.cycles, "hours_empty": year.hours_empty },
        "utility": {
            "passes_through": made.passes,
            "peak_w": year.summary.relay_peak.value().si(),
            "peak_worst_leg_a": year.summary.relay_peak.value().si() * made.leg_a_per_w,
            "limit_w": made.design.utility.input_limit_w,
            "hours_at_limit": year.hours_at_input,
            "over_limit_steps": year.over_limit_steps,
        },
        "units": {
            "rating_w": made.design.converter.rating_w,
            "hours_over_rating": year.hours_over_rating,
            "overload_wh": made.design.converter.heat_budget_wh,
            "overload_left_wh": year.heat_left_wh,
        },
        "hours_unserved": year.hours_unserved,
        "findings": of_year.iter().map(super::prove::finding_json).collect::<Vec<_>>(),
        "balance_residual_wh": year.residual_wh,
        "costs": costs,
        "notes": made.notes,
        "hidden": hidden(made),
        "figures": figures_json(made),
        "design_holds": !(dossier.fails() || of_year.iter().any(|f| f.severity.fails())),
        "cautions": dossier::cautions_json(),
    })
}
