//! Hours by day of the year and hour of the day, as colours.

use std::fmt::Write as _;

use crate::sheet::{Anchor, INK, Sheet, px, ticks};

const MONTHS: [(&str, usize); 12] = [
    ("Jan", 31),
    ("Feb", 28),
    ("Mar", 31),
    ("Apr", 30),
    ("May", 31),
    ("Jun", 30),
    ("Jul", 31),
    ("Aug", 31),
    ("Sep", 30),
    ("Oct", 31),
    ("Nov", 30),
    ("Dec", 31),
];

/// Days before each month, and its name.
pub(crate) fn months() -> Vec<(usize, &'static str, usize)> {
    let mut before = 0;
    let mut all = Vec::new();
    for (name, days) in MONTHS {
        all.push((before, name, days));
        before += days;
    }
    all
}

/// Colours of classes from few to many: lightness rises evenly, from dark blue over grey-green to light yellow.
const RAMP: [(f64, f64, f64); 5] = [
    (20.0, 28.0, 84.0),
    (66.0, 78.0, 122.0),
    (118.0, 130.0, 132.0),
    (184.0, 176.0, 108.0),
    (253.0, 236.0, 140.0),
];

fn colour(share: f64) -> String {
    let at = share.clamp(0.0, 1.0) * (RAMP.len() - 1) as f64;
    let low = (at as usize).min(RAMP.len() - 2);
    let part = at - low as f64;
    let (a, b) = (RAMP[low], RAMP[low + 1]);
    let mix = |x: f64, y: f64| libm::round(x + (y - x) * part) as u8;
    format!("#{:02x}{:02x}{:02x}", mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

/// Hours of each day and hour.
#[derive(Debug, Clone)]
pub struct HeatMap<'a> {
    /// Heading.
    pub title: &'a str,
    /// A line below it.
    pub subtitle: &'a str,
    /// A value for each hour of 365 days, day by day.
    pub hours: &'a [f64],
    /// What was wished for: a line is drawn round what lies below.
    pub wish_h: Option<f64>,
    /// How many of all starts lie below, in words.
    pub below: Below<'a>,
}

/// How many starts lie below the wish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Below<'a> {
    /// None.
    None,
    /// Some, with their share in words.
    Some(&'a str),
    /// All.
    All,
}

/// Draws a heat map with its legend from `top` down; gives the height that it takes.
pub fn heat_map(sheet: &mut Sheet, top: f64, map: &HeatMap<'_>) -> f64 {
    let (left, right, cell_h) = (64.0, 24.0, 11.0);
    let width = sheet.width() - left - right;
    let cell_w = width / 365.0;
    let (y0, height) = (top + 48.0, 24.0 * cell_h);
    sheet.heading((24.0, top + 16.0), map.title);
    sheet.words((24.0, top + 36.0), 12.0, Anchor::Start, map.subtitle);
    let most = map.hours.iter().copied().filter(|h| h.is_finite()).fold(0.0, f64::max);
    // beyond four times the wish nobody asks; there is one class for all of it
    let shown = map.wish_h.map_or(most, |wish| most.min(4.0 * wish)).max(1.0);
    let bounds = bounds(shown, map.wish_h);
    let classes = bounds.len() - 1;
    let class =
        |hours: f64| bounds.iter().skip(1).take(classes - 1).take_while(|bound| hours >= **bound).count();
    let tint = |k: usize| colour(if classes > 1 { k as f64 / (classes - 1) as f64 } else { 1.0 });
    let at = |day: usize, hour: usize| map.hours.get(day * 24 + hour).copied().unwrap_or(0.0);
    for hour in 0..24 {
        let y = y0 + hour as f64 * cell_h;
        let mut day = 0;
        while day < 365 {
            let here = class(at(day, hour));
            let run = (day..365).take_while(|d| class(at(*d, hour)) == here).count();
            // a hair wider, so that no seam shows between neighbours
            let size = (run as f64 * cell_w + 0.15, cell_h + 0.15);
            sheet.rect((left + day as f64 * cell_w, y), size, &tint(here));
            day += run;
        }
    }
    if let Some(wish) = map.wish_h {
        outline(sheet, (left, y0), (cell_w, cell_h), &|day, hour| at(day, hour) < wish);
    }
    sheet.frame((left, y0), (width, height));
    for (before, name, days) in months() {
        let x = left + before as f64 * cell_w;
        sheet.line((x, y0 + height), (x, y0 + height + 5.0), &format!("stroke=\"{INK}\""));
        let middle = x + days as f64 * cell_w / 2.0;
        sheet.words((middle, y0 + height + 17.0), 12.0, Anchor::Middle, name);
    }
    for hour in [0, 6, 12, 18, 24] {
        let y = y0 + f64::from(hour) * cell_h;
        sheet.words((left - 6.0, y + 4.0), 12.0, Anchor::End, &format!("{hour}:00"));
    }
    let y = y0 + height + 34.0;
    legend(sheet, (left, y), &bounds, most > bounds[classes] + 1e-9, &tint);
    let mut took = y + 34.0 - top;
    if let Some(wish) = map.wish_h {
        let words = match map.below {
            Below::All => {
                format!(
                    "every start is carried shorter than the {} h wished for, so no line is drawn",
                    px(wish)
                )
            }
            Below::None => format!("no start is carried shorter than the {} h wished for", px(wish)),
            Below::Some(share) => {
                let stroke = format!("stroke=\"{INK}\" stroke-width=\"1.6\"");
                sheet.line((left, y + 42.0), (left + 26.0, y + 42.0), &stroke);
                format!(
                    "the line parts darker starts, carried shorter than the {} h wished for ({share} of all), from lighter ones",
                    px(wish)
                )
            }
        };
        sheet.words((left + 34.0, y + 46.0), 12.0, Anchor::Start, &words);
        took += 26.0;
    }
    took
}

/// Bounds of the classes, from 0: round hours, and with a wish the nearest of them lies on it.
fn bounds(shown: f64, wish_h: Option<f64>) -> Vec<f64> {
    let (step, count) = ticks(shown, 8);
    let mut bounds: Vec<f64> = (0..=count.max(1)).map(|k| step * k as f64).collect();
    if let Some(wish) = wish_h.filter(|w| *w > 0.0) {
        let nearest = libm::round(wish / step).max(1.0) as usize;
        match bounds.get_mut(nearest) {
            Some(bound) => *bound = wish,
            None => bounds.push(wish),
        }
    }
    bounds
}

fn legend(sheet: &mut Sheet, (x, y): (f64, f64), bounds: &[f64], open: bool, tint: &dyn Fn(usize) -> String) {
    sheet.words((x, y + 12.0), 12.0, Anchor::Start, "carried for");
    let (first, wide) = (x + 76.0, 84.0);
    let classes = bounds.len() - 1;
    for (k, pair) in bounds.windows(2).enumerate() {
        let at = first + k as f64 * wide;
        sheet.rect((at, y), (wide, 14.0), &tint(k));
        let (low, high) = (px(pair[0]), px(pair[1]));
        let words =
            if open && k + 1 == classes { format!("over {low} h") } else { format!("{low} to {high} h") };
        sheet.words((at + wide / 2.0, y + 27.0), 11.0, Anchor::Middle, &words);
    }
    sheet.frame((first, y), (wide * classes as f64, 14.0));
}

/// A line round all cells that are inside: white below, ink above, so that it shows on every colour.
fn outline(
    sheet: &mut Sheet,
    (x0, y0): (f64, f64),
    (w, h): (f64, f64),
    inside: &dyn Fn(usize, usize) -> bool,
) {
    let mut path = String::new();
    for day in 0..365usize {
        for hour in 0..24usize {
            let here = inside(day, hour);
            let (x, y) = (x0 + day as f64 * w, y0 + hour as f64 * h);
            if day < 364 && inside(day + 1, hour) != here {
                let _ = write!(path, "M{} {}v{}", px(x + w), px(y), px(h));
            }
            if hour < 23 && inside(day, hour + 1) != here {
                let _ = write!(path, "M{} {}h{}", px(x), px(y + h), px(w));
            }
        }
    }
    if !path.is_empty() {
        sheet.raw(&format!("<path d=\"{path}\" fill=\"none\" stroke=\"#ffffff\" stroke-width=\"2.6\"/>"));
        sheet.raw(&format!("<path d=\"{path}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.2\"/>"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance must rise from class to class, or grey prints lie.
    #[test]
    fn colours_keep_their_order_in_black_and_white() {
        let light = |k: usize| {
            let text = colour(k as f64 / 40.0);
            let part = |at: usize| f64::from(u8::from_str_radix(&text[at..at + 2], 16).unwrap());
            0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
        };
        assert!((0..40).all(|k| light(k + 1) > light(k)));
        assert!(light(40) - light(0) > 150.0);
    }

    #[test]
    fn bounds_are_round_and_on_the_wish() {
        assert_eq!(bounds(40.9, Some(17.5)), [0.0, 10.0, 17.5, 30.0, 40.0, 50.0]);
        assert_eq!(bounds(15.2, Some(6.0)), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]);
        assert_eq!(bounds(3.0, Some(24.0)).last(), Some(&24.0));
        assert!(bounds(48.0, Some(0.2)).windows(2).all(|w| w[0] < w[1]));
        assert!(bounds(0.0, None).len() > 1);
    }

    #[test]
    fn every_cell_has_its_class_and_the_wish_its_line() {
        let hours: Vec<f64> = (0..8760).map(|k| if k / 24 == 100 { 3.0 } else { 30.0 }).collect();
        let mut sheet = Sheet::new(960.0, 420.0, "t");
        let map = HeatMap {
            title: "t",
            subtitle: "s",
            hours: &hours,
            wish_h: Some(12.0),
            below: Below::Some("0.28 %"),
        };
        heat_map(&mut sheet, 0.0, &map);
        let svg = sheet.finish();
        let page = roxmltree::Document::parse(&svg).unwrap();
        let path = page.descendants().find(|n| n.has_tag_name("path")).unwrap();
        // 24 edges on either side of one day
        assert_eq!(path.attribute("d").unwrap().matches('v').count(), 48);
        // 10 h is the bound nearest to the wish
        assert!(svg.contains(">5 to 12 h<") && svg.contains(">12 to 15 h<"), "{svg}");
        assert!(svg.contains("shorter than the 12 h wished for (0.28 % of all)"), "{svg}");
    }
}
