//! A scene as SVG 1.1.

use std::fmt::Write as _;

use crate::scene::{Item, Layer, Point, Scene, number};

/// The scene as SVG, one unit a millimetre.
pub fn svg(scene: &Scene) -> String {
    let (w, h) = (number(scene.sheet.width_mm), number(scene.sheet.height_mm));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         <title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"white\"/>\n",
        escaped(&scene.title)
    );
    for item in &scene.items {
        match item {
            Item::Line { layer, points, dashed } => line(&mut out, *layer, points, *dashed),
            Item::Symbol(symbol) => {
                for stroke in symbol.strokes() {
                    line(&mut out, Layer::Symbol, &stroke, false);
                }
            }
            // capitals are about 0.72 of the size of a face
            Item::Text { at, size_mm, text } => {
                let _ = writeln!(
                    out,
                    "<text x=\"{}\" y=\"{}\" font-family=\"Helvetica, Arial, sans-serif\" font-size=\"{}\">{}</text>",
                    number(at.0),
                    number(at.1),
                    number(size_mm / 0.72),
                    escaped(text)
                );
            }
        }
    }
    out.push_str("</svg>\n");
    out
}

fn line(out: &mut String, layer: Layer, points: &[Point], dashed: bool) {
    let points: Vec<String> = points.iter().map(|p| format!("{},{}", number(p.0), number(p.1))).collect();
    let dash = if dashed { " stroke-dasharray=\"3 1.5\"" } else { "" };
    let _ = writeln!(
        out,
        "<polyline class=\"{}\" points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"{}\"{dash}/>",
        layer.name(),
        points.join(" "),
        number(layer.stroke_mm())
    );
}

/// Text for XML: marks replaced, and characters that XML 1.0 does not allow left out.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}
