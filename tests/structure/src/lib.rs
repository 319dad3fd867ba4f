//! Measures the house and holds its direction: how large the product is, what stands in it twice, and which module
//! knows which.
//!
//! ```text
//! Cargo.toml -> packages --mod--> files -> Source (tokens without tests and comments) -> sizes, repeats, public items
//!                                            '-> Outline (items, uses) -> names -> Dependency -> circles, layers
//! ```
//!
//! Product code is what the targets of a package reach by `mod` from `src/lib.rs`, `src/main.rs` and `src/bin`.
//! Left out are packages in folders named `tests`, `benches`, `examples` or `fuzz`, files named `tests.rs`, and items
//! under `#[cfg(test)]`. Build scripts are not counted either.
//!
//! To let one module use another, change `layers.toml` beside this package: it is the only place that tells the order.
#![forbid(unsafe_code)]

pub mod circles;
pub mod dependencies;
pub mod functions;
pub mod house;
pub mod layers;
pub mod names;
pub mod outline;
pub mod publics;
pub mod repeats;
pub mod report;
pub mod rules;
pub mod sizes;
pub mod source;

#[cfg(test)]
mod tests;
