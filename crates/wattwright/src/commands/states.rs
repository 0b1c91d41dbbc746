//! `states`: what flows in every state that the gear can reach, and the margin ledger, tightest first.

use std::fmt::Write as _;

use assess::{CornerDetail, DcFlow, RelayShare, StateDetail};
use design::{Design, prepare};
use dossier::{CAUTIONS, Dossier};
use quantity::Leg;
use serde_json::{Value, json};

use crate::Status;
use crate::cli::States;
use crate::output;

pub(crate) fn run(args: &States, json: bool) -> Status {
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => {
            return super::prove::no_design("wattwright-states/1", &refused, &loaded.sources, json);
        }
    };
    let designed = super::designed(&prepared, &loaded);
    let states = assess::detail(&designed.case, true);
    let dossier = Dossier::new(&loaded.site, &assessment, Ok(&designed));
    if json {
        output::say_json(&to_json(&dossier, &designed, &states));
    } else {
        output::say(&text(&loaded.site.name.value, &designed, &states, args.all));
        if dossier.fails() {
            output::say("the design does not hold: see `wattwright check`");
        }
        output::say(&CAUTIONS.join("\n"));
    }
    if dossier.fails() { Status::Findings } else { Status::Fine }
}

fn text(site: &str, design: &Design<'_>, states: &[StateDetail], all: bool) -> String {
    let case = &design.case;
    let units = case.formation.units();
    let s = if units == 1 { "" } else { "s" };
    let mut out = format!("{site} · {units} unit{s} · {}\n", case.layout.word());
    let _ = writeln!(
        out,
        "{} settled states; {} differ in name or current. Amperes at nominal voltage; parts of all units together.",
        design.assessed.states_found,
        states.len()
    );
    let legs = case.system().legs();
    for (k, state) in states.iter().enumerate() {
        let _ = writeln!(out, "\n{}. {}", k + 1, state.name);
        lines(&mut out, "   ", &state.situation);
        if state.steps.len() > 1 {
            lines(&mut out, "   by ", &state.steps.get(1..).unwrap_or_default().join("; "));
        }
        match state.more_like_it {
            0 => {}
            1 => out.push_str("   and one more state in which the same flows\n"),
            n => {
                let _ = writeln!(out, "   and {n} more states in which the same flows");
            }
        }
        for corner in &state.corners {
            corner_text(&mut out, design, corner, legs);
        }
    }
    let ledger = &design.assessed.ledger;
    let shown = if all { ledger.margins.len() } else { 20.min(ledger.margins.len()) };
    let _ = writeln!(out, "\nmargin ledger, tightest first ({shown} of {})", ledger.margins.len());
    for m in ledger.tightest().into_iter().take(shown) {
        let head = format!("  {:>6}  ", output::share(m.share(), m.holds()));
        let what = format!(
            "{}: {} {} of {} [{}]",
            m.part, m.what, m.value.amount.text, m.limit.amount.text, m.state
        );
        lines(&mut out, &head, &what);
    }
    if shown < ledger.margins.len() {
        out.push_str("  the rest: --all\n");
    }
    out
}

/// Words in lines that fit a terminal, the first behind a head, the others behind as much space.
fn lines(out: &mut String, head: &str, text: &str) {
    let indent = head.chars().count();
    for (k, line) in output::wrapped(text, 104_usize.saturating_sub(indent)).iter().enumerate() {
        let _ = if k == 0 { writeln!(out, "{head}{line}") } else { writeln!(out, "{:indent$}{line}", "") };
    }
}

fn volts(volts: &[Option<f64>; 3], legs: &[Leg]) -> Option<String> {
    let each: Vec<String> = legs
        .iter()
        .filter_map(|l| volts.get(l.index()).copied().flatten())
        .map(|v| format!("{v:.1}"))
        .collect();
    (!each.is_empty()).then(|| format!("{} V", each.join(" / ")))
}

fn corner_text(out: &mut String, design: &Design<'_>, corner: &CornerDetail, legs: &[Leg]) {
    if let Some(problem) = &corner.problem {
        lines(out, &format!("   {}: ", corner.word), &format!("NO ANSWER: {problem}"));
        return;
    }
    if corner.parts.is_empty() {
        let _ = writeln!(out, "   {}: nothing flows", corner.word);
        return;
    }
    let panel = volts(&corner.panel_v, legs).map_or("dead".to_owned(), |v| {
        let low = assess::lowest_share(&design.case, &corner.panel_v).unwrap_or(f64::NAN);
        format!("{v} ({:.1} % of nominal)", 100.0 * low)
    });
    let head: String = legs.iter().map(|leg| format!("{:>9}", leg.to_string())).collect();
    let _ = writeln!(out, "   {:<34}{head} N up to   backup panel {panel}", corner.word);
    for part in corner.parts.iter().filter(|p| !p.role.ends_with("conductor")) {
        let each: String = legs
            .iter()
            .map(|leg| part.legs_a.get(leg.index()).copied().unwrap_or(f64::NAN))
            .map(|a| format!("{a:>9.1}"))
            .collect();
        let _ = writeln!(out, "     {:<32}{each}{:>9.1}", part.name, part.neutral_most_a);
    }
    if let Some((least, most)) = corner.unit_a {
        let limited = match corner.at_limit {
            0 => String::new(),
            n => format!("; {n} at the current limit"),
        };
        let _ = writeln!(out, "     each unit's bridge: {least:.1} to {most:.1} A a leg{limited}");
    }
    if let Some(dc) = &corner.dc {
        lines(out, "     ", &dc_text(dc));
    } else if let Some(dc_a) = corner.dc_a {
        let lowest = design.case.unit.dc.lowest;
        let _ = writeln!(out, "     battery: up to {dc_a:.0} A together at {lowest}");
    }
    for share in &corner.relays {
        let _ = writeln!(out, "     {}", relay_text(share));
    }
}

fn dc_text(dc: &DcFlow) -> String {
    let (Some(unit_v), Some((low, high))) = (dc.unit_v, dc.bus_v) else {
        return "DC side: NO STEADY VOLTAGE".to_owned();
    };
    let least = dc.strings_a.iter().copied().fold(f64::INFINITY, f64::min);
    let most = dc.strings_a.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let way = if most < 0.0 { "charged with" } else { "giving" };
    let (least, most) = if most < 0.0 { (-most, -least) } else { (least, most) };
    format!(
        "DC bus {low:.1} to {high:.1} V, units from {unit_v:.1} V; {} strings {way} {least:.1} to {most:.1} A each; up to {:.0} A along the bar",
        dc.strings_a.len(),
        dc.bar_a
    )
}

fn relay_text(share: &RelayShare) -> String {
    let draws = share.draws.as_ref().map_or(String::new(), |d| {
        format!("; over 10,000 draws half under {}, 99 % under {}", d.median.value(), d.p99.value())
    });
    format!("hottest relay on {}: up to {}{draws}", share.leg, share.corner.value())
}

fn to_json(dossier: &Dossier<'_>, design: &Design<'_>, states: &[StateDetail]) -> Value {
    let legs = design.case.system().legs();
    let all: Vec<Value> = states.iter().map(|s| dossier::state_json(legs, s)).collect();
    let check = dossier::check_json(dossier);
    json!({
        "schema": "wattwright-states/1",
        "site": check["site"],
        "verdict": check["verdict"],
        "states_found": design.assessed.states_found,
        "states": all,
        "margins": check["margins"],
        "derivations": check["derivations"],
        "cautions": check["cautions"],
    })
}
