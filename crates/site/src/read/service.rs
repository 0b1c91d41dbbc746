//! `[service]` and `[utility]`.

use quantity::{Apparent, Current, Frequency, Percent, Power, Quantity, Resistance, VoltageSystem};
use reading::{Diagnostic, Placed, Section};

use super::label::{contradiction, percent_in, words};
use crate::facts::Facts;
use crate::{Earthing, ExportClass, Service, Utility};

const EARTHING: [(&str, Earthing); 5] = [
    ("US", Earthing::Us),
    ("TN-S", Earthing::TnS),
    ("TN-C-S", Earthing::TnCS),
    ("TT", Earthing::Tt),
    ("IT", Earthing::It),
];

pub(super) fn service(s: &Section<'_>, facts: &mut Facts) -> Option<Service> {
    let system = s.need_designation::<VoltageSystem>("kind", "voltage system", "120/240 V split-phase");
    let frequency =
        s.quantity::<Frequency>("frequency", "frequency; left out, the one usual with the system");
    let utility = s.choice(
        "utility",
        "whether a utility is connected: \"yes\" (also when left out), or \"none\" off grid",
        &[("yes", true), ("none", false)],
    );
    let rating =
        s.quantity_in("rating", "rating of the service disconnect", Current::of(10.0)..=Current::of(6000.0));
    let transformer = s.section("transformer", "the supply transformer", transformer);
    let fault_current = s.quantity_in(
        "fault_current",
        "fault current at the service as the utility states it",
        Current::of(50.0)..=Current::of(200_000.0),
    );
    let earthing = s.need_choice("earthing", "earthing system", &EARTHING);
    let electrode = s.quantity_in(
        "electrode",
        "resistance of the electrode, where measured",
        Resistance::of(0.01)..=Resistance::of(10_000.0),
    );
    facts.system.clone_from(&system);
    // left out means that there is a utility: the check below then asks for its rating
    let utility = match utility {
        None if !s.has("utility") => s.place().map(|place| Placed { value: true, place }),
        other => other,
    };
    facts.utility.clone_from(&utility);
    usual_frequency(s, frequency.as_ref());
    earthing_fits(s, system.as_ref(), frequency.as_ref(), earthing.as_ref());
    rating_with_utility(s, utility.as_ref());
    let (transformer_rating, transformer_impedance) = transformer.unzip();
    Some(Service {
        system: system?,
        frequency,
        utility: utility?,
        rating,
        transformer_rating,
        transformer_impedance: transformer_impedance.flatten(),
        fault_current,
        earthing: earthing?,
        electrode,
    })
}

fn transformer(s: &Section<'_>) -> Option<(Placed<Apparent>, Option<Placed<Percent>>)> {
    let rating = s.need_quantity_in(
        "rating",
        "rating of the supply transformer",
        Apparent::of(500.0)..=Apparent::of(20e6),
    );
    let impedance = percent_in(s, "impedance", "impedance of the supply transformer", 0.002..=0.30);
    Some((rating?, impedance))
}

fn usual_frequency(s: &Section<'_>, frequency: Option<&Placed<Frequency>>) {
    let Some(frequency) = frequency else { return };
    let hertz = frequency.value.si();
    if [50.0, 60.0].iter().all(|nominal: &f64| (hertz - nominal).abs() > 1e-9) {
        let diagnostic = Diagnostic::new("out-of-range", format!("`frequency` is {}", frequency.value));
        s.mistake(diagnostic.at(&frequency.place, "expected \"50 Hz\" or \"60 Hz\""));
    }
}

/// US practice (solidly grounded, one neutral-to-ground bond at the service) belongs to 60 Hz services at 120 V to
/// neutral; the others occur with every system.
fn earthing_fits(
    s: &Section<'_>,
    system: Option<&Placed<VoltageSystem>>,
    frequency: Option<&Placed<Frequency>>,
    earthing: Option<&Placed<Earthing>>,
) {
    let (Some(system), Some(earthing)) = (system, earthing) else { return };
    if earthing.value != Earthing::Us {
        return;
    }
    let european = matches!(system.value, VoltageSystem::Single230 | VoltageSystem::Wye230_400);
    let slow = frequency.filter(|f| f.value.si() < 55.0);
    let other = match (european, slow) {
        (true, _) => (&system.place, system.value.to_string()),
        (false, Some(frequency)) => (&frequency.place, frequency.value.to_string()),
        (false, None) => return,
    };
    s.mistake(
        Diagnostic::new("earthing-mismatch", format!("US earthing does not go with {}", other.1))
            .at(&earthing.place, "US practice: 60 Hz, 120 V to neutral")
            .also(other.0, "this service")
            .help("write \"TN-S\", \"TN-C-S\", \"TT\" or \"IT\", or correct the service"),
    );
}

fn rating_with_utility(s: &Section<'_>, utility: Option<&Placed<bool>>) {
    if s.has("rating") || !utility.is_some_and(|utility| utility.value) {
        return;
    }
    if let Some(place) = s.place() {
        s.mistake(
            Diagnostic::new("missing-key", "[service] has a utility but no `rating`")
                .at(&place, "`rating` is missing: rating of the service disconnect")
                .help("write rating = \"200 A\" as on the disconnect; off grid, write utility = \"none\""),
        );
    }
}

pub(super) fn utility(s: &Section<'_>, facts: &mut Facts) -> Option<Utility> {
    let export = s.choice(
        "export",
        "what may flow back to the utility",
        &[("none", ExportClass::None), ("limited", ExportClass::Limited), ("full", ExportClass::Full)],
    );
    let export_limit = s.quantity_in(
        "export_limit",
        "the limit, with export = \"limited\"",
        Power::of(1.0)..=Power::of(5e6),
    );
    let unbalance_cap = s.quantity_in(
        "unbalance_cap",
        "largest difference between phases that the utility accepts",
        Apparent::of(1.0)..=Apparent::of(5e6),
    );
    let interface_protection =
        words(s, "interface_protection", "interface protection asked for, in the utility's words");
    let metering = words(s, "metering", "where the meter and its current transformers sit");
    facts.export.clone_from(&export);
    let limited = export.as_ref().map(|export| export.value == ExportClass::Limited);
    if limited == Some(true) && !s.has("export_limit") {
        let help = "write export_limit = \"10 kW\" with the utility's figure";
        s.mistake_at("export", "missing-partner", "limited export needs `export_limit`", help);
    }
    if s.has("export_limit") && limited == Some(false) {
        let message = "an export limit stands beside an export class that has none";
        contradiction(s, "export_limit", "export", message, "write export = \"limited\", or drop the limit");
    }
    if s.has("export_limit") && !s.has("export") {
        let help = "write export = \"limited\" beside it";
        s.mistake_at("export_limit", "missing-partner", "an export limit needs `export`", help);
    }
    Some(Utility { export, export_limit, unbalance_cap, interface_protection, metering })
}
