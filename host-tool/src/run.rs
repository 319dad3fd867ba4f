//! The command line as a library call: arguments and streams in, exit code out.

use crate::command;
use crate::harmless::Shown;
use clap::{Parser, Subcommand};
use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;

/// Where a command prints, and what it may assume of the reader.
pub struct Io<'a> {
    /// Results: what a pipe or a file should get.
    pub out: &'a mut dyn Write,
    /// Progress and complaints.
    pub err: &'a mut dyn Write,
    /// Whether somebody is watching `err`, so that progress is worth showing.
    pub interactive: bool,
}

/// Why a command did not do what was asked. The variant decides the exit code.
#[derive(Debug)]
pub enum Failure {
    /// The job, log or another input has mistakes; the text says each with its place and what to do. Exit code 1.
    Input(String),
    /// The arguments do not fit together (clap reports most of these itself). Exit code 2.
    Usage(String),
    /// A file could not be read or written. Exit code 3.
    File {
        /// The file.
        path: PathBuf,
        /// What was being done ("read", "write", …).
        action: &'static str,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The file exists and would have been overwritten; nothing was changed. Exit code 4.
    WouldOverwrite(PathBuf),
    /// The file exists, and nothing can replace it: it may be the only copy. Nothing was changed. Exit code 4.
    Exists(PathBuf),
    /// The work was done and its answer is "not acceptable", where the user asked to be told so. Exit code 5.
    NotAcceptable(String),
}

impl Failure {
    /// The process exit code: 1 input, 2 usage, 3 file, 4 would overwrite, 5 not acceptable.
    #[must_use]
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::Input(_) => 1,
            Self::Usage(_) => 2,
            Self::File { .. } => 3,
            Self::WouldOverwrite(_) | Self::Exists(_) => 4,
            Self::NotAcceptable(_) => 5,
        }
    }

    /// For `map_err` on a file operation.
    pub fn file(
        path: impl Into<PathBuf>,
        action: &'static str,
    ) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |cause| Self::File {
            path,
            action,
            cause,
        }
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Input(text) | Self::Usage(text) | Self::NotAcceptable(text) => f.write_str(text),
            Self::File {
                path,
                action,
                cause,
            } => write!(f, "cannot {action} {}: {cause}", path.display()),
            Self::WouldOverwrite(path) => write!(
                f,
                "{} exists and was left as it is; give another name, or --force to replace it",
                path.display()
            ),
            Self::Exists(path) => write!(
                f,
                "{} exists and was left as it is; give another name",
                path.display()
            ),
        }
    }
}

impl std::error::Error for Failure {}

/// Writing to standard output failed; a closed pipe is not an error of ours, see [`run`].
impl From<std::io::Error> for Failure {
    fn from(cause: std::io::Error) -> Self {
        Self::File {
            path: PathBuf::from("standard output"),
            action: "write",
            cause,
        }
    }
}

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
        Command::Demo(arguments) => command::demo::run(arguments, io),
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
