//! Why a text could not be changed.

/// Why a text could not be changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    /// The text is not TOML.
    NotToml,
    /// There is no such field, group, joint or member.
    Unknown(String),
    /// The value does not suit the field: what to write instead.
    Value(String),
}

impl std::fmt::Display for EditError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotToml => {
                out.write_str("the job file has an error in its spelling; mend that first")
            }
            Self::Unknown(what) => write!(out, "there is no {what} to change"),
            Self::Value(what) => out.write_str(what),
        }
    }
}

impl std::error::Error for EditError {}
