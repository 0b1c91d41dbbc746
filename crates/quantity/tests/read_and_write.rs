//! Quantities as people write them.

use proptest::prelude::*;
use quantity::*;

#[test]
fn reads_as_people_write() {
    let close = |a: f64, b: f64| assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} against {b}");
    close("5.5 kVA".parse::<Apparent>().unwrap().si(), 5500.0);
    close("5.5kVA".parse::<Apparent>().unwrap().si(), 5500.0);
    close("85 degF".parse::<Temperature>().unwrap().si(), 29.444_444_444_444);
    close("-40 degF".parse::<Temperature>().unwrap().si(), -40.0);
    close("-22 °C".parse::<Temperature>().unwrap().si(), -22.0);
    close("30 min".parse::<Duration>().unwrap().si(), 1800.0);
    close("1,200 ft".parse::<Length>().unwrap().si(), 365.76);
    close("1-1/2 hp".parse::<ShaftPower>().unwrap().si(), 1.5 * 745.699_872);
    close("1 1/2 hp".parse::<ShaftPower>().unwrap().si(), 1.5 * 745.699_872);
    close("1/2 hp".parse::<ShaftPower>().unwrap().si(), 0.5 * 745.699_872);
    close("1.2e3 W".parse::<Power>().unwrap().si(), 1200.0);
    close("1.8 %".parse::<Percent>().unwrap().share().si(), 0.018);
    close("2 h/day".parse::<DailyUse>().unwrap().a_day().si(), 7200.0);
    assert_eq!("3 AWG".parse::<Wire>().unwrap(), Wire::Awg(3));
    assert_eq!("4/0 AWG".parse::<Wire>().unwrap(), Wire::Awg(-3));
    assert_eq!("70 mm2".parse::<Wire>().unwrap(), Wire::Mm2(70.0));
    assert_eq!("L2-L1".parse::<Connection>().unwrap(), Connection::LineToLine(Leg::L1, Leg::L2));
}

#[test]
fn refuses_and_says_what_to_write() {
    let says = |text: &str, part: &str| {
        let error = text.parse::<Power>().unwrap_err();
        let all = format!("{} / {}", error.message, error.help);
        assert!(all.contains(part), "{all}");
    };
    says("5.5 kVA", "\"kVA\" is not a unit of power");
    says("5.5 KW", "did you mean \"kW\"");
    says("75", "write \"75 W\"");
    says("about 5 kW", "is not a power");
    says("1,20 kW", "only separates thousands");
    says("1e400 W", "too large");
    says("5e12 kW", "no power that a site can have");
    says("inf W", "is not a power");
    says("NaN W", "is not a power");
    says("1/0 W", "is not a number");
    says("", "is not a power");
    assert!("5/0 AWG".parse::<Wire>().is_err());
    assert!("25 h/day".parse::<DailyUse>().is_err());
    assert!("0.018".parse::<Percent>().is_err());
}

#[test]
fn writes_with_engineering_rounding() {
    assert_eq!(Current::of(60.0).to_string(), "60.0 A");
    assert_eq!(Power::of(13_812.0).to_string(), "13.8 kW");
    assert_eq!(Power::of(999.96).to_string(), "1.00 kW");
    assert_eq!(Apparent::of(0.0).to_string(), "0 VA");
    assert_eq!(Duration::of(1800.0).to_string(), "30 min");
    assert_eq!(Current::of(f64::NAN).to_string(), "no number");
    assert_eq!(Current::of(-23.94).to_string(), "-23.9 A");
    assert_eq!(Wire::Awg(-3).to_string(), "4/0 AWG");
}

#[test]
fn awg_is_the_astm_series() {
    // ASTM B258: 4/0 is 107.2 mm2, 10 AWG is 5.261 mm2, 14 AWG is 2.081 mm2.
    assert!((Wire::Awg(-3).area_mm2() - 107.2).abs() < 0.05);
    assert!((Wire::Awg(10).area_mm2() - 5.261).abs() < 0.001);
    assert!((Wire::Awg(14).area_mm2() - 2.081).abs() < 0.001);
}

proptest! {
    /// What is written reads back to what was there, within the rounding of three digits.
    #[test]
    fn written_reads_back(value in -1.0e6..1.0e6f64) {
        let power = Power::of(value);
        let back: Power = power.to_string().parse().unwrap();
        prop_assert!((back.si() - value).abs() <= 0.0051 * value.abs() + 1e-9, "{} -> {}", value, back.si());
    }

    /// No text makes the reader stop the program, and nothing that is read is not finite.
    #[test]
    fn any_text_is_answered(text in "\\PC*") {
        if let Ok(length) = text.parse::<Length>() {
            prop_assert!(length.si().is_finite());
        }
        let _ = text.parse::<Wire>();
        let _ = text.parse::<DailyUse>();
        let _ = text.parse::<Connection>();
    }
}
