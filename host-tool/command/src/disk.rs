//! What the engine is handed: files of the disk. What a command reads is remembered, so that it is never written over.

use coldsquare_engine::files::{File, Files};
use std::cell::RefCell;
use std::path::{Path, PathBuf};

thread_local! {
    /// The files that the command of this thread has read.
    static READ: RefCell<Vec<PathBuf>> = const { RefCell::new(Vec::new()) };
}

/// The files of the disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Files for Disk {
    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>> {
        let file = std::fs::File::open(path)?;
        if let Ok(path) = path.canonicalize() {
            READ.with_borrow_mut(|read| read.push(path));
        }
        Ok(Box::new(file))
    }
}

/// Whether this command has read this file, by whatever name.
pub(crate) fn was_read(path: &Path) -> bool {
    path.canonicalize()
        .is_ok_and(|path| READ.with_borrow(|read| read.contains(&path)))
}

/// A new command begins: it has read nothing.
pub(crate) fn forget_what_was_read() {
    READ.with_borrow_mut(Vec::clear);
}
