//! The command line as a library call: arguments and streams in, exit code out.

use crate::command::{self, Io};
use clap::{Parser, Subcommand};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::harmless::Shown;
use std::ffi::OsString;
use std::io::Write;

/// Square when cold: plan, log and map the welds of a light frame.
#[derive(Debug, Parser)]
#[command(name = "coldsquare", version, max_term_width = 100, after_help = EXIT_CODES)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "Exit codes: 0 done, 1 mistakes in a job or log, 2 wrong arguments, 3 a file could not be \
read or written, 4 a file would have been overwritten, 5 done, but not acceptable (with --strict).";

#[derive(Debug, Subcommand)]
enum Command {
    /// A commented job file to begin with, from a few sizes.
    New(command::new::Arguments),
    /// Members, cut list, joints and welds of a job, or every mistake in it.
    Check(command::check::Arguments),
    /// The whole job on a garden gate, with no hardware: job, log, weld map and plan in one folder.
    Demo(command::demo::Arguments),
    /// The beads of a log or of any recording of time, volts and amps: a table, CSV or JSON.
    Beads(command::beads::Arguments),
    /// Which bead of a log is which weld of a job, and what became of each: page, drawing, tables.
    Map(command::map::Arguments),
    /// How the frame moves when it is welded: sizes, bows, diagonals, wind, clamp forces, cut list.
    Predict(command::predict::Arguments),
    /// In which order to weld a job, and why.
    Plan(command::plan::Arguments),
    /// Arc time, wire, gas, energy, duty cycle and money of a job, as planned and as logged.
    Cost(command::cost::Arguments),
    /// Note what was seen on welds (undercut, porosity, ...), beside the job; or list it.
    Inspect(command::inspect::Arguments),
    /// Note what straightedge, tape and table show of the finished frame, beside the job; or list it.
    Measure(command::measure::Arguments),
    /// What now, in millimetres: leave it, pre-set, press, heat; for what was measured or expected.
    Correct(command::correct::Arguments),
    /// The shop's own shrinkage factors from finished builds that were logged and measured; kept only when asked.
    Learn(command::learn::Arguments),
    /// Note what a later calibration of clamp or divider found out, beside logs written before it.
    Recalibrate(command::recalibrate::Arguments),
    /// Carbon equivalents, preheat, cooling time and the wait between welds, for one case.
    Metal(command::metal::Arguments),
    /// The build record of a job: one file to print, JSON and Parquet beside it.
    Record(command::record::Arguments),
    /// A welding procedure: a file to begin with, or a file checked.
    Procedure(command::procedure::Arguments),
    /// Fetch the log from a logger, whole, however often the cable is pulled meanwhile.
    Pull(command::pull::Arguments),
    /// Empty a logger's store without its log, by the logger's name.
    Clear(command::clear::Arguments),
    /// The file that a logger's card needs, before its first use.
    Card(command::card::Arguments),
    /// What a logger measures just now, and which weld is next.
    Live(command::live::Arguments),
    /// A sensor's gain, from a known current or voltage that was logged: a calibration file to send.
    Calibrate(command::calibrate::Arguments),
    /// Give a logger the plan, a calibration or the time of day.
    Send(command::send::Arguments),
}

/// Runs one command and returns the exit code of the process.
pub fn run(
    arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    io: &mut Io<'_>,
) -> u8 {
    // Whatever a name holds, a terminal gets it as text.
    let (mut out, mut err) = (Shown::new(io.out), Shown::new(io.err));
    let io = &mut Io {
        out: &mut out,
        err: &mut err,
        interactive: io.interactive,
    };
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(usage) => {
            // Help and version are answers, not complaints.
            let stream: &mut dyn Write = if usage.use_stderr() { io.err } else { io.out };
            let _ = write!(stream, "{usage}");
            return u8::try_from(usage.exit_code()).unwrap_or(2);
        }
    };
    let done = match &arguments.command {
        Command::New(arguments) => command::new::run(arguments, io),
        Command::Check(arguments) => command::check::run(arguments, io),
        Command::Demo(arguments) => command::demo::run(arguments, |words, io| run(words, io), io),
        Command::Beads(arguments) => command::beads::run(arguments, io),
        Command::Map(arguments) => command::map::run(arguments, io),
        Command::Predict(arguments) => command::predict::run(arguments, io),
        Command::Plan(arguments) => command::plan::run(arguments, io),
        Command::Cost(arguments) => command::cost::run(arguments, io),
        Command::Inspect(arguments) => command::inspect::run(arguments, io),
        Command::Measure(arguments) => command::measure::run(arguments, io),
        Command::Correct(arguments) => command::correct::run(arguments, io),
        Command::Learn(arguments) => command::learn::run(arguments, io),
        Command::Recalibrate(arguments) => command::recalibrate::run(arguments, io),
        Command::Metal(arguments) => command::metal::run(arguments, io),
        Command::Record(arguments) => command::record::run(arguments, io),
        Command::Procedure(arguments) => command::procedure::run(arguments, io),
        Command::Pull(arguments) => command::pull::run(arguments, io),
        Command::Clear(arguments) => command::clear::run(arguments, io),
        Command::Card(arguments) => command::card::run(arguments, io),
        Command::Live(arguments) => command::live::run(arguments, io),
        Command::Calibrate(arguments) => command::calibrate::run(arguments, io),
        Command::Send(arguments) => command::send::run(arguments, io),
    };
    match done {
        Ok(()) => 0,
        // The reader of a pipe had enough (`coldsquare … | head`): nothing is wrong.
        Err(Failure::File { cause, .. }) if cause.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(failure) => {
            let _ = writeln!(io.err, "error: {failure}");
            failure.exit_code()
        }
    }
}
