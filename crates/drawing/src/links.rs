//! Links between the units: devices in the order of the cable with addresses, the lead unit, terminators, and the list
//! of cables.

use catalog::LinkShape;
use dossier::{shown, to_order, together};
use place::link::{Cable, Device, Link, LinkPlan};
use quantity::Quantity as _;
use site::Units;

use crate::expected::Expected;
use crate::facts::{Facts, sheet, us};
use crate::pen::{LINE_MM, Pen, TEXT_MM};
use crate::scene::{FRAME_MM, Layer, Point, Scene, fitting, width_mm, wrapped};
use crate::symbol::SymbolKind;

/// Half width and half height of a device.
const HALF_MM: Point = (9.0, 4.5);
/// Devices of one row, and from row to row.
const ACROSS: usize = 12;
const ROW_MM: f64 = 27.0;
/// Columns of the list of cables: cable, from, to, length, lost with it.
const COLUMNS: [(f64, &str); 5] =
    [(0.0, "cable"), (31.0, "from"), (46.0, "to"), (61.0, "length"), (78.0, "cut off without it")];
const LIST_MM: f64 = 130.0;
const LISTS: usize = 3;
/// The first column takes at most so much from the last, in millimetres.
const WIDER_MM: f64 = 24.0;

/// Height for links and their list, in millimetres.
const ROOM_MM: f64 = 202.0;

/// Links of each sheet: as many as find room. One unit alone has none.
pub(crate) fn sheets(plan: &LinkPlan) -> Vec<Vec<Link>> {
    let mut sheets: Vec<Vec<Link>> = Vec::new();
    let fits = |links: &[Link], link: &Link| {
        let all = || links.iter().chain([link]);
        let cables: usize = all().map(|l| l.cables.len()).sum();
        let list = 8.0 + LINE_MM * cables.div_ceil(LISTS) as f64;
        all().map(height).sum::<f64>() + list <= ROOM_MM
    };
    for link in &plan.links {
        match sheets.last_mut() {
            Some(last) if fits(last, link) => last.push(link.clone()),
            _ => sheets.push(vec![link.clone()]),
        }
    }
    sheets
}

/// Height of a link on its sheet.
fn height(link: &Link) -> f64 {
    match link.shape {
        LinkShape::Star => 92.0,
        LinkShape::DaisyChain | LinkShape::Bus => 20.0 + ROW_MM * rows(link) as f64,
    }
}

struct Drawing {
    units: Units,
    pen: Pen,
}

/// Height of the rows of a link's devices.
fn rows(link: &Link) -> usize {
    link.devices.len().div_ceil(ACROSS).max(1)
}

/// Some links, and what has to be on their sheet.
pub(crate) fn links(facts: &Facts, lead: &str, links: &[Link], number: (usize, usize)) -> (Scene, Expected) {
    let us = us(&facts.plant);
    let units = facts.units;
    let mut d = Drawing { units, pen: Pen::new(sheet(&facts.plant), "Links between the units", us) };
    let mut expected = Expected::default();
    let mut y = FRAME_MM + 8.0;
    for link in links {
        y = d.link(link, y);
        expect(&mut expected, link, units);
    }
    d.list(links, y);
    let mut notes = vec![format!("{} leads, all others follow.", capital(lead))];
    notes.push(
        "Cables are named at both ends as in the list; lengths are those to order, with slack.".to_owned(),
    );
    if links.iter().any(|l| l.shape != LinkShape::Star && !l.shortest) {
        notes.push(
            "The order of a cable is good or as the site has it; no proof that none is shorter.".to_owned(),
        );
    }
    for link in links.iter().filter(|l| l.if_lost.is_some()) {
        notes.push(format!(
            "{} lost: {}.",
            link.name,
            link.if_lost.as_deref().unwrap_or_default().trim_end_matches('.')
        ));
    }
    (d.pen.finish(&facts.texts, number, &notes), expected)
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}", letters.as_str())
}

/// A device on its link.
fn role(link: &Link, device: &str) -> String {
    format!("{}/{device}", link.name)
}

/// Each device once with its name, address and part, each cable from the one port to the other and in the list, each
/// terminator on a port of its device.
fn expect(expected: &mut Expected, link: &Link, units: Units) {
    for device in &link.devices {
        let number = device.part.rsplit(' ').next().unwrap_or_default().to_owned();
        let mut words = vec![vec![device.part.clone(), number]];
        words.extend(device.address.map(|a| vec![format!("address {a}"), format!("a {a}")]));
        words.extend(device.lead.then(|| vec!["LEADS".to_owned()]));
        expected.labels.insert(role(link, &device.part), words);
        *expected.counts.entry(role(link, &device.part)).or_default() += 1;
        if device.terminated {
            let net = format!("{} terminator", role(link, &device.part));
            expected.terminals.insert(format!("{net}:1"), net.clone());
            expected.terminals.insert(format!("{net}:2"), net.clone());
            expected.counts.insert(net, 1);
        }
    }
    for cable in &link.cables {
        for end in [&cable.from, &cable.to] {
            expected.terminals.insert(format!("{}:{}", role(link, end), cable.name), cable.name.clone());
        }
        expected.rows.push(cells(cable, units).into_iter().filter(|words| !words.is_empty()).collect());
    }
}

impl Drawing {
    /// One link from a height downwards; gives the height below it.
    fn link(&mut self, link: &Link, top: f64) -> f64 {
        let shape = match link.shape {
            LinkShape::DaisyChain => "chain from device to device",
            LinkShape::Star => "star",
            LinkShape::Bus => "bus",
        };
        let most = link.most_devices.value().si();
        let longest = link.longest.as_ref().map(|l| format!(", {} at most", shown(self.units, l.value())));
        let words = format!(
            "{}: {shape}; {} devices, {most:.0} at most; {}{}",
            link.name,
            link.devices.len(),
            if link.total.value().si().is_finite() {
                format!("{} of cable", together(self.units, link.cables.iter().map(|c| c.length.value())))
            } else {
                "length of cable not known".to_owned()
            },
            longest.unwrap_or_default()
        );
        let width = self.pen.scene.sheet.width_mm - 2.0 * FRAME_MM - 12.0;
        let mut y = top;
        for line in wrapped(&words, 2.2, width) {
            self.pen.text((FRAME_MM + 6.0, y), 2.2, &line);
            y += 4.0;
        }
        match link.shape {
            LinkShape::Star => self.star(link, y + 6.0),
            LinkShape::DaisyChain | LinkShape::Bus => self.chain(link, y + 6.0),
        }
    }

    fn pitch(&self) -> f64 {
        (self.pen.scene.sheet.width_mm - 2.0 * FRAME_MM - 28.0) / ACROSS as f64
    }

    fn at(&self, k: usize, top: f64) -> Point {
        let (row, column) = (k / ACROSS, k % ACROSS);
        (FRAME_MM + 26.0 + self.pitch() * column as f64, top + ROW_MM * row as f64)
    }

    fn device(&mut self, link: &Link, device: &Device, at: Point, taps: Vec<Point>, terminals: &[String]) {
        self.pen.symbol((SymbolKind::Device, at), &role(link, &device.part), terminals, |s| {
            s.wide = Some((HALF_MM, taps));
        });
        let mut words = vec![device.part.clone()];
        words.extend(device.lead.then(|| "LEADS".to_owned()));
        words.extend(device.address.map(|a| format!("address {a}")));
        let words: Vec<String> = words.iter().map(|w| fitting(w, TEXT_MM, self.pitch() - 4.0)).collect();
        self.pen.lines((at.0 - HALF_MM.0, at.1 + HALF_MM.1 + 3.4), &words);
    }

    /// Devices in the order of the cable, in rows.
    fn chain(&mut self, link: &Link, top: f64) -> f64 {
        let n = link.devices.len();
        let middle = top + 5.0;
        for (k, device) in link.devices.iter().enumerate() {
            let at = self.at(k, middle);
            let name = role(link, &device.part);
            let before = k.checked_sub(1).and_then(|k| link.cables.get(k));
            let after = link.cables.get(k);
            let ending = format!("{name} terminator");
            // the ends take a terminator where there is no cable
            let port = |cable: Option<&Cable>, end: bool| match cable {
                Some(cable) => format!("{name}:{}", cable.name),
                None if end && device.terminated => format!("{ending}:1"),
                None => String::new(),
            };
            let terminals = [port(before, k == 0), port(after, k + 1 == n)];
            // a terminator that stands within the order has a port of its own below
            let ends = (k == 0 && before.is_none()) || (k + 1 == n && after.is_none());
            let (mut taps, mut terminals) = (vec![(-HALF_MM.0, 0.0), (HALF_MM.0, 0.0)], terminals.to_vec());
            if device.terminated && !ends {
                taps.push((HALF_MM.0 - 3.0, -HALF_MM.1));
                terminals.push(format!("{ending}:1"));
            }
            if n == 1 && device.terminated {
                terminals = vec![String::new(), format!("{ending}:1")];
            }
            self.device(link, device, at, taps, &terminals);
            if device.terminated {
                let left = k == 0 && n > 1;
                let (from, to) = if !ends {
                    let x = at.0 + HALF_MM.0 - 3.0;
                    ((x, at.1 - HALF_MM.1), (x, at.1 - HALF_MM.1 - 1.5))
                } else if left {
                    ((at.0 - HALF_MM.0, at.1), (at.0 - HALF_MM.0 - 1.5, at.1))
                } else {
                    ((at.0 + HALF_MM.0, at.1), (at.0 + HALF_MM.0 + 1.5, at.1))
                };
                self.terminator(&ending, from, to);
            }
            if let Some(cable) = after {
                let next = self.at(k + 1, middle);
                let (from, to) = ((at.0 + HALF_MM.0, at.1), (next.0 - HALF_MM.0, next.1));
                let way = if (from.1 - to.1).abs() < 0.1 {
                    vec![from, to]
                } else {
                    let between = to.1 - HALF_MM.1 - 3.0;
                    let (right, left) = (from.0 + 2.0, to.0 - 2.0);
                    vec![from, (right, from.1), (right, between), (left, between), (left, to.1), to]
                };
                self.pen.line(Layer::Wire, &way, None);
                let number = cable.name.rsplit('.').next().unwrap_or_default();
                self.pen.text((from.0 + 2.6, from.1 - 1.0), TEXT_MM, &format!(".{number}"));
            }
        }
        middle + ROW_MM * rows(link) as f64 - 4.0
    }

    fn terminator(&mut self, ending: &str, from: Point, to: Point) {
        self.pen.line(Layer::Wire, &[from, to], None);
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let half = if dx.abs() > 0.1 { (1.8, 1.1) } else { (1.1, 1.8) };
        let at = (to.0 + half.0 * sign(dx), to.1 + half.1 * sign(dy));
        let tap = (to.0 - at.0, to.1 - at.1);
        self.pen.symbol((SymbolKind::Terminator, at), ending, &[format!("{ending}:2")], |s| {
            s.wide = Some((half, vec![tap]));
        });
    }

    /// The first device in the middle of a star: its cables go over each other to the devices of every row.
    fn star(&mut self, link: &Link, top: f64) -> f64 {
        let Some((hub, others)) = link.devices.split_first() else { return top };
        let n = others.len();
        let half = (HALF_MM.0.max(1.2 * n as f64), HALF_MM.1);
        let at = (FRAME_MM + 20.0 + half.0, top + 5.0);
        let tap = |k: usize| (-half.0 + 2.0 * half.0 * (k as f64 + 0.5) / n.max(1) as f64, half.1);
        let name = role(link, &hub.part);
        let terminals: Vec<String> = link.cables.iter().map(|c| format!("{name}:{}", c.name)).collect();
        let mut taps: Vec<Point> = (0..link.cables.len()).map(tap).collect();
        let mut all = terminals;
        if hub.terminated {
            taps.push((half.0, 0.0));
            all.push(format!("{name} terminator:1"));
        }
        self.pen.symbol((SymbolKind::Device, at), &name, &all, |s| s.wide = Some((half, taps)));
        if hub.terminated {
            let from = (at.0 + half.0, at.1);
            self.terminator(&format!("{name} terminator"), from, (from.0 + 1.5, from.1));
        }
        let mut words = hub.part.clone();
        words.push_str(if hub.lead { ", LEADS" } else { "" });
        words.extend(hub.address.map(|a| format!(", address {a}")));
        self.pen.text((at.0 + half.0 + 8.0, at.1 + 1.0), TEXT_MM, &words);
        // lanes: the last cable turns first, so that none crosses on the way down in its row
        let lanes = at.1 + half.1 + 2.0;
        let lane_mm = (40.0 / n.max(1) as f64).min(2.6);
        let middle = lanes + lane_mm * n as f64 + 8.0;
        let pitch = (self.pen.scene.sheet.width_mm - 2.0 * FRAME_MM - 28.0) / n.max(1) as f64;
        let pitch = pitch.min(30.0);
        for (k, (device, cable)) in others.iter().zip(&link.cables).enumerate() {
            let x = FRAME_MM + 26.0 + pitch * k as f64;
            let width = (pitch / 2.0 - 1.0).min(HALF_MM.0);
            let half = (width, HALF_MM.1);
            let own = role(link, &device.part);
            let (mut taps, mut terminals) = (vec![(0.0, -half.1)], vec![format!("{own}:{}", cable.name)]);
            if device.terminated {
                taps.push((0.0, half.1));
                terminals.push(format!("{own} terminator:1"));
            }
            self.pen
                .symbol((SymbolKind::Device, (x, middle)), &own, &terminals, |s| s.wide = Some((half, taps)));
            if device.terminated {
                let from = (x, middle + half.1);
                self.terminator(&format!("{own} terminator"), from, (from.0, from.1 + 1.5));
            }
            let start = (at.0 + tap(k).0, at.1 + half.1);
            // to the left: the first turns first; to the right: the last does
            let lane = if x < start.0 { k } else { n - 1 - k };
            let y = lanes + lane_mm * lane as f64;
            self.pen.line(Layer::Wire, &[start, (start.0, y), (x, y), (x, middle - half.1)], None);
            let short = if pitch < 16.0 { device.part.replace("unit ", "") } else { device.part.clone() };
            let mut words = vec![short];
            words.extend(
                device.address.map(|a| if pitch < 16.0 { format!("a {a}") } else { format!("address {a}") }),
            );
            let words: Vec<String> = words.iter().map(|w| fitting(w, TEXT_MM, pitch - 1.0)).collect();
            self.pen.lines((x - width, middle + half.1 + 8.0), &words);
        }
        middle + HALF_MM.1 + 20.0
    }

    /// Every cable with its ends and its length.
    fn list(&mut self, links: &[Link], top: f64) {
        let cables: Vec<_> = links.iter().flat_map(|l| &l.cables).collect();
        let each = cables.len().div_ceil(LISTS).max(1);
        // cables are told apart by the ends of their names: the first column is as wide as the longest
        let longest = cables.iter().map(|c| width_mm(&c.name, TEXT_MM)).fold(0.0, f64::max);
        let [_, (second, _), ..] = COLUMNS;
        let wider = (longest + 5.0 - second).clamp(0.0, WIDER_MM);
        for (column, part) in cables.chunks(each).enumerate() {
            let left = FRAME_MM + 6.0 + LIST_MM * column as f64;
            let heads = COLUMNS.map(|(_, head)| head.to_owned());
            self.row((left, top + 4.0), &heads, wider);
            self.pen.line(Layer::Frame, &[(left, top + 5.4), (left + LIST_MM - 6.0, top + 5.4)], None);
            for (k, cable) in part.iter().enumerate() {
                let cells = cells(cable, self.units);
                self.row((left, top + 5.4 + LINE_MM * (k + 1) as f64), &cells, wider);
            }
        }
    }

    fn row(&mut self, (x, y): Point, cells: &[String; 5], wider: f64) {
        for (k, words) in cells.iter().enumerate() {
            let Some((from, _)) = COLUMNS.get(k) else { continue };
            let from = if k > 0 { from + wider } else { *from };
            let end = COLUMNS.get(k + 1).map_or(LIST_MM - 6.0, |(next, _)| next + wider);
            self.pen.text((x + from, y), TEXT_MM, &fitting(words, TEXT_MM, end - from - 1.0));
        }
    }
}

/// A row of the list.
fn cells(cable: &Cable, units: Units) -> [String; 5] {
    [
        cable.name.clone(),
        cable.from.clone(),
        cable.to.clone(),
        to_order(units, cable.length.value()),
        counted(&cable.cuts_off),
    ]
}

/// "unit 2, 3, 4".
fn counted(parts: &[String]) -> String {
    let numbers: Vec<&str> = parts.iter().map(|p| p.rsplit(' ').next().unwrap_or(p)).collect();
    if numbers.len() > 6 {
        format!("{} units", numbers.len())
    } else {
        format!("unit {}", numbers.join(", "))
    }
}

fn sign(d: f64) -> f64 {
    if d.abs() < 0.01 { 0.0 } else { 1.0_f64.copysign(d) }
}
