//! Lines over two axes.

use std::fmt::Write as _;

use crate::sheet::{Anchor, GRID, INK, Sheet, px, ticks};

/// Dashes tell lines apart where colours do not.
const STYLES: [(&str, &str); 4] =
    [("#14285a", ""), ("#a04a00", "8 4"), ("#2a7f78", "2 3"), ("#6a6a6a", "10 3 2 3")];

/// A line.
#[derive(Debug, Clone)]
pub struct Curve {
    /// What it is.
    pub name: String,
    /// Points, x rising.
    pub points: Vec<(f64, f64)>,
}

/// Lines over shared axes.
#[derive(Debug, Clone)]
pub struct Curves<'a> {
    /// Heading.
    pub title: &'a str,
    /// What the horizontal axis counts, from 0 to `most_x`.
    pub x: &'a str,
    /// Its end.
    pub most_x: f64,
    /// What the vertical axis counts, from 0.
    pub y: &'a str,
    /// Its end.
    pub most_y: f64,
    /// The lines.
    pub curves: &'a [Curve],
    /// A line across at this height, with words.
    pub mark: Option<(f64, String)>,
}

/// Draws lines from `top` down, `height` pixels high; gives the height that it takes in all.
pub fn curves(sheet: &mut Sheet, top: f64, height: f64, chart: &Curves<'_>) -> f64 {
    let (left, right) = (64.0, 24.0);
    let width = sheet.width() - left - right;
    let y0 = top + 46.0;
    sheet.heading((24.0, top + 16.0), chart.title);
    let (step, count) = ticks(chart.most_y, 5);
    let most_y = step * count as f64;
    let (step_x, count_x) = ticks(chart.most_x, 10);
    let at = |x: f64, y: f64| {
        let (x, y) = ((x / chart.most_x).clamp(0.0, 1.0), (y / most_y).clamp(0.0, 1.0));
        (left + x * width, y0 + height - y * height)
    };
    for k in 0..=count {
        let value = step * k as f64;
        let (_, y) = at(0.0, value);
        sheet.line((left, y), (left + width, y), &format!("stroke=\"{GRID}\""));
        sheet.words((left - 6.0, y + 4.0), 12.0, Anchor::End, &px(value));
    }
    for k in 0..=count_x {
        let value = step_x * k as f64;
        if value <= chart.most_x + 1e-9 {
            let (x, y) = at(value, 0.0);
            sheet.words((x, y + 16.0), 12.0, Anchor::Middle, &px(value));
        }
    }
    sheet.words((left + width / 2.0, y0 + height + 33.0), 12.0, Anchor::Middle, chart.x);
    sheet.words((left + 4.0, y0 - 5.0), 12.0, Anchor::Start, chart.y);
    for (k, curve) in chart.curves.iter().enumerate() {
        let (ink, dash) = STYLES[k % STYLES.len()];
        let mut path = String::new();
        let mut last: Option<(f64, f64)> = None;
        for (x, y) in &curve.points {
            let (x, y) = at(*x, *y);
            // what moves less than half a pixel is not seen
            let far = last.is_none_or(|(a, b)| (x - a).abs() + (y - b).abs() > 0.5);
            if far {
                let _ = write!(path, "{}{} {}", if last.is_none() { "M" } else { "L" }, px(x), px(y));
                last = Some((x, y));
            }
        }
        sheet.raw(&format!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"2\" stroke-dasharray=\"{}\"/>",
            if dash.is_empty() { "none" } else { dash }
        ));
    }
    if let Some((value, words)) = &chart.mark
        && *value <= most_y
    {
        let (_, y) = at(0.0, *value);
        sheet.line((left, y), (left + width, y), &format!("stroke=\"{INK}\" stroke-width=\"1.6\""));
        sheet.halo((left + 6.0, y - 5.0), words);
    }
    sheet.frame((left, y0), (width, height));
    let mut y = y0 + height + 54.0;
    for (k, curve) in chart.curves.iter().enumerate() {
        let (ink, dash) = STYLES[k % STYLES.len()];
        let dash = if dash.is_empty() { "none" } else { dash };
        let style = format!("stroke=\"{ink}\" stroke-width=\"2\" stroke-dasharray=\"{dash}\"");
        sheet.line((left, y - 4.0), (left + 34.0, y - 4.0), &style);
        sheet.words((left + 42.0, y), 12.0, Anchor::Start, &curve.name);
        y += 18.0;
    }
    y - top
}
