//! One file a subcommand: its arguments, its help, its call into the library, its printing.

use std::io::Write;

pub mod beads;
pub mod calibrate;
pub mod card;
pub mod check;
pub mod clear;
pub mod correct;
pub mod cost;
pub mod demo;
pub mod inspect;
pub mod learn;
pub mod live;
mod long_work;
pub mod map;
pub mod measure;
pub mod metal;
pub mod new;
mod picture;
pub mod plan;
pub mod predict;
pub mod procedure;
pub mod pull;
pub mod reading;
pub mod recalibrate;
pub mod record;
pub mod send;
mod table;

/// Where a command prints, and what it may assume of the reader.
pub struct Io<'a> {
    /// Results: what a pipe or a file should get.
    pub out: &'a mut dyn Write,
    /// Progress and complaints.
    pub err: &'a mut dyn Write,
    /// Whether somebody is watching `err`, so that progress is worth showing.
    pub interactive: bool,
}
