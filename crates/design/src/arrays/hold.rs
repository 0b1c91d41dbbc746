//! Strings of every array against their devices and the site's book, and the decision with its reasons.

use catalog::ArrayModule;
use codebook::NotCovered;
use codebook::iec::array_overcurrent::{ArrayFacts, Behind, array_overcurrent};
use codebook::us::array_current::maximum_current;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use quantity::{DcCurrent, DcVoltage, Duration, Quantity, Ratio};
use saying::{Text, say};
use site::{Array, Earthing};

use super::protection::{Open, protection};
use super::strings::{Device, Layout, Volts, count, device, lay_out, span, volts};
use super::{circuits, part};
use crate::candidate::Design;
use crate::{Decision, Held, Prepared};

/// What is known of one array before its layout is.
pub(super) struct Before<'a> {
    pub module: &'a ArrayModule,
    pub device: Device,
    pub volts: Volts,
    /// Largest current of one string, with what the book adds.
    pub string: Known<DcCurrent>,
    most_strings: u32,
}

pub(super) fn us(prepared: &Prepared<'_>) -> bool {
    prepared.site.service.earthing.value == Earthing::Us
}

pub(super) fn known<'a>(prepared: &Prepared<'a>, array: &Array) -> Option<Result<Before<'a>, NotCovered>> {
    let module = prepared.catalog.modules.get(&array.module.value)?;
    let device = device(prepared, array)?;
    Some(gather(prepared, array, module, device))
}

fn gather<'a>(
    prepared: &Prepared<'_>,
    array: &Array,
    module: &'a ArrayModule,
    device: Device,
) -> Result<Before<'a>, NotCovered> {
    let volts = volts(prepared, array, module, &device)?;
    let isc = isc(module);
    let string = if us(prepared) {
        maximum_current(&isc, &count("n", "one string", 1))?
    } else {
        array_overcurrent(&ArrayFacts {
            strings: count("n", "one string", 1),
            short_circuit: isc.clone(),
            module_most: isc,
            string_device: None,
            array_device: None,
            behind: Behind::Nothing,
        })?
        .array_conductor
    };
    let most_strings = match &device.current {
        Some(most) => (most.value().si() / string.value().si()).floor().clamp(1.0, 400.0) as u32,
        None => 400,
    };
    Ok(Before { module, device, volts, string, most_strings })
}

pub(super) fn isc(module: &ArrayModule) -> Known<DcCurrent> {
    Known::catalog(
        "I_sc",
        "short-circuit current of a module",
        module.short_circuit,
        &module.id,
        "short_circuit",
    )
}

/// The layout of an array, where one is found.
pub(super) fn layout(prepared: &Prepared<'_>, array: &Array) -> Option<Layout> {
    let known = known(prepared, array)?.ok()?;
    lay(array, &known).ok()
}

/// The layout of an array of which the rest is known.
pub(super) fn lay(array: &Array, known: &Before<'_>) -> Result<Layout, Box<Finding>> {
    lay_out(array, known.module, &known.device, &known.volts, known.most_strings)
}

/// Decides and holds the strings of every array.
pub(crate) fn settle<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    for array in &prepared.site.arrays {
        let at = format!("{}.string", part(array));
        let known = match known(prepared, array) {
            None => continue,
            Some(Ok(known)) => known,
            Some(Err(why)) => {
                let rule = if us(prepared) { "array-maximum-voltage" } else { "array-voltage" };
                design.held.push(Held::not_covered(rule, &at).because(why.reason.clone()));
                let finding = Finding::new("code-rule-not-covered", Severity::NotCovered, &at, why.reason);
                design.assessed.ledger.find(finding.at(Some(&array.place), say!("this array")));
                continue;
            }
        };
        match lay(array, &known) {
            Err(finding) => design.assessed.ledger.find(*finding),
            Ok(layout) => {
                let holding = Holding { prepared, array, at, known: &known, layout };
                let fuse = holding.all(design);
                let locked = design.case.arrays.iter().any(|a| a.locked_out && a.id == part(array));
                design.decisions.push(explain(array, &known, layout, (fuse, locked)));
                design.arrays.insert(array.id.value.clone(), layout);
            }
        }
    }
    cables(prepared, design);
}

struct Holding<'h> {
    prepared: &'h Prepared<'h>,
    array: &'h Array,
    at: String,
    known: &'h Before<'h>,
    layout: Layout,
}

impl Holding<'_> {
    /// Holds everything; the device of every string where they need one.
    fn all(&self, design: &mut Design<'_>) -> Option<Known<DcCurrent>> {
        self.voltage(design);
        self.window(design);
        self.current(design);
        self.clipped(design);
        self.not_looked_at(design);
        self.undecided(design);
        self.protection(design)
    }

    fn find(&self, design: &mut Design<'_>, id: &'static str, severity: Severity, message: Text, fix: Text) {
        let finding = Finding::new(id, severity, &self.at, message);
        design.assessed.ledger.find(finding.at(Some(&self.array.place), say!("this array")).fix(fix));
    }

    fn unstated(&self, design: &mut Design<'_>, field: &str, record: &str, why: &str) {
        let message = say!("the catalogue does not state `{field}` of {record}: {why}", field, record, why);
        let fix = say!("ask the maker for `{field}`, and write it into the record", field);
        self.find(design, "array-unstated", Severity::NotCovered, message, fix);
    }

    fn modules(&self) -> Known<Ratio> {
        count("n_m", "modules in series", self.layout.per_string)
    }

    fn strings(&self) -> Known<Ratio> {
        count("n_p", "strings at each device", self.layout.strings)
    }

    fn hold(&self, design: &mut Design<'_>, margin: Margin, id: &'static str, words: Text, fix: Text) {
        design.assessed.ledger.hold(margin, |m| {
            let message = say!(
                "{words}: {value} against {limit}",
                words,
                value = m.value.amount.text,
                limit = m.limit.amount.text
            );
            Finding::new(id, Severity::Error, &self.at, message)
                .at(Some(&self.array.place), say!("this array"))
                .fix(fix)
        });
    }

    fn voltage(&self, design: &mut Design<'_>) {
        let (n, V_1) = (self.modules(), &self.known.volts.cold);
        let clause = if us(self.prepared) { "NEC 2023 690.7(A)" } else { "IEC 62548:2016 7.2" };
        let U: Known<DcVoltage> =
            formula!("V_max", "highest voltage of a string", [n, V_1] => n * V_1, source = clause);
        let limit = &self.known.volts.limit;
        let margin = Margin::below(&self.at, say!("open-circuit voltage"), "coldest morning", &U, limit);
        let rule = if us(self.prepared) { "array-maximum-voltage" } else { "array-voltage" };
        design.held.push(Held::new(rule, &self.at, margin.holds()));
        let words = say!("{per_string} modules in series in the cold", per_string = self.layout.per_string);
        let fix = say!("at most {most} modules in series", most = self.known.volts.most);
        self.hold(design, margin, "array-over-voltage", words, fix);
        self.insulation(design, &U);
    }

    /// What the modules themselves are insulated for.
    fn insulation(&self, design: &mut Design<'_>, U: &Known<DcVoltage>) {
        let module = self.known.module;
        let Some(most) = module.system_voltage else {
            let why = "whether the modules bear the voltage of their string is not known";
            return self.unstated(design, "system_voltage", &module.id, why);
        };
        let most = Known::catalog(
            "V_sys",
            "highest voltage of a string of these modules",
            most,
            &module.id,
            "system_voltage",
        );
        let margin =
            Margin::below(&self.at, say!("voltage that the modules bear"), "coldest morning", U, &most);
        self.hold(
            design,
            margin,
            "array-over-voltage",
            say!("the string exceeds what its modules are insulated for"),
            say!("fewer modules in series"),
        );
    }

    fn window(&self, design: &mut Design<'_>) {
        let Some(limits) = &self.known.volts.window else {
            let id = &self.known.module.id;
            let why = "whether the string stays in the window of its device is not known";
            return self.unstated(design, "mpp_voltage_coefficient_per_k", id, why);
        };
        let (n, hot, cold) = (self.modules(), &limits.hot_module, &limits.cold_module);
        let V_h: Known<DcVoltage> =
            formula!("V_hot", "voltage of the string with hot cells", [n, hot] => n * hot);
        let V_c: Known<DcVoltage> =
            formula!("V_cold", "voltage of the string with cold cells", [n, cold] => n * cold);
        let (low, high) = &self.known.device.window;
        let (_, most) = span(&self.known.volts);
        let drop = self.drop_of_cables(design);
        let V_t = match &drop {
            Some(dV) => {
                formula!("V_t", "voltage of the string with hot cells at the terminals of its device",
                [V_h, dV] => V_h - dV)
            }
            // without cables there is a finding of its own
            None => V_h,
        };
        let needs = drop.map_or(low.value(), |dV| low.value() + dV.value());
        let fewest = (needs / hot.value()).si().ceil();
        let fix = say!("{fewest} to {most} modules in series, or larger cables", fewest, most);
        let margin = Margin::above(&self.at, say!("voltage at maximum power"), "hottest cells", &V_t, low);
        self.hold(
            design,
            margin,
            "array-outside-window",
            say!("with hot cells the string falls under the window"),
            fix.clone(),
        );
        let margin = Margin::below(&self.at, say!("voltage at maximum power"), "coldest cells", &V_c, high);
        self.hold(
            design,
            margin,
            "array-outside-window",
            say!("with cold cells the string rises over the window"),
            fix,
        );
    }

    /// What the cables from the modules to their device take in full sun, both poles: at the short-circuit current, which
    /// is no less than that at maximum power, and of the fullest device.
    fn drop_of_cables(&self, design: &Design<'_>) -> Option<Known<DcVoltage>> {
        let strings = design.case.strings.iter().find(|s| s.id == part(self.array))?;
        let role = strings.role();
        let of = |what: &str| {
            let wire = design.wires.iter().find(|w| w.role == format!("{role}{what}"))?;
            Some(wire.resistance.clone())
        };
        let (R_s, I_sc) = (of(".string.conductor")?, isc(self.known.module));
        if self.layout.strings < 2 {
            return Some(
                formula!("dV", "drop of the string's cable, both poles", [R_s, I_sc] => 2.0 * R_s * I_sc,
                source = "Ohm's law"),
            );
        }
        let (R_a, n) = (of(".conductor")?, self.strings());
        Some(formula!("dV", "drop of the cables of string and array, both poles",
            [R_s, R_a, n, I_sc] => 2.0 * (R_s + R_a * n) * I_sc, source = "Ohm's law"))
    }

    fn current(&self, design: &mut Design<'_>) {
        let Some(limit) = &self.known.device.current else {
            let why = "whether it bears the current of these strings is not known";
            return self.unstated(design, "array_current", &self.known.device.id, why);
        };
        let (n, I_1) = (self.strings(), &self.known.string);
        let I: Known<DcCurrent> =
            formula!("I_max", "largest current of the strings at a device", [n, I_1] => n * I_1);
        let role = design.case.strings.iter().find(|s| s.id == part(self.array)).map(assess::Strings::role);
        let at = role.unwrap_or_else(|| self.at.clone());
        let margin = Margin::below(&at, say!("current into the device"), "brightest sun", &I, limit);
        let words = say!(
            "{strings} strings at a {device}",
            strings = self.layout.strings,
            device = self.known.device.word
        );
        let fix = say!("at most {most_strings} strings at each", most_strings = self.known.most_strings);
        self.hold(design, margin, "array-over-current", words, fix);
    }

    fn clipped(&self, design: &mut Design<'_>) {
        let modules = f64::from(self.layout.strings) * f64::from(self.layout.per_string);
        let (power, takes) = (self.known.module.power * modules, self.known.device.takes.value());
        if power > takes {
            let message = say!(
                "{power} of modules at a {device} that takes {takes}: what they give above it is lost",
                power,
                device = self.known.device.word,
                takes
            );
            self.find(
                design,
                "array-clipped",
                Severity::Note,
                message,
                say!("another device beside it, or accept it"),
            );
        }
    }

    /// Without cables and devices nothing of them was held.
    fn undecided(&self, design: &mut Design<'_>) {
        if protection(self.prepared, self.known, self.layout.strings).is_err() {
            return; // said with the protection
        }
        if let Some(why) = circuits::refused(self.prepared, self.array, self.known, self.layout) {
            let message =
                say!("cables and devices of the strings were not decided: {reason}", reason = why.reason);
            self.find(
                design,
                "code-rule-not-covered",
                Severity::NotCovered,
                message,
                say!("fewer strings at each device"),
            );
        }
    }

    fn not_looked_at(&self, design: &mut Design<'_>) {
        let message = say!(
            "not looked at: earth faults of the array and their detection, arc-fault protection, connectors, and surges"
        );
        design.assessed.ledger.find(Finding::new("outside-scope", Severity::OutsideScope, &self.at, message));
    }

    /// Whether every string needs a device, and which.
    fn protection(&self, design: &mut Design<'_>) -> Option<Known<DcCurrent>> {
        let rules: &[&'static str] = if us(self.prepared) {
            &["string-overcurrent"]
        } else {
            &["array-overcurrent", "solar-supply-overcurrent"]
        };
        let found = match protection(self.prepared, self.known, self.layout.strings) {
            Ok(found) => found,
            Err(open) => {
                self.open(design, rules, open);
                return None;
            }
        };
        let holds = !found.needed || found.possible;
        design.held.extend(rules.iter().map(|rule| Held::new(rule, &self.at, holds)));
        if !holds {
            let message = say!(
                "{strings} strings at one device need protection, and no device fits modules that bear {most}",
                strings = self.layout.strings,
                most = found.most.value()
            );
            self.find(
                design,
                "array-unprotected",
                Severity::Error,
                message,
                say!("fewer strings at each device"),
            );
        }
        let strings = design.case.strings.iter().find(|s| s.id == part(self.array))?;
        let device = strings.guard.as_ref()?.device?;
        Some(Known::catalog("I_n", "rating of the device", device.rating, &device.id, "rating"))
    }

    /// What nobody states, or the book refuses.
    fn open(&self, design: &mut Design<'_>, rules: &[&'static str], open: Open) {
        let (field, record, why) = match open {
            Open::SeriesFuse => {
                ("series_fuse", &self.known.module.id, "what its strings bear of each other is not known")
            }
            Open::BackFeed => {
                ("back_feed", &self.known.device.id, "what it feeds into a fault of the array is not known")
            }
            Open::Refused(why) => {
                for rule in rules {
                    design.held.push(Held::not_covered(rule, &self.at).because(why.reason.clone()));
                }
                let fix = say!("fewer strings at each device");
                return self.find(design, "code-rule-not-covered", Severity::NotCovered, why.reason, fix);
            }
        };
        for rule in rules {
            design.held.push(Held::not_covered(rule, &self.at).because(why));
        }
        self.unstated(design, field, record, why);
    }
}

/// The cables of all strings against what the book asks of them.
fn cables(prepared: &Prepared<'_>, design: &mut Design<'_>) {
    let us = us(prepared);
    for strings in &design.case.strings {
        let role = strings.role();
        let mut all = vec![(format!("{role}.string.conductor"), "array-current")];
        if strings.joined() > 0 {
            all.push((format!("{role}.conductor"), "array-current"));
        }
        if strings.output.is_some() {
            all.push((format!("{role}.output.conductor"), "controller-output"));
        }
        for (role, rule) in all {
            let rule = us.then_some(rule);
            // without a conductor there is a finding of its own
            let Some(wire) = design.wires.iter().find(|w| w.role == role) else {
                design.held.extend(rule.map(|rule| Held::not_covered(rule, &role)));
                continue;
            };
            let state = "brightest sun";
            // by the US book with what the code adds at the terminals, and without it where the cable lies (690.8(B))
            let margins = match &wire.before {
                Some(before) => vec![
                    Margin::below(&role, say!("current asked for"), state, &wire.required, before),
                    Margin::below(&role, say!("current where it lies"), state, &wire.carried, &wire.ampacity),
                ],
                None => {
                    vec![Margin::below(
                        &role,
                        say!("current asked for"),
                        state,
                        &wire.required,
                        &wire.ampacity,
                    )]
                }
            };
            let holds = margins.iter().all(Margin::holds);
            design.held.extend(rule.map(|rule| Held::new(rule, &role, holds)));
            for margin in margins {
                design.assessed.ledger.hold(margin, |m| {
                    let message = say!(
                        "{wire}: {value} against {limit}",
                        wire = wire.name,
                        value = m.value.amount.text,
                        limit = m.limit.amount.text
                    );
                    Finding::new("array-over-current", Severity::Error, &role, message)
                        .at(Some(&strings.place), say!("this array"))
                        .fix(say!("a larger conductor"))
                });
            }
        }
    }
}

fn explain(
    array: &Array,
    known: &Before<'_>,
    layout: Layout,
    (fuse, locked): (Option<Known<DcCurrent>>, bool),
) -> Decision {
    let per_string = layout.per_string;
    let (word, volts) = (known.device.word, &known.volts);
    let value = format!("{}: {}", array.id.value, layout.words(word));
    let fixed = array.per_string.fixed().map(|n| &n.place);
    let mut decision =
        Decision::new("array", value, fixed).resting_on(volts.cold.node()).resting_on(volts.limit.node());
    if let Some(limits) = &volts.window {
        let (fewest, most) = span(volts);
        if volts.most > most {
            decision = decision.because(say!(
                "{allowed} in series would stay under {limit} in the cold; the window of the {word} ends at {most}",
                allowed = volts.most,
                limit = volts.limit.value(),
                word,
                most
            ));
        }
        decision = decision
            .because(say!(
                "{fewest} to {most} modules in series stay under {limit} in the cold and in the window of the {word}",
                fewest,
                most,
                limit = volts.limit.value(),
                word
            ))
            .resting_on(limits.fewest.node())
            .resting_on(limits.most.node());
    }
    decision = decision.because(match &fuse {
        Some(fuse) => say!("every string needs a device, of {fuse}", fuse = fuse.value()),
        None => say!("the strings need no devices of their own"),
    });
    if locked {
        decision = decision.because(say!(
            "a contactor parts it from the panel while the generator runs; a timer keeps it open for {lock_out_stays_open} after",
            lock_out_stays_open = Duration::of(plant::LOCK_OUT_STAYS_OPEN)
        ));
    }
    let more = per_string.saturating_add(1);
    let cold = volts.cold.value() * f64::from(more);
    let high = volts.window.as_ref().map(|w| w.cold_module.value() * f64::from(more));
    let window = &known.device.window.1;
    let reason = if cold > volts.limit.value() {
        say!("in the cold they give {cold}, over {limit}", cold, limit = volts.limit.value())
    } else if let Some(high) = high.filter(|high| *high > window.value()) {
        say!(
            "with cold cells {high} at maximum power, over the window up to {window}",
            high,
            window = window.value()
        )
    } else if fixed.is_some() {
        say!("the site fixes the number")
    } else {
        say!("the modules do not stand in equal strings of so many, or more of them than are asked for")
    };
    decision.not(say!("{more} in series", more), reason)
}
