//! Reads TOML that a person wrote: every error in it at once, each with its place and what to do.
//!
//! A derived reader would stop at the first error. Here a wrong value is noted and read as missing, and reading goes
//! on; a key that nobody reads is an error too.
//!
//! ```text
//! text -> Reader (errors so far, units) -> Table (one table, the keys read from it) -> quantities, choices, limits
//! ```
//!
//! A unit that can be written is a row in [`quantity`]; a key that changed its name is a row in [`renamed`].

pub(crate) mod quantity;
mod reader;
pub(crate) mod renamed;
mod suggest;
mod table;

pub(crate) use quantity::QuantityKind;
pub(crate) use reader::{Reader, Span, parse};
pub(crate) use suggest::suggest;
pub(crate) use table::Table;
