//! What the book asks for beside the conductor runs, for `check`.

use std::fmt::Write as _;

use dossier::Dossier;

use crate::output;

const WIDTH: usize = 110;

/// Bonding and electrode conductors, motor circuits, spaces and labels, a line each.
pub(crate) fn write(out: &mut String, dossier: &Dossier<'_>, why: bool) {
    let Some(design) = dossier.design else { return };
    let work = &design.code;
    let mut section = |heading: &str, lines: Vec<String>| {
        if lines.is_empty() {
            return;
        }
        let _ = writeln!(out, "{heading}");
        for text in lines {
            for (k, line) in output::wrapped(&text, WIDTH - 4).iter().enumerate() {
                let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
            }
        }
        out.push('\n');
    };
    let conductors = work.conductors.iter().map(|c| format!("{}: {} copper ({})", c.name, c.size, c.role));
    section("bonding and earthing", conductors.collect());
    let circuits = work.circuits.iter().map(|c| {
        let count = if c.count > 1 { format!(" ({} of them)", c.count) } else { String::new() };
        let more = c.if_it_cannot_start.as_ref();
        let more =
            more.map_or(String::new(), |d| format!(" ({} where it does not start on that)", d.value()));
        if let Some(letter) = c.curve {
            let relay = c.relay.as_ref();
            let relay = relay.map_or_else(
                || "no trip class fits its start".to_owned(),
                |r| format!("relay set to {}, class {}", r.setting.value(), r.class),
            );
            let neutral = if c.neutral { ", N" } else { "" };
            return format!(
                "{}{count}, panel {}: {} x {}{neutral}, PE {}; breaker type {letter} of {}; {relay}",
                c.load,
                c.panel,
                c.lines,
                c.size,
                c.ground,
                c.device.value()
            );
        }
        let neutral = if c.neutral { format!(", N {}", c.size) } else { String::new() };
        format!(
            "{}{count}, panel {}: {} x {}{neutral}, ground {}; inverse-time breaker of at most {}{more}",
            c.load,
            c.panel,
            c.lines,
            c.size,
            c.ground,
            c.device.value()
        )
    });
    section("branch circuits of motors (overload is the starter's)", circuits.collect());
    let spaces = work.spaces.iter().map(|s| {
        format!(
            "panel {}: {} deep, {} wide, {} high at least, and no less than the equipment",
            s.panel,
            s.depth.value(),
            s.width.value(),
            s.height.value()
        )
    });
    section("space before live parts", spaces.collect());
    let labels = work.labels.iter().map(|l| {
        let shows: Vec<String> = l.shows.iter().map(|n| format!("{} {}", n.what, n.amount.text)).collect();
        let shows = if shows.is_empty() { String::new() } else { format!(": {}", shows.join(", ")) };
        format!("{}: {}{shows} ({})", l.place, l.tells, l.clause)
    });
    // the list is long: the package has it, `check` shows it on request
    section(
        "labels and signs",
        if why {
            labels.collect()
        } else {
            Some(work.labels.len())
                .filter(|n| *n > 0)
                .map(|n| format!("{n} are asked for: `check --why` or `--json` lists them"))
                .into_iter()
                .collect()
        },
    );
}
