//! The command line as a library call: arguments and streams in, exit code out.

use crate::command::{self, Io};
use crate::disk::forget_what_was_read;
use clap::{Parser, Subcommand};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::sanitise::EscapingWriter;
use std::ffi::OsString;
use std::io::Write;

/// Square when cold: plan, log and map the welds of a light frame.
#[derive(Debug, Parser)]
#[command(name = "coldsquare", version, max_term_width = 100, after_help = EXIT_CODES)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "Exit codes: 0 done, 1 errors in a job or log, 2 wrong arguments, 3 a file could not be \
read or written, 4 a file would have been overwritten, 5 done, but not within limits \
(with --strict), or the frame does not go into its opening.";

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a commented job file from a few sizes.
    New(command::new::Arguments),
    /// Check a job: list members, cut list, joints and welds, or every error.
    Check(command::check::Arguments),
    /// Make a job file from the centre lines in a DXF drawing or a table of nodes and members.
    Import(command::import::Arguments),
    /// Write the frame as a line drawing (DXF), as a table (CSV), or each piece as a flat pattern.
    Export(command::export::Arguments),
    /// List what goes to the saw: pieces, angles, which face down, and the bars they come from.
    Saw(command::saw::Arguments),
    /// Compare two variants of a job: metal, welds, arc time and movement.
    Compare(command::compare::Arguments),
    /// Run the whole job on a garden gate, with no hardware, into one folder.
    Demo(command::demo::Arguments),
    /// List the beads of a log, or of any recording of time, volts and amps.
    Beads(command::beads::Arguments),
    /// Match the beads of a log to the welds of a job and judge each weld.
    Map(command::map::Arguments),
    /// Work out what to build for an opening from readings of tape, plumb line and level, and the way in.
    Opening(command::opening::Arguments),
    /// Lay out from the centre: running marks in pairs, tolerance stacks, pieces into places, full-size prints.
    Layout(command::layout::Arguments),
    /// Predict how the frame moves: sizes, bow, diagonals, twist, clamp forces, cut list.
    Predict(command::predict::Arguments),
    /// Plan the order of welding, with the reason for each step.
    Plan(command::plan::Arguments),
    /// Lay out blocks, spacers and clamps on a table with holes.
    Fixture(command::fixture::Arguments),
    /// Print one sheet for the whole job, from the opening to hanging; note hours.
    Traveller(command::traveller::Arguments),
    /// Work out arc time, wire, gas, energy, duty cycle and cost, planned and logged.
    Cost(command::cost::Arguments),
    /// Record what was seen on welds (undercut, porosity, ...), or list it.
    Inspect(command::inspect::Arguments),
    /// Record what straightedge, tape and table show of the welded frame, or list it.
    Measure(command::measure::Arguments),
    /// Say whether the welded frame goes into its opening, where it is tight and what to take off.
    Fit(command::fit::Arguments),
    /// Suggest corrections: leave, pre-camber, press or heat, each in millimetres.
    Correct(command::correct::Arguments),
    /// Learn the shop's own shrinkage factors from builds that were logged and measured.
    Learn(command::learn::Arguments),
    /// Apply a later calibration of clamp or divider to logs written before it.
    Recalibrate(command::recalibrate::Arguments),
    /// Work out carbon equivalents, preheat, cooling time and the wait between welds.
    Metal(command::metal::Arguments),
    /// Write the build record of a job: a page to print, with JSON beside it.
    Record(command::record::Arguments),
    /// Write a procedure file from published settings, or check one.
    Procedure(command::procedure::Arguments),
    /// Download the log from a logger; resumes after a disconnect.
    Pull(command::pull::Arguments),
    /// Erase the logger's memory without saving the log first.
    Clear(command::clear::Arguments),
    /// Prepare a memory card for the logger.
    Card(command::card::Arguments),
    /// Show live readings from the logger and the next weld.
    Live(command::live::Arguments),
    /// Work out a sensor's gain from a logged known current or voltage.
    Calibrate(command::calibrate::Arguments),
    /// Send the plan, the process, a calibration or the time of day to a logger.
    Send(command::send::Arguments),
}

/// Runs one command and returns the exit code of the process.
pub fn run(
    arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    io: &mut Io<'_>,
) -> u8 {
    // Names come from other people's files: control characters are shown, never obeyed.
    let (mut out, mut err) = (EscapingWriter::new(io.out), EscapingWriter::new(io.err));
    forget_what_was_read();
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
        Command::Import(arguments) => command::import::run(arguments, io),
        Command::Export(arguments) => command::export::run(arguments, io),
        Command::Saw(arguments) => command::saw::run(arguments, io),
        Command::Compare(arguments) => command::compare::run(arguments, io),
        Command::Demo(arguments) => command::demo::run(arguments, |words, io| run(words, io), io),
        Command::Beads(arguments) => command::beads::run(arguments, io),
        Command::Map(arguments) => command::map::run(arguments, io),
        Command::Opening(arguments) => command::opening::run(arguments, io),
        Command::Fit(arguments) => command::fit::run(arguments, io),
        Command::Layout(arguments) => command::layout::run(arguments, io),
        Command::Predict(arguments) => command::predict::run(arguments, io),
        Command::Plan(arguments) => command::plan::run(arguments, io),
        Command::Fixture(arguments) => command::fixture::run(arguments, io),
        Command::Traveller(arguments) => command::traveller::run(arguments, io),
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
        // The other end of a pipe closed (`coldsquare … | head`): not an error.
        Err(Failure::File { cause, .. }) if cause.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(failure) => {
            let _ = writeln!(io.err, "error: {failure}");
            failure.exit_code()
        }
    }
}
