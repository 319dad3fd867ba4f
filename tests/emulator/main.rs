//! The firmware as it runs on a Cortex-M3, in an emulator: the same log as in this process, and what it costs.
//!
//! Runs when `COLDSQUARE_EMULATOR` is 1; a missing compiler or emulator is then a failure.

mod board;
mod budget;
mod card;
mod link;
mod pulled_plug;
mod same_log;
mod stored;
