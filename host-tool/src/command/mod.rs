//! One file a subcommand: its arguments, its help, its call into the library, its printing.

pub mod demo;
