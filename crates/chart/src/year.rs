//! The year: what the battery holds day by day, and energy month by month.

use std::fmt::Write as _;

use crate::heat::months;
use crate::sheet::{Anchor, GRID, INK, Sheet, px, ticks};

/// Lowest and highest of each day.
#[derive(Debug, Clone)]
pub struct Band<'a> {
    /// Heading.
    pub title: &'a str,
    /// What the vertical axis counts.
    pub unit: &'a str,
    /// Lowest and highest of each of 365 days.
    pub days: &'a [(f64, f64)],
    /// End of the axis.
    pub most: f64,
    /// Lines across, with words.
    pub marks: &'a [(f64, String)],
}

/// Draws the band from `top` down; gives the height that it takes.
pub fn charge_band(sheet: &mut Sheet, top: f64, height: f64, band: &Band<'_>) -> f64 {
    let (left, right) = (64.0, 24.0);
    let width = sheet.width() - left - right;
    let y0 = top + 46.0;
    sheet.heading((24.0, top + 16.0), band.title);
    let (step, count) = ticks(band.most, 5);
    let most = step * count as f64;
    let at = |day: f64, value: f64| {
        (left + day / 365.0 * width, y0 + height - (value / most).clamp(0.0, 1.0) * height)
    };
    axis(sheet, (left, y0, width, height), (step, count), band.unit);
    let mut path = String::new();
    let high = band.days.iter().enumerate().flat_map(|(k, d)| [(k as f64, d.1), (k as f64 + 1.0, d.1)]);
    let low = band.days.iter().enumerate().rev().flat_map(|(k, d)| [(k as f64 + 1.0, d.0), (k as f64, d.0)]);
    for (k, (day, value)) in high.chain(low).enumerate() {
        let (x, y) = at(day, value);
        let _ = write!(path, "{}{} {}", if k == 0 { "M" } else { "L" }, px(x), px(y));
    }
    sheet.raw(&format!("<path d=\"{path}Z\" fill=\"#5b78b4\" stroke=\"#14285a\" stroke-width=\"0.8\"/>"));
    for (value, words) in band.marks {
        let (_, y) = at(0.0, *value);
        let style = format!("stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"6 3\"");
        sheet.line((left, y), (left + width, y), &style);
        sheet.halo((left + 6.0, y - 4.0), words);
    }
    sheet.frame((left, y0), (width, height));
    for (before, name, days) in months() {
        let middle = left + (before as f64 + days as f64 / 2.0) / 365.0 * width;
        sheet.words((middle, y0 + height + 16.0), 12.0, Anchor::Middle, name);
    }
    height + 80.0
}

fn axis(
    sheet: &mut Sheet,
    (left, y0, width, height): (f64, f64, f64, f64),
    (step, count): (f64, usize),
    unit: &str,
) {
    for k in 0..=count {
        let y = y0 + height - k as f64 / count as f64 * height;
        sheet.line((left, y), (left + width, y), &format!("stroke=\"{GRID}\""));
        sheet.words((left - 6.0, y + 4.0), 12.0, Anchor::End, &px(step * k as f64));
    }
    sheet.words((left + 4.0, y0 - 5.0), 12.0, Anchor::Start, unit);
}

/// A part of a month's bar.
#[derive(Debug, Clone)]
pub struct Part {
    /// What it is.
    pub name: String,
    /// Twelve values, January first.
    pub months: [f64; 12],
    /// It stands in the second bar of the month.
    pub second: bool,
}

/// Two stacked bars for each month.
#[derive(Debug, Clone)]
pub struct MonthBars<'a> {
    /// Heading.
    pub title: &'a str,
    /// What the vertical axis counts.
    pub unit: &'a str,
    /// Parts, from below.
    pub parts: &'a [Part],
}

/// Fills that differ in lightness and in pattern.
const FILLS: [&str; 8] =
    ["#f2d64b", "#3b4f8f", "#b0561f", "#9db4d8", "#1a1a1a", "#8fbf9f", "#d9d9d9", "#7a5c8f"];

/// Draws the bars from `top` down; gives the height that it takes.
pub fn month_bars(sheet: &mut Sheet, top: f64, height: f64, bars: &MonthBars<'_>) -> f64 {
    let (left, right) = (64.0, 24.0);
    let width = sheet.width() - left - right;
    let y0 = top + 46.0;
    sheet.heading((24.0, top + 16.0), bars.title);
    let sum = |month: usize, second: bool| -> f64 {
        bars.parts.iter().filter(|p| p.second == second).map(|p| p.months[month].max(0.0)).sum()
    };
    let most = (0..12).flat_map(|m| [sum(m, false), sum(m, true)]).fold(0.0, f64::max);
    let (step, count) = ticks(most, 6);
    let most = step * count as f64;
    axis(sheet, (left, y0, width, height), (step, count), bars.unit);
    let wide = width / 12.0;
    for (month, (_, name, _)) in months().iter().enumerate() {
        for second in [false, true] {
            let x = left + month as f64 * wide + wide * if second { 0.53 } else { 0.13 };
            let mut y = y0 + height;
            for (k, part) in bars.parts.iter().enumerate().filter(|(_, p)| p.second == second) {
                let tall = part.months[month].max(0.0) / most * height;
                if tall > 0.0 {
                    y -= tall;
                    let (px_x, px_y, w, h) = (px(x), px(y), px(wide * 0.34), px(tall));
                    let fill = FILLS[k % FILLS.len()];
                    sheet.raw(&format!(
                        "<rect x=\"{px_x}\" y=\"{px_y}\" width=\"{w}\" height=\"{h}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"0.6\"/>"
                    ));
                }
            }
        }
        let middle = left + (month as f64 + 0.5) * wide;
        sheet.words((middle, y0 + height + 16.0), 12.0, Anchor::Middle, name);
    }
    sheet.frame((left, y0), (width, height));
    let mut y = y0 + height + 40.0;
    for (second, words) in [(false, "left bar, from below:"), (true, "right bar, from below:")] {
        sheet.words((left, y), 12.0, Anchor::Start, words);
        let mut x = left + 140.0;
        for (k, part) in bars
            .parts
            .iter()
            .enumerate()
            .filter(|(_, p)| p.second == second && p.months.iter().any(|m| *m > 0.0))
        {
            let fill = FILLS[k % FILLS.len()];
            let (sx, sy) = (px(x), px(y - 10.0));
            sheet.raw(&format!(
                "<rect x=\"{sx}\" y=\"{sy}\" width=\"12\" height=\"12\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"0.6\"/>"
            ));
            sheet.words((x + 18.0, y), 12.0, Anchor::Start, &part.name);
            x += 40.0 + 6.6 * part.name.chars().count() as f64;
        }
        y += 20.0;
    }
    y - top
}
