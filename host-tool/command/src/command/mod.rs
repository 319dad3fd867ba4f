//! One file per subcommand: its arguments, help, call into the engine, and printing.

use coldsquare_engine::failure::Failure;
use coldsquare_engine::units::Units;
use serde::Serialize;
use std::io::Write;

pub mod beads;
pub mod calibrate;
pub mod card;
pub mod check;
pub mod clear;
pub mod compare;
pub mod correct;
pub mod cost;
pub mod demo;
pub mod export;
pub mod fit;
pub mod fixture;
pub mod import;
pub mod inspect;
pub mod layout;
pub mod learn;
pub mod live;
mod long_work;
pub mod map;
pub mod measure;
pub mod metal;
pub mod new;
pub mod opening;
mod picture;
pub mod plan;
pub mod predict;
pub mod procedure;
pub mod pull;
pub mod reading;
pub mod recalibrate;
pub mod record;
mod recording;
pub mod saw;
pub mod send;
mod table;
pub mod traveller;

/// Where a command prints.
pub struct Io<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Progress, notes and errors.
    pub err: &'a mut dyn Write,
    /// Whether `err` is a terminal, so that progress is worth showing.
    pub interactive: bool,
}

impl Io<'_> {
    /// Prints a value as indented JSON.
    fn print_json(&mut self, value: &impl Serialize) -> Result<(), Failure> {
        serde_json::to_writer_pretty(&mut *self.out, value).map_err(std::io::Error::from)?;
        Ok(writeln!(self.out)?)
    }
}

/// Today's date, as `2026-11-25`.
fn today() -> String {
    jiff::Timestamp::now().strftime("%Y-%m-%d").to_string()
}

/// The units to print in: as asked for, or those of the job.
fn units(asked: Option<&str>, of_job: Units) -> Units {
    match asked {
        Some("mm") => Units::Metric,
        Some(_) => Units::UsCustomary,
        None => of_job,
    }
}
