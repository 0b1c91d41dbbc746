//! `motor = { … }` of a load.

use quantity::{Current, Duration, Quantity, ShaftPower};
use reading::{Diagnostic, Placed, Section};

use super::label::{contradiction, need_partner};
use crate::{Motor, MotorStart};

/// Code letters for locked-rotor kVA per horsepower: A to V without I, O and Q
/// (NEC Table 430.7(B), 2023; NEMA MG 1).
const CODE_LETTERS: &str = "ABCDEFGHJKLMNPRSTUV";

pub(super) fn motor(s: &Section<'_>) -> Option<Motor> {
    let currents = Current::of(0.01)..=Current::of(50_000.0);
    let power = s.need_quantity_in(
        "power",
        "shaft power from the nameplate",
        ShaftPower::of(5.0)..=ShaftPower::of(5e6),
    );
    let full_load_current = s.quantity_in(
        "full_load_current",
        "full-load current; left out, from the code table or from efficiency and power factor",
        currents.clone(),
    );
    let efficiency = s.fraction("efficiency", "efficiency at full load", 0.1..=1.0);
    let code_letter = code_letter(s);
    let locked_rotor_current =
        s.quantity_in("locked_rotor_current", "locked-rotor current at full voltage", currents.clone());
    let locked_rotor_power_factor =
        s.fraction("locked_rotor_power_factor", "power factor at standstill", 0.05..=1.0);
    let start = s.need_choice(
        "start",
        "how it starts: straight on the line, by a soft starter, by a variable-speed drive",
        &[("direct", MotorStart::Direct), ("soft", MotorStart::Soft), ("drive", MotorStart::Drive)],
    );
    let start_current = s.quantity_in("start_current", "current to which the soft starter limits", currents);
    let run_up = s.quantity_in(
        "run_up",
        "run-up time straight on the line at full voltage",
        Duration::of(0.01)..=Duration::of(300.0),
    );
    let starting_torque = s.fraction(
        "starting_torque",
        "share of full-load torque that the driven machine asks for at standstill",
        0.0..=3.0,
    );
    starting_facts(s, start.as_ref());
    let full = full_load_current.as_ref();
    not_under_full_load(s, "locked_rotor_current", locked_rotor_current.as_ref(), full);
    not_under_full_load(s, "start_current", start_current.as_ref(), full);
    soft_under_locked(s, start_current.as_ref(), locked_rotor_current.as_ref());
    Some(Motor {
        power: power?,
        full_load_current,
        efficiency,
        code_letter,
        locked_rotor_current,
        locked_rotor_power_factor,
        start: start?,
        start_current,
        run_up,
        starting_torque,
    })
}

fn code_letter(s: &Section<'_>) -> Option<Placed<char>> {
    let text = s.text("code_letter", "NEMA code letter from the nameplate")?;
    let mut letters = text.value.chars();
    if let (Some(letter), None) = (letters.next(), letters.next())
        && CODE_LETTERS.contains(letter)
    {
        return Some(text.map(|_| letter));
    }
    s.mistake(
        Diagnostic::new("wrong-value", format!("\"{}\" is no code letter", text.value))
            .at(&text.place, "expected one capital letter from A to V, without I, O and Q")
            .help("the letter stands on the nameplate as CODE; it is not the design letter"),
    );
    None
}

fn starting_facts(s: &Section<'_>, start: Option<&Placed<MotorStart>>) {
    if s.has("code_letter") && s.has("locked_rotor_current") {
        contradiction(
            s,
            "locked_rotor_current",
            "code_letter",
            "locked-rotor current is stated twice",
            "keep the current if it was measured or stands on the nameplate, else the letter",
        );
    }
    let Some(start) = start else { return };
    let soft = start.value == MotorStart::Soft;
    if soft {
        let why = "write the current to which the soft starter is set, such as start_current = \"45 A\"";
        need_partner(s, "start", "start_current", why);
    } else if s.has("start_current") {
        contradiction(
            s,
            "start_current",
            "start",
            "only a soft starter limits the starting current",
            "write start = \"soft\", or drop `start_current`",
        );
    }
}

fn not_under_full_load(
    s: &Section<'_>,
    key: &str,
    current: Option<&Placed<Current>>,
    full_load: Option<&Placed<Current>>,
) {
    if let (Some(current), Some(full_load)) = (current, full_load)
        && current.value.si() < full_load.value.si()
    {
        let message = format!("`{key}` is under the full-load current");
        contradiction(s, key, "full_load_current", &message, "correct one of the two");
    }
}

fn soft_under_locked(s: &Section<'_>, soft: Option<&Placed<Current>>, locked: Option<&Placed<Current>>) {
    if let (Some(soft), Some(locked)) = (soft, locked)
        && soft.value.si() > locked.value.si()
    {
        let message = "the soft starter's limit is above the locked-rotor current";
        contradiction(s, "start_current", "locked_rotor_current", message, "correct one of the two");
    }
}
