//! First byte: which calculation. The rest: its inputs as JSON. An outcome without NaN, or a refusal in words.
#![no_main]

use libfuzzer_sys::fuzz_target;

/// Non-finite numbers would be written as null.
fn holds_null(value: &serde_json::Value) -> bool {
    match value {
        serde_json::Value::Null => true,
        serde_json::Value::Array(list) => list.iter().any(holds_null),
        serde_json::Value::Object(map) => map.values().any(holds_null),
        _ => false,
    }
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let Ok(inputs) = calc::Inputs::from_json(text) else { return };
    let list = calc::calculations();
    let calculation = &list[usize::from(*first) % list.len()];
    match calc::run(calculation.id, &inputs) {
        Ok(outcome) => assert!(
            !outcome.outputs.iter().any(|o| holds_null(&o.value.json())),
            "{}: a number that is none",
            calculation.id
        ),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
