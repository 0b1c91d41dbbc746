//! Templates: plain words and named holes, written as for `format!`.

/// A piece of a template.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Piece<'t> {
    /// Words as they are.
    Words(&'t str),
    /// A hole and its name.
    Hole(&'t str),
}

/// The pieces of a template. A doubled brace is a brace.
///
/// # Errors
/// A brace that opens or closes nothing, or a hole without a plain name; the text says which.
pub fn pieces(template: &str) -> Result<Vec<Piece<'_>>, String> {
    let mut all = Vec::new();
    let mut rest = template;
    while let Some(at) = rest.find(['{', '}']) {
        let (before, from) = rest.split_at(at);
        if !before.is_empty() {
            all.push(Piece::Words(before));
        }
        if let Some(after) = ["{{", "}}"].iter().find_map(|twice| from.strip_prefix(twice)) {
            all.push(Piece::Words(from.get(..1).unwrap_or_default()));
            rest = after;
            continue;
        }
        let inner = from.strip_prefix('{').and_then(|inner| inner.split_once('}'));
        let Some((name, after)) = inner else {
            return Err(format!("a brace stands alone in \"{template}\""));
        };
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
        if name.is_empty() || name.starts_with(|c: char| c.is_ascii_digit()) || !name.chars().all(plain) {
            return Err(format!("the hole {{{name}}} has no plain name in \"{template}\""));
        }
        all.push(Piece::Hole(name));
        rest = after;
    }
    if !rest.is_empty() {
        all.push(Piece::Words(rest));
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_template_falls_into_words_and_holes() {
        let all = pieces("{a} of {{x}} {b_2}.").unwrap();
        let x = ["{", "x", "}", " "].map(Piece::Words);
        let mut expected = vec![Piece::Hole("a"), Piece::Words(" of ")];
        expected.extend(x);
        expected.extend([Piece::Hole("b_2"), Piece::Words(".")]);
        assert_eq!(all, expected);
        for wrong in ["{", "a}", "{}", "{a:.1}", "{1}", "{a", "{a.b}"] {
            assert!(pieces(wrong).is_err(), "{wrong}");
        }
    }
}
