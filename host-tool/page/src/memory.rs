//! The files that the user opened in the page, by their names.

use coldsquare_engine::files::{File, Files};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{Cursor, ErrorKind, Result};
use std::path::Path;
use std::rc::Rc;

thread_local! {
    static FILES: RefCell<BTreeMap<String, Rc<[u8]>>> = const { RefCell::new(BTreeMap::new()) };
}

/// Keeps a file.
pub(crate) fn put(name: &str, bytes: Vec<u8>) {
    FILES.with_borrow_mut(|files| files.insert(name.to_owned(), bytes.into()));
}

/// A copy of a file.
pub(crate) fn get(name: &str) -> Option<Vec<u8>> {
    FILES.with_borrow(|files| files.get(name).map(|bytes| bytes.to_vec()))
}

/// The files of the page, for the engine.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Opened;

/// The name under which a path was kept: its own, or, as the browser tells no folders, that of its file.
fn name(path: &Path) -> String {
    let whole = path.to_string_lossy().into_owned();
    let known = FILES.with_borrow(|files| files.contains_key(&whole));
    match path.file_name() {
        Some(file) if !known => file.to_string_lossy().into_owned(),
        _ => whole,
    }
}

impl Files for Opened {
    fn exists(&self, path: &Path) -> bool {
        FILES.with_borrow(|files| files.contains_key(&name(path)))
    }

    fn open(&self, path: &Path) -> Result<Box<dyn File>> {
        let bytes = FILES.with_borrow(|files| files.get(&name(path)).cloned());
        let bytes = bytes.ok_or(ErrorKind::NotFound)?;
        Ok(Box::new(Cursor::new(bytes)))
    }
}
