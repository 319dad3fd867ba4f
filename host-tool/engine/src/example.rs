//! A frame to try things on.

/// The job file of a garden gate between two piers.
pub const GARDEN_GATE: &str = include_str!("garden-gate.toml");
