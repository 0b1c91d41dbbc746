//! Putting items on a sheet: symbols with their labels, wires, the frame with title block, legend and notes.

use std::collections::BTreeSet;

use crate::centre::{Centring, centre};
use crate::facts::Texts;
use crate::nets;
use crate::scene::{
    FRAME_MM, Item, Layer, Live, Point, SMALLEST_TEXT_MM, Scene, Sheet, fitting, width_mm, wrapped,
};
use crate::symbol::{Symbol, SymbolKind};

/// Height of the texts of a plan, in millimetres.
pub(crate) const TEXT_MM: f64 = 2.0;
/// From line to line of a label, in millimetres.
pub(crate) const LINE_MM: f64 = 3.1;
/// Height of the strip with notes, legend and title block, in millimetres.
const STRIP_MM: f64 = 46.0;
const TITLE_MM: f64 = 104.0;
const LEGEND_MM: f64 = 150.0;
const LEGEND_TEXT_MM: f64 = 33.0;

/// Heights of the name of the site and of the title, from the largest to the smallest, in millimetres.
const HEADING_MM: [[f64; 2]; 5] =
    [[3.0, 3.5], [2.6, 3.0], [2.2, 2.6], [2.0, 2.2], [SMALLEST_TEXT_MM, SMALLEST_TEXT_MM]];

/// Name of the site and title in lines, each with its height: as large as the room lets them be. At the smallest height
/// what has no room is left out, which three points show; the name keeps a third of the lines at least.
fn heading(texts: [&str; 2], wide_mm: f64, high_mm: f64) -> Vec<(f64, String)> {
    let mut smallest = [Vec::new(), Vec::new()];
    for sizes in HEADING_MM {
        let lines = [0, 1].map(|k| wrapped(texts[k], sizes[k], wide_mm));
        let all = || [0, 1].into_iter().flat_map(|k| lines[k].iter().map(move |line| (sizes[k], line)));
        let high: f64 = all().map(|(size, _)| 1.7 * size).sum();
        if high <= high_mm && all().all(|(size, line)| width_mm(line, size) <= wide_mm) {
            return all().map(|(size, line)| (size, line.clone())).collect();
        }
        smallest = lines;
    }
    let size = SMALLEST_TEXT_MM;
    let [name, title] = smallest;
    let room = (high_mm / (1.7 * size)) as usize;
    let names = name.len().min((room / 3).max(room.saturating_sub(title.len())));
    let mut all = Vec::new();
    for (lines, most) in [(name, names), (title, room.saturating_sub(names))] {
        let left_out = lines.len() > most;
        for (k, line) in lines.iter().take(most).enumerate() {
            let rest = lines.get(k + 1).filter(|_| left_out && k + 1 == most);
            // with a word more than has room the line is cut
            let line = rest.map_or_else(|| line.clone(), |rest| format!("{line} {rest}"));
            all.push((size, fitting(&line, size, wide_mm)));
        }
    }
    all
}

/// A sheet that is being drawn.
pub(crate) struct Pen {
    pub scene: Scene,
    pub us: bool,
    /// Scale in words, where the sheet has one.
    pub scale: Option<String>,
    /// Which way it moves to the middle of the sheet.
    pub centring: Centring,
}

impl Pen {
    pub fn new(sheet: Sheet, title: &str, us: bool) -> Self {
        Self {
            scene: Scene { sheet, title: title.to_owned(), items: Vec::new() },
            us,
            scale: None,
            centring: Centring::Both,
        }
    }

    pub fn line(&mut self, layer: Layer, points: &[Point], live: Option<Live>) {
        // a piece without length joins nothing
        let mut points = points.to_vec();
        points.dedup_by(|a, b| nets::near(*a, *b));
        if points.len() > 1 {
            self.scene.items.push(Item::Line { layer, points, live });
        }
    }

    pub fn link(&mut self, points: &[Point], roles: &[&str]) {
        let roles = roles.iter().map(|r| (*r).to_owned()).collect();
        self.scene.items.push(Item::Link { points: points.to_vec(), roles });
    }

    pub fn text(&mut self, at: Point, size_mm: f64, text: &str) {
        if text.is_empty() {
            return;
        }
        self.scene.items.push(Item::Text { at, size_mm, text: text.replace('\u{a0}', " ") });
    }

    /// A symbol with its terminals; `change` sets what differs.
    pub fn symbol(
        &mut self,
        (kind, at): (SymbolKind, Point),
        role: &str,
        terminals: &[String],
        change: impl FnOnce(&mut Symbol),
    ) {
        let mut symbol = Symbol {
            kind,
            at,
            us: self.us,
            turned: false,
            closed: false,
            role: Some(role.to_owned()),
            count: 1,
            terminals: terminals.to_vec(),
            live: None,
            wide: None,
        };
        change(&mut symbol);
        self.scene.items.push(Item::Symbol(symbol));
    }

    /// Lines of text, their middle at the height of a point.
    pub fn label(&mut self, (x, y): Point, lines: &[String]) {
        let first = y + TEXT_MM / 2.0 - LINE_MM / 2.0 * lines.len().saturating_sub(1) as f64;
        self.lines((x, first), lines);
    }

    /// Lines of text from a base line downwards.
    pub fn lines(&mut self, (x, y): Point, lines: &[String]) {
        for (k, line) in lines.iter().enumerate() {
            self.text((x, y + LINE_MM * k as f64), TEXT_MM, line);
        }
    }

    /// Where the strip at the foot of the sheet begins.
    pub fn head_mm(&self) -> f64 {
        self.scene.sheet.height_mm - FRAME_MM - STRIP_MM
    }

    /// Dots, frame, title block, legend and notes: what comes last.
    pub fn finish(mut self, texts: &Texts, (sheet, sheets): (usize, usize), notes: &[String]) -> Scene {
        let (w, h) = (self.scene.sheet.width_mm, self.scene.sheet.height_mm);
        let (left, top, right, bottom) = (FRAME_MM, FRAME_MM, w - FRAME_MM, h - FRAME_MM);
        let head = self.head_mm();
        centre(&mut self.scene, head, self.centring);
        for (at, live) in nets::junctions(&self.scene) {
            self.scene.items.push(Item::Dot { at, live });
        }
        let edge = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        self.line(Layer::Frame, &edge, None);
        self.line(Layer::Frame, &[(left, head), (right, head)], None);
        let (legend, block) = (right - TITLE_MM - LEGEND_MM, right - TITLE_MM);
        for x in [legend, block] {
            self.line(Layer::Frame, &[(x, head), (x, bottom)], None);
        }
        self.title((block, head, right, bottom), texts, (sheet, sheets));
        self.legend((legend, head, bottom));
        self.text((left + 3.0, head + 4.0), 2.2, "Notes");
        let mut y = head + 4.6;
        for note in notes.iter().chain(&texts.cautions) {
            for line in wrapped(note, TEXT_MM, legend - left - 6.0) {
                y += LINE_MM;
                self.text((left + 3.0, y), TEXT_MM, &line);
            }
        }
        self.scene
    }

    /// Site and title on top, cells with revision, date, scale, sheet and signatures below, cautions at the foot.
    fn title(
        &mut self,
        (left, head, right, bottom): (f64, f64, f64, f64),
        texts: &Texts,
        number: (usize, usize),
    ) {
        let mut y = head + 1.5;
        let (row, foot) = (7.5, 7.0);
        let top = bottom - foot - 2.0 * row;
        for (size, line) in heading([&texts.site, &self.scene.title], TITLE_MM - 6.0, top - y - 1.0) {
            y += 1.7 * size;
            self.text((left + 3.0, y), size, &line);
        }
        let date = texts.date.clone().unwrap_or("not given".to_owned());
        let sheet = format!("{} of {}", number.0, number.1);
        let format =
            format!("{}, {}", self.scene.sheet.name, self.scale.as_deref().unwrap_or("not to scale"));
        let rows = [
            [
                ("revision", texts.revision.as_str()),
                ("date", &date),
                ("sheet", &sheet),
                ("format, scale", &format),
            ],
            [("drawn", ""), ("checked", ""), ("approved", ""), ("sign and date", "")],
        ];
        let widths = [22.0, 24.0, 22.0, TITLE_MM - 68.0];
        for (k, cells) in rows.iter().enumerate() {
            let y = top + row * k as f64;
            self.line(Layer::Frame, &[(left, y), (right, y)], None);
            let mut x = left;
            for ((head, words), width) in cells.iter().zip(widths) {
                if x > left {
                    self.line(Layer::Frame, &[(x, y), (x, y + row)], None);
                }
                self.text((x + 1.0, y + 2.6), SMALLEST_TEXT_MM, head);
                let room = width - 2.0;
                let one = wrapped(words, TEXT_MM, room).into_iter().next().unwrap_or_default();
                let one: String = fitting(&one, TEXT_MM, room);
                self.text((x + 1.0, y + 6.2), TEXT_MM, &one);
                x += width;
            }
        }
        self.line(Layer::Frame, &[(left, bottom - foot), (right, bottom - foot)], None);
        let demo = if texts.demo { "Demo equipment: figures are invented" } else { "" };
        for (k, words) in ["Not for construction until checked and signed", demo].iter().enumerate() {
            self.text((left + 3.0, bottom - foot + 2.9 + 3.1 * k as f64), TEXT_MM, words);
        }
    }

    /// Every symbol and kind of line that is drawn, as large as on the plan, in three columns.
    fn legend(&mut self, (left, head, bottom): (f64, f64, f64)) {
        self.text((left + 3.0, head + 4.0), 2.2, "Legend");
        let kinds: BTreeSet<SymbolKind> = self.scene.symbols().map(|s| s.kind).collect();
        let us = self.us;
        let mut column = (left + 8.0, head + 6.0);
        let mut place = |half: f64| {
            if column.1 + 2.0 * half > bottom - 1.0 {
                column = (column.0 + 50.0, head + 6.0);
            }
            let at = (column.0, column.1 + half);
            column.1 += 2.0 * half + 0.6;
            at
        };
        for kind in kinds {
            let mut symbol = Symbol {
                kind,
                at: (0.0, 0.0),
                us,
                turned: false,
                closed: kind != SymbolKind::Contact,
                role: None,
                count: 0,
                terminals: Vec::new(),
                live: None,
                wide: None,
            };
            let words = wrapped(kind.words(us), TEXT_MM, LEGEND_TEXT_MM);
            symbol.at = place(symbol.half_mm().1.max(0.5 + LINE_MM / 2.0 * words.len() as f64));
            let at = symbol.at;
            self.scene.items.push(Item::Symbol(symbol));
            self.label((at.0 + 7.0, at.1), &words);
        }
        let mut lines: BTreeSet<(Layer, Option<Live>)> = BTreeSet::new();
        let to_scale = self.scale.is_some();
        for item in &self.scene.items {
            match item {
                Item::Line { layer: Layer::Outline, .. } if to_scale => {
                    lines.insert((Layer::Outline, None));
                }
                Item::Line { layer: Layer::Wire, live: Some(live), .. } => {
                    lines.insert((Layer::Wire, Some(*live)));
                }
                Item::Line { layer: layer @ (Layer::Neutral | Layer::Ground), .. } => {
                    lines.insert((*layer, None));
                }
                Item::Line { layer: layer @ (Layer::Hatch | Layer::Stud), .. }
                | Item::Outline { layer: layer @ Layer::Outline, .. } => {
                    lines.insert((*layer, None));
                }
                Item::Link { .. } => {
                    lines.insert((Layer::Linkage, None));
                }
                _ => {}
            }
        }
        for (layer, live) in lines {
            let words = match (layer, live) {
                (_, Some(live)) => live.words(),
                (Layer::Neutral, _) => "neutral alone",
                (Layer::Ground, _) if us => "grounding conductor",
                (Layer::Ground, _) => "protective conductor",
                (Layer::Hatch, _) => "kept free",
                (Layer::Stud, _) => "stud; dimension",
                (Layer::Outline, _) => "there already; width of a working space",
                _ => "linkage or interlock",
            };
            let words = wrapped(words, TEXT_MM, LEGEND_TEXT_MM);
            let at = place(2.0_f64.max(0.3 + LINE_MM / 2.0 * words.len() as f64));
            if layer == Layer::Hatch {
                for k in 0..4 {
                    let x = at.0 - 5.0 + 2.4 * f64::from(k);
                    self.line(layer, &[(x, at.1 + 1.4), (x + 2.8, at.1 - 1.4)], None);
                }
                self.label((at.0 + 7.0, at.1), &words);
                continue;
            }
            self.scene.items.push(Item::Sample {
                layer,
                points: vec![(at.0 - 5.0, at.1), (at.0 + 5.0, at.1)],
                live,
            });
            self.label((at.0 + 7.0, at.1), &words);
        }
    }
}
