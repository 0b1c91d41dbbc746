//! A scene as DXF of release 12, in ASCII: layers, lines, texts; y upwards.

use std::fmt::Write as _;

use crate::scene::{Item, Layer, Point, Scene, number};

/// The scene as DXF, one unit a millimetre.
pub fn dxf(scene: &Scene) -> String {
    let mut out = String::from("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n");
    out.push_str("0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLTYPE\n70\n2\n");
    out.push_str("0\nLTYPE\n2\nCONTINUOUS\n70\n0\n3\nsolid\n72\n65\n73\n0\n40\n0\n");
    out.push_str(
        "0\nLTYPE\n2\nDASHED\n70\n0\n3\ndashed\n72\n65\n73\n2\n40\n4.5\n49\n3\n49\n-1.5\n0\nENDTAB\n",
    );
    let _ = write!(out, "0\nTABLE\n2\nLAYER\n70\n{}\n", Layer::ALL.len());
    for layer in Layer::ALL {
        let _ = write!(out, "0\nLAYER\n2\n{}\n70\n0\n62\n7\n6\nCONTINUOUS\n", layer.name());
    }
    out.push_str("0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    let up = |y: f64| scene.sheet.height_mm - y;
    let line = |out: &mut String, layer: Layer, points: &[Point], dashed: bool| {
        for pair in points.windows(2) {
            let [a, b] = pair else { continue };
            let kind = if dashed { "DASHED" } else { "CONTINUOUS" };
            let _ = write!(
                out,
                "0\nLINE\n8\n{}\n6\n{kind}\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n",
                layer.name(),
                number(a.0),
                number(up(a.1)),
                number(b.0),
                number(up(b.1))
            );
        }
    };
    for item in &scene.items {
        match item {
            Item::Line { layer, points, dashed } => line(&mut out, *layer, points, *dashed),
            Item::Symbol(symbol) => {
                for stroke in symbol.strokes() {
                    line(&mut out, Layer::Symbol, &stroke, false);
                }
            }
            Item::Text { at, size_mm, text } => {
                let _ = write!(
                    out,
                    "0\nTEXT\n8\nTEXT\n10\n{}\n20\n{}\n40\n{}\n1\n{}\n",
                    number(at.0),
                    number(up(at.1)),
                    number(*size_mm),
                    plain(text)
                );
            }
        }
    }
    out.push_str("0\nENDSEC\n0\nEOF\n");
    out
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
