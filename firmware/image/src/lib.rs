//! A board's program as it is flashed.
//!
//! ```text
//! ELF file -> segments -> flash and memory, against the board's budget
//!                    '--> UF2 file, to be dropped onto the board
//! ```

pub mod board;

pub mod elf;

pub mod uf2;
