//! What stands opposite the live parts: said of the wall, of the panel that hangs on it, or of neither.

use codebook::us::working_space::Opposite;
use site::{Panel, Site};

fn stated(said: Option<site::Opposite>) -> Option<Opposite> {
    said.map(|said| match said {
        site::Opposite::Nothing => Opposite::Nothing,
        site::Opposite::Grounded => Opposite::Grounded,
        site::Opposite::Live => Opposite::Live,
    })
}

fn wall(site: &Site) -> Option<Opposite> {
    stated(site.wall.as_ref().and_then(|wall| Some(wall.opposite.as_ref()?.value)))
}

/// The backup panel hangs on the wall that the site describes.
pub fn hangs_on_wall(site: &Site, panel: &Panel) -> bool {
    panel.id.value == site.group.panel.value && site.wall.as_ref().is_some_and(|wall| wall.panel.is_some())
}

/// Opposite the wall: what is not said is live; where its panel says something else, the worse of both.
pub fn opposite_wall(site: &Site) -> Opposite {
    let panel = site.panels.iter().find(|panel| hangs_on_wall(site, panel));
    let panel = panel.and_then(|panel| stated(panel.opposite.as_ref().map(|o| o.value)));
    let of_wall = wall(site).unwrap_or(Opposite::Live);
    panel.map_or(of_wall, |panel| panel.max(of_wall))
}

/// Opposite a panel: what is said of it, and where it hangs on the wall the worse of that and what is said of the wall.
pub fn opposite_panel(site: &Site, panel: &Panel) -> Opposite {
    let of_wall = wall(site).filter(|_| hangs_on_wall(site, panel));
    stated(panel.opposite.as_ref().map(|o| o.value)).max(of_wall).unwrap_or(Opposite::Live)
}
