//! Measures the product code of the workspace and keeps its dependencies pointing downwards.
//!
//! ```text
//! Cargo.toml --mod--> files -> Source (tokens, no comments or tests) -> sizes, functions, duplicates, public items
//!                        '---> Outline (items, imports) -> resolve -> dependencies -> cycles, rules of layers.toml
//! ```
//!
//! Product code is everything that `mod` declarations reach from `src/lib.rs`, `src/main.rs` and `src/bin/*.rs`. It
//! leaves out packages in folders named `tests`, `benches`, `examples` or `fuzz`, modules named `tests`, items under
//! `#[cfg(test)]`, and build scripts. A code line is a line with at least one token that is not a comment.
//!
//! Every module of the product has its place in `layers.toml`, next to this package. Change that file to add a module,
//! to allow a new dependency, or to offer a public item to others than product code. When a rule needs changing, add a made-up workspace that breaks it to `src/tests`.
#![forbid(unsafe_code)]

pub mod cycles;
pub mod dependencies;
pub mod duplicates;
pub mod functions;
pub mod layers;
pub mod outline;
pub mod public_items;
pub mod report;
pub mod resolve;
pub mod rules;
pub mod sizes;
pub mod source;
pub mod workspace;

#[cfg(test)]
mod tests;
