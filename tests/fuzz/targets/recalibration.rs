//! A later calibration is noted beside a log, in a file that may be edited: any text is read or refused, what is added can
//! be read, and the log is measured with it or refused.
#![no_main]

use coldsquare_engine::file_error::Source;
use coldsquare_engine::files::{File, Files};
use coldsquare_engine::log::recalibration::{Correction, Recalibration, added, load, path_of};
use coldsquare_engine::log::read;
use coldsquare_engine::recording::RecordingOptions;
use std::io::Cursor;
use std::path::Path;
use std::sync::LazyLock;

/// The log of one bead.
static LOG: LazyLock<Vec<u8>> = LazyLock::new(|| {
    use coldsquare_core::process::Process;
    use coldsquare_firmware::sim::{Build, SimulatedBead, Transfer, log_build};
    let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 0.5);
    let build = Build::new("fuzz", Process::Tig, 1000.0, vec![bead]);
    log_build(&build, 1).expect("usable").0
});

/// A log and what lies beside it.
struct Both<'a>(&'a str);

impl Files for Both<'_> {
    fn exists(&self, _: &Path) -> bool {
        true
    }

    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>> {
        let is_beside = path == path_of("weld.log".as_ref());
        let bytes = if is_beside { self.0.as_bytes().to_vec() } else { LOG.clone() };
        Ok(Box::new(Cursor::new(bytes)))
    }
}

libfuzzer_sys::fuzz_target!(|text: &str| {
    let log = Path::new("weld.log");
    let Ok(before) = load(&Both(text), log) else { return };
    let _: Vec<String> = before.iter().map(Recalibration::describe).collect();
    if let Ok(log) = read(&Both(text), log, &RecordingOptions::default()) {
        for bead in &log.beads {
            assert!(bead.measured.as_ref().is_ok_and(|measured| measured.energy.0.is_finite()));
        }
    }
    let entry = Recalibration {
        on: "2026-11-28".into(),
        note: text.chars().take(40).collect(),
        voltage: None,
        current: Some(Correction { factor: 1.05, offset: 0.5, gain_uncertainty_percent: None }),
    };
    if let Ok(text_after) = added(&Source::new("fuzzed.toml", text), &entry) {
        assert!(text_after.starts_with(text));
        let after = load(&Both(&text_after), log).expect("what was added can be read");
        assert_eq!(after.len(), before.len() + 1);
    }
});
