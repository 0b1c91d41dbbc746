//! The formation as it is written: `2+2+2`.

use reading::{Diagnostic, Placed};

use crate::facts::Facts;

/// A formation names one number of units for each leg of the service, or a single number for units that span all
/// legs. The numbers add up to the count, if that is fixed too.
pub(super) fn check(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let Some(formation) = &facts.formation else { return };
    let Some(units) = parse(&formation.value) else {
        report(
            wrong(formation, format!("\"{}\" is no formation", formation.value), "not understood")
                .help("write the units of each leg with + between them, such as \"2+2+2\", or \"choose\""),
        );
        return;
    };
    if let Some(system) = &facts.system {
        let legs = system.value.legs().len();
        if units.len() != 1 && units.len() != legs {
            let message = format!("the formation has {} legs, the service {legs}", units.len());
            let example = vec!["2"; legs].join("+");
            report(
                wrong(formation, message, "one number for each leg")
                    .also(&system.place, "the service")
                    .help(format!("write \"{example}\", or one number for units that span all legs")),
            );
        }
    }
    let sum: u32 = units.iter().sum();
    if let Some(count) = facts.count.as_ref().filter(|count| count.value != sum) {
        report(
            wrong(
                formation,
                format!("the formation has {sum} units, the count says {}", count.value),
                "formation",
            )
            .also(&count.place, "count")
            .help("correct one of them, or leave one to the tool: \"choose\""),
        );
    }
}

fn wrong(formation: &Placed<String>, message: String, label: &str) -> Diagnostic {
    Diagnostic::new("wrong-formation", message).at(&formation.place, label)
}

fn parse(text: &str) -> Option<Vec<u32>> {
    let part = |part: &str| {
        let digits = part.trim();
        let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        digits.parse::<u32>().ok().filter(|units| plain && (1..=99).contains(units))
    };
    text.split('+').map(part).collect()
}
