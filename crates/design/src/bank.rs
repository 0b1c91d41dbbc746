//! The battery bank and its gear: the fewest strings that hold by energy, by power, by charging current and with one
//! string off; devices and busbar that are rated for it; where things land; the charging current of the units.

use assess::{
    Bank, Breaking, Case, ForATime, Landing, Ledger, assess_bank, breaking, charging_worst, landing_gain,
    least_strings,
};
use catalog::{BatteryModel, DcBusbar, DcDevice};
use derivation::{Known, Place};
use finding::{Finding, Severity};
use quantity::{DcCurrent, Quantity};
use saying::{Text, say};

use crate::candidate::Design;
use crate::{Decision, Prepared};

const CHARGING: &str = "charging current";

/// A bank that was tried.
struct Tried<'a> {
    bank: Bank<'a>,
    ledger: Ledger,
}

impl Tried<'_> {
    fn failing(&self) -> usize {
        self.ledger.findings.iter().filter(|f| f.severity.fails()).count()
    }

    /// The first that fails, in its own words; what is wrong before what is not known.
    fn reason(&self) -> Text {
        let of = |severity| self.ledger.findings.iter().find(|f: &&Finding| f.severity == severity);
        of(Severity::Error)
            .or_else(|| of(Severity::NotCovered))
            .map_or_else(|| say!("it holds as well, and costs more"), |f| f.message.clone())
    }

    fn price(&self) -> u64 {
        u64::from(self.bank.model.price) * u64::from(self.bank.model.series) * u64::from(self.bank.strings)
    }
}

/// Chooses the bank, where the site speaks of one, and has the plant assessed with it.
#[must_use]
pub(crate) fn choose<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) -> Option<Finding> {
    let wish = &prepared.site.battery;
    let Some(place) = &wish.place else {
        return untold(prepared);
    };
    let models = models(prepared);
    let mut tried: Vec<(Tried<'a>, Option<Text>)> =
        models.iter().map(|model| of_model(prepared, &design.case, model, place)).collect();
    tried.sort_by_key(|(t, _)| (t.failing(), t.price()));
    let mut others = tried.into_iter();
    let Some((best, fewer)) = others.next() else {
        let message = say!(
            "no battery of the catalogue has a voltage between {lowest} and {highest}",
            lowest = prepared.unit.dc.lowest,
            highest = prepared.unit.dc.highest
        );
        let finding = Finding::new("bank-not-found", Severity::NotCovered, "battery", message);
        return Some(
            finding.at(Some(place), say!("this battery")).fix(say!("add one to a catalogue of your own")),
        );
    };
    let dropped: Vec<(Text, Text)> =
        others.map(|(t, _)| (t.bank.model.id.clone().into(), t.reason())).collect();
    design.decisions.extend(explain(prepared, &design.case, &best, fewer, dropped));
    design.case.bank = Some(best.bank);
    crate::arrays::on_the_bus(prepared, design);
    crate::ways::measure(prepared, design);
    design.assessed = assess::assess(&design.case);
    crate::checks::add(prepared, design);
    None
}

/// A site that wishes an outage carried, or charges from an array, and says nothing of a battery: nothing of either was
/// looked at, and that is no "fine".
fn untold(prepared: &Prepared<'_>) -> Option<Finding> {
    let site = prepared.site;
    let of_dc = |a: &&site::Array| matches!(a.coupling, site::Coupling::Dc { .. });
    let (place, asked) = match (&site.wish.outage, site.arrays.iter().find(of_dc)) {
        (Some(outage), _) => {
            (&outage.place, say!("an outage of {outage} is to be carried", outage = outage.value))
        }
        (None, Some(array)) => {
            (&array.place, say!("array \"{array}\" charges a battery", array = array.id.value))
        }
        (None, None) => return None,
    };
    let message = say!("{asked}, and the site has no [battery]: neither was looked at", asked);
    let finding = Finding::new("battery-not-decided", Severity::NotCovered, "battery", message);
    Some(
        finding
            .at(Some(place), say!("asks for a battery"))
            .fix(say!("add [battery] with count = \"choose\"")),
    )
}

/// The model that the site names, else all that fit the units.
fn models<'a>(prepared: &'a Prepared<'a>) -> Vec<&'a BatteryModel> {
    let all = &prepared.catalog.batteries;
    if let Some(wished) = &prepared.site.battery.model {
        return all.get(&wished.value).into_iter().collect();
    }
    let dc = &prepared.unit.dc;
    all.values()
        .filter(|b| {
            let volts = b.nominal.si() * f64::from(b.series);
            volts >= dc.lowest.si() && volts <= dc.highest.si()
        })
        .collect()
}

/// The fewest strings of a model that hold, and why one less does not.
fn of_model<'a>(
    prepared: &'a Prepared<'a>,
    case: &Case<'a>,
    model: &'a BatteryModel,
    place: &Place,
) -> (Tried<'a>, Option<Text>) {
    let of = |strings| tried(prepared, case, model, strings, place);
    if let Some(fixed) = prepared.site.battery.count.fixed() {
        return (of(fixed.value), None);
    }
    let (least, _) = least_strings(case, &bare(prepared, case, model, 1, place));
    let most = model.parallel.max(1);
    let least = least.min(most);
    let mut best: Option<Tried<'a>> = None;
    let mut fewer = (least > 1).then(|| of(least - 1).reason());
    for strings in least..=most {
        let now = of(strings);
        if now.failing() == 0 {
            return (now, fewer);
        }
        let better = best.as_ref().is_none_or(|b| now.failing() < b.failing());
        fewer = Some(now.reason());
        // what more strings do not mend is not looked for further
        let hopeless = !now.ledger.findings.iter().any(|f| f.severity.fails() && mends(f));
        if better {
            best = Some(now);
        }
        if hopeless {
            break;
        }
    }
    (best.unwrap_or_else(|| of(least)), None)
}

/// Whether more strings mend it.
fn mends(finding: &Finding) -> bool {
    // a unit draws no less from more strings
    if finding.part == "unit.dc" {
        return false;
    }
    [
        "bank-energy-short",
        "bank-sags",
        "bank-collapses",
        "bank-discharge-over",
        "bank-survivors-trip",
        "bank-charge-over",
        "bank-ripple-over",
        "array-over-absorption",
        "dc-device-opens",
        "dc-not-covered",
    ]
    .contains(&finding.id)
}

/// A bank without gear.
fn bare<'a>(
    prepared: &'a Prepared<'a>,
    case: &Case<'a>,
    model: &'a BatteryModel,
    strings: u32,
    place: &Place,
) -> Bank<'a> {
    let (controllers, solar) = crate::arrays::solar(prepared);
    Bank {
        model,
        strings,
        string_device: None,
        unit_device: None,
        busbar: None,
        landing: Landing::Apart,
        string_way: None,
        unit_way: None,
        charge: highest_charge(case),
        solar,
        controllers,
        place: place.clone(),
    }
}

fn tried<'a>(
    prepared: &'a Prepared<'a>,
    case: &Case<'a>,
    model: &'a BatteryModel,
    strings: u32,
    place: &Place,
) -> Tried<'a> {
    let mut bank = bare(prepared, case, model, strings, place);
    if let Ok(needs) = breaking(case, &bank) {
        let wish = &prepared.site.battery;
        let all = &prepared.catalog.dc_devices;
        let fixed = |wish: &Option<reading::Placed<String>>| wish.as_ref().and_then(|id| all.get(&id.value));
        bank.string_device = fixed(&wish.string_device).or_else(|| {
            device(prepared, &needs, (&needs.string_rating, &needs.string, &needs.of_string), false)
        });
        bank.unit_device = fixed(&wish.unit_device)
            .or_else(|| device(prepared, &needs, (&needs.unit_rating, &needs.bus, &needs.of_unit), true));
        bank.busbar = busbar(prepared, &needs, strings + case.formation.units() + bank.controllers);
    }
    if let Some((apart, in_turn)) = landing_gain(case, &bank)
        && in_turn.value() < apart.value()
    {
        bank.landing = Landing::InTurn;
    }
    bank.charge = charge(case, &bank);
    let mut with = case.clone();
    with.bank = Some(bank.clone());
    Tried { bank, ledger: assess_bank(&with) }
}

/// The smallest device, the cheapest of equals, that carries, also for a time, breaks and, where asked for, can be locked
/// open; where none carries for a time, the smallest that does all the rest.
fn device<'a>(
    prepared: &'a Prepared<'a>,
    needs: &Breaking,
    (rating, fault, for_a_time): (&Known<DcCurrent>, &Known<DcCurrent>, &[ForATime]),
    lockable: bool,
) -> Option<&'a DcDevice> {
    let fits = |d: &&DcDevice| {
        d.protects()
            && d.rating >= rating.value()
            && d.voltage >= needs.voltage.value()
            && d.interrupting >= fault.value()
            && (d.lockable || !lockable)
    };
    let mut all: Vec<&DcDevice> = prepared.catalog.dc_devices.values().filter(fits).collect();
    all.sort_by(|a, b| {
        a.rating.si().total_cmp(&b.rating.si()).then(a.price.cmp(&b.price)).then(a.id.cmp(&b.id))
    });
    let carries = |d: &&&DcDevice| for_a_time.iter().all(|current| current.within(d));
    all.iter().find(carries).or(all.first()).copied()
}

fn busbar<'a>(prepared: &'a Prepared<'a>, needs: &Breaking, landings: u32) -> Option<&'a DcBusbar> {
    let fits = |b: &&DcBusbar| {
        b.rating >= needs.bus_current.value() && b.withstand >= needs.bus.value() && b.landings >= landings
    };
    let mut all: Vec<&DcBusbar> = prepared.catalog.dc_busbars.values().filter(fits).collect();
    all.sort_by(|a, b| {
        a.rating.si().total_cmp(&b.rating.si()).then(a.price.cmp(&b.price)).then(a.id.cmp(&b.id))
    });
    all.first().copied()
}

fn highest_charge(case: &Case<'_>) -> Known<DcCurrent> {
    let unit = case.unit;
    Known::catalog(
        "I_c",
        "highest charging current of a unit",
        unit.charging.current,
        &unit.id,
        "charging current",
    )
}

/// The highest whole-ampere charging current of a unit that every string bears, also with one string off; the highest
/// at all where it cannot be set.
fn charge(case: &Case<'_>, bank: &Bank<'_>) -> Known<DcCurrent> {
    let highest = highest_charge(case);
    let Some(lowest) = case.unit.charging.lowest else { return highest };
    let within = |amperes: f64| {
        let I =
            Known::chosen("I_c", "charging current of a unit", DcCurrent::of(amperes), "tried", Vec::new());
        match charging_worst(case, bank, &I) {
            Some(Ok(worst)) => worst.value() <= bank.model.charge,
            Some(Err(_)) => false,
            None => true,
        }
    };
    if within(highest.value().si()) {
        return highest;
    }
    let (mut low, mut high) = (lowest.si().ceil(), highest.value().si().floor());
    if !within(low) {
        let why = "the lowest that can be set: a string is charged with more than it may even so";
        return setting(case, bank, lowest, why);
    }
    while high - low > 1.0 {
        let middle = (0.5 * (low + high)).floor();
        if within(middle) { low = middle } else { high = middle }
    }
    let why =
        "the highest setting at which no string is charged with more than it may, strings unlike and one off";
    setting(case, bank, DcCurrent::of(low), why)
}

fn setting(case: &Case<'_>, bank: &Bank<'_>, value: DcCurrent, why: &str) -> Known<DcCurrent> {
    let model = bank.model;
    let limit =
        Known::catalog("I_ch", "continuous charge current of a module", model.charge, &model.id, "charge");
    let highest = highest_charge(case);
    Known::chosen(
        "I_c",
        "charging current of a unit, as set",
        value,
        why,
        vec![limit.node().clone(), highest.node().clone()],
    )
}

fn explain(
    prepared: &Prepared<'_>,
    case: &Case<'_>,
    best: &Tried<'_>,
    fewer: Option<Text>,
    dropped: Vec<(Text, Text)>,
) -> Vec<Decision> {
    let (bank, wish) = (&best.bank, &prepared.site.battery);
    let place = wish.count.fixed().map(|c| &c.place);
    let mut decision = Decision::new("battery", words(bank.model, bank.strings), place);
    let (least, needed) = least_strings(case, bank);
    if let Some(needed) = &needed {
        let why = say!(
            "the wished outage asks for {needed} of rated charge: {words}",
            needed = needed.value(),
            words = words(bank.model, least)
        );
        decision = decision.because(why).resting_on(needed.node());
    }
    decision = decision.because(if place.is_some() {
        say!("fixed by the site")
    } else if best.failing() > 0 {
        say!("no number of strings holds; this one has least against it")
    } else if bank.strings > least || needed.is_none() {
        say!("the fewest that carry the highest load and its duration, with one string off, and take the charging current")
    } else {
        say!("by power, with one string off and in charging they hold as well")
    });
    if let Some(reason) = fewer {
        decision = decision.not(words(bank.model, bank.strings.saturating_sub(1)), reason);
    }
    for (id, reason) in dropped {
        decision = decision.not(id, reason);
    }
    let mut all = vec![decision];
    all.extend(gear(case, wish, bank));
    all.extend(landing(case, bank));
    all.push(charging(case, bank));
    all
}

fn charging(case: &Case<'_>, bank: &Bank<'_>) -> Decision {
    let decision =
        Decision::new(CHARGING, say!("{charge} for each unit", charge = bank.charge.value()), None);
    let because = if bank.charge.value() < case.unit.charging.current {
        say!(
            "set below the {current} of the units: a string may take {charge}, also while one is off",
            current = case.unit.charging.current,
            charge = bank.model.charge
        )
    } else {
        say!("the highest of the units; a string may take {charge}", charge = bank.model.charge)
    };
    decision.because(because).resting_on(bank.charge.node())
}

/// The charging current once more, with the cables that are chosen now: they decide how unevenly strings share.
pub(crate) fn settle_charging(design: &mut Design<'_>) {
    let Some(bank) = &design.case.bank else { return };
    let bank = Bank { charge: charge(&design.case, bank), ..bank.clone() };
    let decision = charging(&design.case, &bank);
    if let Some(before) = design.decisions.iter_mut().find(|d| d.what == CHARGING) {
        *before = decision;
    }
    design.case.bank = Some(bank);
}

fn gear(case: &Case<'_>, wish: &site::BatteryWish, bank: &Bank<'_>) -> Vec<Decision> {
    let fixed = |wish: &Option<reading::Placed<String>>| wish.as_ref().map(|id| id.place.clone());
    let needs = breaking(case, bank).ok();
    // what bank and chargers give into a fault there, beside what the gear bears
    let given = |of: fn(&Breaking) -> &Known<DcCurrent>| {
        needs.as_ref().map_or("not known".to_owned(), |needs| of(needs).value().to_string())
    };
    let devices = [
        ("string device", fixed(&wish.string_device), bank.string_device, given(|needs| &needs.string)),
        ("unit DC device", fixed(&wish.unit_device), bank.unit_device, given(|needs| &needs.bus)),
    ];
    let mut all: Vec<Decision> = devices
        .into_iter()
        .filter_map(|(what, place, device, given)| {
            let device = device?;
            let why = say!(
                "the smallest that carries the circuit and breaks the fault current there, {given}: rated to break {interrupting} at {voltage}",
                given,
                interrupting = device.interrupting,
                voltage = device.voltage
            );
            let why = if place.is_some() { say!("fixed by the site") } else { why };
            Some(Decision::new(what, device.id.clone(), place.as_ref()).because(why))
        })
        .collect();
    all.extend(bank.busbar.map(|bar| {
        let why = say!(
            "the smallest that carries all units, withstands the fault current there, {given}, and has the landings: rated to withstand {withstand}",
            given = given(|needs| &needs.bus),
            withstand = bar.withstand
        );
        Decision::new("DC busbar", bar.id.clone(), None).because(why)
    }));
    all
}

fn landing(case: &Case<'_>, bank: &Bank<'_>) -> Option<Decision> {
    let (apart, in_turn) = landing_gain(case, bank).filter(|_| bank.strings > 1)?;
    let decision = Decision::new("DC landings", bank.landing.words(), None);
    let figure = |of: &Known<DcCurrent>| say!("{of} A", of = format!("{:.1}", of.value().si()));
    let (taken, other, name) = match bank.landing {
        Landing::Apart => (&apart, &in_turn, Landing::InTurn.words()),
        Landing::InTurn => (&in_turn, &apart, Landing::Apart.words()),
    };
    Some(
        decision
            .because(say!(
                "the most loaded string then gives {figure} of the lasting load",
                figure = figure(taken)
            ))
            .resting_on(taken.node())
            .not(name, say!("there it gives {figure}", figure = figure(other))),
    )
}

/// So many strings of a model, in words.
fn words(model: &BatteryModel, strings: u32) -> Text {
    let s = if strings == 1 { "" } else { "s" };
    if model.series > 1 {
        say!("{strings} string{s} of {series} {model}", strings, s, series = model.series, model = model.id)
    } else {
        say!("{strings} string{s} of one {model}", strings, s, model = model.id)
    }
}
