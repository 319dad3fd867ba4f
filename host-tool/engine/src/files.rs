//! Files that are handed in: from the disk in the command, from what the user opened in a browser.
//!
//! ```
//! use coldsquare_engine::files::{Files, NoFiles};
//!
//! assert!(!NoFiles.exists("gate.toml".as_ref()));
//! ```

use crate::digest::Sha256Writer;
use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use std::io::{Read, Seek};
use std::path::Path;

/// Files by their paths. The engine itself opens none.
pub trait Files {
    /// Whether there is such a file.
    fn exists(&self, path: &Path) -> bool;

    /// Opens a file.
    ///
    /// # Errors
    /// The reason why it cannot be read.
    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>>;
}

/// An open file, read in any order.
pub trait File: Read + Seek {}

impl<F: Read + Seek> File for F {}

/// No files at all.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoFiles;

impl Files for NoFiles {
    fn exists(&self, _: &Path) -> bool {
        false
    }

    fn open(&self, _: &Path) -> std::io::Result<Box<dyn File>> {
        Err(std::io::ErrorKind::NotFound.into())
    }
}

/// Largest job file, bytes: ten thousand members fit, a log given by mistake does not.
const MAX_TEXT: u64 = 4_000_000;

/// Reads the text of a job file, or of a file that belongs to one.
///
/// # Errors
/// [`Failure::Input`] when the file is too large or not text, [`Failure::File`] when it cannot be read.
pub fn text(files: &dyn Files, path: &Path) -> Result<Source, Failure> {
    let bytes = beginning(files, path, MAX_TEXT + 1)?;
    let name = path.display().to_string();
    let refuse = |what: &str| {
        let error = Source::new(name.as_str(), "").error(0..0, what);
        let error = error.hint(
            "a job file is a short text file; `coldsquare new` writes one. Commands that take a job and a log take the \
             job first: coldsquare map JOB LOG",
        );
        Failure::Input(FileErrors::from(error).to_string())
    };
    if bytes.len() as u64 > MAX_TEXT {
        return Err(refuse("this is larger than a job file can be (4 MB)"));
    }
    let text = String::from_utf8(bytes);
    let text = text.map_err(|_| refuse("this is not text (UTF-8), so it is not a job file"))?;
    if is_table_of_numbers(&text) {
        return Err(refuse(
            "this is a recording in columns of numbers, not a job file",
        ));
    }
    Ok(Source::new(name, text))
}

/// Rows of numbers: a recording that was given where a job belongs. A job has a key or a table on every line.
fn is_table_of_numbers(text: &str) -> bool {
    let signs = |c: char| !(c.is_ascii_digit() || " \t;,.+-eE".contains(c));
    let rows = text.lines().map(str::trim).filter(|row| !row.is_empty());
    let of_numbers = |row: &&str| {
        row.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+')
            && !row.contains(signs)
    };
    // The first rows may be headings.
    let (mut numbers, mut all) = (0, 0);
    for row in rows.take(40) {
        all += 1;
        numbers += usize::from(of_numbers(&row));
    }
    all >= 3 && 2 * numbers > all
}

/// As [`text`], for a file that may be missing.
///
/// # Errors
/// See [`text`].
pub fn text_if_there(files: &dyn Files, path: &Path) -> Result<Option<Source>, Failure> {
    files.exists(path).then(|| text(files, path)).transpose()
}

/// The first bytes of a file, `max` at most.
///
/// # Errors
/// [`Failure::File`] when it cannot be read.
pub(crate) fn beginning(files: &dyn Files, path: &Path, max: u64) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    files
        .open(path)
        .and_then(|file| file.take(max).read_to_end(&mut bytes))
        .map_err(Failure::file(path, "read"))?;
    Ok(bytes)
}

/// SHA-256 of a file in hexadecimal, read in blocks: a log may be long.
///
/// # Errors
/// [`Failure::File`] when it cannot be read.
pub fn sha256_of(files: &dyn Files, path: &Path) -> Result<String, Failure> {
    files
        .open(path)
        .and_then(|mut file| {
            let mut sum = Sha256Writer::default();
            std::io::copy(&mut file, &mut sum)?;
            Ok(sum.finish())
        })
        .map_err(Failure::file(path, "read"))
}
