//! The `coldsquare` command: files, terminal, clock and serial ports around the engine.
//!
//! [`run::run`] is the whole command line as a library call. A file in `command/` is a subcommand; `link` talks to a
//! logger; the rest is what several of them need.
#![forbid(unsafe_code)]

pub mod card;
pub mod demo;
pub mod disk;
pub mod learned;
pub mod link;
pub mod notebook;
#[cfg(feature = "png")]
pub mod png;
pub mod save;
pub mod threads;

pub mod command;
pub mod run;
