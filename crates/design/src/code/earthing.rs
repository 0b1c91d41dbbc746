//! Conductors that bond and earth: of the service, of the group's island, of a generator.

use codebook::NotCovered;
use codebook::iec::bonding_section::{Bond, bonding_section};
use codebook::iec::protective_conductor::{Place, ProtectiveFacts, protective_conductor};
use codebook::us::bonding_jumper::bonding_jumper;
use codebook::us::electrode_conductor::{Electrode, electrode_conductor};
use derivation::Known;
use plant::full::BondPlace;
use quantity::{Quantity, Ratio, Section, Wire as Size, WireArea};
use saying::say;
use tables::iec::cable::Metal;
use tables::iec::heat::Use;
use tables::us::conductors::Material;
use tables::us::size;

use super::{EarthConductor, Holding};
use crate::Wire;

/// Sizes them, or holds those that the site fixes.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    if h.us() {
        us(h);
    } else {
        iec(h);
    }
}

/// All line conductors of one phase of a run together.
fn phase(wire: &Wire) -> Result<Known<WireArea>, NotCovered> {
    let bad = |error: quantity::QuantityError| NotCovered::new("NEC 2023 250.66", error.to_string());
    let each: size::Size = wire.size.parse().map_err(bad)?;
    let each = each.chosen("A", &wire.name, "the conductors that were chosen", vec![wire.why.clone()])?;
    let sets = Known::chosen("n", "sets in parallel", Ratio::of(wire.sets as f64), "as chosen", Vec::new());
    Ok(size::together(&each.area, &sets))
}

/// One conductor by its rule, under its role.
struct Asked<'r> {
    rule: &'static str,
    role: &'r str,
    name: &'r str,
}

fn us(h: &mut Holding<'_, '_>) {
    let group_bond = assess::prove_plant(h.case)
        .is_some_and(|plant| plant.bonds.iter().any(|bond| bond.place == BondPlace::Group));
    // the conductors between a source and its first disconnect decide
    let systems = [
        ("service.conductor", "service", "main bonding jumper", true),
        ("group.output.run.conductor", "group", "system bonding jumper of the group", group_bond),
        (
            "generator.feed.conductor",
            "generator",
            "system bonding jumper of the generator",
            generator_bond(h),
        ),
    ];
    for (run, system, jumper, asked) in systems {
        let Some(wire) = h.wire(run).filter(|_| asked) else { continue };
        let area = phase(wire);
        let cu = Material::Copper;
        let by = |area: &Known<WireArea>| bonding_jumper(area, cu, cu);
        let found = area.clone().and_then(|area| by(&area));
        let role = format!("{system}.bond.jumper");
        put(h, &Asked { rule: "bonding-jumper", role: &role, name: jumper }, found);
        // whatever the electrode: the whole table, which no kind of electrode exceeds
        let by = |area: &Known<WireArea>| electrode_conductor(area, cu, cu, Electrode::Any);
        let found = area.and_then(|area| by(&area));
        let role = format!("{system}.electrode.conductor");
        let name = format!("grounding electrode conductor of the {system}");
        put(h, &Asked { rule: "electrode-conductor", role: &role, name: &name }, found);
    }
}

/// The generator joins neutral and ground by itself: it is a system of its own.
fn generator_bond(h: &Holding<'_, '_>) -> bool {
    h.case.generator.is_some_and(|set| set.neutral_bonded == Some(true))
}

fn put(h: &mut Holding<'_, '_>, asked: &Asked<'_>, found: Result<size::KnownSize, NotCovered>) {
    let found = match found {
        Ok(found) => found,
        Err(refused) => return h.not_covered(asked.rule, asked.role, refused.reason, None),
    };
    let wish = h.case.site.conductors.iter().find(|c| c.part.value == asked.role);
    let fixed = wish.and_then(|wish| wish.size.as_ref());
    let (text, why) = match fixed {
        None => (found.size.to_string(), found.area.node().clone()),
        Some(fixed) => {
            let Ok(size) = fixed.value.to_string().parse::<size::Size>() else {
                let reason = say!("{fixed} is no size of the table", fixed = fixed.value);
                return h.not_covered(asked.rule, asked.role, reason, Some(&fixed.place));
            };
            if size < found.size {
                let message = say!(
                    "{asked}: {size} is fixed, {size_2} is asked for",
                    asked = asked.name,
                    size,
                    size_2 = found.size
                );
                return h.fails(asked.rule, asked.role, message, Some(&fixed.place));
            }
            let Ok(area) = size.area() else { return };
            let area = Known::input("A", format!("copper: {size}, fixed"), area.value(), &fixed.place);
            (size.to_string(), area.node().clone())
        }
    };
    h.passes(asked.rule, asked.role);
    h.work.conductors.push(EarthConductor {
        role: asked.role.to_owned(),
        name: asked.name.to_owned(),
        rule: asked.rule,
        size: text,
        why,
    });
}

fn section(wire: &Wire) -> Option<f64> {
    match wire.size.parse() {
        Ok(Size::Mm2(mm2)) => Some(mm2 * wire.sets as f64),
        _ => None,
    }
}

/// The largest protective conductor of the installation decides main bonding and earthing conductor.
fn iec(h: &mut Holding<'_, '_>) {
    let largest = h.wires.iter().filter_map(|wire| Some((wire, section(wire)?)));
    let largest = largest.fold(None, |best: Option<(&Wire, f64)>, (wire, mm2)| match best {
        Some((_, most)) if most >= mm2 => best,
        _ => Some((wire, mm2)),
    });
    let Some((wire, mm2)) = largest else { return };
    let why = format!("largest line conductors of the installation: {}", wire.name);
    let line = Known::chosen("S", "section of a line", Section::of(mm2), why, vec![wire.why.clone()]);
    let protective = protective_conductor(&ProtectiveFacts {
        line,
        line_metal: Metal::Copper,
        line_use: Use::LinePvc,
        metal: Metal::Copper,
        usage: Use::InCablePvc,
        place: Place::WithLines,
        leakage: false,
        fault: None,
    });
    for (role, name, bond) in [
        ("earthing.conductor", "earthing conductor, not laid in the ground", Bond::Earthing),
        ("bonding.conductor", "main protective bonding conductor", Bond::Main),
    ] {
        let found = protective.clone().and_then(|pe| bonding_section(bond, Metal::Copper, &pe.section));
        let name = format!("{name}, by the largest conductors: {} {}", wire.name, wire.size);
        put_section(h, role, &name, found);
    }
}

fn put_section(h: &mut Holding<'_, '_>, role: &str, name: &str, found: Result<Known<Section>, NotCovered>) {
    const RULE: &str = "bonding-section";
    let found = match found {
        Ok(found) => found,
        Err(refused) => return h.not_covered(RULE, role, refused.reason, None),
    };
    let wish = h.case.site.conductors.iter().find(|c| c.part.value == role);
    let fixed = wish.and_then(|wish| wish.size.as_ref());
    let section = match fixed {
        None => found,
        Some(fixed) => {
            let Size::Mm2(mm2) = fixed.value else {
                let reason = say!("{fixed} is no section of IEC 60228", fixed = fixed.value);
                return h.not_covered(RULE, role, reason, Some(&fixed.place));
            };
            if Section::of(mm2).si() < found.value().si() * (1.0 - 1e-9) {
                let message = say!(
                    "{name}: {fixed} is fixed, {found} is asked for",
                    name,
                    fixed = fixed.value,
                    found = found.value()
                );
                return h.fails(RULE, role, message, Some(&fixed.place));
            }
            Known::input("S", format!("{name}, fixed"), Section::of(mm2), &fixed.place)
        }
    };
    h.passes(RULE, role);
    h.work.conductors.push(EarthConductor {
        role: role.to_owned(),
        name: name.to_owned(),
        rule: RULE,
        size: section.value().to_string(),
        why: section.node().clone(),
    });
}
