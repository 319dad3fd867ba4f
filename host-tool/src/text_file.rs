//! Short texts that a person wrote, read from the disk.

use crate::failure::Failure;
use crate::located::{Mistakes, Source};
use std::path::Path;

/// Largest job file that is read, bytes. Ten thousand members fit; a log given by mistake does not.
pub const LARGEST_FILE: u64 = 4_000_000;

/// Reads the text of a job file.
///
/// # Errors
/// [`Failure::Input`] when the file is too large or no text, [`Failure::File`] when it cannot be read.
pub fn open(path: &Path) -> Result<Source, Failure> {
    use std::io::Read;
    let file = std::fs::File::open(path).map_err(Failure::file(path, "read"))?;
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(Failure::file(path, "read"))?;
    let name = path.display().to_string();
    let refuse = |what: &str| {
        let mistake = Source::new(name.as_str(), "").mistake(0..0, what);
        let mistake = mistake.hint("a job file is a short text; `coldsquare new` writes one");
        Failure::Input(Mistakes::from(mistake).to_string())
    };
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(refuse("this is larger than a job file can be (4 MB)"));
    }
    let text = String::from_utf8(bytes);
    let text = text.map_err(|_| refuse("this is not a text (UTF-8), so it is no job file"))?;
    Ok(Source::new(name, text))
}
