//! What the engine is handed: files of the disk, and threads.

use coldsquare_engine::files::{File, Files};
use std::path::Path;

/// The files of the disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Files for Disk {
    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>> {
        Ok(Box::new(std::fs::File::open(path)?))
    }
}
