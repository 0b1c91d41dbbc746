//! The interlock proof of a decided design: builds its full plant and has it proven.

use catalog::LegControl;
use derivation::Known;
use plant::full::{DcGear, FullGear, FullPlant, GeneratorIn, build_full};
use plant::{GeneratorGear, Layout};
use quantity::{Current, Quantity};
use site::GeneratorInlet;
use states::proof::{Proof, ProofInput};

use crate::Case;

/// The full plant of a design and what is proven of it; with `single_failures` also what each of those leads to. None
/// where gear that the arrangement needs was not found, since another plant would be proven.
pub fn prove(case: &Case<'_>, single_failures: bool) -> Option<(FullPlant, Proof)> {
    let plant = prove_plant(case)?;
    let proof = states::proof::prove(&plant, &input(case, single_failures));
    Some((plant, proof))
}

/// The full plant that is proven; none where gear that the arrangement needs was not found.
pub fn prove_plant(case: &Case<'_>) -> Option<FullPlant> {
    let no_switch = case.layout == Layout::Outboard && case.transfer.is_none();
    let no_way_in = case.generator.is_some()
        && case.layout != Layout::Islanded
        && case.inlet == Some(GeneratorInlet::TransferSwitch)
        && case.source_switch.is_none();
    let no_former = case.unit.leg_control == LegControl::LineToLine && case.former.is_none();
    if no_switch || no_way_in || no_former {
        return None;
    }
    Some(full_plant(case))
}

/// What the site asks of the proof.
fn input(case: &Case<'_>, single_failures: bool) -> ProofInput {
    let automatic = case.site.generator.as_ref().and_then(|g| g.automatic.as_ref()).is_some_and(|a| a.value);
    ProofInput {
        generator_automatic: automatic,
        bypass_asked: case.site.wish.bypass.as_ref().is_some_and(|b| b.value),
        single_failures,
    }
}

/// The full plant of a decided design.
pub fn full_plant(case: &Case<'_>) -> FullPlant {
    let small = |n: u32| u8::try_from(n).unwrap_or(u8::MAX);
    let most = if case.unit.leg_control == LegControl::OneLeg {
        case.system().legs().iter().map(|leg| case.formation.on(*leg)).max().unwrap_or(0)
    } else {
        case.formation.units()
    };
    build_full(&FullGear {
        system: case.system(),
        earthing: case.site.service.earthing.value,
        layout: case.layout,
        unit: case.unit,
        units: small(case.formation.units()),
        unit_breakers: case.breakers.clone(),
        most_a_leg: small(most.max(1)),
        on_legs: on_legs(case),
        chosen: case.conductors.clone(),
        lengths: case
            .site
            .conductors
            .iter()
            .filter_map(|c| Some((c.part.value.clone(), c.length.as_ref()?.known("l", "length of the run"))))
            .collect(),
        run: backup_panel(case)
            .and_then(|p| p.run.as_ref())
            .map(|run| run.known("l", "length of the run to the backup panel")),
        service: case.site.service.rating.as_ref().map(|r| r.known("I_s", "rating of the service")),
        panel: panel_rating(case),
        transfer: case.transfer,
        inhibit: case.settings.inhibit,
        bypass: case.bypass,
        generator: generator(case),
        former: case.former,
        arrays: case.arrays.clone(),
        strings: case.strings.iter().map(crate::Strings::in_plant).collect(),
        bank: case.bank.as_ref().map(dc_gear),
    })
}

/// What the full plant shows of the direct-current side.
fn dc_gear(bank: &crate::Bank<'_>) -> DcGear {
    let rating = |device: Option<&catalog::DcDevice>| {
        device.map(|d| Known::catalog("I_n", "rating of the device", d.rating, &d.id, "rating"))
    };
    DcGear {
        strings: bank.strings,
        string_rating: rating(bank.string_device),
        unit_rating: rating(bank.unit_device),
        unit_lockable: bank.unit_device.is_some_and(|d| d.lockable),
        bus_rating: bank
            .busbar
            .map(|bar| Known::catalog("I_n", "rating of the busbar", bar.rating, &bar.id, "rating")),
    }
}

/// Units on each leg, for families that sit on one leg.
fn on_legs(case: &Case<'_>) -> Vec<u8> {
    if case.unit.leg_control != LegControl::OneLeg {
        return Vec::new();
    }
    let on = |leg: &quantity::Leg| u8::try_from(case.formation.on(*leg)).unwrap_or(u8::MAX);
    case.system().legs().iter().map(on).collect()
}

fn backup_panel<'a>(case: &Case<'a>) -> Option<&'a site::Panel> {
    case.site.panels.iter().find(|p| p.id.value == case.site.group.panel.value)
}

fn generator<'a>(case: &Case<'a>) -> Option<GeneratorIn<'a>> {
    let model = case.generator?;
    let way = match (case.inlet, case.layout) {
        (Some(GeneratorInlet::SecondInput), _) if case.unit.second_input.is_some() => {
            GeneratorGear::SecondInput
        }
        (_, Layout::Islanded) => GeneratorGear::OnlyInput,
        _ => case.source_switch.map_or(GeneratorGear::OnlyInput, GeneratorGear::SourceSwitch),
    };
    Some(GeneratorIn { model, way })
}

/// What the gear of the whole panel is rated for: its main breaker, else its busbar, else the smallest gear ahead.
fn panel_rating(case: &Case<'_>) -> Known<Current> {
    let stated = backup_panel(case).and_then(|p| {
        p.main_breaker
            .as_ref()
            .map(|b| b.known("I_n", "main breaker of the backup panel"))
            .or_else(|| p.busbar.as_ref().map(|b| b.known("I_n", "busbar of the backup panel")))
    });
    let gear = [case.transfer.map(|t| t.rating), case.bypass.map(|b| b.rating)].into_iter().flatten();
    let smallest = gear.map(Quantity::si).fold(case.unit.input_breaker.si(), f64::max);
    stated.unwrap_or_else(|| {
        let why = "neither main breaker nor busbar of the panel is stated: the gear ahead of it";
        Known::chosen("I_n", "rating of the feeder", Current::of(smallest), why, Vec::new())
    })
}
