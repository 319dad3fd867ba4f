//! Shop factors and hours lie in a file that grows for years and may be edited: any text is read or refused, and what is
//! added to a good file can be read with all that was there before.
#![no_main]

use coldsquare_engine::file_error::Source;
use coldsquare_engine::shop::hours::Hours;
use coldsquare_engine::shop::{file, hours_file};

libfuzzer_sys::fuzz_target!(|text: &str| {
    let source = Source::new("fuzzed.toml", text);
    let Ok(history) = file::read(&source) else { return };
    for number in 0..=history.latest() {
        let known = history.knowledge(number);
        assert!(known.mean.iter().all(|log| log.is_finite()));
    }
    let before = hours_file::read(&source).expect("the same file");
    let note = Hours {
        on: "2026-11-28".into(),
        job: "gate.toml".into(),
        step: "cut".into(),
        estimated_min: 30.0,
        spent_min: 40.0,
        note: String::new(),
    };
    if let Ok(added) = hours_file::added(&source, &note) {
        assert!(added.starts_with(text));
        let after = Source::new("fuzzed.toml", added.as_str());
        assert_eq!(hours_file::read(&after).expect("it was checked").len(), before.len() + 1);
        assert_eq!(file::read(&after).expect("it was checked").latest(), history.latest());
    }
});
