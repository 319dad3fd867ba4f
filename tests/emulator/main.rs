//! The firmware as it runs on a Cortex-M3, in an emulator: the same log as in this process, and what it costs. And the
//! program of the board to buy, which is built and looked at, and not run.
//!
//! Runs when `COLDSQUARE_EMULATOR` is 1; a missing compiler or emulator is then a failure.

mod board;
mod budget;
mod card;
mod link;
mod pico2;
mod pulled_plug;
mod same_log;
mod stored;
mod words;
