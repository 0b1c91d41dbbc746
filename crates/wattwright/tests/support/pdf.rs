//! Reads the words of a PDF out of its bytes, as somebody copies them: pages in order, what drawings in them say included.
//! It knows what the program writes and no more: a plain table of objects, streams that are deflated, fonts of two bytes
//! with a table to Unicode.

use std::collections::BTreeMap;

pub struct Pdf<'b> {
    bytes: &'b [u8],
    at: Vec<usize>,
}

/// Names and numbers of objects, by name.
type Named = BTreeMap<String, usize>;
/// Unicode of a font's glyphs.
type Letters = BTreeMap<u16, String>;

fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len()).position(|w| w == what)
}

/// The number before " 0 R" behind a key.
fn reference(dict: &str, key: &str) -> Option<usize> {
    dict.match_indices(key).find_map(|(at, _)| {
        let rest = dict[at + key.len()..].trim_start();
        let digits = rest.split(|c: char| !c.is_ascii_digit()).next()?;
        rest[digits.len()..].starts_with(" 0 R").then(|| digits.parse().ok())?
    })
}

/// "/f0 12 0 R/f1 13 0 R" of "/Font<<...>>".
fn named(dict: &str, key: &str) -> Named {
    let Some((_, rest)) = dict.split_once(&format!("{key}<<")) else { return Named::new() };
    let inner = rest.split(">>").next().unwrap_or_default();
    inner
        .split('/')
        .filter_map(|entry| {
            let (name, number) = entry.split_once(' ')?;
            Some((name.to_owned(), number.split(' ').next()?.parse().ok()?))
        })
        .collect()
}

impl<'b> Pdf<'b> {
    pub fn new(bytes: &'b [u8]) -> Self {
        let tail = String::from_utf8_lossy(&bytes[bytes.len() - 64..]).into_owned();
        let start = tail.split("startxref").nth(1).expect("a place of the table");
        let start: usize = start.split_whitespace().next().unwrap().parse().unwrap();
        let table = &bytes[start..];
        assert!(table.starts_with(b"xref"), "a plain table of objects");
        let lines = String::from_utf8_lossy(&table[..find(table, b"trailer").unwrap()]).into_owned();
        let at = lines.lines().skip(2).filter_map(|l| l.split(' ').next()?.parse().ok()).collect();
        Self { bytes, at }
    }

    /// An object up to its stream or its end.
    fn dict(&self, number: usize) -> String {
        let object = &self.bytes[self.at[number]..];
        let end = find(object, b"endobj").unwrap();
        let end = find(&object[..end], b"stream").unwrap_or(end);
        String::from_utf8_lossy(&object[..end]).into_owned()
    }

    fn stream(&self, number: usize) -> Vec<u8> {
        let dict = self.dict(number);
        let object = &self.bytes[self.at[number]..];
        let start = find(object, b"stream").unwrap() + b"stream".len();
        let start = start + if object[start] == b'\r' { 2 } else { 1 };
        let length = dict.split_once("/Length").unwrap().1.trim_start();
        let length: usize = length.split(|c: char| !c.is_ascii_digit()).next().unwrap().parse().unwrap();
        let raw = &object[start..start + length];
        if dict.contains("/FlateDecode") {
            miniz_oxide::inflate::decompress_to_vec_zlib(raw).expect("a whole stream")
        } else {
            raw.to_vec()
        }
    }

    /// Words of each page.
    pub fn pages(&self) -> Vec<String> {
        let root =
            (1..self.at.len()).map(|n| self.dict(n)).find(|d| d.contains("/Type/Pages")).expect("pages");
        let kids = root.split_once("/Kids[").unwrap().1.split(']').next().unwrap();
        let kids = kids.split(" 0 R").filter_map(|n| n.trim().parse().ok());
        let mut letters = BTreeMap::new();
        kids.map(|page: usize| {
            let dict = self.dict(page);
            let resources = reference(&dict, "/Resources").map_or(dict.clone(), |n| self.dict(n));
            let content = self.stream(reference(&dict, "/Contents").expect("a page has content"));
            let mut out = String::new();
            self.words(&content, &resources, &mut letters, &mut out);
            out
        })
        .collect()
    }

    fn letters(&self, font: usize) -> Letters {
        let Some(table) = reference(&self.dict(font), "/ToUnicode") else { return Letters::new() };
        let table = String::from_utf8_lossy(&self.stream(table)).into_owned();
        let mut letters = Letters::new();
        for block in table.split("beginbfchar").skip(1) {
            let block = block.split("endbfchar").next().unwrap_or_default();
            for line in block.lines() {
                let codes: Vec<&str> = line.split(['<', '>']).collect();
                let [_, glyph, _, text, ..] = codes.as_slice() else { continue };
                let units: Vec<u16> = (0..text.len() / 4)
                    .filter_map(|k| u16::from_str_radix(&text[4 * k..4 * k + 4], 16).ok())
                    .collect();
                let glyph = u16::from_str_radix(glyph, 16).unwrap();
                letters.insert(glyph, String::from_utf16_lossy(&units));
            }
        }
        letters
    }

    /// Walks the operators of a content: fonts, texts, and what is drawn within.
    fn words(&self, content: &[u8], resources: &str, known: &mut BTreeMap<usize, Letters>, out: &mut String) {
        let (fonts, drawn) = (named(resources, "/Font"), named(resources, "/XObject"));
        let (mut name, mut font, mut texts) = (String::new(), 0, Vec::<Vec<u8>>::new());
        let mut k = 0;
        while k < content.len() {
            let ends = |c: u8| c.is_ascii_whitespace() || b"()<>[]{}/%".contains(&c);
            match content[k] {
                b'(' => {
                    let (text, after) = string(content, k + 1);
                    texts.push(text);
                    k = after;
                }
                c @ (b'/' | b'A'..=b'Z' | b'a'..=b'z' | b'\'' | b'"') => {
                    let from = k + usize::from(c == b'/');
                    let length =
                        content[from..].iter().position(|c| ends(*c)).unwrap_or(content.len() - from);
                    let word = String::from_utf8_lossy(&content[from..from + length]).into_owned();
                    k = from + length;
                    match word.as_str() {
                        _ if c == b'/' => name = word,
                        "Tf" => font = fonts.get(&name).copied().unwrap_or_default(),
                        "TJ" | "Tj" => {
                            let letters = known.entry(font).or_insert_with(|| self.letters(font));
                            for code in texts
                                .drain(..)
                                .flat_map(|t| t.chunks(2).map(|c| c.to_vec()).collect::<Vec<_>>())
                            {
                                let code = code.iter().fold(0, |sum, byte| (sum << 8) | u16::from(*byte));
                                out.push_str(letters.get(&code).map_or("\u{fffd}", String::as_str));
                            }
                            out.push(' ');
                        }
                        "Do" => {
                            if let Some(number) =
                                drawn.get(&name).filter(|n| self.dict(**n).contains("/Form"))
                            {
                                let dict = self.dict(*number);
                                let own =
                                    reference(&dict, "/Resources").map_or(dict.clone(), |n| self.dict(n));
                                self.words(&self.stream(*number), &own, known, out);
                            }
                        }
                        // words of other operators are not shown: languages, names
                        _ => texts.clear(),
                    }
                }
                _ => k += 1,
            }
        }
    }
}

/// A string in brackets from behind its first one: its bytes, and what comes after it.
fn string(content: &[u8], mut k: usize) -> (Vec<u8>, usize) {
    let (mut text, mut open) = (Vec::new(), 1);
    while k < content.len() {
        match content[k] {
            b'\\' => {
                let octal: Vec<u8> = content[k + 1..]
                    .iter()
                    .take(3)
                    .take_while(|c| (b'0'..=b'7').contains(*c))
                    .copied()
                    .collect();
                if octal.is_empty() {
                    let plain = match content[k + 1] {
                        b'n' => b'\n',
                        b'r' => b'\r',
                        b't' => b'\t',
                        b'b' => 8,
                        b'f' => 12,
                        other => other,
                    };
                    text.push(plain);
                    k += 2;
                } else {
                    let code = octal.iter().fold(0_u32, |sum, c| sum * 8 + u32::from(c - b'0'));
                    text.push(u8::try_from(code).unwrap());
                    k += 1 + octal.len();
                }
                continue;
            }
            b'(' => open += 1,
            b')' => open -= 1,
            _ => {}
        }
        if open == 0 {
            return (text, k + 1);
        }
        text.push(content[k]);
        k += 1;
    }
    (text, k)
}
