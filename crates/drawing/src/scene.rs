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
    /// Symbols.
    Symbol,
    /// Texts.
    Text,
    /// Outline of what is gathered.
    Outline,
}

impl Layer {
    /// All of them.
    pub const ALL: [Layer; 6] =
        [Layer::Frame, Layer::Wire, Layer::Bus, Layer::Symbol, Layer::Text, Layer::Outline];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Frame => "FRAME",
            Layer::Wire => "WIRE",
            Layer::Bus => "BUS",
            Layer::Symbol => "SYMBOL",
            Layer::Text => "TEXT",
            Layer::Outline => "OUTLINE",
        }
    }

    /// Width of its lines, in millimetres.
    pub fn stroke_mm(self) -> f64 {
        match self {
            Layer::Bus => 1.0,
            Layer::Frame | Layer::Outline => 0.25,
            _ => 0.35,
        }
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
        /// Drawn dashed.
        dashed: bool,
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
    /// A symbol with pins.
    Symbol(Symbol),
}

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

/// Width that a text takes at most, in millimetres: of each character more than common sans faces give it, in shares of
/// the height of capitals (common practice; measured generously).
pub fn width_mm(text: &str, size_mm: f64) -> f64 {
    let share = |c: char| match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' => 0.42,
        'f' | 't' | 'r' | ' ' | '(' | ')' | '/' | '-' => 0.53,
        'm' | 'M' | 'W' | 'w' | '@' | '%' => 1.35,
        c if c.is_ascii_uppercase() => 1.05,
        c if c.is_ascii() => 0.8,
        _ => 1.4,
    };
    text.chars().map(share).sum::<f64>() * size_mm
}

/// Words in lines no wider than so many millimetres; a longer word stands alone.
pub(crate) fn wrapped(text: &str, size_mm: f64, most_mm: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
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

/// A number for a file: three decimals at most, no exponent, no minus zero.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
