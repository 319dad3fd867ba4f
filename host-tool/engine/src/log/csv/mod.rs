//! A recording of time, volts and amps from any instrument, as columns of text.
//!
//! ```text
//! head of the file -> layout (separator, decimals, columns) -> pace (tick, unit of time)
//! rows -> numbers -> ticks -> the same arc detector as in the logger -> windows and beads
//! ```
//!
//! The file is read once, line by line; memory grows with the length of the recording in windows, not in samples.

mod convert;
mod describe;
mod layout;
mod number;
mod options;
mod pace;
mod recording;
mod rows;
#[cfg(test)]
mod tests;
mod ticks;

pub use options::{ColumnRef, CsvOptions, Decimal, Separator, TimeUnit};
pub use recording::{Quantity, Recording};

pub(super) use convert::read;
pub(super) use describe::{SLOW_HZ, WAVEFORM_DOUBT};
pub(super) use layout::looks_like_text;
