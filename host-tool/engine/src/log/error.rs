//! Why a log could not be read: which file, where in it, and what to do.

use crate::failure::Failure;
use coldsquare_core::record::VERSION;
use std::path::{Path, PathBuf};

/// Why a log could not be read.
#[derive(Debug)]
#[non_exhaustive]
pub enum LogError {
    /// The file could not be opened or read.
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The file is empty.
    Empty(PathBuf),
    /// Neither a logger's log nor columns of numbers.
    NotALog {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A logger's log in a newer format.
    NewerVersion {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u8,
    },
    /// A logger's log without any header, so that its counts have no meaning.
    NoHeader {
        /// The file.
        path: PathBuf,
        /// What its beads hold, in counts: a line each.
        counts: Vec<String>,
    },
    /// An error at one place of a recording.
    At {
        /// The file.
        path: PathBuf,
        /// Line, from 1.
        line: u64,
        /// Character in the line, from 1.
        column: usize,
        /// What is wrong and what to do.
        message: String,
    },
    /// An error of a whole recording.
    Recording {
        /// The file.
        path: PathBuf,
        /// What is wrong and what to do.
        message: String,
    },
}

impl LogError {
    /// For `map_err` on a file operation.
    pub(super) fn file(path: &Path) -> impl Fn(std::io::Error) -> Self {
        let path = path.to_owned();
        move |cause| Self::File {
            path: path.clone(),
            cause,
        }
    }
}

impl std::fmt::Display for LogError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::File { path, cause } => write!(f, "cannot read {}: {cause}", path.display()),
            Self::Empty(path) => write!(f, "{} is empty: nothing was recorded", path.display()),
            Self::NotALog { path, why } => write!(
                f,
                "{} is neither a log nor a recording: {why}",
                path.display()
            ),
            Self::NewerVersion { path, found } => write!(
                f,
                "{} is in log format {found}; this program reads formats up to {VERSION}. Use a newer program",
                path.display()
            ),
            Self::NoHeader { path, counts } => {
                write!(
                    f,
                    "{} has records but no header, so its counts cannot be converted to volts and amps; download the log \
                     from the logger again, or name another log of the same logger with --calibration-of LOG",
                    path.display()
                )?;
                counts.iter().try_for_each(|line| write!(f, "\n  {line}"))
            }
            Self::At {
                path,
                line,
                column,
                message,
            } => write!(f, "{}:{line}:{column}: {message}", path.display()),
            Self::Recording { path, message } => write!(f, "{}: {message}", path.display()),
        }
    }
}

impl std::error::Error for LogError {}

impl From<LogError> for Failure {
    fn from(error: LogError) -> Self {
        match error {
            LogError::File { path, cause } => Self::File {
                path,
                action: "read",
                cause,
            },
            other => Self::Input(other.to_string()),
        }
    }
}
