//! Whatever reads as a quantity is finite, and what is written of it reads again as nearly the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use quantity::{
    Apparent, Connection, Current, Duration, Energy, Length, Percent, Power, Quantity, Resistance,
    Temperature, VoltageSystem, Wire,
};

fn round<Q: Quantity + std::fmt::Display>(text: &str) {
    let Ok(value) = Q::read(text) else { return };
    assert!(value.si().is_finite(), "{text:?} reads as {}", value.si());
    let written = value.to_string();
    let again = Q::read(&written)
        .unwrap_or_else(|e| panic!("{text:?} is written {written:?}, which is no quantity: {e}"));
    // written to three digits
    let slack = 0.0051 * value.si().abs() + 1e-9;
    assert!((again.si() - value.si()).abs() <= slack, "{text:?} -> {written:?} -> {}", again.si());
}

fuzz_target!(|text: &str| {
    round::<Apparent>(text);
    round::<Current>(text);
    round::<Duration>(text);
    round::<Energy>(text);
    round::<Length>(text);
    round::<Power>(text);
    round::<Resistance>(text);
    round::<Temperature>(text);
    let _ = text.parse::<Percent>();
    if let Ok(wire) = text.parse::<Wire>() {
        assert_eq!(wire.to_string().parse::<Wire>().ok(), Some(wire));
    }
    if let Ok(system) = text.parse::<VoltageSystem>() {
        assert_eq!(system.to_string().parse::<VoltageSystem>().ok(), Some(system));
    }
    if let Ok(connection) = text.parse::<Connection>() {
        assert_eq!(connection.to_string().parse::<Connection>().ok(), Some(connection));
    }
});
