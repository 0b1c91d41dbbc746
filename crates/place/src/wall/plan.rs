//! From gear and the site's wall to an elevation.

use codebook::NotCovered;
use codebook::fire::storage_places::FireCode;
use codebook::iec::gangway::gangway;
use codebook::us::working_area::area as working_area;
use codebook::us::working_space::depth;
use derivation::{Known, formula};
use quantity::{Length, Mass, PhaseVoltage, Quantity, Ratio};
use site::{Earthing, ObstacleKind, Site};
use tables::us::storage_place::opening;

use super::board::{Area, Block, Board, EDGE_MM, Outlet, Piece, Spot};
use super::layout::{Layout, Tie, find};
use super::{Cable, Obstacle, PlacedItem, WallPlan, checks, opposite_wall};
use crate::room::BatteryGas;
use crate::{GearKind, Held, Item, Rect};

/// Height of a room where the site describes none.
const ASSUMED_HEIGHT_M: f64 = 2.4;
/// What the place makes of the code's depth of the working space.
#[derive(Debug, Clone, Default)]
pub enum Depth {
    /// Nothing.
    #[default]
    AsTheCode,
    /// It has a depth of its own.
    Own(Known<Length>),
    /// It does not apply the rule: a short space is a warning.
    Waived,
}

/// What a wall is planned for.
#[derive(Debug, Clone)]
pub struct WallCase<'a> {
    /// The site.
    pub site: &'a Site,
    /// Gear to be placed.
    pub items: Vec<Item>,
    /// Gear without a footprint: role path and record.
    pub without_footprint: Vec<(String, String)>,
    /// Gear that is not placed for another reason: what, and why.
    pub elsewhere: Vec<(String, String)>,
    /// Cables between the gear.
    pub cables: Vec<Cable>,
    /// Voltage to ground of its live parts.
    pub to_ground: Known<PhaseVoltage>,
    /// A battery that gives off gas.
    pub gas: Option<&'a BatteryGas>,
    /// What the place makes of the depth before the gear, by the US book.
    pub depth: Depth,
}

/// What the site's book asks of the space before the gear.
pub(super) struct Asked {
    pub depth: Known<Length>,
    pub height: Known<Length>,
    pub width: Known<Length>,
    pub protrusion: Known<Length>,
    pub handle: Known<Length>,
    /// Batteries to doors and windows, where the book says.
    pub openings: Option<Known<Length>>,
    /// What sparks, to the cells of a battery that gives off gas.
    pub sparks: Option<Known<Length>>,
}

fn asked(case: &WallCase<'_>) -> Result<Asked, NotCovered> {
    let zero = || Known::constant("w", "no equipment yet", Length::ZERO, "nothing stands there yet");
    let sparks = case.gas.and_then(crate::room::spark_distance);
    if case.site.service.earthing.value == Earthing::Us {
        let code = depth(&case.to_ground, opposite_wall(case.site))?;
        let area = working_area(&zero(), &zero())?;
        return Ok(Asked {
            depth: match &case.depth {
                Depth::Own(own) => own.clone(),
                Depth::AsTheCode | Depth::Waived => code,
            },
            height: area.height,
            width: area.width,
            protrusion: area.protrusion,
            handle: area.handle,
            openings: Some(from_openings(case.site)?),
            sparks,
        });
    }
    let gangway = gangway()?;
    Ok(Asked {
        width: zero(),
        protrusion: zero(),
        depth: gangway.depth,
        height: gangway.height,
        handle: gangway.handle,
        openings: None,
        sparks,
    })
}

/// Least distance of batteries to doors and windows by the adopted fire code; by the one that asks for most where the site
/// names none.
fn from_openings(site: &Site) -> Result<Known<Length>, NotCovered> {
    let adopted = site.battery.standing.code.as_ref().map(|code| code.value);
    let codes: Vec<FireCode> =
        FireCode::ALL.into_iter().map(|(_, code)| code).filter(|c| adopted.is_none_or(|a| a == *c)).collect();
    let all: Vec<Known<Length>> =
        codes.into_iter().map(|code| Ok(opening(code.key())?)).collect::<Result<_, NotCovered>>()?;
    Known::largest("d_open", "least distance to doors and windows", &all)
        .ok_or_else(|| NotCovered::new("NFPA 855", "no edition has a distance to doors and windows"))
}

/// Millimetres, rounded up: what needs room. The noise of the arithmetic is not a millimetre.
fn up(length: Length) -> i64 {
    whole((length.si() * 1000.0 - 1e-6).ceil())
}

/// Millimetres, rounded down: what there is.
fn down(length: Length) -> i64 {
    whole((length.si() * 1000.0 + 1e-6).floor())
}

/// Lengths are read within 100 m, so that a whole number of millimetres is one exactly.
#[allow(clippy::cast_possible_truncation)]
fn whole(mm: f64) -> i64 {
    mm.clamp(-1e9, 1e9) as i64
}

fn metres(mm: i64) -> Length {
    Length::of(mm as f64 / 1000.0)
}

fn piece(item: &Item, asked: &Asked) -> Piece {
    let f = &item.footprint;
    let battery = item.kind == GearKind::Battery;
    let keeps = |d: &Option<Known<Length>>| d.as_ref().filter(|_| battery).map_or(0, |d| up(d.value()));
    Piece {
        width: up(f.width),
        height: up(f.height),
        depth: up(f.depth),
        above: up(f.above),
        below: up(f.below),
        beside: up(f.beside),
        outlet: match f.air_outlet.as_str() {
            "none" => Outlet::None,
            "bottom" => Outlet::Bottom,
            "sides" => Outlet::Sides,
            _ => Outlet::Top,
        },
        floor: item.kind.stands(),
        handles: item.kind.has_handles(),
        from_openings: keeps(&asked.openings),
        from_sparks: keeps(&asked.sparks),
    }
}

/// A cable between pieces; none where one of its ends is not among them.
fn tie(items: &[Item], cable: &Cable) -> Option<Tie> {
    let at = |part: &String| items.iter().position(|item| item.part == *part);
    let from: Vec<usize> = cable.from.iter().filter_map(at).collect();
    let to = at(&cable.to)?;
    let by = cable.by.as_ref().and_then(at);
    (!from.is_empty()).then_some(Tie { from, by, to, direct: cable.direct, leads: cable.leads })
}

fn obstacles(site: &Site) -> Vec<Obstacle> {
    let wall = site.wall.iter().flat_map(|w| &w.obstacles);
    wall.map(|o| Obstacle {
        name: match o.kind.value {
            ObstacleKind::Door => "door",
            ObstacleKind::Window => "window",
            ObstacleKind::Opening => "opening",
            ObstacleKind::Other => "obstacle",
        }
        .to_owned(),
        body: Rect { left: o.left, bottom: o.bottom, width: o.width, height: o.height },
        depth: o.depth.unwrap_or(Length::ZERO),
        opening: o.kind.value != ObstacleKind::Other,
        place: Some(o.place.clone()),
    })
    .collect()
}

fn block(o: &Obstacle) -> Block {
    let (left, bottom) = (down(o.body.left), down(o.body.bottom));
    Block {
        area: Area {
            left,
            bottom,
            right: up(o.body.left + o.body.width),
            top: up(o.body.bottom + o.body.height),
        },
        depth: up(o.depth),
        opening: o.opening,
    }
}

/// Studs from the first one on, where both place and spacing are known.
fn studs(site: &Site, width: i64) -> Vec<i64> {
    let Some(wall) = &site.wall else { return Vec::new() };
    let (Some(step), Some(first)) = (&wall.studs, &wall.first_stud) else { return Vec::new() };
    let (first, step) = (first.value.si() * 1000.0, step.value.si() * 1000.0);
    let mut all = Vec::new();
    let mut at = first;
    while at <= width as f64 && all.len() < 2000 {
        all.push(whole(at.round()));
        at += step;
    }
    all
}

/// Plans the wall.
///
/// # Errors
/// The book gives no figure for this voltage, or a table cannot be used; the caller answers "not covered".
pub fn plan(case: &WallCase<'_>) -> Result<WallPlan, NotCovered> {
    let site = case.site;
    let asked = asked(case)?;
    let pieces: Vec<Piece> = case.items.iter().map(|item| piece(item, &asked)).collect();
    let ties: Vec<Tie> = case.cables.iter().filter_map(|cable| tie(&case.items, cable)).collect();
    let obstacles = obstacles(site);
    let wide: i64 =
        pieces.iter().map(|p| p.width + 2 * p.beside + p.from_sparks).sum::<i64>() + up(asked.width.value());
    let (width, height) = match &site.wall {
        Some(wall) => (down(wall.width.value), down(wall.height.value)),
        None => (wide, down(Length::of(ASSUMED_HEIGHT_M))),
    };
    let board = |width: i64| Board {
        width,
        height,
        blocks: obstacles.iter().map(block).collect(),
        studs: studs(site, width),
        reach: down(asked.handle.value()),
        working_width: up(asked.width.value()),
        protrusion: if site.service.earthing.value == Earthing::Us {
            down(asked.protrusion.value())
        } else {
            // no clause of the other book asks for it
            i64::MAX / 4
        },
    };
    let stated = site.wall.is_some();
    let (best, narrow) = find(&board(width), &pieces, &ties);
    let beyond = obstacles.iter().map(|o| up(o.body.left + o.body.width)).max().unwrap_or(0).max(width);
    let narrow = match narrow {
        Some(narrow) => Some(narrow),
        None if stated => find(&board(beyond + wide), &pieces, &ties).1,
        None => None,
    };
    // working space reaches as far as the gear where the gear is narrower
    let extent = |l: &Layout| l.extent(&pieces).max(up(asked.width.value()));
    let needed = narrow.as_ref().map(extent);
    let layout = if stated { best } else { narrow.unwrap_or(best) };
    let shown_width = if stated { width } else { needed.unwrap_or(wide) };
    let shown = board(shown_width);
    let mut plan = WallPlan {
        width: match &site.wall {
            Some(wall) => wall.width.known("W", "width of the wall"),
            None => chosen("W", "width of the smallest wall found that would do", shown_width),
        },
        height: match &site.wall {
            Some(wall) => wall.height.known("H", "height of the wall"),
            None => Known::assumed(
                "H",
                "height of the wall",
                Length::of(ASSUMED_HEIGHT_M),
                "the site describes no wall",
            ),
        },
        stated,
        studs: shown.studs.iter().map(|&s| metres(s)).collect(),
        items: placed(case, &shown, &pieces, &layout),
        not_placed: {
            let bare = case.without_footprint.iter();
            let bare = bare.map(|(part, record)| (part.clone(), format!("{record} states no footprint")));
            bare.chain(case.elsewhere.iter().cloned()).collect()
        },
        left_over: layout.left_over.iter().filter_map(|&k| case.items.get(k).cloned()).collect(),
        needed_width: needed.map(|w| chosen("W_need", "least width that was found to do", w)),
        working_depth: case.items.iter().any(|i| i.kind.has_handles()).then(|| asked.depth.clone()),
        reach: asked.handle.clone(),
        mass: Known::sum("m", "mass of all gear", &case.items.iter().map(mass).collect::<Vec<_>>()),
        obstacles,
        verdicts: Vec::new(),
        held: Held::default(),
    };
    checks::hold(case, &asked, &mut plan);
    Ok(plan)
}

fn chosen(symbol: &str, what: &str, mm: i64) -> Known<Length> {
    Known::chosen(
        symbol,
        what,
        metres(mm),
        "narrowest of the layouts looked at: sizes and free spaces of the gear",
        Vec::new(),
    )
}

fn mass(item: &Item) -> Known<Mass> {
    item.known("m", format!("mass of {}", item.part), item.footprint.mass, "footprint mass")
}

fn rect(area: &Area) -> Rect {
    Rect {
        left: metres(area.left),
        bottom: metres(area.bottom),
        width: metres(area.right - area.left),
        height: metres(area.top - area.bottom),
    }
}

fn placed(case: &WallCase<'_>, board: &Board, pieces: &[Piece], layout: &Layout) -> Vec<PlacedItem> {
    let mut all: Vec<PlacedItem> = layout
        .spots
        .iter()
        .filter_map(|spot| {
            let (item, piece) = (case.items.get(spot.piece)?, pieces.get(spot.piece)?);
            Some(place(case, board, pieces, layout, (spot, item, piece)))
        })
        .collect();
    all.sort_by(|a, b| {
        let key = |p: &PlacedItem| (down(p.body.left), down(p.body.bottom));
        key(a).cmp(&key(b)).then_with(|| a.item.part.cmp(&b.item.part))
    });
    all
}

fn place(
    case: &WallCase<'_>,
    board: &Board,
    pieces: &[Piece],
    layout: &Layout,
    (spot, item, piece): (&Spot, &Item, &Piece),
) -> PlacedItem {
    let behind: Vec<i64> = board
        .studs
        .iter()
        .copied()
        .filter(|s| spot.area.left + EDGE_MM <= *s && *s <= spot.area.right - EDGE_MM)
        .collect();
    let spacing = case.site.wall.as_ref().and_then(|w| w.studs.as_ref()).map(|s| s.value.si() * 1000.0);
    let at_least = match (behind.len(), spacing) {
        (0, Some(spacing)) if board.studs.is_empty() && !piece.floor => {
            whole(((piece.width - 2 * EDGE_MM) as f64 / spacing).floor().max(0.0))
        }
        (n, _) => i64::try_from(n).unwrap_or(0),
    };
    let m = mass(item);
    let n = Known::chosen(
        "n",
        "studs behind it",
        Ratio::of(at_least.max(1) as f64),
        "its place on the wall",
        Vec::new(),
    );
    let each =
        formula!("m_1", "mass on each stud", [m, n] => m / n, source = "shared alike by the studs behind it");
    let working = piece.handles.then(|| board.working(pieces, &layout.spots, spot)).flatten();
    let head = 2000.max(spot.area.top);
    PlacedItem {
        item: item.clone(),
        body: rect(&spot.area),
        keep_clear: rect(&piece.zone(&spot.area)),
        working: working.map(|(left, width)| Rect {
            left: metres(left),
            bottom: Length::ZERO,
            width: metres(width),
            height: metres(head),
        }),
        studs: behind.into_iter().map(metres).collect(),
        studs_at_least: u32::try_from(at_least).unwrap_or(0),
        mass_per_fixing: if at_least > 0 && !piece.floor { each } else { m },
        on_floor: piece.floor,
    }
}
