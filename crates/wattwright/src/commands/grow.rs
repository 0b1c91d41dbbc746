//! `grow`: one line a size, the first limit named, the turning point plain.

use std::fmt::Write as _;

use design::prepare;
use options::{Row, StageRow, grow, stages};

use crate::Status;
use crate::cli::Grow;
use crate::{output, terminal};

pub(crate) fn run(args: &Grow, json: bool) -> Status {
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => {
            let refused_dossier = dossier::Dossier::new(&loaded.site, &assessment, Err(refused));
            if json {
                output::say_json(&dossier::check_json(&refused_dossier));
            } else {
                for finding in &refused_dossier.findings {
                    output::say(&terminal::finding(finding, &loaded.sources, output::styled()));
                }
            }
            return Status::Findings;
        }
    };
    let most = args
        .to
        .or(loaded.site.wish.grow_to.as_ref().map(|g| g.value))
        .unwrap_or(prepared.unit.formation.total);
    let rows = grow(&prepared, most);
    let stage_rows = if loaded.site.stages.is_empty() {
        Vec::new()
    } else {
        stages(&loaded.site, &loaded.catalog, &loaded.files)
    };
    if json {
        output::say_json(&dossier::grow_json(&loaded.site, &loaded.catalog.currency, &rows, &stage_rows));
    } else {
        let failing: Vec<_> = assessment.findings.iter().filter(|f| f.severity.fails()).collect();
        for finding in &failing {
            output::say(&terminal::finding(finding, &loaded.sources, output::styled()));
        }
        output::say(&table(&loaded.site.name.value, &loaded.catalog.currency, &rows));
        if !stage_rows.is_empty() {
            output::say(&stage_table(&stage_rows));
        }
        output::say(&dossier::CAUTIONS.join("\n"));
    }
    // a stage that fails is as good a reason to look as a size that nobody serves
    let stages_hold = stage_rows.iter().all(|s| s.failing.is_empty());
    if rows.iter().any(|r| r.serves) && stages_hold { Status::Fine } else { Status::Findings }
}

fn table(site: &str, currency: &str, rows: &[Row]) -> String {
    let mut out = format!("{site}: what each size buys\n\n");
    let lasts = rows.iter().find_map(|r| r.overload.as_ref().map(|o| o.1.to_string())).unwrap_or_default();
    let step = format!("step {currency}");
    let _ = writeln!(
        out,
        "{:>7}{:>8}{:>9}{:>9}{:>9}{:>14}{:>16}{:>10}{:>10}",
        "units", "serves", "rated", "carries", lasts, "inline panel", "outboard panel", "export", step
    );
    let or_dash = |p: &Option<derivation::Known<quantity::Power>>| {
        p.as_ref().map_or("-".to_owned(), |p| p.value().to_string())
    };
    for row in rows {
        let overload = row.overload.as_ref().map_or("-".to_owned(), |(p, _)| p.value().to_string());
        let _ = writeln!(
            out,
            "{:>7}{:>8}{:>9}{:>9}{:>9}{:>14}{:>16}{:>10}{:>10}",
            row.formation.to_string(),
            if row.serves { "yes" } else { "no" },
            row.rated.value().to_string(),
            row.carries.value().to_string(),
            overload,
            or_dash(&row.inline_panel),
            row.outboard_panel.value().to_string(),
            or_dash(&row.export),
            row.price_step,
        );
    }
    out.push_str("\nfirst limit on the way up (of the inline arrangement, where there is a utility), and what the loads need\n");
    for row in rows {
        let share = row.first_margin.map_or(String::new(), |m| format!(" ({:+.0} %)", m * 100.0));
        let _ = writeln!(out, "{:>7}  {}{share}", row.formation.to_string(), row.first_limit);
        for line in output::wrapped(&row.needs, 88) {
            let _ = writeln!(out, "{:>7}    {line}", "");
        }
    }
    if let Some((row, ceiling)) = ceiling(rows) {
        let _ = writeln!(
            out,
            "\nfrom {} units on an inline panel stays at {}: that is what the relays pass, however many units are added",
            row.units, ceiling
        );
    }
    out
}

/// The first size from which on the inline panel no longer grows, if the last sizes of the table show it.
fn ceiling(rows: &[Row]) -> Option<(&Row, quantity::Power)> {
    let last = rows.last()?.inline_panel.as_ref()?.value();
    let same = |row: &&Row| row.inline_panel.as_ref().is_some_and(|p| p.value() == last);
    let first = rows.iter().find(same)?;
    let limited = first.inline_panel.as_ref().is_some_and(|p| p.value() < first.carries.value());
    (rows.len() > 1 && limited && first.units < rows.last()?.units).then_some((first, last))
}

fn stage_table(rows: &[StageRow]) -> String {
    let mut out = String::from("growth stages\n");
    for row in rows {
        let when =
            if row.after_years == 0 { String::new() } else { format!(" (in {} years)", row.after_years) };
        let text = format!(
            "{}{when}: {} units, {}, transfer switch {}, bypass {}",
            row.stage, row.formation, row.arrangement, row.transfer, row.bypass
        );
        for (k, line) in output::wrapped(&text, 106).iter().enumerate() {
            let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
        }
        for words in &row.replaced {
            let _ = writeln!(out, "    {words}");
        }
        for finding in &row.failing {
            let _ = writeln!(out, "    {}[{}]: {}", finding.severity.word(), finding.id, finding.message);
        }
    }
    out
}
