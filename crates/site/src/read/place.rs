//! `[room]`, `[wall]` and `[[link]]`.

use quantity::{AirFlow, Area, HeatConductance, Length, Mass, Power, Temperature};
use reading::Section;

use super::label::need_name;
use crate::{Housing, LinkDevice, LinkWish, ObstacleKind, Opposite, Room, Wall, WallObstacle};

pub(super) fn room(s: &Section<'_>) -> Option<Room> {
    let outside = s.quantity_in(
        "outside",
        "temperature of the air that comes in; left out, the high outdoors",
        Temperature::of(-20.0)..=Temperature::of(60.0),
    );
    let fan = s.quantity_in("fan", "air flow of a fan", AirFlow::of(1e-4)..=AirFlow::of(100.0));
    let opening = s.quantity_in(
        "opening",
        "free area of a low opening and of a high one, each",
        Area::of(1e-4)..=Area::of(50.0),
    );
    let opening_height = s.quantity_in(
        "opening_height",
        "height from the middle of the low opening to the middle of the high one",
        Length::of(0.1)..=Length::of(20.0),
    );
    let walls = s.quantity_in(
        "walls",
        "heat through walls and ceiling to outside, for each degree of difference",
        HeatConductance::of(0.1)..=HeatConductance::of(10_000.0),
    );
    let cooling =
        s.quantity_in("cooling", "heat that a cooling device takes", Power::of(10.0)..=Power::of(1e6));
    let other_heat = s.quantity_in(
        "other_heat",
        "heat of everything else in the room: breakers, conductors, chargers",
        Power::of(0.0)..=Power::of(1e6),
    );
    let partner = |key: &str, other: &str| {
        let message = format!("`{key}` without `{other}`");
        s.mistake_at(
            key,
            "missing-partner",
            message,
            "warm air rises from one opening to the other: give both",
        );
    };
    match (&opening, &opening_height) {
        (Some(_), None) if !s.has("opening_height") => partner("opening", "opening_height"),
        (None, Some(_)) if !s.has("opening") => partner("opening_height", "opening"),
        _ => {}
    }
    Some(Room { outside, fan, opening, opening_height, walls, cooling, other_heat, place: s.place()? })
}

pub(super) fn wall(s: &Section<'_>) -> Option<Wall> {
    let side = Length::of(0.2)..=Length::of(100.0);
    let width = s.need_quantity_in("width", "width of the free wall", side.clone());
    let height = s.need_quantity_in("height", "height of the free wall", side);
    let studs = s.quantity_in(
        "studs",
        "spacing of the studs, where the wall has any",
        Length::of(0.1)..=Length::of(2.0),
    );
    let first_stud = s.quantity_in(
        "first_stud",
        "middle of the first stud from the left end",
        Length::of(0.0)..=Length::of(2.0),
    );
    let fixing = s.quantity_in(
        "fixing",
        "mass that one stud, or one fixing of a solid wall, carries of one housing",
        Mass::of(1.0)..=Mass::of(5000.0),
    );
    let in_front = s.quantity_in(
        "in_front",
        "free depth from the wall to what is opposite",
        Length::of(0.1)..=Length::of(50.0),
    );
    let opposite = s.choice(
        "opposite",
        "what is opposite: concrete, brick and tile are grounded; left out, live parts",
        &[("nothing", Opposite::Nothing), ("grounded", Opposite::Grounded), ("live", Opposite::Live)],
    );
    let panel = s.section("panel", "housing of the backup panel, where it hangs on this wall", housing);
    let battery = s.flag("battery", "the battery stands before this wall, too; left out, elsewhere");
    let obstacles = s.list("obstacle", "what is on the wall already, one table each", obstacle);
    if first_stud.is_some() && !s.has("studs") {
        s.mistake_at("first_stud", "missing-partner", "`first_stud` without `studs`", "give the spacing too");
    }
    Some(Wall {
        width: width?,
        height: height?,
        studs,
        first_stud,
        fixing,
        in_front,
        opposite,
        panel,
        battery,
        obstacles,
        place: s.place()?,
    })
}

fn housing(s: &Section<'_>) -> Option<Housing> {
    let size = || Length::of(0.05)..=Length::of(5.0);
    let width = s.need_quantity_in("width", "width of the housing", size());
    let height = s.need_quantity_in("height", "height of the housing", size());
    let depth = s.need_quantity_in("depth", "depth from the wall", size());
    let mass = s.need_quantity_in("mass", "mass with its breakers", Mass::of(0.5)..=Mass::of(2000.0));
    Some(Housing {
        width: width?.value,
        height: height?.value,
        depth: depth?.value,
        mass: mass?.value,
        place: s.place()?,
    })
}

fn obstacle(s: &Section<'_>) -> Option<WallObstacle> {
    let kinds = [
        ("door", ObstacleKind::Door),
        ("window", ObstacleKind::Window),
        ("opening", ObstacleKind::Opening),
        ("other", ObstacleKind::Other),
    ];
    let kind = s.need_choice("kind", "what it is", &kinds);
    let from = || Length::of(0.0)..=Length::of(100.0);
    let size = || Length::of(0.01)..=Length::of(100.0);
    let left = s.need_quantity_in("left", "its left edge from the left end of the wall", from());
    let bottom = s.need_quantity_in("bottom", "its lower edge above the floor", from());
    let width = s.need_quantity_in("width", "its width", size());
    let height = s.need_quantity_in("height", "its height", size());
    let depth = s.quantity_in(
        "depth",
        "how far it stands out from the wall; left out, not at all",
        Length::of(0.0)..=Length::of(10.0),
    );
    Some(WallObstacle {
        kind: kind?,
        left: left?.value,
        bottom: bottom?.value,
        width: width?.value,
        height: height?.value,
        depth: depth.map(|d| d.value),
        place: s.place()?,
    })
}

pub(super) fn link(s: &Section<'_>) -> Option<LinkWish> {
    let kind = need_name(s, "kind", "kind of the link, as the catalogue names it: \"data\"");
    let devices = s.list("device", "a unit on the link, in the order of the cable", |d| {
        let unit = d.need_count("unit", "number of the unit, from 1", 1..=256);
        let lead = d.flag("lead", "it is set as the lead unit");
        let address = d.count("address", "address that is set", 0..=255);
        let terminated = d.flag("terminated", "a terminator is plugged in");
        Some(LinkDevice {
            unit: unit?,
            lead: lead.is_some_and(|l| l.value),
            address,
            terminated: terminated.is_some_and(|t| t.value),
        })
    });
    let cable = s.quantity_in("cable", "cable in all, where measured", Length::of(0.05)..=Length::of(5000.0));
    Some(LinkWish { kind: kind?, devices, cable })
}
