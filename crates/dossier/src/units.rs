//! The one place where an amount becomes text on paper: in the units of the site.

use derivation::{Amount, Written};
use quantity::{Digits, Length, Mass, Quantity, engineering};
use site::Units;

const METRES_PER_FOOT: f64 = 0.3048;
const METRES_PER_INCH: f64 = 0.0254;
const KG_PER_POUND: f64 = 0.453_592_37;

/// How papers in these units write an amount.
pub fn written(units: Units) -> Written {
    match units {
        Units::Us => us,
        Units::Metric => metric,
    }
}

/// An amount as papers in these units write it.
pub fn shown<Q: Quantity>(units: Units, value: Q) -> String {
    written(units)(&Amount::of(value))
}

/// A length on an elevation: whole millimetres, or tenths of an inch.
pub fn dimension(units: Units, length: Length) -> String {
    match units {
        Units::Us => format!("{:.1} in", length.si() / METRES_PER_INCH),
        Units::Metric => format!("{:.0} mm", length.si() * 1000.0),
    }
}

/// A length to order, up to the next tenth of a metre or foot; what has no place has no length.
pub fn to_order(units: Units, length: Length) -> String {
    together(units, std::iter::once(length))
}

/// Length of a run of conductors in metres or feet; to whole feet, up, where it was assumed or measured in metres.
pub fn run_number(units: Units, length: Length) -> f64 {
    match units {
        Units::Us => (length.si() / METRES_PER_FOOT - 1e-9).ceil(),
        Units::Metric => length.si(),
    }
}

/// Length of a run of conductors.
pub fn run(units: Units, length: Length) -> String {
    match units {
        Units::Us if length.si().is_finite() => format!("{:.0} ft", run_number(units, length)),
        _ => shown(units, length),
    }
}

/// Lengths to order added up, each up to the next tenth as it is ordered.
pub fn together(units: Units, lengths: impl Iterator<Item = Length>) -> String {
    let (of, word) = match units {
        Units::Us => (METRES_PER_FOOT, "ft"),
        Units::Metric => (1.0, "m"),
    };
    let tenths: f64 = lengths.map(|length| (length.si() / of * 10.0 - 1e-9).ceil()).sum();
    if tenths.is_finite() { format!("{:.1} {word}", tenths / 10.0) } else { "not known".to_owned() }
}

/// A mass that something has to carry, up to the next whole kilogram or pound.
pub fn to_carry(units: Units, mass: Mass) -> String {
    match units {
        Units::Us => format!("{:.0} lb", (mass.si() / KG_PER_POUND - 1e-9).ceil()),
        Units::Metric => format!("{:.0} kg", (mass.si() - 1e-9).ceil()),
    }
}

fn metric(amount: &Amount) -> String {
    spelled(&amount.text)
}

/// Lengths, areas, volumes, masses, air flows and temperatures change; electrical units are the same everywhere.
fn us(amount: &Amount) -> String {
    let si = amount.si;
    let table: &[(&'static str, f64)] = match amount.unit {
        "m" => &[("ft", METRES_PER_FOOT), ("in", METRES_PER_INCH)],
        "m2" => &[("ft²", 0.092_903_04), ("in²", 0.000_645_16)],
        "m3" => &[("ft³", 0.028_316_846_592)],
        "m3/s" => &[("cfm", 0.000_471_947_443_2)],
        "kg" => &[("lb", KG_PER_POUND)],
        "degC" if si.is_finite() => {
            return engineering(si * 9.0 / 5.0 + 32.0, &[("°F", 1.0)], Digits::Trimmed);
        }
        "K" if si.is_finite() => return engineering(si * 9.0 / 5.0, &[("°F", 1.0)], Digits::Trimmed),
        _ => return spelled(&amount.text),
    };
    engineering(si, table, Digits::Trimmed)
}

/// Units as print has them: `ohm` is written with its sign, `degC` with the degree.
pub fn spelled(text: &str) -> String {
    let mut out = text.to_owned();
    for (plain, sign) in [
        ("mohm", "mΩ"),
        ("kohm", "kΩ"),
        ("ohm", "Ω"),
        ("degC", "°C"),
        ("degF", "°F"),
        ("mm2", "mm²"),
        ("cm2", "cm²"),
        (" m2", " m²"),
        (" in2", " in²"),
        (" ft2", " ft²"),
        (" m3", " m³"),
    ] {
        out = out.replace(plain, sign);
    }
    out
}

#[cfg(test)]
mod tests {
    use quantity::{Current, Length, Mass, Quantity, Resistance, Temperature};

    use super::*;

    fn both<Q: Quantity>(value: Q) -> [String; 2] {
        [Units::Us, Units::Metric].map(|units| written(units)(&Amount::of(value)))
    }

    #[test]
    fn what_differs_between_countries_is_converted_and_nothing_else() {
        assert_eq!(both(Length::of(10.668)), ["35 ft", "10.7 m"]);
        assert_eq!(both(Length::of(0.1524)), ["6 in", "152 mm"]);
        assert_eq!(both(Temperature::of(-40.0)), ["-40 °F", "-40 °C"]);
        assert_eq!(both(Temperature::of(35.0)), ["95 °F", "35 °C"]);
        assert_eq!(both(Mass::of(48.0)), ["106 lb", "48 kg"]);
        assert_eq!(both(Current::of(142.6)), ["143 A", "143 A"]);
        assert_eq!(both(Resistance::of(0.012)), ["12.0 mΩ", "12.0 mΩ"]);
        assert_eq!(both(Length::of(f64::NAN)), ["no number", "no number"]);
    }

    #[test]
    fn what_is_ordered_or_carried_is_rounded_up_and_adds_up() {
        let both = |of: &dyn Fn(Units) -> String| [Units::Us, Units::Metric].map(of);
        // 1.5 m are 4.921 ft
        assert_eq!(both(&|u| to_order(u, Length::of(1.5))), ["5.0 ft", "1.5 m"]);
        assert_eq!(both(&|u| together(u, [1.5; 5].map(Length::of).into_iter())), ["25.0 ft", "7.5 m"]);
        assert_eq!(both(&|u| to_order(u, Length::of(f64::NAN))), ["not known", "not known"]);
        // 3 m are 9.843 ft, 35 ft are 10.668 m
        assert_eq!(both(&|u| run(u, Length::of(3.0))), ["10 ft", "3 m"]);
        assert_eq!(both(&|u| run(u, Length::of(10.668))), ["35 ft", "10.7 m"]);
        assert_eq!(both(&|u| run(u, Length::of(f64::NAN))), ["no number", "no number"]);
        // 49 kg are 108.03 lb
        assert_eq!(both(&|u| to_carry(u, Mass::of(49.0))), ["109 lb", "49 kg"]);
        assert_eq!(both(&|u| dimension(u, Length::of(0.42))), ["16.5 in", "420 mm"]);
    }
}
