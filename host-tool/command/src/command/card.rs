//! `coldsquare card new FILE`: the file that a logger's card needs.

use super::Io;
use crate::card::{MAX_MIB, prepare};
use coldsquare_engine::failure::Failure;
use serde_json::json;
use std::path::PathBuf;

/// Arguments of `card`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Write the file COLDSQ.JNL to copy onto a freshly formatted card
    New(New),
}

#[derive(Debug, clap::Args)]
struct New {
    /// File to write, COLDSQ.JNL for a card; an existing file is never touched
    #[arg(value_name = "FILE", default_value = "COLDSQ.JNL")]
    file: PathBuf,
    /// Set the size, MiB
    #[arg(long, value_name = "MIB", default_value_t = 256, value_parser = clap::value_parser!(u32).range(1..=i64::from(MAX_MIB)))]
    size: u32,
    /// Print JSON instead of text
    #[arg(long)]
    json: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when the file exists or cannot be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let What::New(new) = &arguments.what;
    let room = prepare(&new.file, new.size)?;
    let file = new.file.display();
    if new.json {
        let json = json!({
            "file": file.to_string(),
            "bytes": room.bytes,
            "kept_records": room.kept,
            "arc_time_s": room.arc_s,
        });
        writeln!(io.out, "{json}")?;
        return Ok(());
    }
    writeln!(
        io.out,
        "{file}: {} MiB, room for {} beads, button presses and starts, and for the windows of the last {:.0} hours of arc time.",
        new.size,
        room.kept,
        room.arc_s / 3600.0
    )?;
    writeln!(
        io.out,
        "Next: format a card as FAT32, copy this file to its root folder as COLDSQ.JNL before anything else,\n\
         eject it and put it into the logger. Later: coldsquare pull CARD/COLDSQ.JNL LOG"
    )?;
    Ok(())
}
