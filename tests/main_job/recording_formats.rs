//! Recordings in the files of other programs, written by their own libraries, give the energies of an independent sum.

use coldsquare_engine::log::{Log, read_from};
use coldsquare_engine::recording::RecordingOptions;
use std::path::Path;

fn read(folder: &Path, name: &str, options: &RecordingOptions) -> Log {
    let bytes = std::fs::read(folder.join(name)).expect("written");
    let (head, rest) = bytes.split_at(bytes.len().min(1 << 18));
    read_from(Path::new(name), head, rest, options).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn files_of_other_programs_are_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let question = serde_json::json!({ "folder": folder.path() });
    let answer = crate::reference::ask("write_recordings.py", &question);
    let energies: Vec<f64> = serde_json::from_value(answer["energies"].clone()).expect("numbers");
    let shares = RecordingOptions {
        volts_scale: Some(100.0),
        amps_scale: Some(500.0),
        ..RecordingOptions::default()
    };
    let none = RecordingOptions::default();
    let of = |dataset: &str| RecordingOptions {
        dataset: Some(dataset.into()),
        ..RecordingOptions::default()
    };
    let (below, named) = (of("shift/run2"), of("run2"));
    let files = [
        ("level5.mat", &none),
        ("level5-packed.mat", &none),
        ("matrix.mat", &none),
        ("arrays.npz", &none),
        ("packed.npz", &none),
        ("rate.npz", &none),
        ("one.npy", &none),
        ("by-column.npy", &none),
        ("plain.parquet", &none),
        ("snappy.parquet", &none),
        ("stamps.parquet", &none),
        ("groups.h5", &none),
        ("v73.mat", &none),
        ("runs.h5", &below),
        ("runs.npz", &named),
        ("channels.wav", &shares),
    ];
    for (name, options) in files {
        let log = read(folder.path(), name, options);
        let found: Vec<f64> = log
            .beads
            .iter()
            .map(|bead| bead.measured.expect("measured").energy.0)
            .collect();
        assert_eq!(
            found.len(),
            energies.len(),
            "{name}: {:?}",
            log.report.notes
        );
        for (found, energy) in found.iter().zip(&energies) {
            // A 16-bit sample of 500 A full scale is a step of 15 mA.
            let tolerance = if name.ends_with("wav") { 1e-3 } else { 1e-4 };
            assert!(
                (found / energy - 1.0).abs() < tolerance,
                "{name}: {found} J, {energy} J"
            );
        }
    }
    let bytes = std::fs::read(folder.path().join("runs.npz")).expect("written");
    let refused = read_from(Path::new("runs.npz"), &bytes, std::io::empty(), &of("run3"));
    let refused = refused.expect_err("there is none").to_string();
    assert!(
        refused.contains("no dataset 'run3'; it holds 'run1_t'"),
        "{refused}"
    );
}
