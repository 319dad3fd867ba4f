//! A change by pointing, made to any text: it is made or refused, and a text that was a TOML file stays one.
#![no_main]

use coldsquare_engine::example::GARDEN_GATE;
use coldsquare_engine::job::edit::{Edit, edited, form};

libfuzzer_sys::fuzz_target!(|input: &str| {
    let (change, text) = input.split_once('\n').unwrap_or((input, ""));
    let Ok(change) = serde_json::from_str::<Edit>(change) else { return };
    for text in [text, GARDEN_GATE] {
        let readable = form(text).is_ok();
        if let Ok(new) = edited(text, &change) {
            assert!(!readable || form(&new).is_ok(), "{new}");
        }
    }
});
