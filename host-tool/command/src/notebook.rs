//! Files that grow: read, extended and replaced, one writer at a time.

use crate::disk::Disk;
use crate::save::{Existing, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::file_error::Source;
use coldsquare_engine::files::text_if_there;
use std::path::{Path, PathBuf};

/// Replaces a notebook with the longer text that `added` makes of it. A missing file is an empty text.
///
/// Another command that adds to a notebook in the same folder waits until this one is done, so no entry is lost. A
/// notebook that is a symbolic link stays one: the file it points to is replaced.
///
/// # Errors
/// [`Failure`] when the file cannot be read or written, and whatever `added` says.
pub fn add(
    path: &Path,
    added: impl FnOnce(&Source) -> Result<String, Failure>,
) -> Result<(), Failure> {
    let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let _lock = Lock::of_folder(&path)?;
    let (before, existing) = match text_if_there(&Disk, &path)? {
        Some(text) => (text, Existing::Extend),
        None => (Source::new(path.display().to_string(), ""), Existing::Keep),
    };
    save(&path, added(&before)?.as_bytes(), existing)
}

/// Held by the one writer of a folder's notebooks; the system releases it if the command is killed.
struct Lock {
    _file: std::fs::File,
    /// A lock file to remove afterwards, on systems that cannot lock a folder.
    remove: Option<PathBuf>,
}

impl Lock {
    fn of_folder(path: &Path) -> Result<Self, Failure> {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let (file, remove) = if cfg!(unix) {
            (std::fs::File::open(folder), None)
        } else {
            let name = folder.join(".coldsquare-lock");
            (std::fs::File::create(&name), Some(name))
        };
        let file = file.map_err(Failure::file(folder, "lock"))?;
        match file.lock() {
            // Some network drives have no locks; one writer at a time is then up to the user.
            Err(cause) if cause.kind() == std::io::ErrorKind::Unsupported => {}
            locked => locked.map_err(Failure::file(folder, "lock"))?,
        }
        Ok(Self {
            _file: file,
            remove,
        })
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        if let Some(name) = &self.remove {
            let _ = std::fs::remove_file(name);
        }
    }
}
