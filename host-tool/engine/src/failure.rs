//! Why a command failed: what, where and what to do. The variant decides the exit code.
//!
//! ```
//! use coldsquare_engine::failure::Failure;
//!
//! let failure = Failure::WouldOverwrite("gate.svg".into());
//! assert_eq!(failure.exit_code(), 4);
//! assert!(failure.to_string().contains("--force"));
//! ```

use std::path::PathBuf;

/// Why a command failed.
#[non_exhaustive]
#[derive(Debug)]
pub enum Failure {
    /// The job, log or another input has errors; the text gives each with its place and what to do. Exit code 1.
    Input(String),
    /// The arguments do not fit together. Exit code 2.
    Usage(String),
    /// A file could not be read or written. Exit code 3.
    File {
        /// The file.
        path: PathBuf,
        /// What failed ("read", "write", …).
        action: &'static str,
        /// The reason given by the system.
        cause: std::io::Error,
    },
    /// The file exists and would have been overwritten; it was not changed. Exit code 4.
    WouldOverwrite(PathBuf),
    /// The file exists and may be the only copy, so even --force does not replace it. Exit code 4.
    Exists(PathBuf),
    /// The result is not acceptable, and the user asked for an exit code that says so. Exit code 5.
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

    /// Makes the failure of a file operation, for `map_err`.
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
                "{} exists and was not changed; give another name, or --force to replace it",
                path.display()
            ),
            Self::Exists(path) => write!(
                f,
                "{} exists and was not changed; give another name",
                path.display()
            ),
        }
    }
}

impl std::error::Error for Failure {}

/// Writing to standard output failed.
impl From<std::io::Error> for Failure {
    fn from(cause: std::io::Error) -> Self {
        Self::File {
            path: PathBuf::from("standard output"),
            action: "write",
            cause,
        }
    }
}
