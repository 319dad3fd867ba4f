//! A board's program as it is flashed: its size against the budget, and its UF2 file.
//!
//! ```text
//! ELF file -> segments -> flash and memory, against the board's budget
//!                    '--> UF2 file, to drop onto the board
//! ```

pub mod board;

pub mod elf;

pub mod uf2;
