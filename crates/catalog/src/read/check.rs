//! Checks across the fields of a record: what no single value shows. Each adds its mistake at the value that a
//! person would change.

use derivation::Place;
use quantity::{
    Apparent, Current, DcCurrent, DcVoltage, Frequency, Length, PeakCurrent, Percent, Power, Quantity, Ratio,
    Temperature, VoltageSystem,
};
use reading::{Diagnostic, Placed, Section};

use super::unit::Output;
use crate::{InputLimit, LegControl, PathResistance, TransferRelay};

/// Values written in rounded figures may differ by this share and still be meant alike.
const ROUNDING: f64 = 0.005;

/// Whether active power is within apparent power; if not, that is a mistake at the key.
pub(super) fn power_within_apparent(s: &Section<'_>, key: &str, power: Power, apparent: Apparent) -> bool {
    let within = power.si() <= apparent.si() * (1.0 + ROUNDING);
    if !within {
        let message = format!("{power} needs more than {apparent}");
        s.mistake_at(key, "power-over-apparent", message, "active power is at most the apparent power");
    }
    within
}

pub(super) fn frequency(s: &Section<'_>, frequency: &Placed<Frequency>) {
    let hertz = frequency.value.si();
    if (hertz - 50.0).abs() > 1e-6 && (hertz - 60.0).abs() > 1e-6 {
        let wrong = Diagnostic::new("out-of-range", format!("{} is no mains frequency", frequency.value));
        s.mistake(wrong.at(&frequency.place, "expected 50 Hz or 60 Hz"));
    }
}

/// A bridge over two legs has its legs 180 degrees apart, so that it fits 120/240 V split-phase and nothing else; a
/// bridge on one leg makes one voltage, and several of them any system of that voltage.
pub(super) fn forms(s: &Section<'_>, forms: &[Placed<VoltageSystem>], control: LegControl) {
    let Some(first) = forms.first() else { return };
    for form in forms {
        let reason = match control {
            LegControl::OneLeg => (form.value.phase_voltage() != first.value.phase_voltage())
                .then(|| format!("one leg at {} cannot also make this voltage", first.value.phase_voltage())),
            LegControl::IndependentLegs | LegControl::EqualLegs => {
                (form.value != VoltageSystem::Split120_240).then(|| {
                    "its two legs are 180 degrees apart: they fit only 120/240 V split-phase".to_owned()
                })
            }
            LegControl::LineToLine => (form.value != VoltageSystem::Split120_240).then(|| {
                "a 240 V bridge between two lines fits only 120/240 V split-phase, with a neutral former"
                    .to_owned()
            }),
        };
        if let Some(reason) = reason {
            let wrong = Diagnostic::new("cannot-form", format!("it cannot form {}", form.value));
            s.mistake(wrong.at(&form.place, reason).help("take it out of `forms`"));
        }
    }
}

/// Two legs: a leg has at most the whole and at least half of it. One bridge: leg and whole are the same.
pub(super) fn leg_rating(
    s: &Section<'_>,
    control: LegControl,
    total: (Power, Apparent),
    leg: (Power, Apparent),
) {
    let shares = [("W", leg.0.si() / total.0.si()), ("VA", leg.1.si() / total.1.si())];
    let (low, words) = match control {
        LegControl::OneLeg | LegControl::LineToLine => (1.0, "the same as the whole unit: it has one bridge"),
        LegControl::IndependentLegs | LegControl::EqualLegs => {
            (0.5, "at least half and at most the whole of `rating`: it has two legs")
        }
    };
    let wrong = shares.iter().find(|(_, share)| *share < low * (1.0 - ROUNDING) || *share > 1.0 + ROUNDING);
    if let Some((unit, share)) = wrong {
        let message = format!("a leg has {} of the unit's {unit}", Ratio::of(*share));
        s.mistake_at("leg", "leg-rating", message, format!("a leg has {words}"));
    }
}

pub(super) fn temperature_curve(s: &Section<'_>, points: &[Placed<(Temperature, Ratio)>]) {
    const ID: &str = "temperature-curve";
    if points.len() < 2 && s.has("temperature") {
        let help = "give the temperature up to which the rating is full, and the one at which it ends";
        s.mistake_at("temperature", ID, "a curve needs two points or more", help);
    }
    for pair in points.windows(2) {
        let [a, b] = pair else { continue };
        let ((t_a, k_a), (t_b, k_b)) = (a.value, b.value);
        if t_b <= t_a {
            let wrong = Diagnostic::new(ID, format!("{t_b} does not follow {t_a}"));
            s.mistake(wrong.at(&b.place, "expected a higher temperature than the point before"));
        } else if k_b > k_a {
            let wrong = Diagnostic::new(ID, format!("the factor rises from {k_a} to {k_b} with temperature"));
            s.mistake(wrong.at(&b.place, "expected no more than the point before"));
        }
    }
}

pub(super) fn altitude(s: &Section<'_>, full_to: Length, loss: Percent, highest: Length) {
    let left = 1.0 - loss.share().si() * (highest - full_to).si() / 100.0;
    if left < 0.05 {
        let message = format!("at {highest} only {} of the rating is left", Ratio::of(left.max(0.0)));
        s.mistake_at(
            "loss_per_100_m",
            "altitude-rating",
            message,
            "check the loss for every 100 m, and `highest`",
        );
    }
}

/// A sine's peak is sqrt(2) of its RMS value: a lower trip would stop the bridge below its own current limit.
pub(super) fn surge_peak(s: &Section<'_>, current: Current, peak: PeakCurrent) {
    let sine = current.si() * std::f64::consts::SQRT_2;
    if peak.si() < sine * (1.0 - ROUNDING) {
        let message = format!("the trip at {peak} comes before the limit of {current} RMS");
        let help =
            format!("a sine of {current} RMS peaks at {}; is `peak` an RMS value?", PeakCurrent::of(sine));
        s.mistake_at("peak", "surge-peak", message, help);
    }
}

/// Current in one bridge at an apparent power of it. The voltage is the nominal one between its two ends.
fn bridge_current(output: &Output, apparent: Apparent) -> Option<Current> {
    let form = output.forms.first()?;
    match output.leg_control {
        LegControl::LineToLine => form.line_voltage().map(|v| apparent / v),
        _ => Some(apparent / form.phase_voltage()),
    }
}

pub(super) fn surge_above_continuous(s: &Section<'_>, output: &Output, surge: Current) {
    if let Some(continuous) = bridge_current(output, output.leg_apparent)
        && surge.si() < continuous.si() * (1.0 - ROUNDING)
    {
        let message = format!("the current limit {surge} is below the {continuous} of the continuous rating");
        s.mistake_at("current", "surge-current", message, "give the RMS current of one leg");
    }
}

/// An overload that needs more than the current limit cannot be delivered.
pub(super) fn overload_within_surge(
    s: &Section<'_>,
    output: &Output,
    steps: &[(Power, &Place)],
    surge: Current,
) {
    let legs = match output.leg_control {
        LegControl::OneLeg | LegControl::LineToLine => 1.0,
        LegControl::IndependentLegs | LegControl::EqualLegs => 2.0,
    };
    for (power, place) in steps {
        let Some(current) = bridge_current(output, (*power / legs).at(Ratio::of(1.0))) else { continue };
        if current.si() > surge.si() * (1.0 + ROUNDING) {
            let wrong = Diagnostic::new("overload-over-surge", format!("{power} needs {current} in one leg"));
            s.mistake(wrong.at(place, format!("the bridge limits at {surge}")));
        }
    }
}

pub(super) fn relay(s: &Section<'_>, continuous: Current, make: Option<Current>, breaking: Option<Current>) {
    for (key, current) in [("make", make), ("breaking", breaking)] {
        if let Some(current) = current.filter(|c| *c < continuous) {
            let message = format!("`{key}` {current} is below the continuous {continuous}");
            s.mistake_at(
                key,
                "relay-current",
                message,
                "check the number; leave the key out if none is published",
            );
        }
    }
}

pub(super) fn input_limit_within_relay(s: &Section<'_>, limit: &InputLimit, relay: &TransferRelay) {
    if limit.highest > relay.continuous {
        let message = format!("a setting of {} is over the relay's {}", limit.highest, relay.continuous);
        s.mistake_at("input_limit", "limit-over-relay", message, "`highest` is per leg and unit");
    }
}

/// Keys that "matched paths" needs and "one relay" must not have.
pub(super) fn key_of_matched_paths(s: &Section<'_>, key: &str, matched: bool) {
    if matched {
        super::common::need_key(s, key, "\"matched paths\" needs it");
    } else if s.has(key) {
        let help =
            "write counts = \"matched paths\" if the maker states that paths add up, else take the key out";
        s.mistake_at(key, "pass-through", format!("`{key}` means nothing with \"one relay\""), help);
    }
}

pub(super) fn path_ageing(s: &Section<'_>, new: &PathResistance, old: &PathResistance) {
    if old.lowest < new.lowest || old.highest < new.highest {
        let message = "a path at the end of life has less resistance than a new one";
        s.mistake_at("end_of_life", "path-resistance", message, "contacts wear: are the two swapped?");
    }
}

pub(super) fn efficiency(s: &Section<'_>, points: &[Placed<(Ratio, Ratio)>]) {
    const ID: &str = "efficiency-curve";
    if points.len() < 2 && s.has("efficiency") {
        s.mistake_at("efficiency", ID, "a curve needs two points or more", "add the point of full load");
    } else if let Some(last) = points.last()
        && last.value.0 < Ratio::of(1.0)
    {
        let wrong =
            Diagnostic::new(ID, format!("the last load is {}: nothing is known above it", last.value.0));
        s.mistake(wrong.at(&last.place, "expected full load or more: losses rise up to there"));
    }
    for pair in points.windows(2) {
        if let [a, b] = pair
            && b.value.0 <= a.value.0
        {
            let wrong = Diagnostic::new(ID, format!("load {} does not follow {}", b.value.0, a.value.0));
            s.mistake(wrong.at(&b.place, "expected a higher load than the point before"));
        }
    }
}

/// The group holds as many units as stand on all its legs: a two-leg unit spans them, one-leg units stand on each of
/// the systems that they form.
pub(super) fn formation(s: &Section<'_>, per_leg: u32, total: u32, output: &Output) {
    let legs = match output.leg_control {
        LegControl::OneLeg => output.forms.iter().map(|f| f.legs().len()).max().unwrap_or(1),
        LegControl::IndependentLegs | LegControl::EqualLegs | LegControl::LineToLine => 1,
    };
    let most = per_leg.saturating_mul(u32::try_from(legs).unwrap_or(1));
    if total < per_leg {
        let message = format!("{per_leg} on one leg are more than the {total} of the group");
        s.mistake_at("per_leg", "formation-total", message, "is `total` the number on all legs together?");
    } else if total > most {
        let message = format!("a group of {total} cannot stand: at most {per_leg} a leg make {most}");
        s.mistake_at("total", "formation-total", message, "for two-leg units both numbers are the same");
    }
}

/// Power at the maximum power point over its voltage is a current: somewhat below the short-circuit current.
pub(super) fn module_power(s: &Section<'_>, power: Power, mpp: DcVoltage, short: DcCurrent) {
    let current: DcCurrent = power / mpp;
    if current > short || current.si() < 0.7 * short.si() {
        let message = format!("{power} at {mpp} is {current}, beside {short} in short circuit");
        let help = "at the maximum power point a module gives somewhat less than its short-circuit current";
        s.mistake_at("power", "module-power", message, help);
    }
}

/// All legs together carry the rating, and no leg more than all of it with a margin for rounded figures.
pub(super) fn generator_current(s: &Section<'_>, system: VoltageSystem, apparent: Apparent, leg: Current) {
    let one_leg = (system.phase_voltage() * leg).si();
    let all = one_leg * system.legs().len() as f64;
    if all < 0.95 * apparent.si() || one_leg > 1.05 * apparent.si() {
        let message = format!("{leg} on each leg of {system} does not make {apparent}");
        let help =
            format!("expected about {}", apparent / system.phase_voltage() / system.legs().len() as f64);
        s.mistake_at("leg_current", "generator-current", message, help);
    }
}

/// The current of a line is what the apparent power makes on all of them, or more at low voltage; less would let
/// breakers and conductors be chosen too small.
pub(super) fn line_current(s: &Section<'_>, system: VoltageSystem, apparent: Apparent, current: Current) {
    let expected = apparent / system.phase_voltage() / system.legs().len() as f64;
    if current.si() < 0.99 * expected.si() || current.si() > 1.5 * expected.si() {
        let message = format!("{current} on each line of {system} does not go with {apparent}");
        let help = format!("expected {expected}, or somewhat more where low voltage is allowed for");
        s.mistake_at("current", "line-current", message, help);
    }
}
