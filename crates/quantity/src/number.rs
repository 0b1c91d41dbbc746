//! Numbers as people write them, and back.

use crate::{QuantityError, Unit};

/// Splits `"1,200 ft"` into the number and what follows it.
///
/// Accepted: sign, thousands separators in groups of three, decimals, an exponent, and the fractions of the
/// trade (`1/2`, `1-1/2`, `1 1/2`).
///
/// # Errors
/// No number at the start, a number that is not finite, or separators in the wrong places.
pub fn split_number<'t>(text: &'t str, name: &str, example: &str) -> Result<(f64, &'t str), QuantityError> {
    let text = text.trim();
    let end = number_end(text);
    let (head, tail) = text.split_at(end);
    if head.is_empty() {
        return Err(QuantityError::new(
            format!("\"{}\" is not a {name}", clip(text)),
            format!("write a number and a unit, for example \"{example}\""),
        ));
    }
    let value = parse_number(head).ok_or_else(|| {
        QuantityError::new(
            format!("\"{}\" is not a number", clip(head)),
            "write digits with a point for decimals; a comma only separates thousands (\"1,200\")",
        )
    })?;
    if !value.is_finite() {
        return Err(QuantityError::new(
            format!("\"{}\" is too large for a {name}", clip(head)),
            format!("for example \"{example}\""),
        ));
    }
    Ok((value, tail.trim()))
}

fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    let mut seen_digit = false;
    while let Some(&b) = bytes.get(end) {
        let next_is_digit = bytes.get(end + 1).is_some_and(u8::is_ascii_digit);
        let part = match b {
            b'0'..=b'9' => {
                seen_digit = true;
                true
            }
            b'+' | b'-' if end == 0 => true,
            b'.' => true,
            b',' | b'/' => seen_digit,
            // "1-1/2" and "1 1/2"
            b'-' | b' ' => seen_digit && next_is_digit && text[end + 1..].starts_with(is_fraction_start),
            b'e' | b'E' => {
                seen_digit
                    && (next_is_digit
                        || (matches!(bytes.get(end + 1), Some(b'+' | b'-'))
                            && bytes.get(end + 2).is_some_and(u8::is_ascii_digit)))
            }
            _ => false,
        };
        if !part {
            break;
        }
        if matches!(b, b'e' | b'E') {
            end += 1; // the sign or first digit of the exponent
        }
        end += 1;
    }
    end.min(text.len())
}

fn is_fraction_start(c: char) -> bool {
    c.is_ascii_digit()
}

fn parse_number(text: &str) -> Option<f64> {
    if text.contains('/') {
        let (negative, body) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, fraction) = match body.split_once(['-', ' ']) {
            Some((whole, fraction)) => (plain(whole)?, fraction),
            None => (0.0, body),
        };
        let (top, bottom) = fraction.split_once('/')?;
        let bottom = plain(bottom)?;
        if bottom == 0.0 {
            return None;
        }
        let value = whole + plain(top)? / bottom;
        return Some(if negative { -value } else { value });
    }
    plain(text)
}

fn plain(text: &str) -> Option<f64> {
    if text.contains(',') {
        let unsigned = text.trim_start_matches(['-', '+']);
        let integer = unsigned.split('.').next()?;
        let mut groups = integer.split(',');
        let first = groups.next()?;
        if first.is_empty() || first.len() > 3 || groups.any(|g| g.len() != 3) {
            return None;
        }
        if unsigned.split_once('.').is_some_and(|(_, decimals)| decimals.contains(',')) {
            return None;
        }
        return text.replace(',', "").parse().ok();
    }
    text.parse().ok()
}

/// Reads number and unit against one unit table; the result is SI.
pub(crate) fn read_si(
    text: &str,
    name: &str,
    example: &str,
    units: &[Unit],
    largest: f64,
) -> Result<f64, QuantityError> {
    let (value, tail) = split_number(text, name, example)?;
    if tail.is_empty() {
        let first = units.first().map_or("", |u| u.symbol);
        return Err(QuantityError::new(
            format!("{} has no unit", clip(text.trim())),
            format!("write \"{} {first}\"", clip(text.trim())),
        ));
    }
    let spelled = tail.replace('°', "deg").replace('²', "2").replace('Ω', "ohm");
    let Some(unit) = units.iter().find(|u| u.symbol == spelled) else {
        let known = units.iter().map(|u| u.symbol).collect::<Vec<_>>().join(", ");
        let help = match suggest_unit(&spelled, units.iter().map(|u| u.symbol)) {
            Some(near) => format!("did you mean \"{near}\"? Units of {name}: {known}"),
            None => format!("units of {name}: {known}, for example \"{example}\""),
        };
        return Err(QuantityError::new(format!("\"{}\" is not a unit of {name}", clip(tail)), help));
    };
    let si = value * unit.factor + unit.offset;
    if !si.is_finite() || si.abs() > largest {
        return Err(QuantityError::new(
            format!("\"{}\" is no {name} that a site can have", clip(text.trim())),
            format!("check the number and the unit; for example \"{example}\""),
        ));
    }
    Ok(si)
}

/// The known symbol that differs only in case, or by one letter.
pub fn suggest_unit<'u>(written: &str, known: impl Iterator<Item = &'u str> + Clone) -> Option<&'u str> {
    if let Some(same) = known.clone().find(|k| k.eq_ignore_ascii_case(written)) {
        return Some(same);
    }
    let plural = written.trim_end_matches('s').trim_end_matches('.');
    known.clone().find(|k| k.eq_ignore_ascii_case(plural)).or_else(|| {
        let aliases = [
            ("amp", "A"),
            ("ampere", "A"),
            ("volt", "V"),
            ("watt", "W"),
            ("feet", "ft"),
            ("foot", "ft"),
            ("inch", "in"),
            ("inche", "in"),
            ("sec", "s"),
            ("second", "s"),
            ("minute", "min"),
            ("hour", "h"),
            ("hr", "h"),
            ("day", "d"),
            ("meter", "m"),
            ("metre", "m"),
            ("mm^2", "mm2"),
            ("sqmm", "mm2"),
            ("C", "degC"),
            ("F", "degF"),
            ("celsius", "degC"),
            ("fahrenheit", "degF"),
            ("lbs", "lb"),
            ("pound", "lb"),
            ("ohms", "ohm"),
        ];
        let meant = aliases
            .iter()
            .find(|(alias, _)| alias.eq_ignore_ascii_case(plural) || alias.eq_ignore_ascii_case(written))
            .map(|(_, unit)| *unit)?;
        known.clone().find(|k| *k == meant)
    })
}

fn clip(text: &str) -> String {
    let mut out: String = text.chars().take(40).collect();
    if out.len() < text.len() {
        out.push('…');
    }
    out
}

/// A number with `digits` significant digits, no exponent, no trailing zeros after the point beyond them.
pub fn significant(value: f64, digits: u32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return "no number".to_owned();
    }
    let magnitude = libm::floor(libm::log10(value.abs())) as i32;
    let decimals = (digits as i32 - 1 - magnitude).clamp(0, 12) as usize;
    let text = format!("{value:.decimals$}");
    // rounding may have added a digit: 9.996 -> 10.00
    let rounded: f64 = text.parse().unwrap_or(value);
    let magnitude_after =
        if rounded == 0.0 { magnitude } else { libm::floor(libm::log10(rounded.abs()) + 1e-12) as i32 };
    let decimals = (digits as i32 - 1 - magnitude_after).clamp(0, 12) as usize;
    format!("{rounded:.decimals$}")
}

/// Whether trailing zeros say something: 60.0 A was computed to three digits, 30 min was not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Digits {
    /// All three digits are written.
    Kept,
    /// Zeros after the point go.
    Trimmed,
}

/// Value and unit with engineering rounding to three significant digits.
pub fn engineering(si: f64, units: &[(&'static str, f64)], digits: Digits) -> String {
    if !si.is_finite() {
        return "no number".to_owned();
    }
    let Some(&(base_symbol, base_factor)) = units.first() else {
        return significant(si, 3);
    };
    let chosen = units
        .iter()
        .filter(|(_, factor)| si.abs() >= factor * 0.9995)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .or_else(|| units.iter().min_by(|a, b| a.1.total_cmp(&b.1)))
        .copied()
        .unwrap_or((base_symbol, base_factor));
    let (symbol, factor) = if si == 0.0 { (base_symbol, base_factor) } else { chosen };
    let mut number = significant(si / factor, 3);
    if digits == Digits::Trimmed && number.contains('.') {
        number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
    }
    if symbol.is_empty() { number } else { format!("{number} {symbol}") }
}
