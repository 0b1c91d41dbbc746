//! What is on a sheet: items in millimetres, y downwards from the upper left corner.

use crate::symbol::Symbol;

/// A point, in millimetres.
pub type Point = (f64, f64);

/// Smallest text on a sheet, in millimetres.
pub const SMALLEST_TEXT_MM: f64 = 1.8;

/// A sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Name of the format.
    pub name: &'static str,
    /// Width in millimetres.
    pub width_mm: f64,
    /// Height in millimetres.
    pub height_mm: f64,
}

/// ISO 216 A3, landscape.
pub const A3: Sheet = Sheet { name: "A3", width_mm: 420.0, height_mm: 297.0 };
/// ANSI B, landscape: 17 in x 11 in.
pub const ANSI_B: Sheet = Sheet { name: "ANSI B", width_mm: 431.8, height_mm: 279.4 };

/// Distance of the frame from the edge of the sheet, in millimetres.
pub const FRAME_MM: f64 = 10.0;

/// What an item is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Frame, title block, legend.
    Frame,
    /// Wires.
    Wire,
    /// Busbars.
    Bus,
    /// A neutral that runs by itself.
    Neutral,
    /// Ground and equipment grounding conductors (IEC: earth and protective conductors).
    Ground,
    /// Symbols.
    Symbol,
    /// Texts.
    Text,
    /// Outline of what is gathered, or of an enclosure.
    Outline,
    /// Mechanical linkage of contacts, interlocks.
    Linkage,
    /// Studs of a wall, dimensions.
    Stud,
    /// Hatching of free space.
    Hatch,
}

/// Which source a part is live from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Live {
    /// The utility.
    Utility,
    /// The generator.
    Generator,
    /// The inverter group.
    Group,
    /// None.
    Dead,
}

impl Live {
    /// All of them.
    pub const ALL: [Live; 4] = [Live::Utility, Live::Generator, Live::Group, Live::Dead];

    /// Words of the legend.
    pub fn words(self) -> &'static str {
        match self {
            Live::Utility => "live from the utility",
            Live::Generator => "live from the generator",
            Live::Group => "live from battery or group",
            Live::Dead => "dead in this state",
        }
    }

    /// Ending of the name of its layers.
    fn ending(self) -> &'static str {
        match self {
            Live::Utility => "_UTILITY",
            Live::Generator => "_GENERATOR",
            Live::Group => "_GROUP",
            Live::Dead => "_DEAD",
        }
    }
}

/// How a line looks. The dashes tell sources apart without colour; the colours differ in lightness and stay apart for
/// colour-blind readers (palette of Okabe and Ito, 2008).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Width in millimetres.
    pub width_mm: f64,
    /// Lengths of dashes and gaps in millimetres; empty = solid.
    pub dashes_mm: &'static [f64],
    /// Name of the line type in DXF.
    pub line_type: &'static str,
    /// Colour for SVG.
    pub colour: &'static str,
    /// Number of the nearest colour in DXF.
    pub dxf_colour: u8,
}

/// Line types: name in DXF, dashes and gaps in millimetres.
pub(crate) const LINE_TYPES: [(&str, &[f64]); 5] = [
    ("CONTINUOUS", &[]),
    ("DASHED", &[3.0, 1.5]),
    ("LONGDASH", &[5.0, 1.2]),
    ("DASHDOT", &[6.0, 0.9, 0.9, 0.9]),
    ("LINKED", &[1.2, 0.8]),
];

fn line_type(name: &'static str) -> (&'static str, &'static [f64]) {
    LINE_TYPES.iter().find(|(n, _)| *n == name).copied().unwrap_or(("CONTINUOUS", &[]))
}

impl Layer {
    /// All of them.
    pub const ALL: [Layer; 11] = [
        Layer::Frame,
        Layer::Wire,
        Layer::Bus,
        Layer::Neutral,
        Layer::Ground,
        Layer::Symbol,
        Layer::Text,
        Layer::Outline,
        Layer::Linkage,
        Layer::Stud,
        Layer::Hatch,
    ];

    /// Layers that carry current and so join what they touch.
    pub const CONDUCTING: [Layer; 4] = [Layer::Wire, Layer::Bus, Layer::Neutral, Layer::Ground];

    /// Name in files of what is on it, by source.
    pub fn name(self, live: Option<Live>) -> String {
        let own = match self {
            Layer::Frame => "FRAME",
            Layer::Wire => "WIRE",
            Layer::Bus => "BUS",
            Layer::Neutral => "NEUTRAL",
            Layer::Ground => "GROUND",
            Layer::Symbol => "SYMBOL",
            Layer::Text => "TEXT",
            Layer::Outline => "OUTLINE",
            Layer::Linkage => "LINKAGE",
            Layer::Stud => "STUD",
            Layer::Hatch => "HATCH",
        };
        format!("{own}{}", live.map_or("", Live::ending))
    }

    /// How its lines look.
    pub fn stroke(self, live: Option<Live>) -> Stroke {
        let (width, kind) = match self {
            Layer::Bus => (1.2, "CONTINUOUS"),
            Layer::Frame => (0.25, "CONTINUOUS"),
            Layer::Outline => (0.25, "DASHED"),
            Layer::Linkage => (0.25, "LINKED"),
            Layer::Stud => (0.18, "CONTINUOUS"),
            Layer::Hatch => (0.1, "CONTINUOUS"),
            Layer::Neutral => (0.25, "DASHDOT"),
            Layer::Ground => (0.35, "LONGDASH"),
            Layer::Symbol => (0.5, "CONTINUOUS"),
            Layer::Wire | Layer::Text => (0.35, "CONTINUOUS"),
        };
        let wire = self == Layer::Wire;
        let (width_mm, kind, colour, dxf_colour) = match live {
            None => (width, kind, "black", 7),
            Some(Live::Utility) => (if wire { 0.8 } else { width }, kind, "#0072b2", 5),
            Some(Live::Generator) => {
                (if wire { 0.8 } else { width }, if wire { "LONGDASH" } else { kind }, "#d55e00", 30)
            }
            Some(Live::Group) => {
                (if wire { 0.8 } else { width }, if wire { "DASHDOT" } else { kind }, "#007a5a", 94)
            }
            Some(Live::Dead) => (if wire { 0.25 } else { width * 0.6 }, kind, "#767676", 8),
        };
        let (line_type, dashes_mm) = line_type(kind);
        Stroke { width_mm, dashes_mm, line_type, colour, dxf_colour }
    }
}

/// An item.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through points.
    Line {
        /// What it is for.
        layer: Layer,
        /// Points, in millimetres.
        points: Vec<Point>,
        /// Which source it is live from; nothing where no state is drawn.
        live: Option<Live>,
    },
    /// Linkage of contacts that move together, or an interlock between them.
    Link {
        /// Both ends, in millimetres.
        points: Vec<Point>,
        /// Role paths of the parts whose contacts it links.
        roles: Vec<String>,
    },
    /// A line of the legend: joins nothing.
    Sample {
        /// Of what.
        layer: Layer,
        /// Both ends, in millimetres.
        points: Vec<Point>,
        /// As in [`Item::Line`].
        live: Option<Live>,
    },
    /// Conductors that meet here are joined.
    Dot {
        /// Where.
        at: Point,
        /// As the conductors.
        live: Option<Live>,
    },
    /// One line of text; its anchor is the left end of its base line.
    Text {
        /// Left end of the base line.
        at: Point,
        /// Height of capitals, in millimetres.
        size_mm: f64,
        /// The words.
        text: String,
    },
    /// Outline of a thing to scale: its corners, the first once more at the end.
    Outline {
        /// What it is: a part of the plant or of the place.
        role: String,
        /// What it is for.
        layer: Layer,
        /// Corners, in millimetres.
        points: Vec<Point>,
    },
    /// A symbol with pins.
    Symbol(Symbol),
}

/// Radius of a dot, in millimetres.
pub const DOT_MM: f64 = 0.8;

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Its sheet.
    pub sheet: Sheet,
    /// Title, as in the title block.
    pub title: String,
    /// Items, in order of drawing.
    pub items: Vec<Item>,
}

impl Scene {
    /// Its symbols.
    pub fn symbols(&self) -> impl Iterator<Item = &Symbol> {
        self.items.iter().filter_map(|item| if let Item::Symbol(s) = item { Some(s) } else { None })
    }
}

/// Width that a text takes at most, in millimetres: of each character more than common sans faces give it, in shares of
/// the height of capitals (common practice; measured generously).
pub fn width_mm(text: &str, size_mm: f64) -> f64 {
    let share = |c: char| match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' => 0.42,
        'f' | 't' | 'r' | ' ' | '\u{a0}' | '(' | ')' | '/' | '-' => 0.53,
        '²' | '³' | '°' => 0.6,
        'm' | 'M' | 'W' | 'w' | '@' | '%' => 1.35,
        c if c.is_ascii_uppercase() => 1.05,
        c if c.is_ascii() => 0.8,
        _ => 1.4,
    };
    text.chars().map(share).sum::<f64>() * size_mm
}

/// Words in lines no wider than so many millimetres; a longer word stands alone. A no-break space holds words together.
pub(crate) fn wrapped(text: &str, size_mm: f64, most_mm: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let Some(last) = lines.last_mut() else { break };
        let longer = if last.is_empty() { word.to_owned() } else { format!("{last} {word}") };
        if last.is_empty() || width_mm(&longer, size_mm) <= most_mm {
            *last = longer;
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

/// As much of a line as fits so many millimetres; what is left out shows as three points.
pub(crate) fn fitting(text: &str, size_mm: f64, most_mm: f64) -> String {
    if width_mm(text, size_mm) <= most_mm {
        return text.to_owned();
    }
    let mut out = String::new();
    for c in text.chars() {
        if width_mm(&format!("{out}{c}..."), size_mm) > most_mm {
            break;
        }
        out.push(c);
    }
    format!("{}...", out.trim_end())
}

/// A number for a file: three decimals at most, no exponent, no minus zero.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
