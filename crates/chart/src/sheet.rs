//! A page of SVG that charts write on.

use std::fmt::Write as _;

/// Ink of lines and words.
pub(crate) const INK: &str = "#1a1a1a";
/// Ink of grids.
pub(crate) const GRID: &str = "#c9c9c9";

/// Where words stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A page with a title; lengths in pixels.
#[derive(Debug, Clone)]
pub struct Sheet {
    width: f64,
    height: f64,
    title: String,
    body: String,
}

/// A number with as many digits as a pixel can show.
pub(crate) fn px(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" || text.is_empty() { "0".to_owned() } else { text.to_owned() }
}

/// Words as XML text.
pub(crate) fn escaped(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut out, c| {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
        out
    })
}

/// Steps of an axis from 0 to at least `most`: 1, 2 or 5 times a power of ten, at most `count` of them.
pub(crate) fn ticks(most: f64, count: usize) -> (f64, usize) {
    let most = if most.is_finite() && most > 0.0 { most } else { 1.0 };
    let mut step = libm::pow(10.0, libm::floor(libm::log10(most)) - 2.0);
    for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(40) {
        if most / step <= count as f64 + 1e-9 {
            break;
        }
        step *= factor;
    }
    (step, libm::ceil(most / step - 1e-9) as usize)
}

impl Sheet {
    /// An empty page.
    pub fn new(width: f64, height: f64, title: &str) -> Self {
        Self { width, height, title: title.to_owned(), body: String::new() }
    }

    /// Width in pixels.
    pub fn width(&self) -> f64 {
        self.width
    }

    pub(crate) fn raw(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    pub(crate) fn rect(&mut self, (x, y): (f64, f64), (w, h): (f64, f64), fill: &str) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\"/>",
            px(x),
            px(y),
            px(w),
            px(h)
        );
    }

    pub(crate) fn frame(&mut self, (x, y): (f64, f64), (w, h): (f64, f64)) {
        let (x, y, w, h) = (px(x), px(y), px(w), px(h));
        self.raw(&format!(
            "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1\"/>"
        ));
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), style: &str) {
        let (a, b, c, d) = (px(from.0), px(from.1), px(to.0), px(to.1));
        self.raw(&format!("<line x1=\"{a}\" y1=\"{b}\" x2=\"{c}\" y2=\"{d}\" {style}/>"));
    }

    pub(crate) fn words(&mut self, (x, y): (f64, f64), size: f64, anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let (x, y, size) = (px(x), px(y), px(size));
        let text = escaped(text);
        self.raw(&format!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"{INK}\">{text}</text>"
        ));
    }

    /// Words that can be read over what lies below them.
    pub(crate) fn halo(&mut self, (x, y): (f64, f64), text: &str) {
        let (x, y, text) = (px(x), px(y), escaped(text));
        let under = "stroke=\"#ffffff\" stroke-width=\"4\" stroke-linejoin=\"round\" fill=\"#ffffff\"";
        self.raw(&format!("<text x=\"{x}\" y=\"{y}\" font-size=\"12\" {under}>{text}</text>"));
        self.raw(&format!("<text x=\"{x}\" y=\"{y}\" font-size=\"12\" fill=\"{INK}\">{text}</text>"));
    }

    pub(crate) fn heading(&mut self, (x, y): (f64, f64), text: &str) {
        let (x, y, text) = (px(x), px(y), escaped(text));
        self.raw(&format!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"16\" font-weight=\"bold\" fill=\"{INK}\">{text}</text>"
        ));
    }

    /// Words below everything, such as what a chart does not show; broken into lines.
    pub fn footer(&mut self, y: f64, text: &str) {
        let most = ((self.width - 48.0) / 6.1) as usize;
        let mut lines = vec![String::new()];
        for word in text.split_whitespace() {
            match lines.last_mut() {
                Some(last) if last.is_empty() => last.push_str(word),
                Some(last) if last.chars().count() + 1 + word.chars().count() <= most => {
                    last.push(' ');
                    last.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
        }
        for (k, line) in lines.iter().enumerate() {
            self.words((24.0, y + 16.0 * k as f64), 12.0, Anchor::Start, line);
        }
    }

    /// The page as SVG.
    pub fn finish(self) -> String {
        let (w, h) = (px(self.width), px(self.height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" \
             font-family=\"sans-serif\" role=\"img\">\n<title>{}</title>\n\
             <rect x=\"0\" y=\"0\" width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n{}</svg>\n",
            escaped(&self.title),
            self.body
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_reach_the_end_in_round_steps() {
        for most in [0.3, 1.0, 7.0, 17.9, 24.0, 100.0, 9123.0] {
            let (step, count) = ticks(most, 6);
            assert!(step * count as f64 >= most - 1e-9 && count <= 6, "{most}: {step} x {count}");
            let digits = step / libm::pow(10.0, libm::floor(libm::log10(step) + 1e-9));
            assert!([1.0, 2.0, 5.0].iter().any(|d| (digits - d).abs() < 1e-9), "{most}: {step}");
        }
    }

    #[test]
    fn words_cannot_break_the_page() {
        let mut sheet = Sheet::new(400.0, 100.0, "a < b & \"c\"");
        sheet.words((1.0, 2.0), 12.0, Anchor::End, "</text><script>");
        let svg = sheet.finish();
        let page = roxmltree::Document::parse(&svg).unwrap();
        assert!(page.descendants().all(|n| !n.has_tag_name("script")));
    }
}
