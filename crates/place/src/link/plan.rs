//! From the family's link kinds and the units on the wall to links, cables and addresses.

use catalog::{LinkKind, LinkShape, UnitModel};
use derivation::{Known, formula};
use quantity::{Length, Quantity, Ratio};
use site::{LinkWish, Site};

use super::{Cable, Device, Link, LinkPlan, checks, route};

/// Loops at both ends of a cable.
const SLACK_M: f64 = 0.6;
/// Cables come in steps of.
const STEP_M: f64 = 0.5;

/// What links are planned for.
#[derive(Debug, Clone)]
pub struct LinkCase<'a> {
    /// The site.
    pub site: &'a Site,
    /// The units.
    pub unit: &'a UnitModel,
    /// How many.
    pub units: u32,
    /// Where the lower edge of each unit's housing has its middle on the wall; none where a unit found no place.
    pub ports: Vec<Option<(Length, Length)>>,
}

impl LinkCase<'_> {
    /// Role path of a unit, from 0.
    pub(super) fn part(&self, unit: usize) -> String {
        format!("unit {}", unit + 1)
    }

    /// Every port, where all are known.
    fn points_m(&self) -> Option<Vec<(f64, f64)>> {
        self.ports.iter().map(|p| p.map(|(x, y)| (x.si(), y.si()))).collect()
    }

    pub(super) fn wished<'s>(&'s self, kind: &LinkKind) -> Vec<&'s LinkWish> {
        self.site.links.iter().filter(|w| w.kind.value == kind.kind).collect()
    }
}

/// Plans every link of the family. One unit needs none.
pub fn plan(case: &LinkCase<'_>) -> LinkPlan {
    let mut plan = LinkPlan::default();
    let n = case.units as usize;
    if n == 0 {
        return plan;
    }
    let lead = lead(case);
    plan.lead = case.part(lead);
    if n > 1 {
        for kind in &case.unit.links {
            plan.links.extend(of_kind(case, kind, lead));
        }
    }
    checks::hold(case, &mut plan);
    plan
}

/// The lead unit: as the site fixes it, else the first of the first kind's cable.
fn lead(case: &LinkCase<'_>) -> usize {
    let fixed = case.site.links.iter().flat_map(|w| &w.devices).find(|d| d.lead);
    if let Some(device) = fixed
        && device.unit.value <= case.units
    {
        return (device.unit.value as usize).saturating_sub(1);
    }
    let Some(kind) = case.unit.links.first() else { return 0 };
    if let Some(first) = case.wished(kind).first().and_then(|w| w.devices.first())
        && first.unit.value <= case.units
    {
        return (first.unit.value as usize).saturating_sub(1);
    }
    let Some(points) = case.points_m() else { return 0 };
    match kind.shape {
        LinkShape::Star => {
            let total =
                |k: usize| points.iter().map(|p| points.get(k).map_or(0.0, |q| apart_m(*p, *q))).sum::<f64>();
            (0..points.len()).min_by(|a, b| total(*a).total_cmp(&total(*b)).then(a.cmp(b))).unwrap_or(0)
        }
        LinkShape::DaisyChain | LinkShape::Bus => {
            route::shortest_order(&points, None).0.first().copied().unwrap_or(0)
        }
    }
}

fn apart_m(p: (f64, f64), q: (f64, f64)) -> f64 {
    (p.0 - q.0).abs() + (p.1 - q.1).abs()
}

fn of_kind(case: &LinkCase<'_>, kind: &LinkKind, lead: usize) -> Vec<Link> {
    let wished = case.wished(kind);
    if !wished.is_empty() {
        return (1..).zip(wished).map(|(k, wish)| built(case, kind, lead, k, wish)).collect();
    }
    let n = case.units as usize;
    let most = kind.devices as usize;
    let followers: Vec<usize> = (0..n).filter(|&k| k != lead).collect();
    // a link that may not be continued on another one takes all units, and is found to be too full
    let parts: Vec<Vec<usize>> = if n <= most || !kind.several || most < 2 {
        vec![followers]
    } else {
        let mut near = followers;
        if let Some(points) = case.points_m() {
            let from = points.get(lead).copied().unwrap_or_default();
            let far = |k: &usize| points.get(*k).map_or(0.0, |p| apart_m(from, *p));
            near.sort_by(|a, b| far(a).total_cmp(&far(b)).then(a.cmp(b)));
        }
        near.chunks(most - 1).map(<[usize]>::to_vec).collect()
    };
    let several = parts.len() > 1;
    (1..).zip(parts).map(|(k, part)| planned(case, kind, lead, (k, several), part)).collect()
}

/// A link over the lead unit and some followers, in the shortest order.
fn planned(
    case: &LinkCase<'_>,
    kind: &LinkKind,
    lead: usize,
    (k, several): (usize, bool),
    part: Vec<usize>,
) -> Link {
    let mut members = vec![lead];
    members.extend(part);
    let (order, shortest) = match case.points_m() {
        Some(all) if kind.shape != LinkShape::Star => {
            let points: Vec<(f64, f64)> = members.iter().filter_map(|m| all.get(*m).copied()).collect();
            // a further link begins at the lead unit
            let (order, exact) = route::shortest_order(&points, several.then_some(0));
            (order.into_iter().filter_map(|i| members.get(i).copied()).collect(), exact)
        }
        _ => (members, kind.shape == LinkShape::Star),
    };
    let order: Vec<usize> =
        if order.last() == Some(&lead) { order.into_iter().rev().collect() } else { order };
    let last = order.len().saturating_sub(1);
    let mut next = 2;
    let devices = order
        .iter()
        .enumerate()
        .map(|(i, &m)| {
            let address = kind.addressed.then(|| {
                if m == lead {
                    return 1;
                }
                let address = next + u32::try_from((k - 1) * (kind.devices as usize - 1)).unwrap_or(0);
                next += 1;
                address
            });
            let ends = kind.shape != LinkShape::Star && (i == 0 || i == last);
            Device { part: case.part(m), address, lead: m == lead, terminated: kind.terminated && ends }
        })
        .collect();
    assemble(case, kind, k, (order, devices), lead, None, shortest)
}

/// A link as the site describes it.
fn built(case: &LinkCase<'_>, kind: &LinkKind, lead: usize, k: usize, wish: &LinkWish) -> Link {
    let order: Vec<usize> = wish.devices.iter().map(|d| (d.unit.value as usize).saturating_sub(1)).collect();
    let devices = wish
        .devices
        .iter()
        .map(|d| Device {
            part: case.part((d.unit.value as usize).saturating_sub(1)),
            address: d.address.as_ref().map(|a| a.value),
            lead: d.lead,
            terminated: d.terminated,
        })
        .collect();
    let cable = wish.cable.as_ref().map(|c| c.known("L", "cable of the link, measured"));
    assemble(case, kind, k, (order, devices), lead, cable, false)
}

fn assemble(
    case: &LinkCase<'_>,
    kind: &LinkKind,
    k: usize,
    (order, devices): (Vec<usize>, Vec<Device>),
    lead: usize,
    measured: Option<Known<Length>>,
    shortest: bool,
) -> Link {
    let name = format!("{} {k}", kind.kind);
    let pairs: Vec<(usize, usize)> = match kind.shape {
        LinkShape::Star => order.iter().skip(1).filter_map(|m| order.first().map(|hub| (*hub, *m))).collect(),
        LinkShape::DaisyChain | LinkShape::Bus => {
            order.windows(2).filter_map(|w| if let [a, b] = w { Some((*a, *b)) } else { None }).collect()
        }
    };
    let at_lead = order.iter().position(|m| *m == lead).unwrap_or(0);
    let cables: Vec<Cable> = pairs
        .iter()
        .enumerate()
        .map(|(i, &(a, b))| Cable {
            name: format!("{name}.{}", i + 1),
            from: case.part(a),
            to: case.part(b),
            length: cable(case, a, b),
            cuts_off: cut(case, kind.shape, &order, i, at_lead),
        })
        .collect();
    let lengths: Vec<Known<Length>> = cables.iter().map(|c| c.length.clone()).collect();
    Link {
        kind: kind.kind.clone(),
        shape: kind.shape,
        devices,
        measured: measured.is_some(),
        total: measured.unwrap_or_else(|| Known::sum("L", format!("cable of {name}"), &lengths)),
        cables,
        most_devices: Known::catalog(
            "n_max",
            format!("most devices on one {} link", kind.kind),
            Ratio::of(f64::from(kind.devices)),
            &case.unit.id,
            "links devices",
        ),
        longest: kind.longest.map(|l| {
            Known::catalog(
                "L_max",
                format!("most cable on one {} link", kind.kind),
                l,
                &case.unit.id,
                "links longest",
            )
        }),
        shortest,
        if_lost: kind.if_lost.clone(),
        name,
    }
}

/// Units that no longer hear the lead unit when a cable is lost. A bus loses an end with it, so all of them may be.
fn cut(case: &LinkCase<'_>, shape: LinkShape, order: &[usize], cable: usize, lead: usize) -> Vec<String> {
    let parts = |range: &[usize]| range.iter().map(|m| case.part(*m)).collect::<Vec<_>>();
    match shape {
        // the lead unit at the end of a cable: it is cut off from all others
        LinkShape::Star if lead == cable + 1 => {
            order.iter().enumerate().filter(|(i, _)| *i != lead).map(|(_, m)| case.part(*m)).collect()
        }
        LinkShape::Star => order.get(cable + 1).map(|m| case.part(*m)).into_iter().collect(),
        LinkShape::Bus => {
            order.iter().enumerate().filter(|(i, _)| *i != lead).map(|(_, m)| case.part(*m)).collect()
        }
        LinkShape::DaisyChain if cable >= lead => parts(order.get(cable + 1..).unwrap_or_default()),
        LinkShape::DaisyChain => parts(order.get(..=cable).unwrap_or_default()),
    }
}

/// Length of one cable: across and up between the housings, with slack, in whole steps.
fn cable(case: &LinkCase<'_>, a: usize, b: usize) -> Known<Length> {
    let ports = case.ports.get(a).copied().flatten().zip(case.ports.get(b).copied().flatten());
    let what = |w: &str| format!("{w} from {} to {}", case.part(a), case.part(b));
    let Some(((x, y), (u, v))) = ports else {
        let nothing = Length::of(f64::NAN);
        return Known::chosen("L", what("cable"), nothing, "a unit without a place on the wall", Vec::new());
    };
    let side = |symbol: &str, w: &str, d: Length| {
        Known::chosen(symbol, what(w), d.abs(), "places on the wall", Vec::new())
    };
    let (dx, dy) = (side("dx", "way across", x - u), side("dy", "way up", y - v));
    let s =
        Known::assumed("s", "loops at both ends of a link cable", Length::of(SLACK_M), "0.3 m at each end");
    formula!("L", what("cable"), [dx, dy, s] => in_steps(dx + dy + s), source = "up to the next half metre")
}

/// A cable as it is counted: up to the next half metre.
pub fn in_steps(length: Length) -> Length {
    Length::of((length.si() / STEP_M - 1e-9).ceil() * STEP_M)
}
