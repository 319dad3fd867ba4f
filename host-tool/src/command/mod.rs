//! One file a subcommand: its arguments, its help, its call into the library, its printing.

pub mod beads;
pub mod demo;
pub mod reading;
