//! A scene as DXF of release 12, in ASCII: layers by purpose and source, lines, texts; y upwards.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::scene::{DOT_MM, Item, LINE_TYPES, Layer, Live, Point, Scene, Stroke, number};

/// The scene as DXF, one unit a millimetre.
pub fn dxf(scene: &Scene) -> String {
    let mut out = String::from("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n");
    let corner = |out: &mut String, name: &str, (x, y): Point| {
        let _ = write!(out, "9\n{name}\n10\n{}\n20\n{}\n30\n0\n", number(x), number(y));
    };
    corner(&mut out, "$EXTMIN", (0.0, 0.0));
    corner(&mut out, "$EXTMAX", (scene.sheet.width_mm, scene.sheet.height_mm));
    out.push_str("0\nENDSEC\n0\nSECTION\n2\nTABLES\n");
    let _ = write!(out, "0\nTABLE\n2\nLTYPE\n70\n{}\n", LINE_TYPES.len());
    for (name, dashes) in LINE_TYPES {
        let total: f64 = dashes.iter().sum();
        let _ = write!(
            out,
            "0\nLTYPE\n2\n{name}\n70\n0\n3\n{}\n72\n65\n73\n{}\n40\n{}\n",
            name.to_lowercase(),
            dashes.len(),
            number(total)
        );
        for (k, dash) in dashes.iter().enumerate() {
            let _ = write!(out, "49\n{}\n", number(if k % 2 == 0 { *dash } else { -dash }));
        }
    }
    out.push_str("0\nENDTAB\n");
    let layers = layers(scene);
    let _ = write!(out, "0\nTABLE\n2\nLAYER\n70\n{}\n", layers.len());
    for (name, stroke) in layers {
        let _ =
            write!(out, "0\nLAYER\n2\n{name}\n70\n0\n62\n{}\n6\n{}\n", stroke.dxf_colour, stroke.line_type);
    }
    out.push_str("0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    entities(&mut out, scene);
    out.push_str("0\nENDSEC\n0\nEOF\n");
    out
}

/// Every layer that is used, and `0`, which every drawing has.
fn layers(scene: &Scene) -> BTreeMap<String, Stroke> {
    let mut all = BTreeMap::from([("0".to_owned(), Layer::Frame.stroke(None))]);
    let mut add = |layer: Layer, live: Option<Live>| all.insert(layer.name(live), layer.stroke(live));
    for item in &scene.items {
        match item {
            Item::Line { layer, live, .. } | Item::Sample { layer, live, .. } => add(*layer, *live),
            Item::Outline { layer, .. } => add(*layer, None),
            Item::Link { .. } => add(Layer::Linkage, None),
            Item::Dot { live, .. } => add(Layer::Wire, *live),
            Item::Symbol(symbol) => add(Layer::Symbol, symbol.live),
            Item::Text { .. } => add(Layer::Text, None),
        };
    }
    all
}

fn entities(out: &mut String, scene: &Scene) {
    let up = |p: &Point| (p.0, scene.sheet.height_mm - p.1);
    for item in &scene.items {
        match item {
            Item::Line { layer, points, live } | Item::Sample { layer, points, live } => {
                polyline(out, *layer, *live, points.iter().map(up), layer.stroke(*live).width_mm);
            }
            Item::Outline { layer, points, .. } => {
                polyline(out, *layer, None, points.iter().map(up), 0.0);
            }
            Item::Link { points, .. } => {
                polyline(out, Layer::Linkage, None, points.iter().map(up), 0.0);
            }
            Item::Symbol(symbol) => {
                for stroke in symbol.strokes() {
                    polyline(out, Layer::Symbol, symbol.live, stroke.iter().map(up), 0.0);
                }
            }
            Item::Dot { at, live } => {
                // a disc: a closed line of two half circles, as wide as its radius
                let (x, y) = up(at);
                let half = DOT_MM / 2.0;
                let _ = write!(
                    out,
                    "0\nPOLYLINE\n8\n{}\n66\n1\n10\n0\n20\n0\n30\n0\n70\n1\n40\n{w}\n41\n{w}\n",
                    Layer::Wire.name(*live),
                    w = number(DOT_MM)
                );
                for x in [x - half, x + half] {
                    let _ = write!(
                        out,
                        "0\nVERTEX\n8\n{}\n10\n{}\n20\n{}\n30\n0\n42\n1\n",
                        Layer::Wire.name(*live),
                        number(x),
                        number(y)
                    );
                }
                let _ = write!(out, "0\nSEQEND\n8\n{}\n", Layer::Wire.name(*live));
            }
            Item::Text { at, size_mm, text } => {
                let (x, y) = up(at);
                let _ = write!(
                    out,
                    "0\nTEXT\n8\nTEXT\n10\n{}\n20\n{}\n30\n0\n40\n{}\n1\n{}\n",
                    number(x),
                    number(y),
                    number(*size_mm),
                    plain(text)
                );
            }
        }
    }
}

fn polyline(
    out: &mut String,
    layer: Layer,
    live: Option<Live>,
    points: impl Iterator<Item = Point>,
    width_mm: f64,
) {
    let name = layer.name(live);
    // only what is drawn thick gets a width of its own; the rest is left to the layer
    let width = number(if width_mm >= 0.5 { width_mm } else { 0.0 });
    let _ =
        write!(out, "0\nPOLYLINE\n8\n{name}\n66\n1\n10\n0\n20\n0\n30\n0\n70\n0\n40\n{width}\n41\n{width}\n");
    for (x, y) in points {
        let _ = write!(out, "0\nVERTEX\n8\n{name}\n10\n{}\n20\n{}\n30\n0\n", number(x), number(y));
    }
    let _ = write!(out, "0\nSEQEND\n8\n{name}\n");
}

/// Text of release 12: what is not ASCII as `\U+XXXX`, no line ends.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars().filter(|c| !c.is_control()) {
        if c.is_ascii() {
            out.push(c);
        } else {
            let _ = write!(out, "\\U+{:04X}", u32::from(c));
        }
    }
    out
}
