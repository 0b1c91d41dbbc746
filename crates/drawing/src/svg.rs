//! A scene as SVG, one user unit a millimetre.

use std::fmt::Write as _;

use crate::scene::{DOT_MM, Item, Layer, Live, Point, Scene, number};

/// The scene as SVG.
pub fn svg(scene: &Scene) -> String {
    let (w, h) = (number(scene.sheet.width_mm), number(scene.sheet.height_mm));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         <title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"white\"/>\n",
        escaped(&scene.title)
    );
    for item in &scene.items {
        match item {
            Item::Line { layer, points, live } | Item::Sample { layer, points, live } => {
                line(&mut out, *layer, points, *live);
            }
            Item::Outline { layer, points, .. } => line(&mut out, *layer, points, None),
            Item::Link { points, .. } => line(&mut out, Layer::Linkage, points, None),
            Item::Dot { at, live } => {
                let _ = writeln!(
                    out,
                    "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\"/>",
                    number(at.0),
                    number(at.1),
                    number(DOT_MM),
                    Layer::Wire.stroke(*live).colour
                );
            }
            Item::Symbol(symbol) => {
                for stroke in symbol.strokes() {
                    line(&mut out, Layer::Symbol, &stroke, symbol.live);
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

fn line(out: &mut String, layer: Layer, points: &[Point], live: Option<Live>) {
    let points: Vec<String> = points.iter().map(|p| format!("{},{}", number(p.0), number(p.1))).collect();
    let stroke = layer.stroke(live);
    let dashes: Vec<String> = stroke.dashes_mm.iter().map(|d| number(*d)).collect();
    let dash =
        if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dashes.join(" ")) };
    let _ = writeln!(
        out,
        "<polyline class=\"{}\" points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}/>",
        layer.name(live),
        points.join(" "),
        stroke.colour,
        number(stroke.width_mm)
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
