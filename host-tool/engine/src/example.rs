//! The house example, to try things on.
//!
//! ```
//! let gate = coldsquare_engine::job::from_text("gate", coldsquare_engine::example::GARDEN_GATE);
//! assert_eq!(gate.expect("no errors").name, "Garden gate");
//! ```

/// The job file of a garden gate between two piers.
pub const GARDEN_GATE: &str = include_str!("garden-gate.toml");
