//! A welding procedure is written by hand: any text is read, or refused with its places; what was read can be printed.
#![no_main]

use coldsquare_engine::file_error::Source;
use coldsquare_engine::procedure::{from_source, text::rows};

libfuzzer_sys::fuzz_target!(|text: &str| {
    match from_source(&Source::new("fuzzed.toml", text)) {
        Ok((procedure, units)) => {
            for (what, value) in rows(&procedure, units) {
                assert!(!value.contains("NaN") && !value.contains("inf"), "{what}: {value}");
            }
            for run in [0, 1, 2, u8::MAX] {
                let _ = procedure.for_run(run);
            }
        }
        Err(errors) => {
            let places: Vec<_> = errors.iter().map(|error| error.line_and_column()).collect();
            assert!(places.iter().all(|(line, column)| *line >= 1 && *column >= 1));
            let _ = errors.to_string();
        }
    }
});
