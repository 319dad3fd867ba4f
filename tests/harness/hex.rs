//! Bytes written as hexadecimal pairs.

use std::path::{Path, PathBuf};

/// Bytes of text that holds hexadecimal pairs and white space.
///
/// # Panics
/// When it holds anything else.
#[must_use]
pub fn bytes(text: &str) -> Vec<u8> {
    text.split_whitespace()
        .map(|pair| {
            assert_eq!(pair.len(), 2, "'{pair}' is not a pair");
            u8::from_str_radix(pair, 16).expect("hexadecimal")
        })
        .collect()
}

/// A golden frame of log format 1, by the name of its file.
///
/// # Panics
/// When the file is missing: golden files are kept, not made.
#[must_use]
pub fn golden_frame(name: &str) -> Vec<u8> {
    let path = golden_logs().join(format!("{name}.hex"));
    let text = std::fs::read_to_string(&path)
        .unwrap_or_else(|cause| panic!("{}: {cause}", path.display()));
    bytes(&text)
}

/// Folder of the golden logs of format 1.
#[must_use]
pub fn golden_logs() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("logs/v1")
}

/// Names of the golden frames, in order of their sequence numbers.
pub const GOLDEN_FRAMES: [&str; 10] = [
    "header",
    "bare-header",
    "window",
    "dark-window",
    "bead",
    "long-bead",
    "marker",
    "note",
    "event",
    "clock-set",
];

/// The golden frames as one log.
#[must_use]
pub fn golden_log() -> Vec<u8> {
    GOLDEN_FRAMES
        .iter()
        .flat_map(|name| golden_frame(name))
        .collect()
}
