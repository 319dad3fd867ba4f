//! Writes files without ever damaging an existing one: to a temporary file, synced, then renamed.

use crate::disk::was_read;
use coldsquare_engine::failure::Failure;
use std::io::Write;
use std::path::Path;

/// What to do if the file exists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Keep it and fail.
    Keep,
    /// Replace it in one step, unless this command has read it.
    Replace,
    /// Replace it in one step with what was made of it: a notebook with one entry more.
    Extend,
}

impl Existing {
    /// What `--force` asks for.
    #[must_use]
    pub const fn with_force(force: bool) -> Self {
        if force { Self::Replace } else { Self::Keep }
    }
}

/// Writes a whole file: to a temporary file beside it, synced, then renamed into place.
///
/// The final name never belongs to a half-written file, and [`Existing::Keep`] does not overwrite a file that appears
/// meanwhile either.
///
/// # Errors
/// [`Failure::WouldOverwrite`] when the file exists and is to be kept, [`Failure::File`] when writing fails.
pub fn save(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), Failure> {
    write(path, bytes, bytes.len() as u64, existing)
}

/// The same for a file of `length` bytes that starts with `bytes` and is zero after them; an existing file is kept.
///
/// # Errors
/// See [`save`].
pub fn save_padded(path: &Path, bytes: &[u8], length: u64) -> Result<(), Failure> {
    write(path, bytes, length, Existing::Keep)
}

/// Refuses to write over a file that the command reads, even with `--force`.
///
/// # Errors
/// [`Failure::Exists`] if `path` is one of the inputs.
pub fn refuse_input<'a>(
    path: &Path,
    inputs: impl IntoIterator<Item = &'a Path>,
) -> Result<(), Failure> {
    let Ok(written) = path.canonicalize() else {
        return Ok(());
    };
    let is_written = |input: &Path| input.canonicalize().is_ok_and(|input| input == written);
    match inputs.into_iter().any(is_written) {
        true => Err(Failure::Exists(path.to_owned())),
        false => Ok(()),
    }
}

/// What [`save`] would refuse, before the work is done: a file that is an input, or one that is there and is to be kept.
///
/// # Errors
/// [`Failure::Exists`] and [`Failure::WouldOverwrite`].
pub fn refuse_early<'a>(
    path: &Path,
    inputs: impl IntoIterator<Item = &'a Path>,
    existing: Existing,
) -> Result<(), Failure> {
    refuse_input(path, inputs)?;
    match existing == Existing::Keep && path.try_exists().unwrap_or(false) {
        true => Err(Failure::WouldOverwrite(path.to_owned())),
        false => Ok(()),
    }
}

fn write(path: &Path, bytes: &[u8], length: u64, existing: Existing) -> Result<(), Failure> {
    if existing == Existing::Keep && path.try_exists().unwrap_or(false) {
        return Err(Failure::WouldOverwrite(path.to_owned()));
    }
    if existing == Existing::Replace && was_read(path) {
        return Err(Failure::Exists(path.to_owned()));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    std::fs::create_dir_all(folder).map_err(Failure::file(folder, "create"))?;
    sweep(folder);
    let mut beside = tempfile::Builder::new()
        .prefix(PREFIX)
        .tempfile_in(folder)
        .map_err(Failure::file(path, "write"))?;
    // While it is held, no other command takes it for left behind. Some network drives have no locks.
    let _ = beside.as_file().try_lock();
    beside
        .write_all(bytes)
        .and_then(|()| beside.as_file().set_len(length))
        .and_then(|()| beside.as_file().sync_all())
        .map_err(Failure::file(path, "write"))?;
    make_readable(beside.as_file()).map_err(Failure::file(path, "write"))?;
    match existing {
        Existing::Replace | Existing::Extend => {
            beside.persist(path).map(drop).map_err(|error| error.error)
        }
        Existing::Keep => beside
            .persist_noclobber(path)
            .map(drop)
            .map_err(|error| error.error),
    }
    .map_err(|cause| match cause.kind() {
        std::io::ErrorKind::AlreadyExists => Failure::WouldOverwrite(path.to_owned()),
        _ => Failure::file(path, "write")(cause),
    })?;
    sync_folder(path);
    Ok(())
}

/// Syncs the folder of a file too, so that its name is as safe as its bytes. Some systems cannot; they do it in their own
/// time.
pub(crate) fn sync_folder(path: &Path) {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    if let Ok(folder) = std::fs::File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
}

/// What the names of temporary files begin with.
const PREFIX: &str = ".coldsquare-";
/// The characters after it, as the library for temporary files makes them.
const RANDOM: usize = 6;
/// The youngest file that is swept up, s: one just made may not be locked yet.
const LEFT_FOR_S: u64 = 2;

/// Removes temporary files that a killed command left: those that nobody holds.
fn sweep(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let ours = name
            .to_str()
            .and_then(|name| name.strip_prefix(PREFIX))
            .is_some_and(|rest| {
                rest.len() == RANDOM && rest.bytes().all(|byte| byte.is_ascii_alphanumeric())
            });
        if ours && is_left(&entry) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

fn is_left(entry: &std::fs::DirEntry) -> bool {
    let settled = entry.metadata().is_ok_and(|found| {
        let age = found.modified().ok().and_then(|at| at.elapsed().ok());
        found.is_file() && age.is_some_and(|age| age.as_secs() >= LEFT_FOR_S)
    });
    settled && std::fs::File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok())
}

/// Temporary files are private to their owner; the result is for everybody in the shop.
#[cfg(unix)]
fn make_readable(file: &std::fs::File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn make_readable(_: &std::fs::File) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_killed_command_left_is_swept_up_and_what_another_writes_is_not() {
        let folder = tempfile::tempdir().expect("temporary folder");
        let name = |name: &str| folder.path().join(name);
        let long_ago = std::time::SystemTime::now() - std::time::Duration::from_secs(60);
        for left in [
            ".coldsquare-aB3dE9",
            ".coldsquare-lock",
            ".coldsquare-notes1.txt",
        ] {
            let file = std::fs::File::create(name(left)).expect("room");
            file.set_modified(long_ago).expect("a time");
        }
        let held = std::fs::File::create(name(".coldsquare-Xy12zz")).expect("room");
        held.set_modified(long_ago).expect("a time");
        held.try_lock().expect("nobody holds it");
        save(&name("map.html"), b"map", Existing::Keep).expect("room");
        assert!(!name(".coldsquare-aB3dE9").exists());
        let kept = [
            ".coldsquare-Xy12zz",
            ".coldsquare-lock",
            ".coldsquare-notes1.txt",
        ];
        assert!(kept.iter().all(|kept| name(kept).exists()));
    }

    #[test]
    fn a_file_that_is_there_is_kept_unless_told_otherwise() {
        let folder = tempfile::tempdir().expect("temporary folder");
        let path = folder.path().join("map.html");
        save(&path, b"first", Existing::Keep).expect("nothing there yet");
        assert!(matches!(
            save(&path, b"second", Existing::Keep),
            Err(Failure::WouldOverwrite(_))
        ));
        assert_eq!(std::fs::read(&path).expect("kept"), b"first");
        save(&path, b"third", Existing::Replace).expect("asked for");
        assert_eq!(std::fs::read(&path).expect("replaced"), b"third");
        let names = std::fs::read_dir(folder.path()).expect("folder").count();
        assert_eq!(names, 1, "no temporary file stays behind");
    }
}
