//! Why something was not done: with the place and what to do, and apart by exit code.

use std::path::PathBuf;

/// Why a command did not do what was asked. The variant decides the exit code.
#[derive(Debug)]
pub enum Failure {
    /// The job, log or another input has errors; the text says each with its place and what to do. Exit code 1.
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

/// Writing to standard output failed; a closed pipe is no error of ours.
impl From<std::io::Error> for Failure {
    fn from(cause: std::io::Error) -> Self {
        Self::File {
            path: PathBuf::from("standard output"),
            action: "write",
            cause,
        }
    }
}
