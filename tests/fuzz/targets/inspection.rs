//! The inspection notebook may be edited: any text is read or refused, and what is added to a good one can be read with
//! all that was there before.
#![no_main]

use coldsquare_engine::file_error::Source;
use coldsquare_engine::inspection::{Inspection, Outcome, added, read};

libfuzzer_sys::fuzz_target!(|text: &str| {
    let source = Source::new("fuzzed.toml", text);
    let Ok(before) = read(&source, 20) else { return };
    let _: Vec<String> = before.iter().map(Inspection::to_string).collect();
    let entry = Inspection {
        weld: 7,
        on: "2026-11-28".into(),
        by: "AB".into(),
        result: Outcome::Accepted,
        found: Vec::new(),
        level: "C".into(),
        note: text.chars().take(40).collect(),
    };
    if let Ok(text_after) = added(&source, 20, std::slice::from_ref(&entry)) {
        assert!(text_after.starts_with(text));
        let after = read(&Source::new("fuzzed.toml", text_after), 20).expect("what was added can be read");
        assert_eq!((after.len(), after.last()), (before.len() + 1, Some(&entry)));
    }
});
