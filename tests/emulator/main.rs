//! The firmware on two emulated boards: it writes the same log as in this process and keeps to its budgets. The program of
//! the board to buy is built and inspected, not run.
//!
//! Runs when `COLDSQUARE_EMULATOR` is 1; a missing compiler or emulator is then a failure.

mod board;
mod budget;
mod card;
mod link;
mod pico2;
mod pulled_plug;
mod restarted;
mod same_log;
mod second_board;
mod stored;
mod words;
