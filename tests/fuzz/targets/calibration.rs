//! The file of a calibration is written by hand: any text is read or refused, and what was read can be written and read
//! again.
#![no_main]

use coldsquare::link::calibration::{read, text};
use std::path::Path;
use std::sync::LazyLock;

static FILE: LazyLock<tempfile::NamedTempFile> =
    LazyLock::new(|| tempfile::NamedTempFile::new().expect("room for a small file"));

fn reread(path: &Path, words: &str) -> Option<coldsquare_core::calibration::Calibration> {
    std::fs::write(path, words).expect("room for a small file");
    read(path).ok().map(|(calibration, _)| calibration)
}

libfuzzer_sys::fuzz_target!(|words: &str| {
    let Some(calibration) = reread(FILE.path(), words) else { return };
    let again = reread(FILE.path(), &text(&calibration, "2026-11-28", "fuzzed")).expect("it was written");
    assert_eq!(again.voltage.gain_per_count, calibration.voltage.gain_per_count);
    assert_eq!(again.current.zero_in_256ths, calibration.current.zero_in_256ths);
});
