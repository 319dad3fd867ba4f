//! `coldsquare pull FROM LOG`: downloads the log from a logger, a card or a file.

use super::Io;
use crate::disk::Disk;
use crate::link::clear::clear_pulled;
use crate::link::pull::{InMemory, OverLink, Progress, Pulled, pull};
use crate::link::source::Source;
use crate::link::{CONSENT, Client, Whereabouts, open};
use coldsquare_core::seal::Fingerprint;
use coldsquare_engine::card::{self, CardLog};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::log;
use coldsquare_engine::log::seal::{Said, Seal};
use coldsquare_engine::recording::RecordingOptions;
use serde_json::json;
use std::path::PathBuf;

/// Arguments of `pull`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Serial port of the logger (/dev/ttyACM0, COM3), tcp:HOST:PORT, a log, the image of a card, the file COLDSQ.JNL on a card, or sim: to try it without a logger
    #[arg(value_name = "FROM")]
    pub from: String,
    /// File to write; an existing file is never touched
    #[arg(value_name = "LOG")]
    pub out: PathBuf,
    /// Clear the logger's memory once all of its log is in LOG, and start a new log
    #[arg(long)]
    pub then_clear: bool,
    /// Name the logger that must have sealed the log, by the fingerprint on its case; any other log is called in doubt
    #[arg(long, value_name = "FINGERPRINT")]
    pub sealed_by: Option<Fingerprint>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "If it is interrupted, by Ctrl-C or a cable, the partial download is kept in LOG.part; rerun the \
command to resume. The log on the logger stays unchanged, and you may go on welding meanwhile. After --then-clear LOG is \
the only copy; the logger never clears its memory while you are welding, nor if LOG lacks anything it holds.";

/// Runs the command.
///
/// # Errors
/// [`Failure`] when the log cannot be read or the file cannot be written, or exists.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let (mut source, notes) = source(&arguments.from)?;
    let asks = arguments.then_clear && source.check_clear()?;
    let (err, interactive) = (&mut *io.err, io.interactive);
    let mut said = (false, 11);
    let pulled = pull(&mut *source, &arguments.out, &mut |progress| {
        let Progress {
            is_comparing,
            done,
            all,
        } = progress;
        let tenths = 10 * done / all.max(1);
        if interactive && said != (is_comparing, tenths) {
            said = (is_comparing, tenths);
            let done = match is_comparing {
                false => "downloaded",
                true => "compared with the logger",
            };
            let _ = writeln!(err, "{:3} % of {all} bytes {done}", 10 * tenths);
        }
        true
    });
    let mut pulled = pulled?;
    if asks {
        writeln!(io.err, "{CONSENT}")?;
    }
    if arguments.then_clear {
        match clear_pulled(&mut *source, &arguments.out) {
            Ok((bytes, tally)) => (pulled.bytes, pulled.tally) = (bytes, tally),
            Err(failure) => {
                writeln!(
                    io.err,
                    "{} holds the log; the logger still has it too.",
                    arguments.out.display()
                )?;
                return Err(failure);
            }
        }
    }
    // A log without a header has no seal that could be told.
    let options = RecordingOptions {
        sealed_by: arguments.sealed_by,
        ..RecordingOptions::default()
    };
    let seal = log::read(&Disk, &arguments.out, &options);
    let seal = seal.map(|log| log.seal).unwrap_or_default();
    if arguments.json {
        writeln!(io.out, "{}", as_json(arguments, &pulled, &notes, &seal))?;
        return Ok(());
    }
    tell(arguments, &pulled, (&notes, &seal), io)
}

/// Where to read the log from, and notes about it.
fn source(from: &str) -> Result<(Box<dyn Source>, Vec<String>), Failure> {
    let at = Whereabouts::of(from);
    let Whereabouts::File(path) = &at else {
        let link = OverLink::new(Client::new(open(&at, true)?), from);
        return Ok((Box::new(link), Vec::new()));
    };
    if let Some(CardLog { bytes, notes }) = card::read(&Disk, path)? {
        if bytes.is_empty() {
            return Err(Failure::Input(format!(
                "{}: its journal is empty: nothing was logged",
                path.display()
            )));
        }
        return Ok((Box::new(InMemory(bytes)), notes));
    }
    let bytes = std::fs::read(path).map_err(Failure::file(path, "read"))?;
    Ok((Box::new(InMemory(bytes)), Vec::new()))
}

fn as_json(
    arguments: &Arguments,
    pulled: &Pulled,
    notes: &[String],
    seal: &Seal,
) -> serde_json::Value {
    let tally = &pulled.tally;
    json!({
        "log": arguments.out.display().to_string(),
        "bytes": pulled.bytes,
        "resumed_at": pulled.resumed_at,
        "began_again": pulled.left_aside.as_ref().map(|aside| aside.why),
        "left_aside": pulled.left_aside.as_ref().map(|aside| aside.kept.display().to_string()),
        "first_byte": pulled.first,
        "records": tally.records,
        "missing_records": tally.missing + tally.missing_before,
        "damaged_bytes": tally.skipped_bytes,
        "whole": tally.is_whole(),
        "seal": Said::from(seal),
        "cleared": arguments.then_clear,
        "notes": notes,
    })
}

fn tell(
    arguments: &Arguments,
    pulled: &Pulled,
    (notes, seal): (&[String], &Seal),
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let tally = &pulled.tally;
    if let Some(aside) = &pulled.left_aside {
        writeln!(
            io.out,
            "An earlier partial download was kept as {}: {}.",
            aside.kept.display(),
            aside.why
        )?;
    }
    if pulled.resumed_at > 0 {
        writeln!(io.out, "Resumed after {} bytes.", pulled.resumed_at)?;
    }
    writeln!(
        io.out,
        "{}: {} bytes, {} records.",
        arguments.out.display(),
        pulled.bytes,
        tally.records
    )?;
    for note in notes {
        writeln!(io.out, "Note: {note}.")?;
    }
    if tally.is_whole() {
        writeln!(io.out, "Nothing is missing.")?;
    } else {
        writeln!(
            io.out,
            "{} records are missing and {} bytes are damaged; `coldsquare beads {}` shows where.",
            tally.missing + tally.missing_before,
            tally.skipped_bytes,
            arguments.out.display()
        )?;
    }
    writeln!(io.out, "Seal: {}.", seal.sentence())?;
    if arguments.then_clear {
        writeln!(
            io.out,
            "The logger's memory is cleared and a new log has started; {} is the only copy of the old one.",
            arguments.out.display()
        )?;
    }
    writeln!(
        io.out,
        "Next: coldsquare map JOB {}",
        arguments.out.display()
    )?;
    Ok(())
}
