//! A recording of time, volts and amps from any instrument, as columns of text.
//!
//! ```text
//! head of the file -> layout (separator, decimals, columns) -> time base (tick, unit of time)
//! rows -> numbers -> ticks -> the same arc detector as in the logger -> windows and beads
//! ```
//!
//! The file is read once, line by line; memory grows with the number of windows, not of samples.
//!
//! Headings that are recognised are listed in `headings`, ways to write numbers and times in `number`; which columns are
//! which is decided in `columns`, by headings and by `evidence`. What the instrument did wrong is found in `instrument`
//! and `ticks`.

mod columns;
mod content;
mod convert;
mod describe;
mod drift;
mod evidence;
mod headings;
mod instrument;
mod kept;
mod layout;
mod number;
mod quick;
mod recording;
mod rows;
mod run;
mod still;
#[cfg(test)]
mod tests;
mod ticks;
mod time_base;
mod told;
mod words;

pub use recording::{Quantity, Recording};

pub(super) use convert::read;
pub(super) use layout::looks_like_text;
