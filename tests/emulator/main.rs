//! The firmware on an emulated Cortex-M3: it writes the same log as in this process and keeps to its budgets. The program of
//! the board to buy is built and inspected, not run.
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
